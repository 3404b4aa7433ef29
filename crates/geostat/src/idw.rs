//! Inverse-distance weighting.
//!
//! The estimate at a place is the mean of the samples' values weighted by d^−p, where d is the
//! distance to the sample and p the power: Shepard (1968), "A two-dimensional interpolation function
//! for irregularly-spaced data", Proc. 23rd ACM National Conference, 517–524. At a sample it is
//! the sample's value; everywhere it lies between the least and the greatest value used.
//!
//! The mean is formed as the first sample's value plus the weighted mean of the differences from it, so
//! that equal values give exactly that value, and the weights are (d₀/d)^p with d₀ the least
//! distance, so that no power overflows.
//!
//! Smoothed by a length s, d is √(distance² + s²): the surface no longer passes through the samples.
//! Programs differ in this: some add s to the distance.

use std::convert::Infallible;

use crate::blocks::{Blocks, Candidates, Room, Worker};
use crate::error::GeostatError;
use crate::grid::{Grid, Raster};
use crate::idw_cells::IdwCells;
use crate::neighbours::{Neighbour, NeighbourIndex, Neighbours, Search};
use crate::power::Power;
use crate::sample::Samples;
use crate::tiles::{fill_by_cell, fill_by_tile};

/// Inverse-distance weighting: how fast a sample's weight falls, and which samples take part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Idw {
    pub(crate) power: Power,
    search: Search,
    /// Square of the smoothing length, m².
    pub(crate) smoothing_m2: f64,
}

impl Idw {
    /// Settings of an interpolation that passes through the samples.
    ///
    /// # Errors
    /// When the power is not above 0 and at most 20, or the search finds nothing anywhere.
    pub fn new(power: f64, search: Search) -> Result<Self, GeostatError> {
        search.check()?;
        Ok(Idw { power: Power::new(power)?, search, smoothing_m2: 0.0 })
    }

    /// The same, smoothed by a length in metres; 0 is not at all.
    ///
    /// # Errors
    /// When the length is negative or not finite.
    pub fn smoothed(self, smoothing_m: f64) -> Result<Self, GeostatError> {
        match smoothing_m >= 0.0 && smoothing_m.is_finite() {
            true => Ok(Idw { smoothing_m2: smoothing_m * smoothing_m, ..self }),
            false => Err(GeostatError::Smoothing { smoothing_m }),
        }
    }

    /// The estimate at one place; NaN where the search finds no sample.
    pub fn estimate(&self, samples: &Samples, index: &NeighbourIndex, place: [f64; 2]) -> f64 {
        let mut found = Vec::new();
        index.find(place, self.search, &mut found);
        self.of_found(samples, index, &mut found)
    }

    /// Estimates for the cells of a grid that are `wanted`, by row and column; NaN for the others
    /// and where the search finds no sample. Bands of rows are worked on in parallel; each cell's
    /// result is its own, so it does not depend on the number of threads.
    pub fn fill(
        &self,
        samples: &Samples,
        index: &NeighbourIndex,
        grid: Grid,
        wanted: impl Fn(usize, usize) -> bool + Sync,
    ) -> Raster {
        if self.search.sectors.is_some() {
            return self.fill_by_search(samples, index, grid, wanted, NeighbourIndex::find);
        }
        let values = values_by_rank(samples, index);
        let all = samples.len();
        let count = match self.search.neighbours {
            Neighbours::Nearest(count) => count.min(all),
            Neighbours::All => all,
        };
        let within_m2 = self.search.within_squared_m2();
        // Copied only where each cell needs all: a grid may come band by band.
        let places = if count == all { index.places_by_rank() } else { &[] };
        let ranks: Vec<u32> = (0..places.len() as u32).collect();
        let [east, north] = [0, 1].map(|axis| places.iter().map(|p| p[axis]).collect::<Vec<f64>>());
        let everything = Candidates { ranks: &ranks, east: &east, north: &north, last: None };
        let blocks = Blocks { index, count, grid };
        let filled = fill_by_tile(grid, wanted, Room::default, |tile, wanted, [band], room| {
            let mut cells =
                IdwCells::new(self, samples, index, &values, count, within_m2, grid, wanted, band);
            match count == all {
                true => cells.work(tile, &everything),
                false => blocks.divide(tile, room, &|block| wanted.any(block), &mut cells),
            }
            Ok(())
        });
        let [raster] = filled.unwrap_or_else(|never: Infallible| match never {});
        raster
    }

    /// What [`Idw::fill`] gives, by a search of the k-d tree for each cell: slower, plainer, and what
    /// the faster way is held against.
    pub fn fill_plain(
        &self,
        samples: &Samples,
        index: &NeighbourIndex,
        grid: Grid,
        wanted: impl Fn(usize, usize) -> bool + Sync,
    ) -> Raster {
        self.fill_by_search(samples, index, grid, wanted, NeighbourIndex::find_by_tree)
    }

    /// Each cell by a search of its own.
    fn fill_by_search(
        &self,
        samples: &Samples,
        index: &NeighbourIndex,
        grid: Grid,
        wanted: impl Fn(usize, usize) -> bool + Sync,
        find: impl Fn(&NeighbourIndex, [f64; 2], Search, &mut Vec<Neighbour>) + Sync,
    ) -> Raster {
        fill_by_cell(grid, wanted, |place, found| {
            find(index, place, self.search, found);
            self.of_found(samples, index, found)
        })
    }

    /// The estimate from neighbours in any order; NaN where there is none.
    pub(crate) fn of_found(
        &self,
        samples: &Samples,
        index: &NeighbourIndex,
        found: &mut [Neighbour],
    ) -> f64 {
        // Sums run in rank order, however the neighbours were found.
        found.sort_unstable_by_key(|neighbour| index.rank(neighbour.index));
        let Some(nearest) = found.iter().min_by(|a, b| a.squared_m2.total_cmp(&b.squared_m2))
        else {
            return f64::NAN;
        };
        let samples = samples.as_slice();
        let least_m2 = nearest.squared_m2 + self.smoothing_m2;
        if least_m2 == 0.0 {
            return samples[nearest.index].value;
        }
        let origin = samples[found[0].index].value;
        let (mut sum, mut weights) = (0.0, 0.0);
        for neighbour in found {
            let weight = self.power.of_ratio(least_m2 / (neighbour.squared_m2 + self.smoothing_m2));
            weights += weight;
            sum += weight * (samples[neighbour.index].value - origin);
        }
        origin + sum / weights
    }
}

fn values_by_rank(samples: &Samples, index: &NeighbourIndex) -> Vec<f64> {
    let samples = samples.as_slice();
    index.numbers_by_rank().iter().map(|&number| samples[number as usize].value).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::neighbours::Neighbours;
    use crate::sample::Sample;

    fn at(easting_m: f64, northing_m: f64, value: f64) -> Sample {
        Sample { easting_m, northing_m, value }
    }

    #[test]
    fn halfway_between_two_samples_is_their_mean() {
        let samples = Samples::new(vec![at(0.0, 0.0, 3.0), at(10.0, 0.0, 9.0)]).unwrap();
        let index = NeighbourIndex::new(&samples);
        let idw = Idw::new(2.0, Search::EVERYTHING).unwrap();
        assert_eq!(idw.estimate(&samples, &index, [5.0, 0.0]), 6.0);
        // One third of the way: weights 4 to 1, so 3 + 6/5.
        let third = idw.estimate(&samples, &index, [10.0 / 3.0, 0.0]);
        assert!((third - 4.2).abs() < 1e-12, "{third}");
    }

    #[test]
    fn exact_at_the_samples_and_constant_where_they_are_equal() {
        let samples =
            Samples::new(vec![at(0.1, 0.2, 45.72), at(10.3, 0.7, 45.72), at(3.3, 8.1, 45.72)])
                .unwrap();
        let index = NeighbourIndex::new(&samples);
        for power in [0.5, 1.3, 2.0, 5.0] {
            let idw = Idw::new(power, Search::EVERYTHING).unwrap();
            for place in [[0.1, 0.2], [4.4, 4.4], [1e6, -1e6]] {
                assert_eq!(idw.estimate(&samples, &index, place), 45.72);
            }
        }
    }

    #[test]
    fn no_sample_within_the_radius_is_no_data() {
        let samples = Samples::new(vec![at(0.0, 0.0, 3.0)]).unwrap();
        let index = NeighbourIndex::new(&samples);
        let search = Search { neighbours: Neighbours::All, within_m: Some(1.0), sectors: None };
        let idw = Idw::new(2.0, search).unwrap();
        assert!(idw.estimate(&samples, &index, [1.1, 0.0]).is_nan());
        assert_eq!(idw.estimate(&samples, &index, [1.0, 0.0]), 3.0);
    }

    #[test]
    fn powers_that_mean_nothing_are_refused() {
        for power in [0.0, -1.0, f64::NAN, f64::INFINITY, 21.0] {
            assert!(Idw::new(power, Search::EVERYTHING).is_err());
        }
        assert!(Idw::new(2.0, Search::nearest(0)).is_err());
    }
}
