//! Days within sentences.

use report::day;
use survey::{Date, UnitSystem};

/// Letters of a day as files write it: `2025-04-14`.
const LENGTH: usize = 10;

/// A sentence with its days as people read them: `Apr 14, 2025` in place of `2025-04-14`.
pub fn readable(sentence: &str, units: UnitSystem) -> String {
    let mut told = String::with_capacity(sentence.len());
    let mut rest = sentence;
    while let Some(letter) = rest.chars().next() {
        let is_start = !told.ends_with(|c: char| c.is_ascii_digit() || c == '-');
        match date_at(rest).filter(|_| is_start) {
            Some(date) => {
                told += &day(date, units);
                rest = &rest[LENGTH..];
            }
            None => {
                told.push(letter);
                rest = &rest[letter.len_utf8()..];
            }
        }
    }
    told
}

/// The day that a text begins with.
fn date_at(text: &str) -> Option<Date> {
    let (start, rest) = text.split_at_checked(LENGTH)?;
    let goes_on = rest.starts_with(|c: char| c.is_ascii_digit() || c == '-');
    let is_day = start.bytes().enumerate().all(|(k, byte)| match k {
        4 | 7 => byte == b'-',
        _ => byte.is_ascii_digit(),
    });
    (is_day && !goes_on).then(|| start.parse().ok()).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_in_a_sentence_become_readable_and_nothing_else_changes() {
        let of = |text| readable(text, UnitSystem::Us);
        assert_eq!(
            of("Next visit due 2025-06-23 to 2025-06-27."),
            "Next visit due Jun 23, 2025 to Jun 27, 2025."
        );
        for same in ["DEMO-2025-0417 ends", "2025-13-40", "≥ 2025-04-145", "12025-04-14", "é"] {
            assert_eq!(of(same), same);
        }
    }
}
