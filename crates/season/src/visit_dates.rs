//! When a field was visited: which visits came late, and when the next is due.
//!
//! Nothing here reads a clock: what is late is told of the days between visits, not of today.

use survey::{Date, DateRange};

use crate::days::{days_after, days_between};
use crate::rhythm::Rhythm;

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

/// The gaps between visits that follow each other; a visit exactly the longest time after the one before is
/// not late. There is one fewer than there are visits.
pub fn gaps(visits: &[DateRange], rhythm: Rhythm) -> Vec<VisitGap> {
    let gap = |pair: &[DateRange]| {
        let (from, to) = (pair[0].last(), pair[1].first());
        let days = days_between(from, to);
        VisitGap { from, to, days, late_by: (days - rhythm.longest_days()).max(0) }
    };
    visits.windows(2).map(gap).collect()
}

/// The days on which the next visit is due after the last one.
pub fn next_due(last: Date, rhythm: Rhythm) -> DateRange {
    let [first, end] =
        [rhythm.shortest_days(), rhythm.longest_days()].map(|days| days_after(last, days));
    DateRange::new(first, end).expect("a rhythm's shortest is not above its longest")
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
        let found = gaps(&visits, Rhythm::default());
        assert_eq!(found.iter().map(|gap| gap.days).collect::<Vec<_>>(), [14, 15, 1]);
        assert_eq!(found.iter().map(|gap| gap.late_by).collect::<Vec<_>>(), [0, 1, 0]);
        assert_eq!(found.iter().map(VisitGap::is_late).collect::<Vec<_>>(), [false, true, false]);
    }

    #[test]
    fn a_gap_runs_from_the_last_day_of_a_visit_to_the_first_of_the_next() {
        let visits = ["2024-02-26..2024-02-27", "2024-03-12..2024-03-13"].map(day);
        // 2024 is a leap year: 2 days to 29 February, 12 into March.
        assert_eq!(gaps(&visits, Rhythm::default())[0].days, 14);
        assert_eq!(gaps(&visits, "10..13".parse().unwrap())[0].late_by, 1);
        assert!(gaps(&visits[..1], Rhythm::default()).is_empty());
    }

    #[test]
    fn the_next_visit_is_due_ten_to_fourteen_days_on() {
        let last = day("2025-08-24").last();
        assert_eq!(next_due(last, Rhythm::default()).to_string(), "2025-09-03..2025-09-07");
        assert_eq!(next_due(last, "7".parse().unwrap()).to_string(), "2025-08-31");
        let end = next_due(Date::MAX, Rhythm::default());
        assert_eq!((end.first(), end.last()), (Date::MAX, Date::MAX));
    }
}
