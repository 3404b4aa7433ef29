//! Conditional simulation: maps that could be, given the samples.
//!
//! A kriged map is the mean of what could be and smoother than any of it, so areas above or below a
//! limit counted on it are off. Sequential Gaussian simulation draws whole maps: cells are visited in a
//! random order, and each gets a normal deviate around its simple kriging estimate, with its simple kriging
//! variance, from the samples and the cells visited before: Goovaerts (1997), section 8.3; Deutsch and
//! Journel (1998), GSLIB, section V.2 (from memory). Values must be about normally distributed.
//!
//! **The trend** is not known, so each map has coefficients of its own, drawn from their normal
//! distribution given the samples, mean β and covariance S⁻¹. Given them, simple kriging of the rest is
//! right, and the maps together have the mean and variance of ordinary kriging, or of kriging with the
//! plane.
//!
//! **The nugget** is taken for error of the samples and not simulated: what varies within a few
//! paces averages out over a cell. So the maps tell what cells hold on average.
//!
//! **Values known to be at least something** are drawn anew for each map: one after the other from its
//! normal distribution given all others, above its limit, over and over (Gibbs sampling: Geman and
//! Geman 1984, IEEE Transactions PAMI 6:721–741, from memory).
//!
//! **Order of the cells**: first one cell of each large square, then of each square half as large,
//! and so on, so that the far structure is settled before the near (several grids: Deutsch and Journel
//! 1998, from memory). All maps share it, so the weights of a cell are solved once for all of them.

use std::collections::BTreeSet;

use kdtree::KdTree;
use kdtree::distance::squared_euclidean;
use rayon::prelude::*;

use crate::error::GeostatError;
use crate::indicator::{Observation, Reading};
use crate::kriging::leave_one_out::MOST_SILLS;
use crate::kriging::system::{System, TERMS, dot};
use crate::kriging::{GlobalKriging, Kriging};
use crate::neighbours::{Neighbour, NeighbourIndex, Search};
use crate::random::Random;
use crate::sample::{Sample, Samples};
use crate::variogram::Variogram;

/// A neighbour is left out where nearer ones leave no more than this share of the sill of it unknown:
/// it could tell no more, and its weight would be left to rounding.
const LEAST_PIVOT: f64 = 1e-8;

/// Rounds of drawing the values with a limit before the first map, and between maps.
const ROUNDS_BEFORE: usize = 200;
const ROUNDS_BETWEEN: usize = 20;

/// Streams of random numbers beside those of the maps.
const STREAM_OF_PATH: u64 = u64::MAX;
const STREAM_OF_LIMITS: u64 = u64::MAX - 1;

/// How to simulate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Simulation {
    /// How many maps.
    pub realisations: usize,
    /// The same seed gives the same maps; the first maps do not depend on how many there are.
    pub seed: u64,
    /// How many of the nearest samples and as many of the nearest cells visited before take part, in
    /// plain distance.
    pub neighbours: usize,
}

/// Draws maps of the values at some cells and gives them to `each`, with their number, one after the
/// other. The nugget is not in them, whatever the error variance of the settings; their search is not
/// looked at.
///
/// It holds every value of every map at once, 12 MB for 15 000 cells and 100 maps.
///
/// # Errors
/// When the observations cannot be used as [`Samples`], two cells are at one place, those with a
/// value do not tell the trend, or the equations of the samples have no solution: see
/// [`GlobalKriging::new`].
pub fn simulate(
    observations: &[Observation],
    kriging: &Kriging,
    cells: &[[f64; 2]],
    simulation: Simulation,
    mut each: impl FnMut(usize, &[f64]),
) -> Result<(), GeostatError> {
    if cells.is_empty() || simulation.realisations == 0 {
        return Ok(());
    }
    let cell = |&[easting_m, northing_m]: &[f64; 2]| Sample { easting_m, northing_m, value: 0.0 };
    Samples::new(cells.iter().map(cell).collect())?;
    let conditions = Conditions::new(observations, kriging, simulation)?;
    let path = path(cells, simulation.seed);
    let steps = steps(&conditions, cells, &path, simulation.neighbours);
    let count = simulation.realisations;
    let mut randoms: Vec<Random> =
        (0..count).map(|r| Random::new(simulation.seed, r as u64)).collect();
    let trends = conditions.draw_trends(&mut randoms);
    let residuals = conditions.residuals(&trends);
    let mut drawn = vec![0.0; cells.len() * count];
    let mut sums = vec![0.0; count];
    for step in &steps {
        for (sum, random) in sums.iter_mut().zip(&mut randoms) {
            *sum = step.deviation * random.normal();
        }
        for &(from, weight) in &step.weights {
            let known = match from {
                Source::Sample(i) => &residuals[i * count..(i + 1) * count],
                Source::Cell(i) => &drawn[i * count..(i + 1) * count],
            };
            for (sum, known) in sums.iter_mut().zip(known) {
                *sum += weight * known;
            }
        }
        drawn[step.cell * count..(step.cell + 1) * count].copy_from_slice(&sums);
    }
    let mut map = vec![0.0; cells.len()];
    for (r, trend) in trends.iter().enumerate() {
        for (i, value) in map.iter_mut().enumerate() {
            *value = trend.at(&conditions.global.system, cells[i]) + drawn[i * count + r];
        }
        each(r, &map);
    }
    Ok(())
}

/// The trend of one map.
struct MapTrend {
    origin: f64,
    beta: [f64; TERMS],
}

impl MapTrend {
    fn at(&self, system: &System, place: [f64; 2]) -> f64 {
        self.origin + dot(system.trend_at(place), self.beta)
    }
}

/// The samples, with a set of values for each map.
struct Conditions {
    global: GlobalKriging,
    /// A set for each map; one for all where every value is known.
    values: Vec<Vec<f64>>,
}

impl Conditions {
    fn new(
        observations: &[Observation],
        kriging: &Kriging,
        simulation: Simulation,
    ) -> Result<Self, GeostatError> {
        let sample = |o: &Observation| {
            let (Reading::Observed(value) | Reading::AtLeast(value)) = o.reading;
            Sample { easting_m: o.easting_m, northing_m: o.northing_m, value }
        };
        let samples = Samples::new(observations.iter().map(sample).collect())?;
        let is_limit = |i: &usize| matches!(observations[*i].reading, Reading::AtLeast(_));
        let limits: Vec<usize> = (0..samples.len()).filter(is_limit).collect();
        let kriging = kriging.with_error_variance(kriging.variogram().nugget)?;
        if !limits.is_empty() {
            let known = (0..samples.len()).filter(|i| !is_limit(i));
            let known = Samples::new(known.map(|i| samples.as_slice()[i]).collect())?;
            // Limits alone do not keep the trend from drifting off.
            GlobalKriging::new(&known, &kriging)?;
        }
        let global = GlobalKriging::new(&samples, &kriging)?;
        let values = match limits.is_empty() {
            true => vec![samples.as_slice().iter().map(|s| s.value).collect()],
            false => draw_limits(&global, &limits, simulation)?,
        };
        Ok(Conditions { global, values })
    }

    fn values_of(&self, map: usize) -> &[f64] {
        &self.values[map.min(self.values.len() - 1)]
    }

    fn draw_trends(&self, randoms: &mut [Random]) -> Vec<MapTrend> {
        let system = &self.global.system;
        let count = system.kriging.coefficients();
        let duals: Vec<_> = self.values.par_iter().map(|values| system.dual(values)).collect();
        let draw = |(map, random): (usize, &mut Random)| {
            let dual = &duals[map.min(duals.len() - 1)];
            let mut deviates = [0.0; TERMS];
            deviates[..count].fill_with(|| random.normal());
            let off = system.schur().backward(deviates);
            let beta = std::array::from_fn(|k| dual.beta[k] + off[k]);
            MapTrend { origin: dual.origin, beta }
        };
        randoms.iter_mut().enumerate().map(draw).collect()
    }

    /// What the trend leaves of each sample, for each map.
    fn residuals(&self, trends: &[MapTrend]) -> Vec<f64> {
        let mut residuals = Vec::with_capacity(self.global.samples.len() * trends.len());
        for (i, sample) in self.global.samples.as_slice().iter().enumerate() {
            let place = [sample.easting_m, sample.northing_m];
            residuals.extend(
                trends.iter().enumerate().map(|(map, trend)| {
                    self.values_of(map)[i] - trend.at(&self.global.system, place)
                }),
            );
        }
        residuals
    }
}

/// Sets of values in which those of which only a limit is known are drawn. Given all others, such a
/// value is normal with the mean and variance of leaving it out: zᵢ − (Q z)ᵢ / Qᵢᵢ and 1 / Qᵢᵢ.
fn draw_limits(
    global: &GlobalKriging,
    limits: &[usize],
    simulation: Simulation,
) -> Result<Vec<Vec<f64>>, GeostatError> {
    let mut values: Vec<f64> = global.samples.as_slice().iter().map(|s| s.value).collect();
    let least: Vec<f64> = limits.iter().map(|&i| values[i]).collect();
    let inverse = global.inverse_of(limits);
    // Far out on a plane that is hardly told, rounding could leave no precision at all.
    let least_precision = 1.0 / (MOST_SILLS * global.kriging().variogram().sill());
    if !(0..limits.len()).all(|k| inverse[k][k] > least_precision) {
        return Err(GeostatError::NoTrend);
    }
    let mut products: Vec<f64> = limits.iter().map(|&i| global.dual_weight(i)).collect();
    let mut random = Random::new(simulation.seed, STREAM_OF_LIMITS);
    let mut round = |values: &mut [f64]| {
        for (k, &i) in limits.iter().enumerate() {
            let precision = inverse[k][k];
            let mean = values[i] - products[k] / precision;
            let deviation = (1.0 / precision).sqrt();
            let drawn = mean + deviation * random.normal_at_least((least[k] - mean) / deviation);
            let drawn = drawn.max(least[k]);
            let step = drawn - values[i];
            values[i] = drawn;
            for (product, row) in products.iter_mut().zip(&inverse) {
                *product += row[k] * step;
            }
        }
    };
    (0..ROUNDS_BEFORE).for_each(|_| round(&mut values));
    let mut next = |_| {
        (0..ROUNDS_BETWEEN).for_each(|_| round(&mut values));
        values.clone()
    };
    Ok((0..simulation.realisations).map(&mut next).collect())
}

/// The order in which cells are visited.
fn path(cells: &[[f64; 2]], seed: u64) -> Vec<usize> {
    let mut left: Vec<usize> = (0..cells.len()).collect();
    Random::new(seed, STREAM_OF_PATH).shuffle(&mut left);
    let [west_m, south_m] =
        [0, 1].map(|axis| cells.iter().map(|cell| cell[axis]).fold(f64::MAX, f64::min));
    let far = |cell: &[f64; 2]| (cell[0] - west_m).max(cell[1] - south_m);
    let mut side_m = cells.iter().map(far).fold(0.0, f64::max);
    let mut path = Vec::with_capacity(cells.len());
    // With squares that hold a cell or less on average, the rest follows as it comes.
    for _ in 0..cells.len().ilog2().div_ceil(2) {
        side_m /= 2.0;
        let mut taken = BTreeSet::new();
        let square = |cell: [f64; 2]| ((cell[0] - west_m) / side_m, (cell[1] - south_m) / side_m);
        left.retain(|&i| {
            let (east, north) = square(cells[i]);
            let is_first = taken.insert((east as u64, north as u64));
            if is_first {
                path.push(i);
            }
            !is_first
        });
    }
    path.extend(left);
    path
}

/// Where a known value stands.
#[derive(Clone, Copy)]
enum Source {
    Sample(usize),
    Cell(usize),
}

/// How a cell is drawn from what is known.
struct Step {
    cell: usize,
    weights: Vec<(Source, f64)>,
    /// Root of the simple kriging variance.
    deviation: f64,
}

/// The steps along the path. Neighbours depend on the order alone, so they are found one cell after
/// the other, and the weights in parallel.
fn steps(conditions: &Conditions, cells: &[[f64; 2]], path: &[usize], count: usize) -> Vec<Step> {
    let samples = &conditions.global.samples;
    let index = NeighbourIndex::new(samples);
    let mut visited = KdTree::new(2);
    let near_cells: Vec<Vec<Neighbour>> = path
        .iter()
        .map(|&cell| {
            let near = visited.nearest(&cells[cell], count, &squared_euclidean);
            // Places are finite, so an error could only say that no cell is there yet.
            let near = near.unwrap_or_default().into_iter();
            let near = near.map(|(squared_m2, &index)| Neighbour { index, squared_m2 }).collect();
            visited.add(cells[cell], cell).expect("cells are finite");
            near
        })
        .collect();
    let step = |(near_cells, &cell): (&Vec<Neighbour>, &usize)| {
        let mut near_samples = Vec::new();
        if count > 0 {
            index.find(cells[cell], Search::nearest(count), &mut near_samples);
        }
        let sample = |n: &Neighbour| {
            let sample = &samples.as_slice()[n.index];
            Known {
                from: Source::Sample(n.index),
                place: [sample.easting_m, sample.northing_m],
                squared_m2: n.squared_m2,
            }
        };
        let visited = |n: &Neighbour| Known {
            from: Source::Cell(n.index),
            place: cells[n.index],
            squared_m2: n.squared_m2,
        };
        let known = near_samples.iter().map(sample).chain(near_cells.iter().map(visited));
        let mut known: Vec<Known> = known.collect();
        known.sort_by(|a, b| a.squared_m2.total_cmp(&b.squared_m2));
        simple_kriging(conditions.global.kriging().variogram(), cell, cells[cell], &known)
    };
    near_cells.par_iter().zip(path).map(step).collect()
}

/// A value that is known when a cell is drawn.
#[derive(Clone, Copy)]
struct Known {
    from: Source,
    place: [f64; 2],
    squared_m2: f64,
}

/// Simple kriging of the signal at a place, the nearest known values first. The Cholesky factor grows
/// by a row for each; see [`LEAST_PIVOT`].
fn simple_kriging(variogram: &Variogram, cell: usize, place: [f64; 2], known: &[Known]) -> Step {
    let covariance = |a: [f64; 2], b: [f64; 2]| {
        variogram.structure_covariance(variogram.anisotropy.squared_m2(a, b).sqrt())
    };
    let mut kept: Vec<Known> = Vec::with_capacity(known.len());
    let mut lower: Vec<Vec<f64>> = Vec::with_capacity(known.len());
    let mut solved: Vec<f64> = Vec::with_capacity(known.len());
    let mut variance = variogram.partial_sill;
    for candidate in known {
        let error = match candidate.from {
            Source::Sample(_) => variogram.nugget,
            Source::Cell(_) => 0.0,
        };
        let mut row: Vec<f64> = Vec::with_capacity(kept.len() + 1);
        for (k, other) in kept.iter().enumerate() {
            let explained: f64 = (0..k).map(|m| row[m] * lower[k][m]).sum();
            row.push((covariance(candidate.place, other.place) - explained) / lower[k][k]);
        }
        let explained: f64 = row.iter().map(|r| r * r).sum();
        let pivot = variogram.partial_sill + error - explained;
        if pivot <= LEAST_PIVOT * variogram.sill() {
            continue;
        }
        let explained: f64 = row.iter().zip(&solved).map(|(r, s)| r * s).sum();
        let root = pivot.sqrt();
        let side = (covariance(candidate.place, place) - explained) / root;
        variance -= side * side;
        row.push(root);
        lower.push(row);
        solved.push(side);
        kept.push(*candidate);
    }
    for i in (0..kept.len()).rev() {
        solved[i] /= lower[i][i];
        for m in 0..i {
            solved[m] -= lower[i][m] * solved[i];
        }
    }
    let weights = kept.iter().zip(solved).map(|(known, weight)| (known.from, weight)).collect();
    Step { cell, weights, deviation: variance.max(0.0).sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_cell_is_visited_once_and_the_first_lie_far_apart() {
        let cells: Vec<_> = (0..1024).map(|i| [f64::from(i % 32), f64::from(i / 32)]).collect();
        let path = path(&cells, 5);
        let mut sorted = path.clone();
        sorted.sort_unstable();
        assert!(sorted.into_iter().eq(0..1024));
        // Squares of half the side: one cell in each of the quarters, and what lies on the far edges.
        let quarters: BTreeSet<_> =
            path[..4].iter().map(|&i| cells[i].map(|c| (c / 15.5) as u64)).collect();
        assert_eq!(quarters.len(), 4);
    }
}
