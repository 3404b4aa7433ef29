//! Variogram models: how unlike two values are, by their distance.
//!
//! The semivariance at a distance h > 0 is nugget + partial sill · s(h / range), and 0 at h = 0. The
//! covariance is the sill less the semivariance. `range` is the parameter of the formula: a spherical
//! model reaches its sill there, an exponential one 95 % of it at three ranges, a Gaussian one at 1.73
//! ranges. Books and programs differ: some give these practical ranges instead.

use crate::anisotropy::Anisotropy;
use crate::error::GeostatError;

/// Shape of a model, with t = h / range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// 1.5 t − 0.5 t³ up to t = 1, then 1.
    Spherical,
    /// 1 − exp(−t).
    Exponential,
    /// 1 − exp(−t²).
    Gaussian,
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
    /// When a part is negative or not finite, both sills are 0, or the range is not above 0.
    pub fn new(
        shape: Shape,
        nugget: f64,
        partial_sill: f64,
        range_m: f64,
    ) -> Result<Self, GeostatError> {
        let sound = |x: f64| x >= 0.0 && x.is_finite();
        match sound(nugget)
            && sound(partial_sill)
            && nugget + partial_sill > 0.0
            && range_m > 0.0
            && range_m.is_finite()
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
        let t = distance_m / self.range_m;
        self.partial_sill
            * match self.shape {
                Shape::Spherical if t < 1.0 => 1.0 - t * (1.5 - 0.5 * t * t),
                Shape::Spherical => 0.0,
                Shape::Exponential => libm::exp(-t),
                Shape::Gaussian => libm::exp(-t * t),
            }
    }

    /// Semivariance at a distance in metres along the longest direction; 0 at 0.
    pub fn semivariance(&self, distance_m: f64) -> f64 {
        match distance_m > 0.0 {
            true => self.sill() - self.structure_covariance(distance_m),
            false => 0.0,
        }
    }
}
