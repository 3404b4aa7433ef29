//! The standard normal distribution.
//!
//! P(Z ≤ z) = erfc(−z/√2)/2 (Abramowitz and Stegun 1964, 26.2.29).

use std::f64::consts::SQRT_2;

/// The share of the distribution at or below `z`, 0 to 1; small shares keep all their digits.
pub fn probability_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z / SQRT_2)
}

/// The probability of a value at least as far from 0, on either side.
pub fn both_tails(z: f64) -> f64 {
    libm::erfc(z.abs() / SQRT_2)
}

/// The value that a share of the distribution lies below, for shares above 0 and below 1.
pub fn quantile(share: f64) -> f64 {
    debug_assert!(share > 0.0 && share < 1.0);
    if share > 0.5 {
        return -quantile(1.0 - share);
    }
    // No share that an f64 can hold lies below −39, and each halving gains a binary digit.
    let (mut low, mut high) = (-39.0, 0.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        match probability_below(middle) < share {
            true => low = middle,
            false => high = middle,
        }
    }
    f64::midpoint(low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Abramowitz and Stegun (1964), tables 26.1 (to ten places) and 26.5.
    #[test]
    fn shares_and_quantiles_are_those_of_published_tables() {
        for (z, share) in
            [(0.0, 0.5), (1.0, 0.841_344_746_1), (2.0, 0.977_249_868_1), (3.0, 0.998_650_102_0)]
        {
            assert!((probability_below(z) - share).abs() <= 0.51e-10, "{z}");
            assert!((both_tails(z) - 2.0 * (1.0 - share)).abs() <= 1.1e-10, "{z}");
        }
        for (share, z) in [(0.95, 1.644_85), (0.975, 1.959_96), (0.995, 2.575_83)] {
            assert!((quantile(share) - z).abs() <= 0.51e-5, "{share}");
        }
    }

    #[test]
    fn quantiles_come_back_far_out_too() {
        for share in [1e-300, 1e-20, 1e-5, 0.1, 0.5, 0.7, 0.999] {
            let back = probability_below(quantile(share));
            assert!((back / share - 1.0).abs() < 1e-11, "{share}: {back}");
        }
    }

    #[test]
    fn both_sides_are_alike() {
        for z in [0.0, 0.4, 1.7, 5.0] {
            assert_eq!(both_tails(z), both_tails(-z));
            assert!((probability_below(z) + probability_below(-z) - 1.0).abs() < 1e-15);
            assert_eq!(quantile(0.25), -quantile(0.75));
        }
    }
}
