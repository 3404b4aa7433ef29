//! Powers of distances, from their squares.

use pulp::Simd;

use crate::blocks::MOST_LANES;
use crate::error::GeostatError;

/// The power of the distance, prepared for squares of distances.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Power {
    /// So many quarters: the square's power is eighths, reached by square roots and products alone,
    /// which are the same on every machine and fast.
    Quarters(u8),
    /// Any other power, by `libm`, which is also the same on every machine.
    Any(f64),
}

impl Power {
    pub(crate) fn new(power: f64) -> Result<Self, GeostatError> {
        if !(power > 0.0 && power <= 20.0) {
            return Err(GeostatError::Power { power });
        }
        let quarters = power * 4.0;
        Ok(match quarters.fract() == 0.0 {
            true => Power::Quarters(quarters as u8),
            false => Power::Any(power),
        })
    }

    /// [`Power::of_ratio`] of several at a time.
    #[inline(always)]
    pub(crate) fn of_ratios<S: Simd>(self, simd: S, squared: S::f64s) -> S::f64s {
        match self {
            Power::Quarters(quarters) => quarters_of(simd, quarters, squared),
            Power::Any(_) => {
                let mut each = [0.0; MOST_LANES];
                simd.partial_store_f64s(&mut each[..S::F64_LANES], squared);
                let each = each.map(|squared| self.of_ratio(squared));
                simd.partial_load_f64s(&each[..S::F64_LANES])
            }
        }
    }

    /// `squared`^(p/2): the power of a ratio of distances, from the ratio's square.
    pub(crate) fn of_ratio(self, squared: f64) -> f64 {
        match self {
            Power::Quarters(quarters) => {
                let mut result = 1.0;
                let mut factor = squared;
                for _ in 0..quarters / 8 {
                    result *= squared;
                }
                for bit in [4, 2, 1] {
                    if quarters % 8 == 0 {
                        break;
                    }
                    factor = factor.sqrt();
                    if quarters & bit != 0 {
                        result *= factor;
                    }
                }
                result
            }
            Power::Any(power) => libm::pow(squared, power / 2.0),
        }
    }
}

/// [`Power::of_ratios`] for so many quarters.
#[inline(always)]
pub(crate) fn quarters_of<S: Simd>(simd: S, quarters: u8, squared: S::f64s) -> S::f64s {
    let mut result = simd.splat_f64s(1.0);
    for _ in 0..quarters / 8 {
        result = simd.mul_f64s(result, squared);
    }
    let mut factor = squared;
    for bit in [4, 2, 1].into_iter().take_while(|_| !quarters.is_multiple_of(8)) {
        factor = simd.sqrt_f64s(factor);
        if quarters & bit != 0 {
            result = simd.mul_f64s(result, factor);
        }
    }
    result
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quarter_powers_agree_with_the_general_power() {
        for quarters in 1..=40u8 {
            let plain = Power::Any(f64::from(quarters) / 4.0);
            for squared in [1.0, 0.73, 1e-3, 1e-9] {
                let (a, b) = (Power::Quarters(quarters).of_ratio(squared), plain.of_ratio(squared));
                assert!((a - b).abs() <= 4e-15 * b, "{quarters} {squared} {a} {b}");
            }
        }
        assert_eq!(Power::new(2.5).unwrap(), Power::Quarters(10));
        assert_eq!(Power::new(2.6).unwrap(), Power::Any(2.6));
    }
}
