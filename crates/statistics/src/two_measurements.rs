//! How well two measurements of the same things agree, and not only go together.
//!
//! Lin (1989, A concordance correlation coefficient to evaluate reproducibility, Biometrics
//! 45:255–268): twice the covariance over both variances and (ā − b̄)², with n below the line of all
//! three. Bland and Altman (1986, Statistical methods for assessing agreement between two methods of
//! clinical measurement, The Lancet 327:307–310): mean difference ± 1.96 standard deviations of
//! differences.

use crate::correlation::Joint;
use crate::moments::Moments;

/// Standard deviations to either side that hold 95 % of a normal distribution, as Bland and Altman
/// round them.
const DEVIATIONS: f64 = 1.96;

/// Lin's concordance, which is 1 only where both measurements are the same.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Concordance {
    /// Correlation times closeness, −1 to 1.
    pub coefficient: f64,
    /// Pearson's correlation: how close pairs lie to any line.
    pub correlation: f64,
    /// How close that line is to that of equal values, above 0 and at most 1.
    pub closeness: f64,
}

/// The concordance of pairs. `None` as for [`correlation`](crate::correlation).
pub fn concordance(a: &[f64], b: &[f64]) -> Option<Concordance> {
    let joint = Joint::of(a, b)?;
    let n = joint.a.count();
    let apart = joint.a.mean - joint.b.mean;
    let below = joint.a.sum_of_squares + joint.b.sum_of_squares + n * apart * apart;
    let spreads = joint.a.sum_of_squares.sqrt() * joint.b.sum_of_squares.sqrt();
    Some(Concordance {
        coefficient: 2.0 * joint.products / below,
        correlation: joint.correlation(),
        closeness: 2.0 * spreads / below,
    })
}

/// Between which limits most differences of two measurements lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimitsOfAgreement {
    /// The mean of the second less the first.
    pub bias: f64,
    /// The standard deviation of the differences, with n − 1 below the line.
    pub sd: f64,
    /// The bias less 1.96 standard deviations.
    pub lower: f64,
    /// The bias plus 1.96 standard deviations.
    pub upper: f64,
}

/// Limits that hold about 95 % of differences, where these are normal and the same for small and great
/// values. `None` for fewer than two pairs, samples of different length, and values that are not finite.
pub fn limits_of_agreement(a: &[f64], b: &[f64]) -> Option<LimitsOfAgreement> {
    let differences: Vec<f64> = a.iter().zip(b).map(|(a, b)| b - a).collect();
    let moments = Moments::of(&differences).filter(|_| a.len() == b.len())?;
    let (bias, sd) = (moments.mean, moments.variance().sqrt());
    let [lower, upper] = [bias - DEVIATIONS * sd, bias + DEVIATIONS * sd];
    Some(LimitsOfAgreement { bias, sd, lower, upper })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1, 2, 3 and 3, 4, 5: products and squares are 2, means 2 apart: 4/(2 + 2 + 12).
    #[test]
    fn values_that_are_all_two_more_agree_little_though_correlated() {
        let found = concordance(&[1.0, 2.0, 3.0], &[3.0, 4.0, 5.0]).unwrap();
        assert_eq!(found.coefficient, 0.25);
        assert!((found.closeness - 0.25).abs() < 1e-15);
        assert!((found.correlation - 1.0).abs() < 1e-15);
        let limits = limits_of_agreement(&[1.0, 2.0, 3.0], &[3.0, 4.0, 5.0]).unwrap();
        assert_eq!((limits.bias, limits.lower, limits.upper), (2.0, 2.0, 2.0));
    }

    /// Differences −1, 0, 4: mean 1, standard deviation √7.
    #[test]
    fn limits_lie_evenly_around_the_bias() {
        let limits = limits_of_agreement(&[5.0, 6.0, 7.0], &[4.0, 6.0, 11.0]).unwrap();
        assert!((limits.sd - 7.0_f64.sqrt()).abs() < 1e-15);
        assert!((limits.lower - (1.0 - 1.96 * 7.0_f64.sqrt())).abs() < 1e-14);
        assert!((limits.lower + limits.upper - 2.0).abs() < 1e-15);
        assert_eq!(limits_of_agreement(&[1.0, 2.0], &[1.0, 2.0, 3.0]), None);
    }

    #[test]
    fn the_same_values_agree_wholly() {
        let values = [0.3, 8.0, 2.5, 4.0];
        assert!((concordance(&values, &values).unwrap().coefficient - 1.0).abs() < 1e-15);
        assert_eq!(concordance(&values, &[1.0; 4]), None);
    }
}
