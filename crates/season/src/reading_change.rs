//! The change between two readings of one spot, or between two medians, as far as they tell it.

use survey::Reading;

/// A change of depth, later minus earlier, in centimetres: below 0 the loose layer became thinner.
///
/// A reading that never reached the threshold is only known to be deeper than what was probed, so the
/// change is known to one side, or not at all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ReadingChange {
    /// Both reached the threshold.
    Exactly(f64),
    /// The earlier did not: the change is this or less, so the layer became thinner by at least so much
    /// where this is below 0.
    AtMost(f64),
    /// The later did not: the change is this or more.
    AtLeast(f64),
    /// Neither did.
    Unknown,
}

impl ReadingChange {
    /// The change from one reading to a later one.
    pub fn between(earlier: Reading, later: Reading) -> Self {
        let change_cm = cm(later) - cm(earlier);
        match (earlier.is_not_reached(), later.is_not_reached()) {
            (false, false) => ReadingChange::Exactly(change_cm),
            (true, false) => ReadingChange::AtMost(change_cm),
            (false, true) => ReadingChange::AtLeast(change_cm),
            (true, true) => ReadingChange::Unknown,
        }
    }

    /// The least that the change can be; `None` where nothing bounds it.
    pub fn least_cm(self) -> Option<f64> {
        match self {
            ReadingChange::Exactly(cm) | ReadingChange::AtLeast(cm) => Some(cm),
            ReadingChange::AtMost(_) | ReadingChange::Unknown => None,
        }
    }

    /// The most that the change can be; `None` where nothing bounds it.
    pub fn most_cm(self) -> Option<f64> {
        match self {
            ReadingChange::Exactly(cm) | ReadingChange::AtMost(cm) => Some(cm),
            ReadingChange::AtLeast(_) | ReadingChange::Unknown => None,
        }
    }

    /// How far it is known, for files: `exact`, `at most`, `at least`, `unknown`.
    pub fn bound_name(self) -> &'static str {
        match self {
            ReadingChange::Exactly(_) => "exact",
            ReadingChange::AtMost(_) => "at most",
            ReadingChange::AtLeast(_) => "at least",
            ReadingChange::Unknown => "unknown",
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

    fn inches(change: ReadingChange) -> [Option<f64>; 2] {
        [change.least_cm(), change.most_cm()].map(|cm| cm.map(|cm| (cm / 2.54 * 1e6).round() / 1e6))
    }

    #[test]
    fn a_change_is_later_minus_earlier() {
        let fall = ReadingChange::between(reached(9.0), reached(6.0));
        assert_eq!(inches(fall), [Some(-3.0), Some(-3.0)]);
        assert!(fall.is_fall() && !fall.is_rise());
        let rise = ReadingChange::between(reached(6.0), reached(7.0));
        assert!(rise.is_rise() && !rise.is_fall());
        let none = ReadingChange::between(reached(6.0), reached(6.0));
        assert!(!none.is_rise() && !none.is_fall());
    }

    #[test]
    fn what_was_not_reached_bounds_the_change_on_one_side() {
        // From deeper than 18 in to 6 in: at least 12 in thinner.
        let fall = ReadingChange::between(deeper_than(18.0), reached(6.0));
        assert_eq!(inches(fall), [None, Some(-12.0)]);
        assert!(fall.is_fall());
        let rise = ReadingChange::between(reached(6.0), deeper_than(18.0));
        assert_eq!(inches(rise), [Some(12.0), None]);
        assert!(rise.is_rise());
        // From deeper than 12 in to 15 in: thinner or deeper, nobody knows; to 12 in: not deeper.
        let open = ReadingChange::between(deeper_than(12.0), reached(15.0));
        assert!(!open.is_rise() && !open.is_fall());
        assert!(!ReadingChange::between(deeper_than(12.0), reached(12.0)).is_fall());
        assert_eq!(
            ReadingChange::between(deeper_than(18.0), deeper_than(12.0)),
            ReadingChange::Unknown
        );
    }

    #[test]
    fn equal_steps_between_marks_are_equal_numbers() {
        for mark in 1..20 {
            let (deep, shallow) = (f64::from(3 * mark + 3), f64::from(3 * mark));
            let change = ReadingChange::between(reached(deep), reached(shallow));
            let first = ReadingChange::between(reached(6.0), reached(3.0));
            let steps = [change, first].map(|step| (step.most_cm().unwrap() * 1e4).round());
            assert_eq!(steps[0], steps[1], "{mark}");
        }
    }
}
