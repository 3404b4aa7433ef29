//! Student's t distribution, by the regularised incomplete beta function.
//!
//! P(T ≤ t) = 1 − I(ν/(ν + t²); ν/2, ½)/2 for t ≥ 0 (Abramowitz and Stegun 1964, 26.7.1).

use crate::incomplete_beta::incomplete_beta;

/// The share of the distribution at or below `t`, 0 to 1.
pub fn probability_below(t: f64, degrees_of_freedom: f64) -> f64 {
    let tail = 0.5
        * incomplete_beta(
            degrees_of_freedom / (degrees_of_freedom + t * t),
            degrees_of_freedom / 2.0,
            0.5,
        );
    if t < 0.0 { tail } else { 1.0 - tail }
}

/// The probability of a value at least as far from 0, on either side.
pub fn both_tails(t: f64, degrees_of_freedom: f64) -> f64 {
    2.0 * probability_below(-t.abs(), degrees_of_freedom)
}

/// The value that a share of the distribution lies below, for shares from a half to less than 1.
pub fn quantile(share: f64, degrees_of_freedom: f64) -> f64 {
    debug_assert!((0.5..1.0).contains(&share));
    let (mut low, mut high) = (0.0, 1.0);
    while probability_below(high, degrees_of_freedom) < share {
        (low, high) = (high, 2.0 * high);
    }
    // Each halving gains a binary digit; an f64 has 53.
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        match probability_below(middle, degrees_of_freedom) < share {
            true => low = middle,
            false => high = middle,
        }
    }
    f64::midpoint(low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, upper critical values for shares of
    /// 0.90, 0.95, 0.975, 0.99 and 0.995.
    const PUBLISHED: [(f64, [f64; 5]); 8] = [
        (1.0, [3.078, 6.314, 12.706, 31.821, 63.657]),
        (2.0, [1.886, 2.920, 4.303, 6.965, 9.925]),
        (3.0, [1.638, 2.353, 3.182, 4.541, 5.841]),
        (5.0, [1.476, 2.015, 2.571, 3.365, 4.032]),
        (10.0, [1.372, 1.812, 2.228, 2.764, 3.169]),
        (20.0, [1.325, 1.725, 2.086, 2.528, 2.845]),
        (30.0, [1.310, 1.697, 2.042, 2.457, 2.750]),
        (100.0, [1.290, 1.660, 1.984, 2.364, 2.626]),
    ];

    #[test]
    fn quantiles_are_those_of_the_published_table() {
        for (degrees, values) in PUBLISHED {
            for (share, value) in [0.90, 0.95, 0.975, 0.99, 0.995].into_iter().zip(values) {
                let found = quantile(share, degrees);
                assert!((found - value).abs() <= 0.000_501, "{degrees} {share}: {found}");
            }
        }
    }

    #[test]
    fn both_sides_are_alike_and_the_middle_is_a_half() {
        for degrees in [1.0, 2.0, 4.0, 7.0, 29.0, 500.0, 99_999.0] {
            assert_eq!(probability_below(0.0, degrees), 0.5);
            for t in [0.01, 0.3, 1.0, 2.5, 11.0, 400.0] {
                let both = probability_below(t, degrees) + probability_below(-t, degrees);
                assert!((both - 1.0).abs() < 1e-14, "{degrees} {t}: {both}");
            }
        }
    }

    /// One degree of freedom is the Cauchy distribution, 1/2 + arctan(t)/π; two degrees have
    /// 1/2 + t/(2·√(2 + t²)).
    #[test]
    fn one_and_two_degrees_have_plain_formulas() {
        for t in [0.0, 0.2, 1.0, 3.0, 50.0] {
            let cauchy = 0.5 + libm::atan(t) / std::f64::consts::PI;
            assert!((probability_below(t, 1.0) - cauchy).abs() < 1e-13, "{t}");
            let two = 0.5 + t / (2.0 * (2.0 + t * t).sqrt());
            assert!((probability_below(t, 2.0) - two).abs() < 1e-13, "{t}");
        }
    }

    #[test]
    fn many_degrees_are_the_normal_distribution_and_quantiles_come_back() {
        assert!((quantile(0.975, 1e7) - 1.959_964).abs() < 1e-5);
        for degrees in [1.0, 3.0, 12.0, 2_000.0] {
            for share in [0.5, 0.6, 0.9, 0.975, 0.9999] {
                let back = probability_below(quantile(share, degrees), degrees);
                assert!((back - share).abs() < 1e-12, "{degrees} {share}: {back}");
            }
        }
    }
}
