//! Whether values are alike where they are near: Moran's I and Geary's C.
//!
//! With z the values less their mean, I = n/S₀ · ΣΣ wᵢⱼ zᵢ zⱼ / Σ z² (Moran 1950, Notes on continuous
//! stochastic phenomena, Biometrika 37:17–23) and C = (n − 1)/(2 S₀) · ΣΣ wᵢⱼ (zᵢ − zⱼ)² / Σ z² (Geary
//! 1954, The contiguity ratio and statistical mapping, The Incorporated Statistician 5:115–146). Variances
//! where values are normal, and where those that are there fall on places by lot: Cliff and Ord (1981),
//! Spatial Processes, 21 and 42–46, from memory, held against spdep 1.2-7. All places count in n, also
//! those without a neighbour.

use crate::moments::{Moments, is_more_than_rounding};
use crate::normal;
use crate::spatial_weights::SpatialWeights;

/// A measure of how alike neighbours are, and how far it is from what chance gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Autocorrelation {
    /// I or C.
    pub statistic: f64,
    /// What chance gives: −1/(n − 1) for I, 1 for C.
    pub expected: f64,
    /// Where values are normal.
    pub by_normality: Departure,
    /// Where the values that are there fall on places by lot.
    pub by_randomisation: Departure,
}

/// How far a statistic is from what chance gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Departure {
    /// The variance that chance gives.
    pub variance: f64,
    /// The statistic less what is expected, over the root of the variance.
    pub z: f64,
    /// The probability of a |z| at least so great by the normal distribution, on both sides.
    pub p: f64,
}

/// Moran's I: above what is expected where neighbours are alike.
///
/// `None` for fewer than four values, where the weights are of another number of places or no place has
/// a neighbour, where a value is not a finite number, and where values do not vary.
pub fn morans_i(values: &[f64], weights: &SpatialWeights) -> Option<Autocorrelation> {
    let Parts { n, z, squares, s0, s1, s2, kurtosis } = Parts::of(values, weights)?;
    let products: f64 = weights.pairs().map(|(i, j, weight)| weight * z[i] * z[j]).sum();
    let expected = -1.0 / (n - 1.0);
    let s00 = s0 * s0;
    let by_normality = (n * n * s1 - n * s2 + 3.0 * s00) / (s00 * (n * n - 1.0));
    let even = n * ((n * n - 3.0 * n + 3.0) * s1 - n * s2 + 3.0 * s00);
    let peaked = kurtosis * ((n * n - n) * s1 - 2.0 * n * s2 + 6.0 * s00);
    let by_randomisation = (even - peaked) / ((n - 1.0) * (n - 2.0) * (n - 3.0) * s00);
    let variances = [by_normality, by_randomisation].map(|v| v - expected * expected);
    autocorrelation(n / s0 * products / squares, expected, variances)
}

/// Geary's C: below 1 where neighbours are alike. `None` as for [`morans_i`].
pub fn gearys_c(values: &[f64], weights: &SpatialWeights) -> Option<Autocorrelation> {
    let Parts { n, z, squares, s0, s1, s2, kurtosis } = Parts::of(values, weights)?;
    let apart = |(i, j, weight): (usize, usize, f64)| weight * (z[i] - z[j]) * (z[i] - z[j]);
    let differences: f64 = weights.pairs().map(apart).sum();
    let (s00, m) = (s0 * s0, n - 1.0);
    let by_normality = ((2.0 * s1 + s2) * m - 4.0 * s00) / (2.0 * (n + 1.0) * s00);
    let pairs = m * s1 * (n * n - 3.0 * n + 3.0 - m * kurtosis);
    let rows = 0.25 * m * s2 * (n * n + 3.0 * n - 6.0 - (n * n - n + 2.0) * kurtosis);
    let whole = s00 * (n * n - 3.0 - m * m * kurtosis);
    let by_randomisation = (pairs - rows + whole) / (n * (n - 2.0) * (n - 3.0) * s00);
    let statistic = m / (2.0 * s0) * differences / squares;
    autocorrelation(statistic, 1.0, [by_normality, by_randomisation])
}

fn autocorrelation(statistic: f64, expected: f64, variances: [f64; 2]) -> Option<Autocorrelation> {
    let departure = |variance: f64| {
        let z = (statistic - expected) / variance.sqrt();
        Departure { variance, z, p: normal::both_tails(z) }
    };
    let [by_normality, by_randomisation] = variances.map(departure);
    // With some weights, as when all places are neighbours of all, the statistic cannot vary.
    let varies = variances.iter().all(|variance| *variance > 1e-15);
    varies.then_some(Autocorrelation { statistic, expected, by_normality, by_randomisation })
}

/// What both statistics are made of.
struct Parts {
    n: f64,
    /// The values less their mean.
    z: Vec<f64>,
    /// Σ z².
    squares: f64,
    /// The sum of the weights.
    s0: f64,
    /// ½ ΣΣ (wᵢⱼ + wⱼᵢ)².
    s1: f64,
    /// Σ (weights from a place + weights to it)².
    s2: f64,
    /// n Σ z⁴ / (Σ z²)².
    kurtosis: f64,
}

impl Parts {
    fn of(values: &[f64], weights: &SpatialWeights) -> Option<Self> {
        let moments = Moments::of(values)?;
        let error = (moments.variance() / moments.count()).sqrt();
        let proper = values.len() == weights.places() && values.len() >= 4;
        if !proper || !is_more_than_rounding(error, moments.mean) {
            return None;
        }
        let (n, squares) = (moments.count(), moments.sum_of_squares);
        let z: Vec<f64> = values.iter().map(|value| value - moments.mean).collect();
        let fourths: f64 = z.iter().map(|z| z * z * z * z).sum();
        let [s0, s1, s2] = sums(weights);
        let kurtosis = n * fourths / (squares * squares);
        (s0 > 0.0).then_some(Parts { n, z, squares, s0, s1, s2, kurtosis })
    }
}

/// S₀, S₁ and S₂ of the weights.
fn sums(weights: &SpatialWeights) -> [f64; 3] {
    let mut of_place = vec![0.0; weights.places()];
    let [mut s0, mut s1] = [0.0; 2];
    for (from, to, weight) in weights.pairs() {
        s0 += weight;
        // ½ (w + w′)² of both directions is w² + w·w′ for each.
        s1 += weight * (weight + weights.weight(to, from));
        of_place[from] += weight;
        of_place[to] += weight;
    }
    [s0, s1, of_place.iter().map(|sum| sum * sum).sum()]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Four places in a row, neighbours side by side.
    fn row() -> SpatialWeights {
        SpatialWeights::within(&[0.0, 1.0, 2.0, 3.0].map(|x| [x, 0.0]), 1.0)
    }

    /// The values 1, 2, 3, 4: z = −1.5, −0.5, 0.5, 1.5; S₀ = 6, S₁ = 12, S₂ = 4 + 16 + 16 + 4 = 40;
    /// neighbours give 2(0.75 − 0.25 + 0.75) = 2.5 of products and 2 · 3 of squared differences.
    #[test]
    fn a_row_of_four_can_be_checked_by_hand() {
        let values = [1.0, 2.0, 3.0, 4.0];
        assert_eq!(sums(&row()), [6.0, 12.0, 40.0]);
        let i = morans_i(&values, &row()).unwrap();
        assert!((i.statistic - 4.0 / 6.0 * 2.5 / 5.0).abs() < 1e-15);
        assert!((i.by_normality.variance - (140.0 / 540.0 - 1.0 / 9.0)).abs() < 1e-15);
        let c = gearys_c(&values, &row()).unwrap();
        assert!((c.statistic - 3.0 / 12.0 * 6.0 / 5.0).abs() < 1e-15);
        assert!((c.by_normality.variance - (64.0 * 3.0 - 144.0) / 360.0).abs() < 1e-15);
    }

    /// All 24 orders of four values have the mean and the variance that randomisation gives.
    #[test]
    fn randomisation_is_what_all_orders_give() {
        let values = [1.0, 2.0, 4.0, 9.0];
        let weights =
            SpatialWeights::of_links(&[vec![1, 2], vec![0], vec![3], vec![1, 2]]).unwrap();
        let weights = weights.row_standardised();
        let mut orders = Vec::new();
        for a in 0..4 {
            for b in (0..4).filter(|b| *b != a) {
                for c in (0..4).filter(|c| *c != a && *c != b) {
                    orders.push([values[a], values[b], values[c], values[6 - a - b - c]]);
                }
            }
        }
        for statistic in [morans_i, gearys_c] {
            let all: Vec<f64> =
                orders.iter().map(|order| statistic(order, &weights).unwrap().statistic).collect();
            let found = statistic(&values, &weights).unwrap();
            let mean = all.iter().sum::<f64>() / 24.0;
            let variance = all.iter().map(|s| (s - mean) * (s - mean)).sum::<f64>() / 24.0;
            assert!((found.expected - mean).abs() < 1e-14, "{mean} {found:?}");
            assert!(
                (found.by_randomisation.variance - variance).abs() < 1e-14,
                "{variance} {found:?}"
            );
        }
    }

    #[test]
    fn what_cannot_vary_has_no_statistic() {
        let all = SpatialWeights::nearest(&[0.0, 1.0, 2.0, 5.0].map(|x| [x, 0.0]), 3);
        assert_eq!(morans_i(&[1.0, 5.0, 2.0, 9.0], &all), None);
        assert_eq!(morans_i(&[3.0; 4], &row()), None);
        assert_eq!(morans_i(&[1.0, 2.0, 3.0], &row()), None);
        assert_eq!(gearys_c(&[1.0, f64::NAN, 3.0, 2.0], &row()), None);
        let alone = SpatialWeights::of_links(&vec![Vec::new(); 4]).unwrap();
        assert_eq!(gearys_c(&[1.0, 5.0, 3.0, 2.0], &alone), None);
    }
}
