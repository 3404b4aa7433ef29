//! Tests of the difference between the means of two samples that have nothing to do with each other.
//!
//! Welch (1947, The generalization of "Student's" problem when several different population variances are
//! involved, Biometrika 34:28–35): t = (b̄ − ā)/√(sa²/na + sb²/nb), with degrees of freedom
//! (sa²/na + sb²/nb)² / ((sa²/na)²/(na − 1) + (sb²/nb)²/(nb − 1)). Pooled (Student 1908, Fisher 1925):
//! one variance from both, with na + nb − 2 degrees of freedom. Formulas from memory.

use crate::moments::{Moments, is_more_than_rounding};
use crate::student;

/// The difference of two means, how well it is known, and the test that the true one is 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DifferenceTest {
    /// How many values each sample has.
    pub counts: [usize; 2],
    /// The means of both samples.
    pub means: [f64; 2],
    /// The second mean minus the first.
    pub difference: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// The difference over its standard error.
    pub t: f64,
    /// Not whole with [`welch`].
    pub degrees_of_freedom: f64,
    /// The probability of a |t| at least so great where the true difference is 0.
    pub p: f64,
    /// The difference less and plus what the confidence asks for.
    pub interval: [f64; 2],
}

/// Tests mean(b) − mean(a) where the variances may differ, for a confidence between 0 and 1 (0.95).
///
/// `None` where a sample has fewer than two values or one that is not a finite number, and where all
/// values of each are alike up to rounding.
pub fn welch(a: &[f64], b: &[f64], confidence: f64) -> Option<DifferenceTest> {
    let (a, b) = (Moments::of(a)?, Moments::of(b)?);
    let [of_a, of_b] = [&a, &b].map(|moments| moments.variance() / moments.count());
    let both = of_a + of_b;
    let below = of_a * of_a / (a.count() - 1.0) + of_b * of_b / (b.count() - 1.0);
    test(&a, &b, both.sqrt(), both * both / below, confidence)
}

/// Tests mean(b) − mean(a) where both variances are taken to be the same, for a confidence between 0
/// and 1 (0.95). `None` as for [`welch`].
pub fn pooled_t(a: &[f64], b: &[f64], confidence: f64) -> Option<DifferenceTest> {
    let (a, b) = (Moments::of(a)?, Moments::of(b)?);
    let degrees_of_freedom = a.count() + b.count() - 2.0;
    let variance = (a.sum_of_squares + b.sum_of_squares) / degrees_of_freedom;
    let standard_error = (variance * (1.0 / a.count() + 1.0 / b.count())).sqrt();
    test(&a, &b, standard_error, degrees_of_freedom, confidence)
}

fn test(
    a: &Moments,
    b: &Moments,
    standard_error: f64,
    degrees_of_freedom: f64,
    confidence: f64,
) -> Option<DifferenceTest> {
    if !is_more_than_rounding(standard_error, a.mean.abs().max(b.mean.abs())) {
        return None;
    }
    let difference = b.mean - a.mean;
    let t = difference / standard_error;
    let wide =
        student::quantile(f64::midpoint(1.0, confidence), degrees_of_freedom) * standard_error;
    Some(DifferenceTest {
        counts: [a.n, b.n],
        means: [a.mean, b.mean],
        difference,
        standard_error,
        t,
        degrees_of_freedom,
        p: student::both_tails(t, degrees_of_freedom),
        interval: [difference - wide, difference + wide],
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Student's hours of sleep as two samples that have nothing to do with each other; R prints
    /// for `t.test(extra ~ group, data = sleep)` t = −1.8608, df = 17.776, p = 0.07939 and the interval
    /// −3.3654832 to 0.2054832 for the first minus the second.
    #[test]
    fn sleep_as_two_samples_is_as_r_prints_it() {
        let first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
        let second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];
        let test = welch(&first, &second, 0.95).unwrap();
        assert!((test.t - 1.8608).abs() < 0.000_05);
        assert!((test.degrees_of_freedom - 17.776).abs() < 0.0005);
        assert!((test.p - 0.079_39).abs() < 0.000_005);
        assert!((test.interval[0] - -0.205_483_2).abs() < 0.000_000_05);
        assert!((test.interval[1] - 3.365_483_2).abs() < 0.000_000_05);
        assert_eq!((test.counts, test.means), ([10, 10], [0.75, 2.33]));
    }

    /// 0, 2 and 3, 5, 7: means 1 and 5, sums of squares 2 and 8, pooled variance 10/3.
    #[test]
    fn a_pooled_variance_can_be_checked_by_hand() {
        let test = pooled_t(&[0.0, 2.0], &[3.0, 5.0, 7.0], 0.95).unwrap();
        assert_eq!((test.difference, test.degrees_of_freedom), (4.0, 3.0));
        assert!((test.standard_error - (10.0_f64 / 3.0 * 5.0 / 6.0).sqrt()).abs() < 1e-15);
        assert!((test.t - 2.4).abs() < 1e-15);
    }

    #[test]
    fn samples_of_one_size_have_the_same_t_in_both_tests() {
        let (a, b) = ([1.0, 4.0, 2.5, 3.0], [2.0, 9.0, 5.0, 8.5]);
        let [welch, pooled] = [welch(&a, &b, 0.9), pooled_t(&a, &b, 0.9)].map(Option::unwrap);
        assert!((welch.t - pooled.t).abs() < 1e-14);
        assert!(welch.degrees_of_freedom < pooled.degrees_of_freedom);
    }

    #[test]
    fn samples_that_do_not_vary_have_no_test() {
        assert_eq!(welch(&[1.0, 1.0], &[2.0, 2.0], 0.95), None);
        assert_eq!(pooled_t(&[1.0], &[2.0, 3.0], 0.95), None);
        assert!(welch(&[1.0, 1.0], &[2.0, 3.0], 0.95).is_some());
    }
}
