//! Student's test of the mean of differences between pairs.
//!
//! t = d̄ / (s/√n) with n − 1 degrees of freedom (Student 1908, The probable error of a mean, Biometrika
//! 6:1–25), and the interval d̄ ± t·s/√n.

use crate::moments::{Moments, is_more_than_rounding};
use crate::student;

/// A mean, how well it is known, and the test that the true one is 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeanTest {
    /// How many differences there are.
    pub n: usize,
    /// Their mean.
    pub mean: f64,
    /// Their standard deviation, with n − 1 below the line.
    pub sd: f64,
    /// The standard error of the mean, as if the differences were independent of each other.
    pub standard_error: f64,
    /// The mean over its standard error.
    pub t: f64,
    /// n − 1.
    pub degrees_of_freedom: f64,
    /// The probability of a |t| at least so great where the true mean is 0.
    pub p: f64,
    /// The mean less and plus what the confidence asks for.
    pub interval: [f64; 2],
}

/// Tests the mean of differences, with an interval for a confidence between 0 and 1 (0.95).
///
/// `None` for fewer than two differences, where one is not a finite number, and where all are alike up
/// to rounding: then t has no value.
pub fn paired_t(differences: &[f64], confidence: f64) -> Option<MeanTest> {
    let moments = Moments::of(differences)?;
    let standard_error = (moments.variance() / moments.count()).sqrt();
    if !is_more_than_rounding(standard_error, moments.mean) {
        return None;
    }
    let degrees_of_freedom = moments.count() - 1.0;
    let t = moments.mean / standard_error;
    let wide =
        student::quantile(f64::midpoint(1.0, confidence), degrees_of_freedom) * standard_error;
    Some(MeanTest {
        n: moments.n,
        mean: moments.mean,
        sd: moments.variance().sqrt(),
        standard_error,
        t,
        degrees_of_freedom,
        p: student::both_tails(t, degrees_of_freedom),
        interval: [moments.mean - wide, moments.mean + wide],
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Student (1908, section IX): additional hours of sleep of ten patients under two drugs; the
    /// figures of the test are those that R prints (`t.test`, set `sleep`).
    #[test]
    fn sleep_of_ten_patients_is_as_student_published() {
        let first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
        let second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];
        let differences: Vec<f64> = first.iter().zip(second).map(|(a, b)| a - b).collect();
        let test = paired_t(&differences, 0.95).unwrap();
        assert_eq!((test.n, test.degrees_of_freedom), (10, 9.0));
        assert!((test.mean - -1.58).abs() < 1e-12);
        assert!((test.t - -4.0621).abs() < 0.000_05, "{}", test.t);
        assert!((test.p - 0.002_833).abs() < 0.000_000_5, "{}", test.p);
        assert!((test.interval[0] - -2.459_885_8).abs() < 0.000_000_05, "{:?}", test.interval);
        assert!((test.interval[1] - -0.700_114_2).abs() < 0.000_000_05, "{:?}", test.interval);
    }

    /// 1, 2, 3: mean 2, standard deviation 1, so t = 2√3 with 2 degrees, for which the probability of
    /// more on both sides is 1 − t/√(2 + t²) = 1 − √(6/7).
    #[test]
    fn three_values_can_be_checked_by_hand() {
        let test = paired_t(&[1.0, 2.0, 3.0], 0.9).unwrap();
        assert!((test.t - 2.0 * 3.0_f64.sqrt()).abs() < 1e-14);
        assert!((test.p - (1.0 - (6.0_f64 / 7.0).sqrt())).abs() < 1e-14);
        assert!((test.interval[1] - 2.0 - 2.919_986 / 3.0_f64.sqrt()).abs() < 1e-6);
        assert!((test.interval[0] + test.interval[1] - 4.0).abs() < 1e-14);
    }

    #[test]
    fn differences_that_are_all_alike_have_no_test() {
        assert_eq!(paired_t(&[0.1 + 0.2, 0.3, 0.3], 0.95), None);
        assert_eq!(paired_t(&[0.0, 0.0], 0.95), None);
        assert_eq!(paired_t(&[1.0], 0.95), None);
        assert_eq!(paired_t(&[1.0, f64::NAN, 3.0], 0.95), None);
    }
}
