//! The regularised incomplete beta function, which the distributions of t and F are made of.
//!
//! I(x; a, b) by its continued fraction (NIST Digital Library of Mathematical Functions, 8.17.22), worked
//! out from the front by the way of Lentz (1976) and Thompson and Barnett (1986), as in Press et al.,
//! Numerical Recipes (2007, section 6.4): formulas from memory.

/// The regularised incomplete beta function I(x; a, b), for x from 0 to 1.
pub(crate) fn incomplete_beta(x: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 || x >= 1.0 {
        return x.clamp(0.0, 1.0);
    }
    let front = libm::exp(
        libm::lgamma(a + b) - libm::lgamma(a) - libm::lgamma(b)
            + a * libm::log(x)
            + b * libm::log1p(-x),
    );
    // The fraction goes fast below its bend, and I(x; a, b) = 1 − I(1 − x; b, a) (DLMF 8.17.4).
    match x < (a + 1.0) / (a + b + 2.0) {
        true => front * fraction(x, a, b) / a,
        false => 1.0 - front * fraction(1.0 - x, b, a) / b,
    }
}

/// The continued fraction of the incomplete beta function.
fn fraction(x: f64, a: f64, b: f64) -> f64 {
    // A number that stands for a zero in a denominator.
    const TINY: f64 = 1e-300;
    // Some ten terms are needed, and some root of the greater parameter at the bend.
    const MOST_TERMS: usize = 10_000;
    let away = |value: f64| if value.abs() < TINY { TINY } else { value };
    let mut c = 1.0;
    let mut d = 1.0 / away(1.0 - (a + b) * x / (a + 1.0));
    let mut whole = d;
    for term in 1..MOST_TERMS {
        let m = term as f64;
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut step = 1.0;
        for part in [even, odd] {
            d = 1.0 / away(1.0 + part * d);
            c = away(1.0 + part / c);
            step = d * c;
            whole *= step;
        }
        if (step - 1.0).abs() < 1e-15 {
            break;
        }
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::*;

    /// I(x; 1, b) = 1 − (1 − x)ᵇ and I(x; a, 1) = xᵃ (DLMF 8.17.1 worked out).
    #[test]
    fn a_parameter_of_one_leaves_a_power() {
        for x in [0.0, 0.01, 0.3, 0.5, 0.9, 1.0_f64] {
            for other in [1.0, 2.0, 5.0_f64] {
                let power = x.powi(other as i32);
                assert!((incomplete_beta(x, other, 1.0) - power).abs() < 1e-14, "{x} {other}");
                let power = 1.0 - (1.0 - x).powi(other as i32);
                assert!((incomplete_beta(x, 1.0, other) - power).abs() < 1e-14, "{x} {other}");
            }
        }
    }

    #[test]
    fn both_ends_are_alike_when_the_parameters_change_places() {
        for (x, a, b) in [(0.1, 2.5, 7.0), (0.4, 30.0, 12.5), (0.73, 0.5, 88.0), (0.5, 4.0, 4.0)] {
            let both = incomplete_beta(x, a, b) + incomplete_beta(1.0 - x, b, a);
            assert!((both - 1.0).abs() < 1e-13, "{x} {a} {b}: {both}");
        }
    }
}
