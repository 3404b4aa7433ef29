//! Inverse-distance weighting.
//!
//! The estimate at a place is the mean of the samples' values weighted by d^−p, where d is the
//! distance to the sample and p the power: Shepard (1968), "A two-dimensional interpolation function
//! for irregularly-spaced data", Proc. 23rd ACM National Conference, 517–524. At a sample it is
//! the sample's value; everywhere it lies between the least and the greatest value used.
//!
//! The mean is formed as the nearest value plus the weighted mean of the differences from it, so
//! that equal values give exactly that value, and the weights are (d₀/d)^p with d₀ the least
//! distance, so that no power overflows.

use rayon::prelude::*;

use crate::blocks::{Block, Blocks};
use crate::error::GeostatError;
use crate::grid::{Grid, Raster};
use crate::neighbours::{Neighbour, NeighbourIndex, Neighbours, Search};
use crate::sample::{Sample, Samples};

/// Inverse-distance weighting: how fast a sample's weight falls, and which samples take part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Idw {
    power: Power,
    search: Search,
}

impl Idw {
    /// Settings of an interpolation.
    ///
    /// # Errors
    /// When the power is not above 0 and at most 20, or the search finds nothing anywhere.
    pub fn new(power: f64, search: Search) -> Result<Self, GeostatError> {
        search.check()?;
        Ok(Idw { power: Power::new(power)?, search })
    }

    /// The estimate at one place; NaN where the search finds no sample.
    pub fn estimate(&self, samples: &Samples, index: &NeighbourIndex, place: [f64; 2]) -> f64 {
        let mut found = Vec::new();
        index.find(place, self.search, &mut found);
        prepare(&mut found, None);
        weighted_mean(self.power, samples.as_slice(), &found)
    }

    /// Estimates for the cells of a grid that are `wanted`, by row and column; NaN for the others,
    /// where the search finds no sample, and where the nearest is farther than `reach_m`. Bands of
    /// rows are worked on in parallel; each cell's result is its own, so it does not depend on the
    /// number of threads.
    pub fn fill(
        &self,
        samples: &Samples,
        index: &NeighbourIndex,
        grid: Grid,
        reach_m: Option<f64>,
        wanted: impl Fn(usize, usize) -> bool + Sync,
    ) -> Raster {
        let count = match self.search {
            Search { neighbours: Neighbours::Nearest(count), within_m: None } => count,
            _ => samples.len(),
        };
        if count >= samples.len() {
            return self.fill_plain(samples, index, grid, reach_m, wanted);
        }
        let (power, wanted) = (self.power, &wanted);
        let blocks =
            Blocks { samples: samples.as_slice(), index, power, count, reach_m, grid, wanted };
        let mut values = vec![f64::NAN; grid.cells()];
        values.par_chunks_mut(BAND * grid.columns()).enumerate().for_each(|(number, band)| {
            let (row, rows) = (number * BAND, band.len() / grid.columns());
            for column in (0..grid.columns()).step_by(BAND) {
                let columns = BAND.min(grid.columns() - column);
                blocks.fill(Block { row, column, rows, columns }, row, band);
            }
        });
        Raster { grid, values }
    }

    /// What [`Idw::fill`] gives, by a search for each cell: slower, plainer, and what the faster way
    /// is held against.
    pub fn fill_plain(
        &self,
        samples: &Samples,
        index: &NeighbourIndex,
        grid: Grid,
        reach_m: Option<f64>,
        wanted: impl Fn(usize, usize) -> bool + Sync,
    ) -> Raster {
        let mut values = vec![f64::NAN; grid.cells()];
        values.par_chunks_mut(grid.columns()).enumerate().for_each_init(
            Vec::new,
            |found, (row, values)| {
                for (column, value) in values.iter_mut().enumerate() {
                    if wanted(row, column) {
                        let place = [grid.easting_m(column), grid.northing_m(row)];
                        index.find(place, self.search, found);
                        prepare(found, reach_m);
                        *value = weighted_mean(self.power, samples.as_slice(), found);
                    }
                }
            },
        );
        Raster { grid, values }
    }
}

/// Rows and columns of the largest block.
const BAND: usize = 64;

/// Cells worked out at a time.
pub(crate) const LANES: usize = 8;

/// Makes neighbours ready for [`weighted_mean`]: in the order of the samples, so that sums are the
/// same however they were found, and none where even the nearest is farther than the reach.
pub(crate) fn prepare(found: &mut Vec<Neighbour>, reach_m: Option<f64>) {
    if let Some(reach_m) = reach_m
        && !found.iter().any(|neighbour| neighbour.squared_m2 <= reach_m * reach_m)
    {
        found.clear();
    }
    found.sort_unstable_by_key(|neighbour| neighbour.index);
}

/// The weighted mean of neighbours that are [prepared](prepare); NaN where there is none.
pub(crate) fn weighted_mean(power: Power, samples: &[Sample], found: &[Neighbour]) -> f64 {
    let nearest = |least: Neighbour, &n: &Neighbour| match n.squared_m2 < least.squared_m2 {
        true => n,
        false => least,
    };
    let Some(&first) = found.first() else {
        return f64::NAN;
    };
    let least = found.iter().fold(first, nearest);
    let origin = samples[least.index].value;
    if least.squared_m2 == 0.0 {
        return origin;
    }
    let (mut sum, mut weights) = (0.0, 0.0);
    for neighbour in found {
        let weight = power.of_ratio(least.squared_m2 / neighbour.squared_m2);
        weights += weight;
        sum += weight * (samples[neighbour.index].value - origin);
    }
    origin + sum / weights
}

/// The weighted mean of the same samples at several places of one row, and the square of the distance to
/// the nearest, as [`weighted_mean`] gives them one by one. `squares` is room for one entry a sample.
pub(crate) fn evaluate_lanes(
    power: Power,
    samples: &[Sample],
    eastings_m: [f64; LANES],
    northing_m: f64,
    squares: &mut [[f64; LANES]],
) -> ([f64; LANES], [f64; LANES]) {
    let mut least = [f64::INFINITY; LANES];
    let mut origin = [0.0; LANES];
    for (sample, squares) in samples.iter().zip(squares.iter_mut()) {
        let north = northing_m - sample.northing_m;
        for lane in 0..LANES {
            let east = eastings_m[lane] - sample.easting_m;
            let squared = east * east + north * north;
            squares[lane] = squared;
            let is_nearer = squared < least[lane];
            least[lane] = if is_nearer { squared } else { least[lane] };
            origin[lane] = if is_nearer { sample.value } else { origin[lane] };
        }
    }
    let (mut sum, mut weights) = ([0.0; LANES], [0.0; LANES]);
    for (sample, squares) in samples.iter().zip(squares.iter()) {
        let ratios = std::array::from_fn(|lane| least[lane] / squares[lane]);
        let weight = power.of_ratios(ratios);
        for lane in 0..LANES {
            weights[lane] += weight[lane];
            sum[lane] += weight[lane] * (sample.value - origin[lane]);
        }
    }
    let value = |lane: usize| match least[lane] == 0.0 {
        true => origin[lane],
        false => origin[lane] + sum[lane] / weights[lane],
    };
    (std::array::from_fn(value), least)
}

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
    fn of_ratios(self, squared: [f64; LANES]) -> [f64; LANES] {
        let Power::Quarters(quarters) = self else {
            return squared.map(|squared| self.of_ratio(squared));
        };
        let mut result = [1.0; LANES];
        for _ in 0..quarters / 8 {
            for lane in 0..LANES {
                result[lane] *= squared[lane];
            }
        }
        let mut factor = squared;
        for bit in [4, 2, 1].into_iter().take_while(|_| quarters % 8 != 0) {
            factor = factor.map(f64::sqrt);
            if quarters & bit != 0 {
                for lane in 0..LANES {
                    result[lane] *= factor[lane];
                }
            }
        }
        result
    }

    /// `squared`^(p/2): the power of a ratio of distances, from the ratio's square.
    fn of_ratio(self, squared: f64) -> f64 {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::neighbours::Neighbours;

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

    #[test]
    fn no_sample_within_the_radius_is_no_data() {
        let samples = Samples::new(vec![at(0.0, 0.0, 3.0)]).unwrap();
        let index = NeighbourIndex::new(&samples);
        let search = Search { neighbours: Neighbours::All, within_m: Some(1.0) };
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
