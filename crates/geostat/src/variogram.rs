//! Variogram models: how unlike two values are, by their distance.
//!
//! The semivariance at a distance h > 0 is nugget + partial sill · s(h / range), and 0 at h = 0. The
//! covariance is the sill less the semivariance. `range` is the parameter of the formula: a spherical
//! model reaches its sill there, an exponential one 95 % of it at three ranges, a Gaussian one at 1.73
//! ranges. Books and programs differ: some give these practical ranges instead.
//!
//! Spherical, exponential, Gaussian: Isaaks and Srivastava (1989), An Introduction to Applied
//! Geostatistics, chapter 16 (from memory; the exponents there hold 3 h / range). Matérn: Stein (1999),
//! Interpolation of Spatial Data, section 2.7 (from memory). Here, as in gstat's model `Mat`, t is the
//! distance over the range; others scale it by 2 √ν (Handcock and Wallis 1994, Journal of the American
//! Statistical Association 89:368–378) or √(2ν) (Rasmussen and Williams 2006, Gaussian Processes for
//! Machine Learning, page 84; both from memory): the same curves, but at other ranges.

use crate::anisotropy::Anisotropy;
use crate::bessel::power_times_bessel_k;
use crate::error::GeostatError;
use crate::exponential::exp_lanes;

/// Shape of a model, with t = h / range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// 1.5 t − 0.5 t³ up to t = 1, then 1.
    Spherical,
    /// 1 − exp(−t).
    Exponential,
    /// 1 − exp(−t²).
    Gaussian,
    /// `1 − t^ν K_ν(t) / (2^(ν − 1) Γ(ν))`, with the modified Bessel function K. An exponential model at
    /// ν = 0.5; the surface is smoother the greater ν is.
    Matern {
        /// ν, from 0.1 to 10.
        smoothness: f64,
    },
}

impl Shape {
    /// Whether the shape's parameters can be used: always, but for a Matérn smoothness out of bounds.
    ///
    /// # Errors
    /// When the smoothness of a Matérn model is not from 0.1 to 10.
    pub(crate) fn check(self) -> Result<(), GeostatError> {
        match self {
            Shape::Matern { smoothness } if !(0.1..=10.0).contains(&smoothness) => {
                Err(GeostatError::Smoothness { smoothness })
            }
            _ => Ok(()),
        }
    }

    /// 1 − s at several t², the correlation of the structure.
    ///
    /// Free of branches within the lanes but for most Matérn models. One lane and many have the same
    /// bits.
    #[inline(always)]
    fn correlations<const N: usize>(self, t2: [f64; N]) -> [f64; N] {
        let roots = || t2.map(f64::sqrt);
        match self {
            Shape::Spherical => roots().map(spherical),
            Shape::Exponential => exp_lanes(roots().map(|t| -t)),
            Shape::Gaussian => exp_lanes(t2.map(|t2| -t2)),
            Shape::Matern { smoothness } => matern(smoothness, roots()),
        }
    }

    /// The correlation of the structure at t, and t times its slope there.
    pub(crate) fn correlation_and_slope(self, t: f64) -> (f64, f64) {
        let [correlation] = self.correlations([t * t]);
        let slope = match self {
            Shape::Spherical if t < 1.0 => -1.5 * t * (1.0 - t * t),
            Shape::Spherical => 0.0,
            Shape::Exponential => -t * correlation,
            Shape::Gaussian => -2.0 * t * t * correlation,
            // d/dx of x^ν K_ν(x) is −x^ν K_{ν−1}(x): Abramowitz and Stegun 1964, 9.6.28
            // (from memory).
            Shape::Matern { smoothness } => {
                let below = power_times_bessel_k(smoothness - 1.0, t);
                -0.5 * t * t * below / libm::tgamma(smoothness)
            }
        };
        (correlation, slope)
    }
}

/// 1 − 1.5 t + 0.5 t³ as a product, which is 0 at 1 and does not lose digits near it.
#[inline(always)]
fn spherical(t: f64) -> f64 {
    let left = 1.0 - if t < 1.0 { t } else { 1.0 };
    left * left * (1.5 - 0.5 * left)
}

/// Correlation of a Matérn model. For ν of 0.5, 1.5 and 2.5 it is e^−t times a polynomial (Stein 1999,
/// section 2.7, from memory).
#[inline(always)]
fn matern<const N: usize>(smoothness: f64, t: [f64; N]) -> [f64; N] {
    let polynomial: fn(f64) -> f64 = match smoothness {
        0.5 => |_| 1.0,
        1.5 => |t| 1.0 + t,
        2.5 => |t| 1.0 + t + t * t / 3.0,
        _ => return t.map(|t| any_matern(smoothness, t)),
    };
    let mut result = exp_lanes(t.map(|t| -t));
    for (result, t) in result.iter_mut().zip(t) {
        // Beyond this e^−t is 0, and the polynomial may be infinite.
        *result *= polynomial(if t < 746.0 { t } else { 746.0 });
    }
    result
}

/// Correlation of a Matérn model of any smoothness. Rounding must not lift it above 1.
fn any_matern(smoothness: f64, t: f64) -> f64 {
    (power_times_bessel_k(smoothness, t) / libm::tgamma(smoothness)).min(1.0)
}

/// A nugget and one structure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variogram {
    /// Shape of the structure.
    pub shape: Shape,
    /// Semivariance just above distance 0, in squares of the values' unit.
    pub nugget: f64,
    /// What the structure adds to the nugget, in squares of the values' unit.
    pub partial_sill: f64,
    /// Range, metres, along the longest direction.
    pub range_m: f64,
    /// Direction.
    pub anisotropy: Anisotropy,
}

impl Variogram {
    /// An isotropic model.
    ///
    /// # Errors
    /// When a part is negative or not finite, both sills are 0, the range is not above 0, or the
    /// smoothness of a Matérn model is not from 0.1 to 10.
    pub fn new(
        shape: Shape,
        nugget: f64,
        partial_sill: f64,
        range_m: f64,
    ) -> Result<Self, GeostatError> {
        shape.check()?;
        let sound = |x: f64| x >= 0.0 && x.is_finite();
        // 1 / range must be finite, too.
        match sound(nugget)
            && sound(partial_sill)
            && nugget + partial_sill > 0.0
            && range_m > 0.0
            && range_m.is_normal()
        {
            true => {
                Ok(Variogram { shape, nugget, partial_sill, range_m, anisotropy: Anisotropy::NONE })
            }
            false => Err(GeostatError::Variogram),
        }
    }

    /// Nugget and partial sill together.
    pub fn sill(&self) -> f64 {
        self.nugget + self.partial_sill
    }

    /// Covariance of the structure alone, without the nugget, at a distance in metres along the
    /// longest direction: the partial sill at 0.
    pub fn structure_covariance(&self, distance_m: f64) -> f64 {
        // The root of an exact square is the number again, so nothing is lost on this way.
        self.covariance_of_square(distance_m * distance_m)
    }

    /// The same from the square of the distance, m².
    #[inline(always)]
    pub(crate) fn covariance_of_square(&self, squared_m2: f64) -> f64 {
        let [covariance] = self.covariance_of_squares([squared_m2]);
        covariance
    }

    /// The same for several squares of distances. Each has the bits it has alone.
    #[inline(always)]
    pub(crate) fn covariance_of_squares<const N: usize>(&self, squared_m2: [f64; N]) -> [f64; N] {
        let per_m = 1.0 / self.range_m;
        let t2 = squared_m2.map(|squared_m2| squared_m2 * per_m * per_m);
        self.shape.correlations(t2).map(|correlation| self.partial_sill * correlation)
    }

    /// Semivariance at a distance in metres along the longest direction; 0 at 0.
    pub fn semivariance(&self, distance_m: f64) -> f64 {
        match distance_m > 0.0 {
            true => self.sill() - self.structure_covariance(distance_m),
            false => 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHAPES: [Shape; 9] = [
        Shape::Spherical,
        Shape::Exponential,
        Shape::Gaussian,
        Shape::Matern { smoothness: 0.1 },
        Shape::Matern { smoothness: 0.5 },
        Shape::Matern { smoothness: 1.3 },
        Shape::Matern { smoothness: 1.5 },
        Shape::Matern { smoothness: 2.5 },
        Shape::Matern { smoothness: 10.0 },
    ];

    fn model(shape: Shape) -> Variogram {
        Variogram::new(shape, 0.3, 1.7, 120.0).unwrap()
    }

    /// By hand: 1.5 · 0.5 − 0.5 · 0.125 = 0.6875; 1 − e^−1; 1 − e^−1.
    #[test]
    fn semivariances_by_hand() {
        let at = |shape, distance_m| model(shape).semivariance(distance_m);
        assert!((at(Shape::Spherical, 60.0) - (0.3 + 1.7 * 0.6875)).abs() < 1e-15);
        let one_range = 0.3 + 1.7 * 0.632_120_558_828_557_7;
        assert!((at(Shape::Exponential, 120.0) - one_range).abs() < 1e-15);
        assert!((at(Shape::Gaussian, 120.0) - one_range).abs() < 1e-15);
    }

    #[test]
    fn ends_of_the_scale() {
        for shape in SHAPES {
            let model = model(shape);
            assert_eq!(model.structure_covariance(0.0), 1.7, "{shape:?}");
            assert_eq!(model.semivariance(0.0), 0.0);
            for far in [1e6, 1e155, f64::INFINITY] {
                assert!((model.semivariance(far) - 2.0).abs() < 1e-15, "{shape:?} {far}");
            }
        }
    }

    /// The closed forms of Stein 1999, section 2.7, beside the integral.
    #[test]
    fn matern_of_half_numbers_has_a_closed_form() {
        for smoothness in [0.5, 1.5, 2.5] {
            for step in 1..2000 {
                let t = f64::from(step) * 0.01;
                let [closed] = matern(smoothness, [t]);
                let integral = any_matern(smoothness, t);
                assert!((closed - integral).abs() <= 1e-12 * closed, "{smoothness} {t}");
            }
        }
    }

    /// With ν = 1, `1 − t K_1(t)`; `K_1(1)` = 0.60190 72302 (Abramowitz and Stegun 1964, table 9.8, from
    /// memory).
    #[test]
    fn matern_of_smoothness_one() {
        let covariance = model(Shape::Matern { smoothness: 1.0 }).structure_covariance(120.0);
        assert!((covariance / 1.7 - 0.601_907_230_2).abs() < 5e-11);
    }

    #[test]
    fn lanes_have_the_bits_of_one() {
        for shape in SHAPES {
            let model = model(shape);
            for step in 0..200_u32 {
                let squares: [f64; 8] = std::array::from_fn(|lane| {
                    let distance_m = 0.37 * f64::from(step * 8 + lane as u32);
                    distance_m * distance_m
                });
                let lanes = model.covariance_of_squares(squares).map(f64::to_bits);
                let alone = squares.map(|squared| model.covariance_of_square(squared).to_bits());
                assert_eq!(lanes, alone, "{shape:?}");
                let plain = squares.map(|s| model.structure_covariance(s.sqrt()));
                for (plain, alone) in plain.iter().zip(alone) {
                    assert!((plain - f64::from_bits(alone)).abs() < 1e-14, "{shape:?}");
                }
            }
        }
    }

    /// Beside the difference quotient over a step of 1e-6.
    #[test]
    fn slopes() {
        for shape in SHAPES {
            for t in [0.02, 0.3, 0.9, 1.1, 2.5, 6.0] {
                let (_, slope) = shape.correlation_and_slope(t);
                let at = |t| shape.correlation_and_slope(t).0;
                let quotient = t * (at(t + 1e-6) - at(t - 1e-6)) / 2e-6;
                assert!((slope - quotient).abs() < 1e-8, "{shape:?} {t}: {slope} {quotient}");
            }
        }
    }

    #[test]
    fn models_that_mean_nothing_are_refused() {
        let new = Variogram::new;
        assert!(new(Shape::Spherical, 0.0, 0.0, 1.0).is_err());
        assert!(new(Shape::Spherical, -1.0, 2.0, 1.0).is_err());
        assert!(new(Shape::Spherical, 1.0, 2.0, 0.0).is_err());
        assert!(new(Shape::Spherical, 1.0, 2.0, 1e-310).is_err());
        assert!(new(Shape::Spherical, 1.0, f64::NAN, 1.0).is_err());
        assert!(new(Shape::Matern { smoothness: 0.05 }, 1.0, 2.0, 1.0).is_err());
        assert!(new(Shape::Matern { smoothness: f64::NAN }, 1.0, 2.0, 1.0).is_err());
    }
}
