//! Words that say how an insertion ended.

use survey::Outcome;

/// What a property `outcome` says.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Word {
    Reached,
    NotReached,
    NoReading(Outcome),
}

/// The outcome a word means; other words mean nothing here.
pub(crate) fn word(text: &str) -> Option<Word> {
    match text.to_ascii_lowercase().as_str() {
        "reached" => Some(Word::Reached),
        "not_reached" | "not reached" => Some(Word::NotReached),
        other => no_reading(other).map(Word::NoReading),
    }
}

/// Why there is no reading, where a note says it.
pub(crate) fn no_reading(note: &str) -> Option<Outcome> {
    let note = note.to_lowercase();
    let words: Vec<&str> = note.split(|c: char| !c.is_alphabetic()).collect();
    let says = |wanted: &[&str]| words.iter().any(|word| wanted.contains(word));
    match () {
        () if says(&["no", "not", "without"]) => None,
        () if says(&["stone", "stones", "rock", "rocks", "root", "roots", "gravel", "refusal"]) => {
            Some(Outcome::Refused)
        }
        () if says(&["skip", "skipped", "missed"]) => Some(Outcome::Skipped),
        () => None,
    }
}

/// Whether a note beside a depth says that something stopped the rod there: a stone, or a root or
/// gravel that it hit. `good root growth` does not.
pub(crate) fn stopped_the_rod(note: &str) -> bool {
    let note = note.to_lowercase();
    let words = || note.split(|c: char| !c.is_alphabetic());
    let plain = ["stone", "stones", "rock", "rocks", "refusal", "hit"];
    no_reading(&note) == Some(Outcome::Refused) && words().any(|word| plain.contains(&word))
}
