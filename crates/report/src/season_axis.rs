//! The days of a season as places on an axis, and which of them have room for a label.

use survey::Date;

use crate::season_page::SeasonPage;

/// Days of a chart, counted from the first visit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Days {
    origin: Date,
    /// First and last day shown.
    pub first: f64,
    pub last: f64,
}

impl Days {
    /// All that a season's chart shows: visits, planting, window, next visit.
    pub fn of(page: &SeasonPage) -> Option<Days> {
        let visits = page.visits.iter().map(|visit| visit.day);
        let window = page.window.iter().flat_map(|window| [window.first, window.last]);
        let due = page.next_due.iter().flat_map(|&(first, last)| [first, last]);
        let all: Vec<Date> = visits.chain(page.planted).chain(window).chain(due).collect();
        let origin = *all.first()?;
        let at = all.iter().map(|&day| days_between(origin, day));
        let (first, last) =
            at.fold((0.0_f64, 0.0_f64), |(low, high), day| (low.min(day), high.max(day)));
        // A bar and its label need room at both ends.
        let margin = ((last - first) * 0.035).max(3.0);
        Some(Days { origin, first: first - margin, last: last + margin })
    }

    /// The place of a day.
    pub fn at(&self, day: Date) -> f64 {
        days_between(self.origin, day)
    }
}

/// Days from one to another.
fn days_between(first: Date, last: Date) -> f64 {
    f64::from((last - first).get_days())
}

/// Which of some labels, given by their middles and widths from left to right, can stand without
/// touching: the first and the last always, if there is room for both.
pub(crate) fn without_overlap(labels: &[(f64, f64)], gap: f64) -> Vec<usize> {
    let left = |k: usize| labels[k].0 - labels[k].1 / 2.0;
    let right = |k: usize| labels[k].0 + labels[k].1 / 2.0;
    let Some(last) = labels.len().checked_sub(1) else { return Vec::new() };
    let mut kept = vec![0];
    for k in 1..last {
        let before = kept[kept.len() - 1];
        if left(k) >= right(before) + gap && right(k) + gap <= left(last) {
            kept.push(k);
        }
    }
    if last > 0 && left(last) >= right(kept[kept.len() - 1]) + gap {
        kept.push(last);
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_that_would_touch_are_left_out_but_the_last_stays() {
        let labels: Vec<(f64, f64)> = (0..10).map(|k| (f64::from(k) * 30.0, 50.0)).collect();
        assert_eq!(without_overlap(&labels, 8.0), [0, 2, 4, 6, 9]);
        assert_eq!(without_overlap(&labels[..1], 8.0), [0]);
        assert!(without_overlap(&[], 8.0).is_empty());
    }

    #[test]
    fn days_count_across_a_new_year() {
        let day = |text: &str| text.parse().unwrap();
        assert_eq!(days_between(day("2024-12-30"), day("2025-01-02")), 3.0);
    }
}
