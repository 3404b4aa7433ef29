//! Kriging equations of several sets of samples side by side, and estimates at several cells.
//!
//! Ordinary kriging only: the trend is a constant. The equations of as many sets as the vector unit
//! holds are factorised together, C = L Lᵀ, and then serve all cells that need just these samples.
//! Sums run in another order than for one place alone, so the results differ in the last digits;
//! they are the same on every machine.

use pulp::{Simd, WithSimd};

use crate::block_cells::BlockCells;
use crate::blocks::MOST_LANES;
use crate::kriging::Kriging;
use crate::kriging::system::LEAST_PIVOT;
use crate::variogram::{Shape, Variogram};

/// One number of each of several sets.
pub(crate) type OfSets = [f64; MOST_LANES];

/// Several sets of as many samples, and their equations solved.
#[derive(Default)]
pub(crate) struct SetLanes {
    count: usize,
    /// Places of the samples, stretched as the variogram is.
    pub east: Vec<OfSets>,
    pub north: Vec<OfSets>,
    /// Their values.
    pub values: Vec<OfSets>,
    /// L by rows, with the reciprocals of its diagonal.
    factor: Vec<OfSets>,
    /// L⁻¹ 1.
    solved_one: Vec<OfSets>,
    /// C⁻¹ (z − β), the dual weights.
    weights: Vec<OfSets>,
    /// β, less the first value.
    beta: OfSets,
    /// 1ᵀC⁻¹1.
    schur: OfSets,
    /// The first sample of each set that is known from those before, or the count.
    pub singular: [usize; MOST_LANES],
}

impl SetLanes {
    /// Room for sets of `count` samples.
    pub fn of(count: usize) -> Self {
        let lanes = || vec![[0.0; MOST_LANES]; count];
        SetLanes {
            count,
            east: lanes(),
            north: lanes(),
            values: lanes(),
            factor: vec![[0.0; MOST_LANES]; count * (count + 1) / 2],
            solved_one: lanes(),
            weights: lanes(),
            ..SetLanes::default()
        }
    }

    /// The equations of one of the sets.
    pub fn take(&self, lane: usize, to: &mut SolvedSet) {
        let of = |all: &[OfSets], to: &mut Vec<f64>| {
            to.clear();
            to.extend(all.iter().map(|sets| sets[lane]));
        };
        of(&self.east, &mut to.east);
        of(&self.north, &mut to.north);
        of(&self.factor, &mut to.factor);
        of(&self.solved_one, &mut to.solved_one);
        of(&self.weights, &mut to.weights);
        (to.origin, to.beta, to.schur) = (self.values[0][lane], self.beta[lane], self.schur[lane]);
    }
}

/// The equations of one set, solved.
#[derive(Default)]
pub(crate) struct SolvedSet {
    east: Vec<f64>,
    north: Vec<f64>,
    factor: Vec<f64>,
    solved_one: Vec<f64>,
    weights: Vec<f64>,
    origin: f64,
    beta: f64,
    schur: f64,
}

/// Factorises and solves several sets.
pub(crate) struct SolveSets<'a> {
    pub kriging: &'a Kriging,
    pub sets: &'a mut SetLanes,
}

impl WithSimd for SolveSets<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        for first in (0..MOST_LANES).step_by(S::F64_LANES) {
            solve(simd, self.kriging, self.sets, first);
        }
    }
}

#[inline(always)]
fn solve<S: Simd>(simd: S, kriging: &Kriging, sets: &mut SetLanes, first: usize) {
    let lanes = first..first + S::F64_LANES;
    let load = |of: &OfSets| simd.partial_load_f64s(&of[lanes.clone()]);
    let store = |to: &mut OfSets, from: S::f64s| {
        simd.partial_store_f64s(&mut to[lanes.clone()], from);
    };
    let variogram = kriging.variogram();
    let [zero, one] = [0.0, 1.0].map(|number| simd.splat_f64s(number));
    let sill = simd.splat_f64s(variogram.sill());
    let least_pivot = simd.splat_f64s(LEAST_PIVOT * variogram.sill());
    let count = sets.count;
    for lane in lanes.clone() {
        sets.singular[lane] = count;
    }
    let start = |row: usize| row * (row + 1) / 2;
    for row in 0..count {
        let (east, north) = (load(&sets.east[row]), load(&sets.north[row]));
        for column in 0..=row {
            let mut element = match column < row {
                true => {
                    let e = simd.sub_f64s(east, load(&sets.east[column]));
                    let n = simd.sub_f64s(north, load(&sets.north[column]));
                    let squares = simd.add_f64s(simd.mul_f64s(e, e), simd.mul_f64s(n, n));
                    covariances(simd, variogram, squares)
                }
                false => sill,
            };
            for k in 0..column {
                let a = load(&sets.factor[start(row) + k]);
                let b = load(&sets.factor[start(column) + k]);
                element = simd.sub_f64s(element, simd.mul_f64s(a, b));
            }
            let factor = match column < row {
                true => simd.mul_f64s(element, load(&sets.factor[start(column) + column])),
                false => {
                    let is_sound = simd.less_than_f64s(least_pivot, element);
                    if simd.first_true_m64s(simd.not_m64s(is_sound)) < S::F64_LANES {
                        let mut sound = [0.0; MOST_LANES];
                        store(&mut sound, simd.select_f64s(is_sound, one, zero));
                        for lane in lanes.clone().filter(|&lane| sound[lane] == 0.0) {
                            sets.singular[lane] = sets.singular[lane].min(row);
                        }
                    }
                    simd.div_f64s(one, simd.sqrt_f64s(element))
                }
            };
            store(&mut sets.factor[start(row) + column], factor);
        }
    }
    // Forward: L⁻¹ of ones and of the values less the first.
    let origin = load(&sets.values[0]);
    let (mut schur, mut product) = (zero, zero);
    for row in 0..count {
        let mut of_one = one;
        let mut of_value = simd.sub_f64s(load(&sets.values[row]), origin);
        for k in 0..row {
            let factor = load(&sets.factor[start(row) + k]);
            let (a, b) = (load(&sets.solved_one[k]), load(&sets.weights[k]));
            of_one = simd.sub_f64s(of_one, simd.mul_f64s(factor, a));
            of_value = simd.sub_f64s(of_value, simd.mul_f64s(factor, b));
        }
        let reciprocal = load(&sets.factor[start(row) + row]);
        of_one = simd.mul_f64s(of_one, reciprocal);
        of_value = simd.mul_f64s(of_value, reciprocal);
        schur = simd.add_f64s(schur, simd.mul_f64s(of_one, of_one));
        product = simd.add_f64s(product, simd.mul_f64s(of_one, of_value));
        store(&mut sets.solved_one[row], of_one);
        store(&mut sets.weights[row], of_value);
    }
    let beta = simd.div_f64s(product, schur);
    store(&mut sets.beta, beta);
    store(&mut sets.schur, schur);
    // Backward: the weights of the values less the trend.
    for row in 0..count {
        let trend = simd.mul_f64s(load(&sets.solved_one[row]), beta);
        let rest = simd.sub_f64s(load(&sets.weights[row]), trend);
        store(&mut sets.weights[row], rest);
    }
    for row in (0..count).rev() {
        let reciprocal = load(&sets.factor[start(row) + row]);
        let weight = simd.mul_f64s(load(&sets.weights[row]), reciprocal);
        store(&mut sets.weights[row], weight);
        for k in 0..row {
            let factor = load(&sets.factor[start(row) + k]);
            let rest = simd.sub_f64s(load(&sets.weights[k]), simd.mul_f64s(factor, weight));
            store(&mut sets.weights[k], rest);
        }
    }
}

/// Estimates, and variances where there is room for them, at cells that need one set of samples.
pub(crate) struct EstimateCells<'a> {
    pub kriging: &'a Kriging,
    pub set: &'a SolvedSet,
    /// Stretched as the variogram is.
    pub cells: &'a BlockCells,
    pub values: &'a mut [f64],
    pub variances: Option<&'a mut [f64]>,
    /// Room for a number of each sample and lane.
    pub room: &'a mut [f64],
}

impl WithSimd for EstimateCells<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let EstimateCells { kriging, set, cells, values, mut variances, room } = self;
        let solved = S::as_mut_simd_f64s(room).0;
        let variogram = kriging.variogram();
        let [zero, one] = [0.0, 1.0].map(|number| simd.splat_f64s(number));
        let at_sample = simd.splat_f64s(kriging.signal_variance());
        let base = simd.splat_f64s(set.beta);
        let origin = simd.splat_f64s(set.origin);
        let schur = simd.splat_f64s(set.schur);
        let (east, north) = (S::as_simd_f64s(&cells.east).0, S::as_simd_f64s(&cells.north).0);
        let values = S::as_mut_simd_f64s(values).0;
        for number in 0..east.len() {
            let mut sum = base;
            let samples = set.east.iter().zip(&set.north).zip(&set.weights);
            for (k, ((&sample_east, &sample_north), &weight)) in samples.enumerate() {
                let e = simd.sub_f64s(east[number], simd.splat_f64s(sample_east));
                let n = simd.sub_f64s(north[number], simd.splat_f64s(sample_north));
                let squares = simd.add_f64s(simd.mul_f64s(e, e), simd.mul_f64s(n, n));
                let covariance = simd.select_f64s(
                    simd.equal_f64s(squares, zero),
                    at_sample,
                    covariances(simd, variogram, squares),
                );
                sum = simd.add_f64s(sum, simd.mul_f64s(covariance, simd.splat_f64s(weight)));
                solved[k] = covariance;
            }
            values[number] = simd.add_f64s(origin, sum);
            let Some(variances) = variances.as_deref_mut() else { continue };
            let (mut explained, mut product) = (zero, zero);
            let mut factors = set.factor.as_slice();
            for (row, &of_one) in set.solved_one.iter().enumerate() {
                let (factor, rest) = factors.split_at(row + 1);
                factors = rest;
                let mut side = solved[row];
                for k in 0..row {
                    let known = simd.mul_f64s(simd.splat_f64s(factor[k]), solved[k]);
                    side = simd.sub_f64s(side, known);
                }
                side = simd.mul_f64s(side, simd.splat_f64s(factor[row]));
                explained = simd.add_f64s(explained, simd.mul_f64s(side, side));
                product = simd.add_f64s(product, simd.mul_f64s(side, simd.splat_f64s(of_one)));
                solved[row] = side;
            }
            let rest = simd.sub_f64s(one, product);
            let of_trend = simd.div_f64s(simd.mul_f64s(rest, rest), schur);
            let variance = simd.add_f64s(simd.sub_f64s(at_sample, explained), of_trend);
            S::as_mut_simd_f64s(variances).0[number] = variance;
        }
    }
}

/// Covariances of the structure for squares of distances.
#[inline(always)]
fn covariances<S: Simd>(simd: S, variogram: &Variogram, squares: S::f64s) -> S::f64s {
    if variogram.shape == Shape::Spherical {
        return spherical(simd, variogram, squares);
    }
    let mut each = [0.0; MOST_LANES];
    let lanes = &mut each[..S::F64_LANES];
    simd.partial_store_f64s(lanes, squares);
    // As many at a time as there are, so that the compiler sees their number.
    match lanes.len() {
        8 => each = variogram.covariance_of_squares(each),
        4 => of_part::<4>(variogram, &mut each),
        2 => of_part::<2>(variogram, &mut each),
        _ => of_part::<1>(variogram, &mut each),
    }
    simd.partial_load_f64s(&each[..S::F64_LANES])
}

#[inline(always)]
fn of_part<const N: usize>(variogram: &Variogram, each: &mut [f64; MOST_LANES]) {
    let part: [f64; N] = std::array::from_fn(|lane| each[lane]);
    each[..N].copy_from_slice(&variogram.covariance_of_squares(part));
}

/// The bits of [`Variogram::covariance_of_squares`] for its commonest shape.
#[inline(always)]
fn spherical<S: Simd>(simd: S, variogram: &Variogram, squares: S::f64s) -> S::f64s {
    let per_m = simd.splat_f64s(1.0 / variogram.range_m);
    let [one, half, more] = [1.0, 0.5, 1.5].map(|number| simd.splat_f64s(number));
    let t = simd.sqrt_f64s(simd.mul_f64s(simd.mul_f64s(squares, per_m), per_m));
    let left = simd.sub_f64s(one, simd.min_f64s(t, one));
    let part = simd.sub_f64s(more, simd.mul_f64s(half, left));
    let correlation = simd.mul_f64s(simd.mul_f64s(left, left), part);
    simd.mul_f64s(simd.splat_f64s(variogram.partial_sill), correlation)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lane_counts::LaneCount;

    #[test]
    fn any_number_of_lanes_gives_the_same_bits() {
        let matern = Shape::Matern { smoothness: 1.3 };
        for shape in [Shape::Spherical, Shape::Exponential, Shape::Gaussian, matern] {
            let kriging = Kriging::new(Variogram::new(shape, 0.3, 2.0, 21.0).unwrap()).unwrap();
            let cell = |k: u32| (f64::from(k) * 1.7 - 3.0, f64::from(k) * 0.9);
            let (east, north) = (0..16).map(cell).unzip();
            let cells = BlockCells { east, north };
            LaneCount::each(|lanes| {
                let mut sets = SetLanes::of(9);
                for k in 0..9_u32 {
                    for lane in 0..MOST_LANES {
                        let number = k + 9 * lane as u32;
                        sets.east[k as usize][lane] = f64::from(number * 37 % 41) * 0.7;
                        sets.north[k as usize][lane] = f64::from(number * 17 % 23) * 1.3;
                        sets.values[k as usize][lane] = f64::from(number * number % 19);
                    }
                }
                lanes.dispatch(SolveSets { kriging: &kriging, sets: &mut sets });
                assert_eq!(sets.singular, [9; MOST_LANES]);
                let mut bits = Vec::new();
                for lane in 0..MOST_LANES {
                    let mut set = SolvedSet::default();
                    sets.take(lane, &mut set);
                    let (mut values, mut variances) = (vec![0.0; 16], vec![0.0; 16]);
                    lanes.dispatch(EstimateCells {
                        kriging: &kriging,
                        set: &set,
                        cells: &cells,
                        values: &mut values,
                        variances: Some(&mut variances),
                        room: &mut [0.0; 9 * MOST_LANES],
                    });
                    bits.extend(values.into_iter().chain(variances).map(f64::to_bits));
                }
                bits
            });
        }
    }

    /// Two samples at one place, in one set of several.
    #[test]
    fn the_set_without_a_solution_is_told() {
        let variogram = Variogram::new(Shape::Spherical, 0.0, 2.0, 21.0).unwrap();
        let kriging = Kriging::new(variogram).unwrap();
        let singular = LaneCount::each(|lanes| {
            let mut sets = SetLanes::of(4);
            for k in 0..4 {
                sets.east[k] = [k as f64; MOST_LANES];
            }
            sets.east[2][5] = 0.0;
            lanes.dispatch(SolveSets { kriging: &kriging, sets: &mut sets });
            sets.singular
        });
        let mut expected = [4; MOST_LANES];
        expected[5] = 2;
        assert_eq!(singular, expected);
    }
}
