//! How sure a median is that some readings only bound.
//!
//! The interval of Brookmeyer and Crowley (1982, A confidence interval for the median survival time,
//! Biometrics 38:29–41), on the scale log(−log S) (Kalbfleisch and Prentice 1980, The Statistical Analysis of
//! Failure Time Data; both from memory): all depths at which the share of ground that is looser still, S, is
//! not told apart from a half. The band of S is S^exp(±z·e), with e = √(Σ d / (n (n − d))) / |log S| by
//! Greenwood's formula, for d of n readings that reached the threshold at each step so far. The interval
//! begins where the lower edge of the band first is at or below a half, and ends where the upper one is.
//!
//! It takes the readings as independent. On a rod with marks it begins and ends at marks.

use statistics::normal;
use survey::{KaplanMeier, Reading, Step};

/// An interval of a median.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MedianInterval {
    /// Where it begins; not reached where even that lies deeper than every reading.
    pub from: Reading,
    /// Where it ends; not reached where the readings do not bound it: it ends deeper than that.
    pub to: Reading,
}

/// The interval that holds the median with a confidence, 0 to 1.
pub fn median_interval(curve: &KaplanMeier, confidence: f64) -> MedianInterval {
    let z = normal::quantile(0.5 + confidence / 2.0);
    let mut ends = [None, None];
    let mut sum = 0.0;
    for step in curve.steps() {
        sum += greenwood(step);
        let band = band(step.deeper, sum, z);
        for (end, edge) in ends.iter_mut().zip(band) {
            if end.is_none() && edge <= 0.5 {
                *end = Some(Reading::Reached(step.depth));
            }
        }
    }
    // The deepest reading, whether it reached the threshold or not.
    let deeper = Reading::NotReached { probed_to: curve.quantile(1.0).at_least() };
    let [from, to] = ends.map(|end| end.unwrap_or(deeper));
    MedianInterval { from, to }
}

/// A step's part of Greenwood's sum.
fn greenwood(step: &Step) -> f64 {
    let (reached, at_risk) = (step.reached as f64, step.at_risk as f64);
    reached / (at_risk * (at_risk - reached))
}

/// Lower and upper edge of the band of a share. Where nothing is left its error is not known: the lower edge
/// is 0 there, and nothing is an upper one.
fn band(share: f64, sum: f64, z: f64) -> [f64; 2] {
    if share <= 0.0 {
        return [0.0, f64::NAN];
    }
    let log = libm::log(share);
    let factor = libm::exp(z * sum.sqrt() / log.abs());
    [libm::exp(log * factor), libm::exp(log / factor)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use survey::Depth;

    fn readings(depths_cm: &[f64]) -> Vec<Reading> {
        // Negative: not reached.
        let reading = |&cm: &f64| match Depth::from_cm(cm.abs()) {
            probed_to if cm < 0.0 => Reading::NotReached { probed_to },
            depth => Reading::Reached(depth),
        };
        depths_cm.iter().map(reading).collect()
    }

    fn interval(depths_cm: &[f64], confidence: f64) -> MedianInterval {
        median_interval(&KaplanMeier::of(&readings(depths_cm)).unwrap(), confidence)
    }

    fn ends(depths_cm: &[f64], confidence: f64) -> [Reading; 2] {
        let MedianInterval { from, to } = interval(depths_cm, confidence);
        [from, to]
    }

    /// Weeks of remission under 6-mercaptopurine and under placebo, Freireich et al. (1963, Blood
    /// 21:699–716).
    const TREATED: [f64; 21] = [
        6.0, 6.0, 6.0, -6.0, 7.0, -9.0, 10.0, -10.0, -11.0, 13.0, 16.0, -17.0, -19.0, -20.0, 22.0,
        23.0, -25.0, -32.0, -32.0, -34.0, -35.0,
    ];
    const PLACEBO: [f64; 21] = [
        1.0, 1.0, 2.0, 2.0, 3.0, 4.0, 4.0, 5.0, 5.0, 8.0, 8.0, 8.0, 8.0, 11.0, 11.0, 12.0, 12.0,
        15.0, 17.0, 22.0, 23.0,
    ];

    /// Expected ends by lifelines 0.30.3 (`median_survival_times` of
    /// `confidence_interval_survival_function_`, which has the same scale).
    #[test]
    fn intervals_are_those_of_another_program() {
        assert_eq!(ends(&TREATED, 0.95), *readings(&[13.0, -35.0]));
        assert_eq!(ends(&TREATED, 0.8), *readings(&[16.0, -35.0]));
        assert_eq!(ends(&PLACEBO, 0.95), *readings(&[4.0, 11.0]));
        let mut marks = [[3.0; 3].as_slice(), &[6.0; 20], &[9.0; 30], &[12.0; 20]].concat();
        marks.extend([-18.0; 35]);
        assert_eq!(ends(&marks, 0.95), *readings(&[9.0, 12.0]));
    }

    /// The same program's band after the first two steps.
    #[test]
    fn the_band_is_that_of_another_program() {
        let curve = KaplanMeier::of(&readings(&TREATED)).unwrap();
        let z = normal::quantile(0.975);
        let first = greenwood(&curve.steps()[0]);
        let two = first + greenwood(&curve.steps()[1]);
        let edges =
            [band(curve.steps()[0].deeper, first, z), band(curve.steps()[1].deeper, two, z)];
        for (edge, published) in
            edges.concat().into_iter().zip([0.619_718, 0.951_552, 0.563_147, 0.922_809])
        {
            assert!((edge - published).abs() < 5e-7, "{edge} {published}");
        }
    }

    #[test]
    fn few_readings_do_not_bound_the_median() {
        assert_eq!(ends(&[3.0, 6.0, 9.0], 0.95), *readings(&[3.0, -9.0]));
        assert_eq!(ends(&[-18.0, -18.0, -12.0], 0.95), *readings(&[-18.0, -18.0]));
    }
}
