//! Kriging: estimates with their variance from a variogram model.
//!
//! The value at a place is taken to be a trend, Σ βₖ fₖ, and a part of mean 0 with covariance
//! C(h) = sill − γ(h). The estimate is Σ λᵢ zᵢ, unbiased whatever the β, with the least variance.
//! Ordinary kriging has the trend 1, a mean that is not known; the linear trend is
//! 1, east, north. Journel and Huijbregts (1978), Mining Geostatistics, chapter V; Isaaks and
//! Srivastava (1989), An Introduction to Applied Geostatistics, chapter 12 (ordinary kriging);
//! Cressie (1993), Statistics for Spatial Data, sections 3.2 and 3.4; Goovaerts (1997),
//! Geostatistics for Natural Resources Evaluation, chapter 5 (all from memory).
//!
//! With C the covariances of the samples, F their trend (a row each), c the covariances of the
//! samples with the place and f its trend, the equations C λ + F μ = c, Fᵀ λ = f are solved by the
//! Cholesky factor `C = UᵀU` and the small matrix S = FᵀC⁻¹F (the Schur complement):
//!
//! * r = f − FᵀC⁻¹c,
//! * λ = C⁻¹c + C⁻¹F S⁻¹ r,
//! * variance = C(0) − cᵀC⁻¹c + rᵀS⁻¹r,
//! * estimate = cᵀb + fᵀβ with β = S⁻¹FᵀC⁻¹z and b = C⁻¹(z − Fβ), the dual form, in which the
//!   samples are dealt with once for all places.
//!
//! **Nugget.** It counts only between different places, so a map is exact at its samples and its
//! variance there is 0. The part of the nugget given as `error_variance` is the variance of errors of
//! the measurement: it is filtered out. What is estimated then is the value without the error,
//! not exact at the samples, and its variance is without it (Cressie 1993, section 3.2.1, from
//! memory).
//!
//! **Neighbours** are the nearest by the distance of the index that is searched: in plain distance
//! with [`NeighbourIndex::new`](crate::NeighbourIndex::new), also where the variogram has a direction.
//! Programs differ there: some search in the stretched distance.
//!
//! **Variances below 0** cannot be but by rounding. Those within [`ROUNDING`] of the sill from 0, on
//! either side, are 0; others are kept as they come, so that they can be seen and counted.

mod block;
mod global;
mod leave_one_out;
mod local;
mod neighbour_sets;
mod set_lanes;
mod simulation;
mod system;
mod tiles;

use crate::error::GeostatError;
use crate::grid::Raster;
use crate::neighbours::Search;
use crate::variogram::Variogram;

pub use global::GlobalKriging;
pub use leave_one_out::leave_one_out_kriging;
pub use simulation::{Simulation, simulate};
pub(crate) use system::System;

/// Share of the sill below which a variance is rounding: with 2 000 samples sums are good to some
/// 1e-13 of it, and matrices that would lose more than a few digits are refused.
pub const ROUNDING: f64 = 1e-10;

/// What is taken to be known of the mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trend {
    /// The same everywhere, and not known: ordinary kriging.
    Constant,
    /// A plane, not known: kriging with a linear trend ("universal" kriging).
    Linear,
}

/// Settings of kriging.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kriging {
    variogram: Variogram,
    trend: Trend,
    error_variance: f64,
    search: Search,
}

/// An estimate and its variance; both NaN where there is none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kriged {
    /// The estimate, in the unit of the values.
    pub value: f64,
    /// Kriging variance, in squares of that unit.
    pub variance: f64,
}

impl Kriged {
    /// No estimate.
    pub const NONE: Kriged = Kriged { value: f64::NAN, variance: f64::NAN };

    /// Root of the variance; NaN where it is below 0.
    pub fn standard_error(&self) -> f64 {
        self.variance.sqrt()
    }
}

/// Estimates for the cells of a grid.
#[derive(Debug, Clone)]
pub struct KrigedRaster {
    /// The estimates; NaN where there is none.
    pub value: Raster,
    /// Their variances, where asked for.
    pub variance: Option<Raster>,
    /// How many cells have a variance below 0 that rounding does not explain.
    pub negative_variances: usize,
}

impl KrigedRaster {
    fn new(value: Raster, variance: Option<Raster>) -> Self {
        let negative = |raster: &Raster| raster.values.iter().filter(|&&v| v < 0.0).count();
        let negative_variances = variance.as_ref().map_or(0, negative);
        KrigedRaster { value, variance, negative_variances }
    }
}

impl Kriging {
    /// Ordinary kriging with a variogram model, from every sample.
    ///
    /// # Errors
    /// When the model's numbers mean nothing: see [`Variogram::new`].
    pub fn new(variogram: Variogram) -> Result<Self, GeostatError> {
        let Variogram { shape, nugget, partial_sill, range_m, .. } = variogram;
        Variogram::new(shape, nugget, partial_sill, range_m)?;
        let (trend, search) = (Trend::Constant, Search::EVERYTHING);
        Ok(Kriging { variogram, trend, error_variance: 0.0, search })
    }

    /// The same with another trend.
    pub fn with_trend(self, trend: Trend) -> Self {
        Kriging { trend, ..self }
    }

    /// The same with that part of the nugget taken for errors of the measurement.
    ///
    /// # Errors
    /// When it is negative, not finite or more than the nugget.
    pub fn with_error_variance(self, error_variance: f64) -> Result<Self, GeostatError> {
        match (0.0..=self.variogram.nugget).contains(&error_variance) {
            true => Ok(Kriging { error_variance, ..self }),
            false => {
                Err(GeostatError::ErrorVariance { error_variance, nugget: self.variogram.nugget })
            }
        }
    }

    /// The same from the samples that a search finds. [`GlobalKriging`] takes every sample and does
    /// not look at the search.
    ///
    /// # Errors
    /// When the search finds nothing anywhere.
    pub fn with_search(self, search: Search) -> Result<Self, GeostatError> {
        search.check()?;
        Ok(Kriging { search, ..self })
    }

    /// The variogram model.
    pub fn variogram(&self) -> &Variogram {
        &self.variogram
    }

    /// The trend.
    pub fn trend(&self) -> Trend {
        self.trend
    }

    /// The part of the nugget that is errors of the measurement.
    pub fn error_variance(&self) -> f64 {
        self.error_variance
    }

    /// Which samples take part.
    pub fn search(&self) -> Search {
        self.search
    }

    /// How many coefficients the trend has.
    pub(crate) fn coefficients(&self) -> usize {
        match self.trend {
            Trend::Constant => 1,
            Trend::Linear => 3,
        }
    }

    /// Variance of what is estimated, where nothing is known: the sill without errors.
    pub(crate) fn signal_variance(&self) -> f64 {
        self.variogram.partial_sill + (self.variogram.nugget - self.error_variance)
    }

    /// A variance with what is only rounding set to 0.
    pub(crate) fn settled(&self, variance: f64) -> f64 {
        match variance.abs() <= ROUNDING * self.variogram.sill() {
            true => 0.0,
            false => variance,
        }
    }
}
