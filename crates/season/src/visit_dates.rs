//! When a field was visited: which visits came late, and when the next is due.
//!
//! Nothing here reads a clock: what is late is told of the days between visits, not of today.

use std::ops::RangeInclusive;
use std::time::Duration;

use survey::{Date, DateRange};

/// A visit comes 10 to 14 days after the one before, from spring until the crop's reproductive stage
/// (common practice).
pub const USUAL_DAYS_BETWEEN: RangeInclusive<u32> = 10..=14;

/// The days from one visit to the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct VisitGap {
    /// The last day of the earlier visit.
    pub from: Date,
    /// The first day of the later visit.
    pub to: Date,
    /// The days between: from Monday to Tuesday is one.
    pub days: i32,
    /// How many days more than the longest that was meant; 0 where the visit was in time.
    pub late_by: i32,
}

impl VisitGap {
    /// Whether the later visit came late.
    pub fn is_late(&self) -> bool {
        self.late_by > 0
    }
}

/// The gaps between visits that follow each other; a visit exactly `longest_days` after the one before is
/// not late. There is one fewer than there are visits.
pub fn gaps(visits: &[DateRange], longest_days: u32) -> Vec<VisitGap> {
    let gap = |pair: &[DateRange]| {
        let (from, to) = (pair[0].last(), pair[1].first());
        let days = from.until(to).map_or(0, |span| span.get_days());
        let longest = i32::try_from(longest_days).unwrap_or(i32::MAX);
        VisitGap { from, to, days, late_by: (days - longest).max(0) }
    };
    visits.windows(2).map(gap).collect()
}

/// The days on which the next visit is due, so many days after the last one; the calendar's last day
/// where it would be beyond that.
pub fn next_due(last: Date, days_between: &RangeInclusive<u32>) -> DateRange {
    let after = |days: u32| last.saturating_add(Duration::from_secs(86_400 * u64::from(days)));
    let (first, end) = (after(*days_between.start()), after(*days_between.end()));
    DateRange::new(first, end).unwrap_or_else(|_| DateRange::new(end, end).expect("one day"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> DateRange {
        text.parse().unwrap()
    }

    #[test]
    fn fourteen_days_are_in_time_and_fifteen_are_late() {
        let visits = ["2025-04-14", "2025-04-28", "2025-05-13", "2025-05-14"].map(day);
        let found = gaps(&visits, 14);
        assert_eq!(found.iter().map(|gap| gap.days).collect::<Vec<_>>(), [14, 15, 1]);
        assert_eq!(found.iter().map(|gap| gap.late_by).collect::<Vec<_>>(), [0, 1, 0]);
        assert_eq!(found.iter().map(VisitGap::is_late).collect::<Vec<_>>(), [false, true, false]);
    }

    #[test]
    fn a_gap_runs_from_the_last_day_of_a_visit_to_the_first_of_the_next() {
        let visits = ["2024-02-26..2024-02-27", "2024-03-12..2024-03-13"].map(day);
        // 2024 is a leap year: 2 days to 29 February, 12 into March.
        assert_eq!(gaps(&visits, 14)[0].days, 14);
        assert_eq!(gaps(&visits, 13)[0].late_by, 1);
        assert!(gaps(&visits[..1], 14).is_empty() && gaps(&[], 14).is_empty());
    }

    #[test]
    fn the_next_visit_is_due_ten_to_fourteen_days_on() {
        let last = day("2025-08-24").last();
        assert_eq!(next_due(last, &USUAL_DAYS_BETWEEN).to_string(), "2025-09-03..2025-09-07");
        assert_eq!(next_due(last, &(7..=7)).to_string(), "2025-08-31");
        let end = next_due(Date::MAX, &USUAL_DAYS_BETWEEN);
        assert_eq!((end.first(), end.last()), (Date::MAX, Date::MAX));
    }
}
