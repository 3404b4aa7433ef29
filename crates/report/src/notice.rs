//! The sentence that comes before every figure of a page: whether the soil was equally moist.

/// A sentence that is read first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Notice<'a> {
    /// The sentence.
    pub words: &'a str,
    /// Whether it takes back what the figures seem to say: then it stands in a box.
    pub is_warning: bool,
}
