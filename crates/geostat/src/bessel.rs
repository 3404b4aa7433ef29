//! The modified Bessel function of the second kind, K, as the Matérn model needs it.
//!
//! With u = ln s, the integral 8.432.6 of Gradshteyn and Ryzhik (from memory) reads
//!
//! `2 (x/2)^ν K_ν(x) = ∫ exp(ν u − e^u − x²/4 e^−u) du`, over all u,
//!
//! which is finite at x = 0, where it is Γ(ν). Its integrand falls off faster than any exponential at
//! one end or both and is analytic in the strip |Im u| < π/2, so that the plain sum of its values at
//! equal steps h converges exponentially: by Poisson's formula the error beside `K_ν(x)` is twice
//! `|K_{ν + 2πi/h}(x)|` to leading order (Trefethen and Weideman 2014, SIAM Review 56:385–458, section
//! 5, from memory). `|K_{ν + iy}(x)|` falls as y^(ν − ½) e^(−πy/2) where y is well above x and as
//! `e^(−y²/2x) K_ν(x)` where it is well below, which gives the step.

use crate::exponential::exp;

/// Widest step: the error is 1e-18 of the sum at order 10, less at lower orders.
const STEP: f64 = 0.15;

/// Above this e^−x is 0.
const GREATEST: f64 = 746.0;

/// `2 (x/2)^ν K_ν(x)`, for any order ν from −10 to 10 and x > 0; Γ(ν) where x is 0 and ν above 0.
///
/// Off by 1e-13 of the result at most.
pub(crate) fn power_times_bessel_k(order: f64, x: f64) -> f64 {
    if x == 0.0 {
        return libm::tgamma(order);
    }
    if x > GREATEST {
        return 0.0;
    }
    // e^(−y²/2x) with y = 2π/h is 1e-18 where h is 0.69 / √x.
    let step = STEP.min(0.69 / x.sqrt());
    // With w = e^(u/2) the exponent is ν u − (w − x/2w)² − x: no small difference of large numbers.
    let exponent = |u: f64, w: f64| {
        let root = w - 0.5 * x / w;
        order * u - root * root
    };
    let peak = squared_peak(order, x);
    let (u_peak, w_peak) = (libm::log(peak), peak.sqrt());
    let at_peak = exponent(u_peak, w_peak);
    let half_step = libm::exp(0.5 * step);
    let mut sum = 1.0;
    for (step, factor) in [(step, half_step), (-step, 1.0 / half_step)] {
        let mut w = w_peak;
        for k in 1.. {
            w *= factor;
            let term = exp(exponent(u_peak + f64::from(k) * step, w) - at_peak);
            sum += term;
            // The integrand has one peak: what follows is less.
            if term < 1e-20 * sum {
                break;
            }
        }
    }
    exp(-x) * libm::exp(at_peak) * step * sum
}

/// e^u where the integrand is greatest: the root of s² − ν s − x²/4 = 0 above 0.
fn squared_peak(order: f64, x: f64) -> f64 {
    let root = (order * order + x * x).sqrt();
    match order >= 0.0 {
        true => 0.5 * (order + root),
        false => 0.5 * x * x / (root - order),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bessel_k(order: f64, x: f64) -> f64 {
        0.5 * power_times_bessel_k(order, x) / libm::pow(0.5 * x, order)
    }

    const TABLE: [(f64, f64, f64); 14] = [
        (0.0, 0.1, 2.4270690247020164),
        (0.0, 1.0, 0.42102443824070834),
        (0.0, 5.0, 0.0036910983340425942),
        (1.0, 0.1, 9.853844780870606),
        (1.0, 1.0, 0.6019072301972346),
        (1.0, 10.0, 1.8648773453825585e-05),
        (2.0, 1.0, 1.6248388986351774),
        (2.0, 5.0, 0.00530894371222346),
        (0.1, 0.01, 4.934666009755597),
        (0.3, 2.0, 0.11603697434811926),
        (0.25, 700.0, 4.669984759813366e-306),
        (10.0, 0.5, 188937569319.90027),
        (9.7, 40.0, 2.6679948881902227e-18),
        (7.2, 3.0, 19.943120544336438),
    ];

    fn assert_close(ours: f64, expected: f64, relative: f64, what: &str) {
        assert!((ours - expected).abs() <= relative * expected.abs(), "{what}: {ours} {expected}");
    }

    /// Abramowitz and Stegun 1964, tables 9.8 (orders 0 and 1) and 9.9 (order 2), from memory;
    /// these digits and the other orders are worked out with mpmath 1.3.0.
    #[test]
    fn table_values() {
        for (order, x, expected) in TABLE {
            assert_close(bessel_k(order, x), expected, 1e-13, &format!("K {order} of {x}"));
        }
    }

    /// `K_½ = √(π/2x) e^−x` and upwards by `K_{ν+1} = K_{ν−1} + 2ν/x K_ν`: Abramowitz and Stegun 1964,
    /// 10.2.17 and 9.6.26 (from memory).
    #[test]
    fn half_orders_have_a_closed_form() {
        for x in [1e-3, 0.01, 0.3, 1.0, 2.0, 7.5, 21.0, 22.5, 60.0, 300.0, 700.0] {
            let mut below = (std::f64::consts::FRAC_PI_2 / x).sqrt() * libm::exp(-x);
            let mut this = below;
            for order in [0.5, 1.5, 2.5, 3.5, 4.5, 5.5, 6.5, 7.5, 8.5, 9.5] {
                assert_close(bessel_k(order, x), this, 1e-13, &format!("K {order} of {x}"));
                (below, this) = (this, below + 2.0 * order / x * this);
            }
        }
    }

    /// `K_{−ν} = K_ν`: Abramowitz and Stegun 1964, 9.6.6 (from memory).
    #[test]
    fn the_sign_of_the_order_does_not_matter() {
        for order in [0.0, 0.1, 0.4, 0.9, 3.0] {
            for x in [1e-6, 0.1, 1.0, 30.0] {
                assert_close(bessel_k(-order, x), bessel_k(order, x), 1e-13, "negative order");
            }
        }
    }

    #[test]
    fn ends_of_the_scale() {
        assert_eq!(power_times_bessel_k(2.5, 0.0), libm::tgamma(2.5));
        assert_close(power_times_bessel_k(0.1, 1e-200), libm::tgamma(0.1), 1e-13, "near 0");
        assert_eq!(power_times_bessel_k(2.5, 1e300), 0.0);
        assert_eq!(power_times_bessel_k(2.5, f64::INFINITY), 0.0);
    }
}
