//! What "not reached" can do to a trial.
//!
//! A rod that ended in loose soil gives a lower bound of the depth, and every such reading is taken at its
//! bound. So a treated strip that was loose to the end of the rod afterwards gained at least so much, and one
//! that was so before lost at least so much. How much deeper these readings would have to lie to turn the
//! answer is worked out, the way a tipping point is looked for where values are missing (Yan, Lee and Li 2009,
//! Journal of Biopharmaceutical Statistics 19:1085–1098, from memory).

use crate::trial_contrast::{Contrast, StripValue, Treatment, contrast};
use crate::trial_strips::TrialStrip;

/// Readings that did not reach the threshold, and what they can do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrialCensoring {
    /// Among treated probes: earlier, later visit.
    pub treated: [usize; 2],
    /// Among check probes: earlier, later visit.
    pub check: [usize; 2],
    /// How much deeper than its bound each of those that work against the difference must lie to make it 0,
    /// centimetres; `None` where none works against it.
    pub to_zero_cm: Option<f64>,
    /// Whether the answer stays the same if they lie deeper by what matters, whichever way they work.
    pub holds: bool,
}

impl TrialCensoring {
    /// How many readings did not reach the threshold.
    pub fn total(&self) -> usize {
        self.treated.iter().chain(&self.check).sum()
    }
}

/// Which of the bounds lie deeper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Deeper {
    /// Those that lower the difference: treated before, check after.
    Lower,
    /// Those that raise it: treated after, check before.
    Raise,
}

/// Works out what the bounds can do to a difference of the strips' changes, where `answer` is what is said
/// of a difference.
pub(crate) fn censoring<A: PartialEq>(
    strips: &[TrialStrip],
    found: &Contrast,
    confidence: f64,
    matters_cm: f64,
    answer: impl Fn(&Contrast) -> A,
) -> TrialCensoring {
    let count = |treatment, visit: usize| {
        let own = strips.iter().filter(|strip| strip.treatment == treatment);
        own.map(|strip| strip.not_reached[visit]).sum()
    };
    let of = |treatment| [count(treatment, 0), count(treatment, 1)];
    let with = |deeper, by_cm| {
        let moved: Vec<StripValue> =
            strips.iter().map(|strip| moved(strip, deeper, by_cm)).collect();
        contrast(&moved, confidence).expect("both sides have strips, as they had unmoved")
    };
    let against = if found.difference > 0.0 { Deeper::Lower } else { Deeper::Raise };
    let per_cm = (with(against, 1.0).difference - found.difference).abs();
    let said = answer(found);
    TrialCensoring {
        treated: of(Treatment::Treated),
        check: of(Treatment::Check),
        to_zero_cm: (per_cm > 1e-9).then(|| found.difference.abs() / per_cm),
        holds: [Deeper::Lower, Deeper::Raise]
            .into_iter()
            .all(|deeper| answer(&with(deeper, matters_cm)) == said),
    }
}

/// A strip's mean change where some of its bounds lie deeper.
fn moved(strip: &TrialStrip, deeper: Deeper, by_cm: f64) -> StripValue {
    let [earlier, later] = strip.not_reached.map(|count| count as f64 / strip.probes as f64);
    let share = match (strip.treatment, deeper) {
        (Treatment::Treated, Deeper::Lower) | (Treatment::Check, Deeper::Raise) => -earlier,
        (Treatment::Check, Deeper::Lower) | (Treatment::Treated, Deeper::Raise) => later,
    };
    StripValue {
        treatment: strip.treatment,
        block: strip.block.clone(),
        value: strip.change_cm + share * by_cm,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial_strips::values;

    fn strip(treatment: Treatment, not_reached: [usize; 2], change_cm: f64) -> TrialStrip {
        TrialStrip {
            name: String::new(),
            treatment,
            block: None,
            polygons: geo::MultiPolygon::new(Vec::new()),
            probes: 4,
            not_reached,
            earlier_cm: 20.0,
            later_cm: 20.0 + change_cm,
            change_cm,
            change_sd_cm: None,
            effective_probes: None,
        }
    }

    /// The sign of the difference stands for the answer.
    fn of(strips: &[TrialStrip]) -> TrialCensoring {
        let found = contrast(&values(strips, |strip| strip.change_cm), 0.95).unwrap();
        censoring(strips, &found, 0.95, 4.0, |contrast| contrast.difference > 0.0)
    }

    /// The difference is 3 cm. One treated strip of two has half its probes not reached before, so each
    /// centimetre deeper takes a quarter: 12 cm turn it, and 4 do not.
    #[test]
    fn bounds_before_the_treatment_work_against_a_gain() {
        let treated = |not_reached| strip(Treatment::Treated, not_reached, 1.0);
        let check = |not_reached| strip(Treatment::Check, not_reached, -2.0);
        let found = of(&[treated([2, 0]), treated([0, 0]), check([0, 0]), check([0, 0])]);
        assert_eq!((found.treated, found.check, found.total()), ([2, 0], [0, 0], 2));
        assert!((found.to_zero_cm.unwrap() - 12.0).abs() < 1e-9);
        assert!(found.holds);
        // All treated probes not reached before: 3 cm deeper turn it.
        let found = of(&[treated([4, 0]), check([0, 0])]);
        assert!((found.to_zero_cm.unwrap() - 3.0).abs() < 1e-9 && !found.holds);
        // All check probes not reached afterwards: 3 cm deeper turn it.
        let found = of(&[treated([0, 0]), check([0, 4])]);
        assert!((found.to_zero_cm.unwrap() - 3.0).abs() < 1e-9 && !found.holds);
        // What raises a gain further does not turn it.
        let found = of(&[treated([0, 4]), check([4, 0])]);
        assert_eq!((found.to_zero_cm, found.holds), (None, true));
        // Of a loss it is the other way round.
        let loss = strip(Treatment::Treated, [0, 4], -3.0);
        let found = of(&[loss, check([0, 0])]);
        assert!((found.to_zero_cm.unwrap() - 1.0).abs() < 1e-9 && !found.holds);
    }
}
