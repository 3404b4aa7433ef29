//! The days of one visit.

use std::fmt;

use jiff::civil::Date;

/// The days of one visit, both ends included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DateRange {
    first: Date,
    last: Date,
}

impl DateRange {
    /// From one day to another.
    ///
    /// # Errors
    /// When the first is after the last.
    pub fn new(first: Date, last: Date) -> Result<Self, String> {
        match first <= last {
            true => Ok(DateRange { first, last }),
            false => Err(format!("{first} is after {last}")),
        }
    }

    /// The first day.
    pub fn first(self) -> Date {
        self.first
    }

    /// The last day.
    pub fn last(self) -> Date {
        self.last
    }

    /// Whether a day is one of them.
    pub fn contains(self, date: Date) -> bool {
        (self.first..=self.last).contains(&date)
    }
}

/// `2025-04-14`, or `2025-04-14..2025-04-15`.
impl std::str::FromStr for DateRange {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let day = |text: &str| {
            text.trim()
                .parse::<Date>()
                .map_err(|_| format!("{text:?} is not a date like 2025-04-14"))
        };
        let (first, last) = text.split_once("..").unwrap_or((text, text));
        DateRange::new(day(first)?, day(last)?)
    }
}

impl fmt::Display for DateRange {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self.first == self.last {
            true => write!(f, "{}", self.first),
            false => write!(f, "{}..{}", self.first, self.last),
        }
    }
}
