//! How closely two measurements go together.
//!
//! Pearson (1896): Σ(a − ā)(b − b̄)/√(Σ(a − ā)² Σ(b − b̄)²). Spearman (1904): the same of the ranks.
//! Kendall (1938; tau-b of 1945): pairs of pairs in the same order less those in the other, over the
//! geometric mean of the numbers that are not equal in a and in b.

use crate::moments::{Moments, is_more_than_rounding};
use crate::ranks::Ranks;

/// Pearson's correlation of pairs, −1 to 1. `None` for fewer than two pairs, samples of different
/// length, values that are not finite numbers, or a sample that does not vary.
pub fn correlation(a: &[f64], b: &[f64]) -> Option<f64> {
    let joint = Joint::of(a, b)?;
    Some(joint.correlation())
}

/// Spearman's correlation of ranks, −1 to 1; equal values share the mean of their ranks. `None` as for
/// [`correlation`].
pub fn rank_correlation(a: &[f64], b: &[f64]) -> Option<f64> {
    let finite = |values: &[f64]| values.iter().all(|value| value.is_finite());
    (finite(a) && finite(b)).then(|| correlation(&Ranks::of(a).ranks, &Ranks::of(b).ranks))?
}

/// Kendall's tau-b, −1 to 1. Its time grows with the square of the number of pairs. `None` as for
/// [`correlation`].
pub fn kendalls_tau(a: &[f64], b: &[f64]) -> Option<f64> {
    Joint::of(a, b)?;
    let order = |x: f64, y: f64| f64::from(i8::from(x > y) - i8::from(x < y));
    let [mut both, mut in_a, mut in_b] = [0.0; 3];
    for i in 1..a.len() {
        for j in 0..i {
            let [of_a, of_b] = [order(a[i], a[j]), order(b[i], b[j])];
            both += of_a * of_b;
            in_a += of_a * of_a;
            in_b += of_b * of_b;
        }
    }
    Some(both / (in_a.sqrt() * in_b.sqrt()))
}

/// Means and sums of squares and products of pairs.
pub(crate) struct Joint {
    pub a: Moments,
    pub b: Moments,
    /// Σ(a − ā)(b − b̄).
    pub products: f64,
}

impl Joint {
    /// `None` as for [`correlation`].
    pub fn of(values_a: &[f64], values_b: &[f64]) -> Option<Self> {
        if values_a.len() != values_b.len() {
            return None;
        }
        let (a, b) = (Moments::of(values_a)?, Moments::of(values_b)?);
        let varies = |m: &Moments| is_more_than_rounding((m.variance() / m.count()).sqrt(), m.mean);
        let pairs = values_a.iter().zip(values_b);
        let products = pairs.map(|(x, y)| (x - a.mean) * (y - b.mean)).sum();
        (varies(&a) && varies(&b)).then_some(Joint { a, b, products })
    }

    pub fn correlation(&self) -> f64 {
        let whole = self.a.sum_of_squares.sqrt() * self.b.sum_of_squares.sqrt();
        (self.products / whole).clamp(-1.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Anscombe (1973, Graphs in statistical analysis, The American Statistician 27:17–21): the first of
    /// four sets with a correlation of 0.816.
    #[test]
    fn anscombes_first_set_is_as_published() {
        let x = [10.0, 8.0, 13.0, 9.0, 11.0, 14.0, 6.0, 4.0, 12.0, 7.0, 5.0];
        let y = [8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68];
        assert!((correlation(&x, &y).unwrap() - 0.816).abs() < 0.0005);
    }

    #[test]
    fn a_curve_that_only_rises_is_a_line_in_ranks() {
        let a = [1.0, 2.0, 3.0, 4.0, 7.0];
        let cubes = a.map(|value: f64| value * value * value);
        assert!((rank_correlation(&a, &cubes).unwrap() - 1.0).abs() < 1e-15);
        assert!(correlation(&a, &cubes).unwrap() < 0.97);
        assert!((correlation(&a, &a.map(|value| -2.0 * value)).unwrap() + 1.0).abs() < 1e-15);
    }

    /// Of the six pairs, four go the same way, one the other, and one is equal in b: 3/√(6 · 5).
    #[test]
    fn four_pairs_have_a_tau_that_can_be_counted() {
        let tau = kendalls_tau(&[1.0, 2.0, 3.0, 4.0], &[1.0, 3.0, 2.0, 3.0]).unwrap();
        assert!((tau - 3.0 / 30.0_f64.sqrt()).abs() < 1e-15, "{tau}");
    }

    #[test]
    fn what_does_not_vary_or_does_not_pair_has_no_correlation() {
        assert_eq!(correlation(&[1.0, 1.0, 1.0], &[1.0, 2.0, 3.0]), None);
        assert_eq!(correlation(&[1.0, 2.0], &[1.0, 2.0, 3.0]), None);
        assert_eq!(correlation(&[1.0], &[2.0]), None);
        assert_eq!(rank_correlation(&[1.0, f64::NAN], &[2.0, 3.0]), None);
    }
}
