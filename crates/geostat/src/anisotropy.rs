//! Distances that count for more across a main direction than along it.
//!
//! The distance of two places is hypot(a, b / ratio), with a the distance along the main direction and
//! b across it: geometric anisotropy, Isaaks and Srivastava (1989), An Introduction to Applied
//! Geostatistics, chapter 16 (from memory). Programs differ in how they give the direction: here it is
//! the azimuth, degrees clockwise from north, of the *longest* range, and the ratio is the shortest
//! range over the longest.

use crate::error::GeostatError;

/// A main direction and how much shorter ranges are across it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Anisotropy {
    azimuth_deg: f64,
    ratio: f64,
    /// From metres east and north to distances along and across, the latter stretched.
    rows: [[f64; 2]; 2],
}

impl Anisotropy {
    /// The same in all directions; places stay as they are.
    pub const NONE: Anisotropy =
        Anisotropy { azimuth_deg: 0.0, ratio: 1.0, rows: [[1.0, 0.0], [0.0, 1.0]] };

    /// Anisotropy with the azimuth of the longest range, degrees clockwise from north, and the ratio
    /// of the shortest range to the longest.
    ///
    /// # Errors
    /// When the azimuth is not finite or the ratio not from 0.01 to 1.
    pub fn new(azimuth_deg: f64, ratio: f64) -> Result<Self, GeostatError> {
        if !(azimuth_deg.is_finite() && (0.01..=1.0).contains(&ratio)) {
            return Err(GeostatError::Anisotropy { azimuth_deg, ratio });
        }
        if ratio == 1.0 {
            return Ok(Anisotropy { azimuth_deg, ..Anisotropy::NONE });
        }
        let radians = azimuth_deg.to_radians();
        let (sin, cos) = (libm::sin(radians), libm::cos(radians));
        let rows = [[sin, cos], [cos / ratio, -sin / ratio]];
        Ok(Anisotropy { azimuth_deg, ratio, rows })
    }

    /// Azimuth of the longest range, degrees clockwise from north.
    pub fn azimuth_deg(&self) -> f64 {
        self.azimuth_deg
    }

    /// The shortest range over the longest.
    pub fn ratio(&self) -> f64 {
        self.ratio
    }

    /// Whether all directions are alike.
    pub fn is_none(&self) -> bool {
        self.ratio == 1.0
    }

    /// A place, or a difference of places, in metres east and north, put so that plain distances are
    /// the distances of this anisotropy.
    pub fn stretch(&self, [east, north]: [f64; 2]) -> [f64; 2] {
        match self.is_none() {
            true => [east, north],
            false => self.rows.map(|[of_east, of_north]| of_east * east + of_north * north),
        }
    }

    /// Square of the distance of two places.
    pub fn squared_m2(&self, a: [f64; 2], b: [f64; 2]) -> f64 {
        let [along, across] = self.stretch([a[0] - b[0], a[1] - b[1]]);
        along * along + across * across
    }
}

/// An anisotropy around a place. Places count from there before they are stretched: far from the origin
/// of the coordinates, as on a national grid, turning and stretching them would cost digits.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stretch {
    pub anisotropy: Anisotropy,
    origin: [f64; 2],
}

impl Stretch {
    pub fn new(anisotropy: Anisotropy, origin: [f64; 2]) -> Self {
        Stretch { anisotropy, origin }
    }

    /// A place put so that plain distances are those of the anisotropy; as it is where there is none.
    pub fn place(&self, [east, north]: [f64; 2]) -> [f64; 2] {
        match self.anisotropy.is_none() {
            true => [east, north],
            false => self.anisotropy.stretch([east - self.origin[0], north - self.origin[1]]),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn across_the_main_direction_distances_count_for_more() {
        // The longest range runs to the east; a step north counts double.
        let east = Anisotropy::new(90.0, 0.5).unwrap();
        let squared = |to| east.squared_m2([0.0, 0.0], to);
        assert!((squared([3.0, 0.0]) - 9.0).abs() < 1e-12);
        assert!((squared([0.0, 3.0]) - 36.0).abs() < 1e-12);
    }

    #[test]
    fn a_ratio_of_one_changes_nothing() {
        let round = Anisotropy::new(33.0, 1.0).unwrap();
        assert_eq!(round.stretch([0.1, 0.7]), [0.1, 0.7]);
    }

    #[test]
    fn directions_that_mean_nothing_are_refused() {
        assert!(Anisotropy::new(f64::NAN, 0.5).is_err());
        assert!(Anisotropy::new(0.0, 0.0).is_err());
        assert!(Anisotropy::new(0.0, 1.5).is_err());
    }
}
