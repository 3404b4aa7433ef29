//! How often a field is visited.

use crate::error::SeasonError;

/// The days between two visits, the fewest and the most. Every 10 to 14 days from spring to the crop's
/// reproductive stage is common practice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rhythm {
    shortest_days: i32,
    longest_days: i32,
}

impl Default for Rhythm {
    /// Every 10 to 14 days.
    fn default() -> Self {
        Rhythm { shortest_days: 10, longest_days: 14 }
    }
}

impl Rhythm {
    /// The most days between two visits that may be asked for.
    pub const MOST_DAYS: i32 = 60;

    /// From the fewest days to the most.
    ///
    /// # Errors
    /// When a number is not from 1 to [`Rhythm::MOST_DAYS`], or the first is the greater.
    pub fn new(shortest_days: i32, longest_days: i32) -> Result<Self, SeasonError> {
        let allowed = 1..=Rhythm::MOST_DAYS;
        match shortest_days <= longest_days
            && allowed.contains(&shortest_days)
            && allowed.contains(&longest_days)
        {
            true => Ok(Rhythm { shortest_days, longest_days }),
            false => Err(SeasonError::NoRhythm { shortest: shortest_days, longest: longest_days }),
        }
    }

    /// The fewest days between two visits.
    pub fn shortest_days(self) -> i32 {
        self.shortest_days
    }

    /// The most days between two visits.
    pub fn longest_days(self) -> i32 {
        self.longest_days
    }

    /// The days in the middle, rounded down.
    pub fn middle_days(self) -> i32 {
        i32::midpoint(self.shortest_days, self.longest_days)
    }
}

/// `10..14`, or `12` for just that.
impl std::str::FromStr for Rhythm {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (first, last) = text.split_once("..").unwrap_or((text, text));
        let days = |text: &str| {
            text.trim().parse().map_err(|_| format!("{:?} is not a number of days", text.trim()))
        };
        let last = last.trim_start_matches('=');
        Rhythm::new(days(first)?, days(last)?).map_err(|error| error.to_string())
    }
}

/// `10 to 14 days`, `12 days`.
impl std::fmt::Display for Rhythm {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        match self.shortest_days == self.longest_days {
            true => write!(f, "{} days", self.longest_days),
            false => write!(f, "{} to {} days", self.shortest_days, self.longest_days),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rhythm_is_a_number_of_days_or_two() {
        let rhythm: Rhythm = "7..11".parse().unwrap();
        assert_eq!(
            (rhythm.shortest_days(), rhythm.middle_days(), rhythm.longest_days()),
            (7, 9, 11)
        );
        assert_eq!(rhythm.to_string(), "7 to 11 days");
        assert_eq!("12".parse::<Rhythm>().unwrap().to_string(), "12 days");
        assert_eq!("10..=14".parse::<Rhythm>().unwrap(), Rhythm::default());
    }

    #[test]
    fn what_is_no_rhythm_is_refused() {
        for text in ["14..10", "0..14", "10..61", "-3..4", "ten", "", "10..", "1e1"] {
            assert!(text.parse::<Rhythm>().is_err(), "{text}");
        }
        assert!("1..60".parse::<Rhythm>().is_ok());
    }
}
