//! The change between two readings of one spot, or between two medians.

use survey::Reading;

use crate::pairs::PairChange;

impl PairChange {
    /// The change from one reading to a later one.
    pub fn between(earlier: Reading, later: Reading) -> Self {
        let change_cm = cm(later) - cm(earlier);
        match (earlier.is_not_reached(), later.is_not_reached()) {
            (false, false) => PairChange::Exact(change_cm),
            (true, false) => PairChange::AtMost(change_cm),
            (false, true) => PairChange::AtLeast(change_cm),
            (true, true) => PairChange::Unknown,
        }
    }

    /// The least that the change can be; `None` where nothing bounds it.
    pub fn least_cm(self) -> Option<f64> {
        match self {
            PairChange::Exact(cm) | PairChange::AtLeast(cm) => Some(cm),
            PairChange::AtMost(_) | PairChange::Unknown => None,
        }
    }

    /// The most that the change can be; `None` where nothing bounds it.
    pub fn most_cm(self) -> Option<f64> {
        match self {
            PairChange::Exact(cm) | PairChange::AtMost(cm) => Some(cm),
            PairChange::AtLeast(_) | PairChange::Unknown => None,
        }
    }

    /// Whether the layer is certain to have become thinner.
    pub fn is_fall(self) -> bool {
        self.most_cm().is_some_and(|cm| cm < 0.0)
    }

    /// Whether the layer is certain to have become deeper.
    pub fn is_rise(self) -> bool {
        self.least_cm().is_some_and(|cm| cm > 0.0)
    }
}

/// The certain depth to a tenth of a micrometre, so that nine inches less six are as much as twelve less
/// nine.
fn cm(reading: Reading) -> f64 {
    (reading.at_least().cm() * 1e5).round() / 1e5
}

#[cfg(test)]
mod tests {
    use super::*;
    use survey::Depth;

    fn reached(inches: f64) -> Reading {
        Reading::Reached(Depth::from_in(inches))
    }

    fn deeper_than(inches: f64) -> Reading {
        Reading::NotReached { probed_to: Depth::from_in(inches) }
    }

    fn inches(change: PairChange) -> [Option<f64>; 2] {
        [change.least_cm(), change.most_cm()].map(|cm| cm.map(|cm| (cm / 2.54 * 1e6).round() / 1e6))
    }

    #[test]
    fn a_change_is_later_minus_earlier() {
        let fall = PairChange::between(reached(9.0), reached(6.0));
        assert_eq!(inches(fall), [Some(-3.0), Some(-3.0)]);
        assert!(fall.is_fall() && !fall.is_rise());
        let rise = PairChange::between(reached(6.0), reached(7.0));
        assert!(rise.is_rise() && !rise.is_fall());
        let none = PairChange::between(reached(6.0), reached(6.0));
        assert!(!none.is_rise() && !none.is_fall());
    }

    #[test]
    fn what_was_not_reached_bounds_the_change_on_one_side() {
        // From deeper than 18 in to 6 in: at least 12 in thinner.
        let fall = PairChange::between(deeper_than(18.0), reached(6.0));
        assert_eq!(inches(fall), [None, Some(-12.0)]);
        assert!(fall.is_fall());
        let rise = PairChange::between(reached(6.0), deeper_than(18.0));
        assert_eq!(inches(rise), [Some(12.0), None]);
        assert!(rise.is_rise());
        // From deeper than 12 in to 15 in: thinner or deeper, nobody knows; to 12 in: not deeper.
        let open = PairChange::between(deeper_than(12.0), reached(15.0));
        assert!(!open.is_rise() && !open.is_fall());
        assert!(!PairChange::between(deeper_than(12.0), reached(12.0)).is_fall());
        assert_eq!(PairChange::between(deeper_than(18.0), deeper_than(12.0)), PairChange::Unknown);
    }

    #[test]
    fn equal_steps_between_marks_are_equal_numbers() {
        for mark in 1..20 {
            let (deep, shallow) = (f64::from(3 * mark + 3), f64::from(3 * mark));
            let change = PairChange::between(reached(deep), reached(shallow));
            let first = PairChange::between(reached(6.0), reached(3.0));
            let steps = [change, first].map(|step| (step.most_cm().unwrap() * 1e4).round());
            assert_eq!(steps[0], steps[1], "{mark}");
        }
    }
}
