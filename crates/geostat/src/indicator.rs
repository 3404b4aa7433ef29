//! Probability that a value is below a cutoff.
//!
//! Indicator kriging turns each sample into 1 where its value is below the cutoff and 0 where it is
//! not, and the estimates of that are probabilities, whatever the distribution of the values:
//! Journel (1983), "Nonparametric estimation of spatial distributions", Mathematical Geology
//! 15:445–468 (from memory). Weights can be negative, so estimates outside 0..1 occur: they are set to
//! the nearer limit and counted (Goovaerts 1997, section 7.1, from memory). A value of which only a
//! lower limit is known has an indicator all the same as long as the limit is not below the cutoff:
//! that is how such values keep their whole information.

use crate::error::GeostatError;
use crate::grid::Raster;
use crate::kriging::{Kriged, ROUNDING};
use crate::sample::{Sample, Samples};

/// What is known of a value at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observation {
    /// Metres east.
    pub easting_m: f64,
    /// Metres north.
    pub northing_m: f64,
    /// The value or its limit.
    pub reading: Reading,
}

/// A value or the least it can be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reading {
    /// The value.
    Observed(f64),
    /// The value is this or more (censored from the right).
    AtLeast(f64),
}

/// Samples turned into 1 below a cutoff and 0 elsewhere.
#[derive(Debug, Clone, PartialEq)]
pub struct Indicators {
    /// The samples whose indicator is known, in order: 1 below the cutoff, 0 at it or above.
    pub samples: Samples,
    /// How many are left out: their value is at least something below the cutoff, which tells nothing.
    pub unknown: usize,
}

impl Indicators {
    /// The indicators of observations: the samples to fit a variogram to and to krige with.
    ///
    /// # Errors
    /// When no indicator is known, a number is not finite, the cutoff is not a number, or two are at one
    /// place.
    pub fn new(observations: &[Observation], cutoff: f64) -> Result<Self, GeostatError> {
        let limit = |o: &Observation| match o.reading {
            Reading::Observed(limit) | Reading::AtLeast(limit) => limit,
        };
        if cutoff.is_nan() {
            return Err(GeostatError::Cutoff);
        }
        if let Some(index) = observations.iter().position(|o| !limit(o).is_finite()) {
            return Err(GeostatError::NotFinite { index });
        }
        let indicator = |o: &Observation| {
            let value = match o.reading {
                Reading::AtLeast(limit) if limit < cutoff => return None,
                Reading::AtLeast(_) => 0.0,
                Reading::Observed(value) => f64::from(u8::from(value < cutoff)),
            };
            Some(Sample { easting_m: o.easting_m, northing_m: o.northing_m, value })
        };
        let known: Vec<Sample> = observations.iter().filter_map(indicator).collect();
        let unknown = observations.len() - known.len();
        Ok(Indicators { samples: Samples::new(known)?, unknown })
    }
}

/// Probabilities on a grid.
#[derive(Debug, Clone)]
pub struct Probabilities {
    /// From 0 to 1; NaN where there is no estimate.
    pub raster: Raster,
    /// How many estimates lay outside 0..1 by more than rounding.
    pub clamped: usize,
}

impl Probabilities {
    /// Estimates of indicators, kept within 0..1.
    pub fn new(mut estimates: Raster) -> Self {
        let mut clamped = 0;
        for value in &mut estimates.values {
            clamped += usize::from(*value < -ROUNDING || *value > 1.0 + ROUNDING);
            *value = value.clamp(0.0, 1.0);
        }
        Probabilities { raster: estimates, clamped }
    }
}

/// Probability that the value is below a cutoff if it is normally distributed around the estimate with
/// the kriging variance. Where the variance is 0 it is 1 or 0; where there is no estimate or the
/// variance is below 0, NaN.
pub fn probability_below(kriged: Kriged, cutoff: f64) -> f64 {
    match kriged.variance == 0.0 {
        true if kriged.value.is_nan() => f64::NAN,
        true => f64::from(u8::from(kriged.value < cutoff)),
        false => {
            let deviations = (cutoff - kriged.value) / kriged.standard_error();
            0.5 * libm::erfc(-deviations * std::f64::consts::FRAC_1_SQRT_2)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::Grid;

    #[test]
    fn a_limit_below_the_cutoff_tells_nothing() {
        use Reading::{AtLeast, Observed};
        let at = |k: usize, reading| Observation { easting_m: k as f64, northing_m: 0.0, reading };
        let readings = [Observed(5.9), Observed(6.0), AtLeast(6.0), AtLeast(5.0), AtLeast(9.0)];
        let observations: Vec<_> =
            readings.into_iter().enumerate().map(|(k, r)| at(k, r)).collect();
        let indicators = Indicators::new(&observations, 6.0).unwrap();
        let known: Vec<_> =
            indicators.samples.as_slice().iter().map(|s| (s.easting_m, s.value)).collect();
        assert_eq!(known, [(0.0, 1.0), (1.0, 0.0), (2.0, 0.0), (4.0, 0.0)]);
        assert_eq!(indicators.unknown, 1);
        assert_eq!(Indicators::new(&observations[3..4], 6.0), Err(GeostatError::NoSamples));
    }

    #[test]
    fn estimates_beyond_0_and_1_are_counted() {
        let grid = Grid::new(0.0, 0.0, 1.0, 5, 1).unwrap();
        let values = vec![-0.1, 0.3, 1.0, 1.2, f64::NAN];
        let probabilities = Probabilities::new(Raster { grid, values });
        assert_eq!(probabilities.raster.values[..4], [0.0, 0.3, 1.0, 1.0]);
        assert!(probabilities.raster.values[4].is_nan());
        assert_eq!(probabilities.clamped, 2);
    }

    /// Values of the normal distribution function as printed in every table, here from Abramowitz and
    /// Stegun (1964), table 26.1 (from memory).
    #[test]
    fn probabilities_are_those_of_the_normal_distribution() {
        let kriged = Kriged { value: 10.0, variance: 4.0 };
        for (cutoff, expected) in [(10.0, 0.5), (12.0, 0.841_344_746), (6.0, 0.022_750_132)] {
            assert!((probability_below(kriged, cutoff) - expected).abs() < 1e-9);
        }
        let certain = Kriged { value: 10.0, variance: 0.0 };
        assert_eq!([10.0, 10.1].map(|cutoff| probability_below(certain, cutoff)), [0.0, 1.0]);
        assert!(probability_below(Kriged::NONE, 1.0).is_nan());
    }
}
