//! Interpolation of values measured at places of a plane.
//!
//! Places are metres east and north of any origin, east first; values have any unit, and results
//! have the same. "No data" is NaN. Nothing here knows of soil, degrees or files.
//!
//! Samples have an order, and it decides ties: of samples equally far from a place the earlier is
//! the nearer. Results are the same for any number of threads and on any machine: only IEEE 754
//! operations and the crate `libm` are used, in an order that the size of a vector unit does not change.
//!
//! | question | answer |
//! |---|---|
//! | what is the value there? | [`Idw`], [`Kriging`] near samples, [`GlobalKriging`] from all |
//! | how alike are samples by distance? | [`EmpiricalVariogram`], [`Variogram`], [`VariogramFit`] |
//! | how far off is the map? | [`leave_one_out_idw`], [`leave_one_out_kriging`], [`SpatialBlocks`] |
//! | how likely is less than so much? | [`Indicators`], [`probability_below`] |
//! | what else could the whole look like? | [`simulate`] |
//! | where was anything measured? | [`Reach`] |
//!
//! Searches: places sorted into bins (`spatial_bins.rs`) are fastest where samples are spread as in a
//! survey; the k-d tree of the crate `kdtree` serves where they crowd, grows with a simulation, and is
//! what the bins are held against. A raster is not searched cell by cell: `blocks.rs` finds the
//! samples of a block of cells at once, and the vector unit works out several cells together.
//!
//! ```
//! use geostat::{Idw, NeighbourIndex, Sample, Samples, Search};
//!
//! let at = |easting_m, northing_m, value| Sample { easting_m, northing_m, value };
//! let samples = Samples::new(vec![at(0.0, 0.0, 12.0), at(40.0, 0.0, 6.0), at(0.0, 40.0, 9.0)])?;
//! let index = NeighbourIndex::new(&samples);
//! let idw = Idw::new(2.0, Search::nearest(3))?;
//! assert_eq!(idw.estimate(&samples, &index, [20.0, 0.0]), 9.0);
//! # Ok::<(), geostat::GeostatError>(())
//! ```
//!
//! How unlike two samples are by their distance, and a model of it:
//!
//! ```
//! use geostat::{Bins, EmpiricalVariogram, Estimator, Sample, Samples, Shape, Weighting};
//!
//! let wave = |k: u32| f64::from(k * k % 7);
//! let samples = (0..40).map(|k| Sample {
//!     easting_m: f64::from(k % 8) * 10.0,
//!     northing_m: f64::from(k / 8) * 10.0,
//!     value: f64::from(k % 8) + wave(k),
//! });
//! let samples = Samples::new(samples.collect())?;
//! let bins = Bins::Width { width_m: 10.0, cutoff_m: 50.0 };
//! let empirical = EmpiricalVariogram::new(&samples, Estimator::Matheron, &bins, None)?;
//! // Side by side: 7 in each of 5 rows and 4 in each of 8 columns.
//! assert_eq!((empirical.classes[0].pairs, empirical.classes[0].distance_m), (67, 10.0));
//!
//! let fit = empirical.fit(Shape::Spherical, Weighting::PairsPerSquaredDistance)?;
//! assert!(fit.model.semivariance(50.0) > fit.model.semivariance(10.0));
//! # Ok::<(), geostat::GeostatError>(())
//! ```

mod anisotropy;
mod bessel;
mod block_cells;
mod blocks;
mod cholesky;
mod cross_validation;
mod empirical_variogram;
mod error;
mod exponential;
mod grid;
mod idw;
mod idw_cells;
mod idw_left_out;
mod indicator;
mod kriging;
#[cfg(test)]
mod lane_counts;
mod lane_room;
mod neighbours;
mod nth;
mod power;
mod random;
mod rank_stack;
mod reach;
mod sample;
mod spatial_bins;
mod spatial_blocks;
mod tiles;
mod variogram;
mod variogram_fit;

pub use anisotropy::Anisotropy;
pub use cross_validation::{
    CrossValidation, ObservedEstimated, leave_one_out_idw, leave_one_out_smoothed_idw,
};
pub use empirical_variogram::{Bins, Direction, DistanceClass, EmpiricalVariogram, Estimator};
pub use error::GeostatError;
pub use grid::{Grid, Raster};
pub use idw::Idw;
pub use indicator::{Indicators, Observation, Probabilities, Reading, probability_below};
pub use kriging::{
    GlobalKriging, Kriged, KrigedRaster, Kriging, ROUNDING, Simulation, Trend,
    leave_one_out_kriging, simulate,
};
pub use neighbours::{Neighbour, NeighbourIndex, Neighbours, Search, SectorKind, Sectors};
pub use reach::Reach;
pub use sample::{Sample, Samples};
pub use spatial_blocks::SpatialBlocks;
pub use variogram::{Shape, Variogram};
pub use variogram_fit::{VariogramFit, Weighting};
