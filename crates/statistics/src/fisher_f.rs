//! Fisher's F distribution, by the regularised incomplete beta function.
//!
//! P(F > f) = I(ν₂/(ν₂ + ν₁f); ν₂/2, ν₁/2) (Abramowitz and Stegun 1964, 26.6.2).

use crate::incomplete_beta::incomplete_beta;

/// The probability of a value above `value`, for the degrees of freedom above and below the line; these
/// need not be whole.
pub fn probability_above(value: f64, df1: f64, df2: f64) -> f64 {
    if value <= 0.0 {
        return 1.0;
    }
    incomplete_beta(df2 / (df2 + df1 * value), df2 / 2.0, df1 / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::student;

    /// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.3, upper critical values for 5 %.
    #[test]
    fn probabilities_are_those_of_the_published_table() {
        for (df1, df2, value) in [
            (1.0, 1.0, 161.448),
            (1.0, 10.0, 4.965),
            (3.0, 5.0, 5.409),
            (5.0, 20.0, 2.711),
            (10.0, 100.0, 1.927),
        ] {
            assert!(probability_above(value - 0.000_501, df1, df2) > 0.05, "{df1} {df2}");
            assert!(probability_above(value + 0.000_501, df1, df2) < 0.05, "{df1} {df2}");
        }
    }

    #[test]
    fn one_degree_above_the_line_is_the_square_of_t() {
        for t in [0.0, 0.2, 1.0, 3.3, 20.0] {
            for degrees in [1.0, 4.5, 30.0, 900.0] {
                let found = probability_above(t * t, 1.0, degrees);
                let expected = student::both_tails(t, degrees);
                assert!((found / expected - 1.0).abs() < 1e-12, "{t} {degrees}: {found}");
            }
        }
    }
}
