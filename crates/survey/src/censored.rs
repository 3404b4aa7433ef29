//! Readings of which some are only known to be greater than a depth: "not reached" is a censored
//! value, neither a depth nor nothing.
//!
//! The estimator of Kaplan & Meier (1958, Nonparametric estimation from incomplete observations,
//! Journal of the American Statistical Association 53:457–481): going down, at each depth where the
//! threshold was reached, the share of ground that is looser still is multiplied by 1 − d / n, for d
//! readings that reached it there of n that came so far. A reading that ends at that depth without
//! reaching it came so far (their convention: deaths before losses). It rests on one assumption:
//! where the rod stops without reaching the threshold says nothing about how much deeper the
//! threshold lies, as for a rod that ends at its length.

use crate::checked::Reading;
use crate::profile::SAME_DEPTH_M;
use crate::units::Depth;

/// Shares of ground closer than this are equal: the product of a million fractions errs by less, and
/// without censoring the steps of a million readings lie a thousand times farther apart.
const SAME_SHARE: f64 = 1e-9;

/// The share of ground where the threshold lies deeper than a depth, as a function that steps down
/// at each depth where a reading reached it.
#[derive(Debug, Clone, PartialEq)]
pub struct KaplanMeier {
    steps: Vec<Step>,
    deepest: Depth,
}

/// One step of the function.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Where readings reached the threshold.
    pub depth: Depth,
    /// How many readings came at least so deep.
    pub at_risk: usize,
    /// How many of them reached the threshold here.
    pub reached: usize,
    /// The share of ground where it lies deeper, 0 to 1, from here to the next step.
    pub deeper: f64,
}

impl KaplanMeier {
    /// The function of some readings; `None` where there is none.
    pub fn of(readings: &[Reading]) -> Option<Self> {
        let mut sorted = readings.to_vec();
        sorted.sort_by(|a, b| a.at_least().m().total_cmp(&b.at_least().m()));
        let deepest = sorted.last()?.at_least();
        let mut steps: Vec<Step> = Vec::new();
        let mut deeper = 1.0;
        let mut passed = 0;
        let same = |a: &Reading, b: &Reading| b.at_least().m() - a.at_least().m() <= SAME_DEPTH_M;
        for tied in sorted.chunk_by(same) {
            let at_risk = sorted.len() - passed;
            let reached = tied.iter().filter(|r| !r.is_not_reached()).count();
            if reached > 0 {
                deeper *= (at_risk - reached) as f64 / at_risk as f64;
                steps.push(Step { depth: tied[0].at_least(), at_risk, reached, deeper });
            }
            passed += tied.len();
        }
        Some(KaplanMeier { steps, deepest })
    }

    /// The steps, by increasing depth.
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// The share of ground where the threshold lies deeper than a depth, 0 to 1. Below the deepest
    /// reading, where that did not reach the threshold, it is not known how it goes on: the last
    /// share is given.
    pub fn deeper_than(&self, depth: Depth) -> f64 {
        let passed = self.steps.partition_point(|step| step.depth <= depth);
        match passed {
            0 => 1.0,
            _ => self.steps[passed - 1].deeper,
        }
    }

    /// The depth above which the threshold lies in so much of the ground (0.5: the median).
    ///
    /// The first depth where no more than 1 − `share` is deeper. Where exactly 1 − `share` is deeper
    /// from one step to the next, the middle between them: so without censored readings the median
    /// is the middle value, or the mean of the two middle values, and other quantiles are those of
    /// definition 2 of Hyndman & Fan (1996, The American Statistician 50:361–365).
    ///
    /// Where the function does not come down so far, not reached, down to the deepest reading. Where
    /// it stays at exactly 1 − `share` from the last step on, the next step is only known to be
    /// deeper than the deepest reading: not reached, down to the middle between the two.
    pub fn quantile(&self, share: f64) -> Reading {
        let remaining = 1.0 - share;
        let at_or_below = |step: &Step| step.deeper <= remaining + SAME_SHARE;
        let Some(first) = self.steps.iter().position(at_or_below) else {
            return Reading::NotReached { probed_to: self.deepest };
        };
        let step = self.steps[first];
        if step.deeper < remaining - SAME_SHARE || step.deeper <= 0.0 {
            return Reading::Reached(step.depth);
        }
        match self.steps.get(first + 1) {
            Some(next) => Reading::Reached(middle(step.depth, next.depth)),
            None => Reading::NotReached { probed_to: middle(step.depth, self.deepest) },
        }
    }

    /// The median: [`KaplanMeier::quantile`] of a half.
    pub fn median(&self) -> Reading {
        self.quantile(0.5)
    }
}

fn middle(a: Depth, b: Depth) -> Depth {
    match a == b {
        true => a,
        false => Depth::from_m((a.m() + b.m()) / 2.0),
    }
}

/// Several readings as one, with their spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Combined {
    /// Their median.
    pub reading: Reading,
    /// How many there are.
    pub count: usize,
    /// How many of them did not reach the threshold.
    pub not_reached: usize,
    /// The depth of a quarter of them; `None` where it was not reached.
    pub lower_quartile: Option<Depth>,
    /// The depth of three quarters of them; `None` where it was not reached.
    pub upper_quartile: Option<Depth>,
}

/// Median and quartiles of some readings by [`KaplanMeier::quantile`], for instance of several
/// insertions at one spot. One reading stays as it is, and is its own quartile.
///
/// # Panics
/// When there is no reading.
pub fn combined(readings: &[Reading]) -> Combined {
    let curve = KaplanMeier::of(readings).expect("at least one reading is to be combined");
    let depth = |share| match curve.quantile(share) {
        Reading::Reached(depth) => Some(depth),
        Reading::NotReached { .. } => None,
    };
    Combined {
        reading: curve.median(),
        count: readings.len(),
        not_reached: readings.iter().filter(|r| r.is_not_reached()).count(),
        lower_quartile: depth(0.25),
        upper_quartile: depth(0.75),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reached(cm: f64) -> Reading {
        Reading::Reached(Depth::from_cm(cm))
    }

    fn not_reached(cm: f64) -> Reading {
        Reading::NotReached { probed_to: Depth::from_cm(cm) }
    }

    fn median(readings: &[Reading]) -> Reading {
        combined(readings).reading
    }

    fn is_close(a: Reading, b: Reading) -> bool {
        a.is_not_reached() == b.is_not_reached()
            && (a.at_least().m() - b.at_least().m()).abs() < 1e-12
    }

    /// Weeks of remission under 6-mercaptopurine, Freireich et al. (1963, Blood 21:699–716), as given
    /// with the estimate and its median of 23 weeks in textbooks of survival analysis (for instance
    /// Kleinbaum & Klein, Survival Analysis, chapter 2). Negative: censored.
    const REMISSION: [f64; 21] = [
        6.0, 6.0, 6.0, -6.0, 7.0, -9.0, 10.0, -10.0, -11.0, 13.0, 16.0, -17.0, -19.0, -20.0, 22.0,
        23.0, -25.0, -32.0, -32.0, -34.0, -35.0,
    ];

    fn remission() -> Vec<Reading> {
        REMISSION
            .iter()
            .map(|&weeks| match weeks < 0.0 {
                true => not_reached(-weeks),
                false => reached(weeks),
            })
            .collect()
    }

    #[test]
    fn inches_and_centimetres_of_one_depth_are_tied() {
        let seven_in = Reading::NotReached { probed_to: Depth::from_in(7.0) };
        let readings = [reached(17.78), reached(17.78), seven_in, reached(20.0)];
        let Reading::Reached(median) = median(&readings) else { panic!("reached") };
        assert!((median.cm() - 18.89).abs() < 1e-9, "{}", median.cm());
    }

    #[test]
    fn published_example_comes_out_to_the_digits_printed() {
        let curve = KaplanMeier::of(&remission()).unwrap();
        let steps: Vec<String> = curve
            .steps()
            .iter()
            .map(|s| format!("{:.0} {} {} {:.3}", s.depth.cm(), s.at_risk, s.reached, s.deeper))
            .collect();
        assert_eq!(
            steps,
            [
                "6 21 3 0.857",
                "7 17 1 0.807",
                "10 15 1 0.753",
                "13 12 1 0.690",
                "16 11 1 0.627",
                "22 7 1 0.538",
                "23 6 1 0.448"
            ]
        );
        assert!(is_close(curve.median(), reached(23.0)));
        assert!(is_close(curve.quantile(0.25), reached(13.0)));
        assert!(is_close(curve.quantile(0.75), not_reached(35.0)));
    }

    #[test]
    fn the_order_of_readings_does_not_matter() {
        let mut turned = remission();
        turned.reverse();
        assert_eq!(KaplanMeier::of(&turned), KaplanMeier::of(&remission()));
    }

    #[test]
    fn the_function_holds_from_step_to_step() {
        let curve = KaplanMeier::of(&remission()).unwrap();
        let deeper = |cm| curve.deeper_than(Depth::from_cm(cm));
        assert_eq!(deeper(5.9), 1.0);
        assert!((deeper(6.0) - 18.0 / 21.0).abs() < 1e-12);
        assert!((deeper(6.9) - 18.0 / 21.0).abs() < 1e-12);
        assert!((deeper(90.0) - 0.448).abs() < 5e-4);
    }

    #[test]
    fn without_censoring_it_is_the_ordinary_median() {
        assert!(is_close(median(&[9.0, 3.0, 6.0].map(reached)), reached(6.0)));
        assert!(is_close(median(&[3.0, 12.0, 6.0, 9.0].map(reached)), reached(7.5)));
        assert!(is_close(median(&[3.0, 3.0, 3.0, 9.0].map(reached)), reached(3.0)));
        // 3, 6: the mean. 6, 6: no arithmetic that could move it.
        assert!(is_close(median(&[3.0, 6.0].map(reached)), reached(4.5)));
        assert_eq!(median(&[7.3, 7.3].map(reached)), reached(7.3));
    }

    #[test]
    fn any_number_without_censoring_is_the_ordinary_median() {
        for count in 1..200_u32 {
            let mut depths: Vec<f64> = (0..count).map(|k| f64::from(k * 7919 % 101)).collect();
            let found = median(&depths.iter().copied().map(reached).collect::<Vec<_>>());
            depths.sort_by(f64::total_cmp);
            let half = depths.len() / 2;
            let plain = match depths.len() % 2 {
                1 => depths[half],
                _ => (depths[half - 1] + depths[half]) / 2.0,
            };
            assert!(is_close(found, reached(plain)), "{count}: {found:?} {plain}");
        }
    }

    #[test]
    fn quartiles_are_those_of_definition_two() {
        // 1 to 8: a quarter of 8 is whole, so the mean of the 2nd and 3rd.
        let spread = combined(&[1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0].map(reached));
        let cm = |depth: Option<Depth>| (depth.unwrap().cm() * 1e9).round() / 1e9;
        assert_eq!((cm(spread.lower_quartile), cm(spread.upper_quartile)), (2.5, 6.5));
        // 1 to 5: a quarter of 5 is not whole, so the 2nd.
        let spread = combined(&[1.0, 2.0, 3.0, 4.0, 5.0].map(reached));
        assert_eq!((cm(spread.lower_quartile), cm(spread.upper_quartile)), (2.0, 4.0));
    }

    #[test]
    fn a_median_beyond_the_deepest_is_not_reached() {
        let spread = combined(&[reached(10.0), not_reached(45.0), not_reached(40.0)]);
        assert_eq!(spread.reading, not_reached(45.0));
        assert_eq!((spread.count, spread.not_reached), (3, 2));
        assert!(is_close(Reading::Reached(spread.lower_quartile.unwrap()), reached(10.0)));
        assert_eq!(spread.upper_quartile, None);
        assert_eq!(median(&[not_reached(45.0), not_reached(45.0)]), not_reached(45.0));
    }

    #[test]
    fn half_reached_and_half_not_is_not_reached_from_the_middle_on() {
        assert_eq!(median(&[reached(10.0), not_reached(40.0)]), not_reached(25.0));
    }

    #[test]
    fn a_reading_comes_before_one_that_ended_there_without() {
        // Both came to 20 cm: 1 of 2 reached it, not 1 of 1.
        let curve = KaplanMeier::of(&[not_reached(20.0), reached(20.0)]).unwrap();
        assert_eq!(curve.steps()[0].at_risk, 2);
        assert!((curve.steps()[0].deeper - 0.5).abs() < 1e-12);
    }

    #[test]
    fn a_short_push_leaves_its_weight_to_the_deeper_ones() {
        // 10, 20+, 30, 40: after 10, 3/4; after 30, 3/4 × 1/2; so the median is 30.
        let readings = [reached(10.0), not_reached(20.0), reached(30.0), reached(40.0)];
        assert!(is_close(median(&readings), reached(30.0)));
    }

    #[test]
    fn one_reading_is_itself() {
        let spread = combined(&[not_reached(45.0)]);
        assert_eq!(spread.reading, not_reached(45.0));
        assert_eq!(spread.lower_quartile, None);
        let spread = combined(&[reached(12.0)]);
        assert_eq!(spread.upper_quartile, Some(Depth::from_cm(12.0)));
        assert!(KaplanMeier::of(&[]).is_none());
    }
}
