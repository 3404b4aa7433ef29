//! Days of the calendar, counted.

use jiff::{SignedDuration, Span};
use survey::Date;

/// The day so many days later, or earlier for a number below 0; the calendar's last day (31 December
/// 9999) has none after it.
pub(crate) fn days_after(date: Date, days: i32) -> Date {
    date.saturating_add(Span::new().days(days))
}

/// How many days lie between two days; below 0 where `to` is the earlier one.
pub(crate) fn days_between(from: Date, to: Date) -> i32 {
    let hours = SignedDuration::as_hours(&to.duration_since(from));
    i32::try_from(hours / 24).expect("twenty thousand years have fewer days than an i32 holds")
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn leap_days_and_new_year_count() {
        assert_eq!(days_between(date(2024, 2, 27), date(2024, 3, 1)), 3);
        assert_eq!(days_between(date(2025, 2, 27), date(2025, 3, 1)), 2);
        assert_eq!(days_after(date(2024, 12, 25), 12), date(2025, 1, 6));
        assert_eq!(days_after(date(2024, 3, 1), -1), date(2024, 2, 29));
        assert_eq!(days_between(date(2025, 3, 1), date(2025, 2, 27)), -2);
    }

    #[test]
    fn the_calendar_ends() {
        assert_eq!(days_after(Date::MAX, 5), Date::MAX);
        assert_eq!(days_between(Date::MIN, Date::MAX), 7_304_483);
    }
}
