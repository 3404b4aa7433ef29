//! Kriging from the samples around each place.

use rayon::prelude::*;

use crate::error::GeostatError;
use crate::grid::{Grid, Raster};
use crate::kriging::{Kriged, KrigedRaster, Kriging, System};
use crate::neighbours::{Neighbour, NeighbourIndex};
use crate::sample::Samples;

impl Kriging {
    /// The estimate at one place from the samples that the search finds for it.
    ///
    /// A place with fewer neighbours than the trend has coefficients, one for a constant and three
    /// for a plane, has no estimate: [`Kriged::NONE`].
    ///
    /// # Errors
    /// When the equations have no solution: see [`GlobalKriging::new`](crate::GlobalKriging::new).
    pub fn estimate(
        &self,
        samples: &Samples,
        index: &NeighbourIndex,
        place: [f64; 2],
    ) -> Result<Kriged, GeostatError> {
        let mut found = Vec::new();
        index.find(place, self.search, &mut found);
        self.estimate_from(samples, &mut found, place)
    }

    /// The estimate from the given neighbours, which are put in the order of the samples, so that
    /// sums are the same however they were found.
    pub(crate) fn estimate_from(
        &self,
        samples: &Samples,
        found: &mut [Neighbour],
        place: [f64; 2],
    ) -> Result<Kriged, GeostatError> {
        if found.len() < self.coefficients() {
            return Ok(Kriged::NONE);
        }
        found.sort_unstable_by_key(|neighbour| neighbour.index);
        let of_sample = |n: &Neighbour| samples.as_slice()[n.index];
        let near: Vec<_> = found.iter().map(of_sample).collect();
        let places: Vec<_> = near.iter().map(|s| [s.easting_m, s.northing_m]).collect();
        let values: Vec<f64> = near.iter().map(|s| s.value).collect();
        let system = System::of_samples(self, &places).map_err(|error| match error {
            GeostatError::Singular { sample } => {
                GeostatError::Singular { sample: found[sample].index }
            }
            other => other,
        })?;
        Ok(system.estimate(&system.dual(&values), place))
    }

    /// Estimates for the cells of a grid that are `wanted`, by row and column, each from a search of
    /// its own; NaN for the others and where there is no estimate.
    ///
    /// # Errors
    /// When the equations of a cell have no solution; the first such cell decides.
    pub fn fill_plain(
        &self,
        samples: &Samples,
        index: &NeighbourIndex,
        grid: Grid,
        with_variance: bool,
        wanted: impl Fn(usize, usize) -> bool + Sync,
    ) -> Result<KrigedRaster, GeostatError> {
        let of_row = |row: usize| -> Result<Vec<Kriged>, GeostatError> {
            let mut found = Vec::new();
            let of_cell = |column: usize| match wanted(row, column) {
                true => {
                    let place = [grid.easting_m(column), grid.northing_m(row)];
                    index.find(place, self.search, &mut found);
                    self.estimate_from(samples, &mut found, place)
                }
                false => Ok(Kriged::NONE),
            };
            (0..grid.columns()).map(of_cell).collect()
        };
        let rows: Vec<Result<Vec<Kriged>, GeostatError>> =
            (0..grid.rows()).into_par_iter().map(of_row).collect();
        let cells = rows.into_iter().collect::<Result<Vec<_>, _>>()?.concat();
        let raster =
            |of: fn(&Kriged) -> f64| Raster { grid, values: cells.iter().map(of).collect() };
        let variance = with_variance.then(|| raster(|kriged| kriged.variance));
        Ok(KrigedRaster::new(raster(|kriged| kriged.value), variance))
    }
}
