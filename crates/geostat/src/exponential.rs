//! The exponential of negative numbers, several at a time.
//!
//! `libm::exp` branches and looks at bits, which keeps a compiler from working on several numbers at
//! once. This one has neither branch nor table: x = k ln 2 + r with |r| ≤ ln 2 / 2, a polynomial for
//! e^r, and 2^k put into the exponent (Cody and Waite 1980, Software Manual for the Elementary
//! Functions, chapter 6, from memory). Each step is one IEEE 754 operation, so one number and many
//! give the same bits on every machine.

/// log2 e.
const PER_LN_2: f64 = std::f64::consts::LOG2_E;
/// The leading 32 bits of ln 2: a product with a small whole number is exact.
const LN_2_HIGH: f64 = f64::from_bits(0x3fe6_2e42_fee0_0000);
/// What is left of ln 2.
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;
/// Added to a small number, it leaves the nearest whole number in the lowest bits: 1.5 · 2^52.
const TO_WHOLE: f64 = 6_755_399_441_055_744.0;
/// Below this every result is 0.
const LEAST: f64 = -746.0;

/// (e^r − 1 − r) / r² for |r| ≤ ln 2 / 2: the polynomial through its values at the ten Chebyshev
/// points, worked out in exact fractions. Off by 1.6e-17 of e^r at most.
const POLYNOMIAL: [f64; 10] = [
    0.500_000_000_000_000_1,
    0.166_666_666_666_666_69,
    0.041_666_666_666_624_13,
    0.008_333_333_333_330_062,
    0.001_388_888_891_721_371_7,
    0.000_198_412_698_630_536_18,
    2.480_152_129_595_437_6e-5,
    2.755_726_845_999_706_4e-6,
    2.762_008_844_540_974_6e-7,
    2.510_038_549_551_032e-8,
];

/// e^x for x ≤ 0, off by 2 units in the last place at most: 1 at 0, 0 below −745.13; NaN stays NaN.
#[inline(always)]
pub(crate) fn exp(x: f64) -> f64 {
    let x = if x < LEAST { LEAST } else { x };
    let shifted = x * PER_LN_2 + TO_WHOLE;
    let k = shifted - TO_WHOLE;
    let r = (x - k * LN_2_HIGH) - k * LN_2_LOW;
    // In pairs, then pairs of pairs: short chains of operations that wait for each other.
    let c = POLYNOMIAL;
    let r2 = r * r;
    let r4 = r2 * r2;
    let low = (c[0] + c[1] * r) + (c[2] + c[3] * r) * r2;
    let high = (c[4] + c[5] * r) + (c[6] + c[7] * r) * r2;
    let q = low + (high + (c[8] + c[9] * r) * r4) * r4;
    let e_r = 1.0 + (r + r2 * q);
    // k is −1076 to 0. In two steps, of which the first stays among normal numbers and the second
    // rounds once where the result is not: 2^(k + 1022), then 2^−1022.
    let power = f64::from_bits((shifted.to_bits().wrapping_add(1023 + 1022)) << 52);
    e_r * power * f64::MIN_POSITIVE
}

/// e^x of each number: the bits of [`exp`].
#[inline(always)]
pub(crate) fn exp_lanes<const N: usize>(mut x: [f64; N]) -> [f64; N] {
    for lane in &mut x {
        *lane = exp(*lane);
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Units in the last place between two positive numbers.
    fn ulps(a: f64, b: f64) -> u64 {
        a.to_bits().abs_diff(b.to_bits())
    }

    /// Beside `libm::exp`, which is off by less than one unit itself (the sources of FreeBSD's library, `e_exp.c`).
    #[test]
    fn as_exact_as_the_library() {
        let mut worst = 0;
        for step in 0..2_000_000 {
            let x = -745.0 * f64::from(step) / 2_000_000.0;
            worst = worst.max(ulps(exp(x), libm::exp(x)));
            let small = x / 745.0;
            worst = worst.max(ulps(exp(small), libm::exp(small)));
        }
        assert!(worst <= 2, "{worst}");
    }

    #[test]
    fn ends_of_the_scale() {
        assert_eq!(exp(0.0), 1.0);
        assert_eq!(exp(-0.0), 1.0);
        assert_eq!(exp(-1e-300), 1.0);
        // The smallest number above 0 is 2^−1074 = e^−744.44; half of it, e^−745.13, rounds to 0.
        assert_eq!(exp(-745.1), f64::from_bits(1));
        assert_eq!(exp(-745.2), 0.0);
        assert_eq!(exp(-1e300), 0.0);
        assert_eq!(exp(f64::NEG_INFINITY), 0.0);
        assert!(exp(f64::NAN).is_nan());
    }

    /// e^−1 and e^−10: Abramowitz and Stegun 1964, table 4.4 (from memory).
    #[test]
    fn table_values() {
        assert!((exp(-1.0) - 0.367_879_441_171_442_33).abs() < 1e-16);
        assert!((exp(-10.0) - 4.539_992_976_248_485e-5).abs() < 1e-20);
    }

    #[test]
    fn lanes_have_the_bits_of_one() {
        for step in 0..10_000 {
            let x: [f64; 8] = std::array::from_fn(|lane| -0.01 * f64::from(step * 8 + lane as i32));
            assert_eq!(exp_lanes(x).map(f64::to_bits), x.map(|x| exp(x).to_bits()));
        }
    }
}
