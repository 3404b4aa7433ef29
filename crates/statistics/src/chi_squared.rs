//! The chi-squared distribution, by the incomplete gamma function.
//!
//! P(χ² > x) = Q(ν/2, x/2) (Abramowitz and Stegun 1964, 26.4.19). Below its middle 1 − P by the series
//! (NIST Digital Library of Mathematical Functions, 8.11.4), above it Q by the continued fraction
//! (8.9.2), worked out from the front as in Press et al., Numerical Recipes (2007, section 6.2): formulas
//! from memory.

/// The probability of a value above `value`, for at least one degree of freedom; small ones keep all
/// their digits.
pub fn probability_above(value: f64, degrees_of_freedom: f64) -> f64 {
    let (a, x) = (degrees_of_freedom / 2.0, value / 2.0);
    if x <= 0.0 {
        return 1.0;
    }
    let front = libm::exp(a * libm::log(x) - x - libm::lgamma(a));
    match x < a + 1.0 {
        true => 1.0 - front * series(a, x),
        false => front * fraction(a, x),
    }
}

/// Some root of the parameter, and a few more, are needed.
const MOST_TERMS: usize = 10_000;

/// Σ xᵏ / (a(a + 1)…(a + k)), which is the lower function over xᵃe⁻ˣ.
fn series(a: f64, x: f64) -> f64 {
    let mut term = 1.0 / a;
    let mut sum = term;
    for k in 1..MOST_TERMS {
        term *= x / (a + k as f64);
        sum += term;
        if term < sum * 1e-17 {
            break;
        }
    }
    sum
}

/// The continued fraction of the upper function over xᵃe⁻ˣ. Above its bend no denominator is 0.
fn fraction(a: f64, x: f64) -> f64 {
    let mut odd = x + 1.0 - a;
    let mut c = f64::MAX;
    let mut d = 1.0 / odd;
    let mut whole = d;
    for k in 1..MOST_TERMS {
        let k = k as f64;
        let part = -k * (k - a);
        odd += 2.0;
        d = 1.0 / (part * d + odd);
        c = odd + part / c;
        whole *= d * c;
        if (d * c - 1.0).abs() < 1e-15 {
            break;
        }
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, upper critical values for
    /// probabilities of 0.10, 0.05 and 0.01.
    #[test]
    fn probabilities_are_those_of_the_published_table() {
        for (degrees, values) in [
            (1.0, [2.706, 3.841, 6.635]),
            (2.0, [4.605, 5.991, 9.210]),
            (5.0, [9.236, 11.070, 15.086]),
            (10.0, [15.987, 18.307, 23.209]),
            (50.0, [63.167, 67.505, 76.154]),
            (100.0, [118.498, 124.342, 135.807]),
        ] {
            for (p, value) in [0.10, 0.05, 0.01].into_iter().zip(values) {
                let (more, less) = (value - 0.000_501, value + 0.000_501);
                assert!(probability_above(more, degrees) > p, "{degrees} {p}");
                assert!(probability_above(less, degrees) < p, "{degrees} {p}");
            }
        }
    }

    /// With two degrees of freedom e^(−x/2), with four e^(−x/2)(1 + x/2), with one the normal
    /// distribution on both sides of the root.
    #[test]
    fn few_degrees_have_plain_formulas() {
        for value in [0.0, 0.001, 0.5, 1.9, 2.1, 4.0, 12.0, 300.0_f64] {
            let two = libm::exp(-value / 2.0);
            let four = two * (1.0 + value / 2.0);
            let one = crate::normal::both_tails(value.sqrt());
            for (degrees, expected) in [(1.0, one), (2.0, two), (4.0, four)] {
                let found = probability_above(value, degrees);
                assert!((found / expected - 1.0).abs() < 1e-12, "{value} {degrees}: {found}");
            }
        }
    }
}
