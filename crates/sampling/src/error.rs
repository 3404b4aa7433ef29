//! Why spots cannot be placed.

use crate::MOST_SPOTS;

/// Why spots cannot be placed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[expect(missing_docs, reason = "each variant's text says what it is")]
pub enum SamplingError {
    #[error(
        "no ground of the field is {from_edge_m} m or more from its edge; give a smaller distance with \
         --from-edge"
    )]
    NoGround { from_edge_m: f64 },
    #[error("a distance of spots must be above zero, not {length_m} m")]
    NoSpacing { length_m: f64 },
    #[error(
        "that would be about {about} spots, and {MOST_SPOTS} is the most; place them farther apart"
    )]
    TooMany { about: usize },
    #[error("{count} spots is more than the most, {MOST_SPOTS}")]
    TooManyAsked { count: usize },
    #[error(
        "there is room for {placed} of {asked} spots that stand {apart_m} m apart{of}; ask for fewer, or give \
         a smaller --from-edge"
    )]
    NoRoom { placed: usize, asked: usize, apart_m: f64, of: String },
    #[error(
        "no spot of a {what} {spacing_m} m wide falls inside the field; give a smaller distance"
    )]
    NoneInside { what: &'static str, spacing_m: f64 },
    #[error(
        "{strata} strata with at least {least} spots each are {needed} spots, and {asked} are asked for; ask \
         for more, or for fewer in each with --at-least"
    )]
    TooFewForStrata { strata: usize, least: usize, needed: usize, asked: usize },
}
