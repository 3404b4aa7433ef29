//! Names as TASKDATA holds them: at most 32 characters that no reader stumbles over.
//!
//! One rule for every name: white space, line ends among it, becomes one blank; characters that control a
//! device or the direction of text, and those that XML 1.0 forbids, are left out; what is longer than
//! 32 characters is cut there; a name of which nothing is left becomes a stated one. Names that must
//! differ and no longer do get a number.

use std::collections::BTreeSet;

use crate::plain_text::{differing, plain};

/// Most characters of a designator, as the standard's schema counts them: code points.
pub(super) const MOST_CHARACTERS: usize = 32;

/// A text as a designator, or the other one when nothing of it is left.
pub(super) fn designator(text: &str, otherwise: &str) -> String {
    match cut(text, MOST_CHARACTERS) {
        name if name.is_empty() => otherwise.to_owned(),
        name => name,
    }
}

/// At most so many characters of a text, cleaned.
fn cut(text: &str, most: usize) -> String {
    let cut: String = plain(text).chars().take(most).collect();
    cut.trim_end().to_owned()
}

/// Gives designators that differ from each other.
#[derive(Default)]
pub(super) struct Designators {
    taken: BTreeSet<String>,
}

impl Designators {
    /// A text as a designator that was not given before: a second one has a 2 behind it.
    pub fn next(&mut self, text: &str, otherwise: &str) -> String {
        let first = designator(text, otherwise);
        differing(&mut self.taken, &first, MOST_CHARACTERS, cut)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain_text::is_plain;
    use proptest::prelude::*;

    #[test]
    fn names_are_cleaned_and_cut() {
        let name = |text: &str| designator(text, "Field");
        assert_eq!(name("  North\t\r\nBench \u{85} 2 "), "North Bench 2");
        assert_eq!(name("a\u{0}b\u{1b}[31mc\u{7f}"), "ab[31mc");
        assert_eq!(name("\u{202e}dleif\u{202c}"), "dleif");
        assert_eq!(name("\u{feff}\u{ffff}\n"), "Field");
        assert_eq!(name("1234567890123456789012345678901 34"), "1234567890123456789012345678901");
        assert_eq!(name(&"ü".repeat(40)), "ü".repeat(32));
        assert_eq!(name("]]> <\"'&"), "]]> <\"'&");
    }

    #[test]
    fn equal_names_get_a_number() {
        let mut names = Designators::default();
        let long = "x".repeat(40);
        assert_eq!(names.next(&long, ""), "x".repeat(32));
        assert_eq!(names.next(&long, ""), "x".repeat(30) + " 2");
        assert_eq!(names.next("Z1", ""), "Z1");
        assert_eq!(names.next("Z1 2", ""), "Z1 2");
        assert_eq!(names.next("Z1", ""), "Z1 3");
    }

    proptest! {
        #[test]
        fn any_text_becomes_a_designator(texts in prop::collection::vec(any::<String>(), 1..20)) {
            let mut names = Designators::default();
            let given: Vec<String> = texts.iter().map(|text| names.next(text, "Zone")).collect();
            for name in &given {
                prop_assert!((1..=32).contains(&name.chars().count()));
                prop_assert!(name.chars().all(is_plain));
                prop_assert_eq!(&designator(name, "other"), name);
            }
            let different: BTreeSet<&String> = given.iter().collect();
            prop_assert_eq!(different.len(), given.len());
        }
    }
}
