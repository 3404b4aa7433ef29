//! Inverse-distance weighting of several cells at a time.
//!
//! Each step is done for as many cells as the machine's vector unit holds, found out by the crate
//! `pulp` when the program runs. It only adds and multiplies as written (nothing is fused), so that
//! the bits are the same on each machine and those of one cell after the other.

use pulp::{Arch, Simd, WithSimd};

use crate::block_cells::BlockCells;
use crate::blocks::{Block, Candidates, Worker, squares_to};
use crate::grid::Grid;
use crate::idw::Idw;
use crate::lane_room::LaneRoom;
use crate::neighbours::NeighbourIndex;
use crate::nth::last_needed;
use crate::power::{Power, quarters_of};
use crate::sample::Samples;
use crate::tiles::{Band, Wanted};

/// The cells of a tile being filled.
pub(crate) struct IdwCells<'a, 'b> {
    idw: &'a Idw,
    samples: &'a Samples,
    index: &'a NeighbourIndex,
    values: &'a [f64],
    count: usize,
    within_m2: f64,
    grid: Grid,
    wanted: &'a Wanted,
    band: &'a mut Band<'b>,
    arch: Arch,
    /// Values of the samples at hand.
    at_hand: Vec<f64>,
    room: Room,
}

/// Cells of a block, what is worked out for them, and room to do so.
#[derive(Default)]
struct Room {
    places: BlockCells,
    /// The estimates.
    values: Vec<f64>,
    /// Whether a cell is for its own search: 0 if not.
    odd: Vec<f64>,
    lanes: LaneRoom,
    nth: LaneRoom,
    /// Which samples any cell needs.
    needed: Vec<u32>,
}

impl<'a, 'b> IdwCells<'a, 'b> {
    #[expect(clippy::too_many_arguments, reason = "what a tile is filled from, once")]
    pub fn new(
        idw: &'a Idw,
        samples: &'a Samples,
        index: &'a NeighbourIndex,
        values: &'a [f64],
        count: usize,
        within_m2: f64,
        grid: Grid,
        wanted: &'a Wanted,
        band: &'a mut Band<'b>,
    ) -> Self {
        let (arch, at_hand, room) = (Arch::new(), Vec::new(), Room::default());
        IdwCells {
            idw,
            samples,
            index,
            values,
            count,
            within_m2,
            grid,
            wanted,
            band,
            arch,
            at_hand,
            room,
        }
    }

    /// One cell for itself: at a sample, or with its last neighbours equally far, of which their
    /// order says which to take.
    fn odd_cell(&self, number: usize, candidates: &Candidates) -> f64 {
        let place = [self.room.places.east[number], self.room.places.north[number]];
        let mut found = candidates.nearest(self.index, place, self.count, self.within_m2);
        self.idw.of_found(self.samples, self.index, &mut found)
    }
}

impl Worker for IdwCells<'_, '_> {
    fn work(&mut self, block: Block, candidates: &Candidates) {
        self.at_hand.clear();
        self.at_hand.extend(candidates.ranks.iter().map(|&rank| self.values[rank as usize]));
        self.room.places.lay_out(block, self.grid, self.index.stretch());
        let cells = self.room.places.east.len();
        self.room.values.resize(cells, 0.0);
        self.room.odd.resize(cells, 0.0);
        let cells = Cells {
            idw: self.idw,
            within_m2: self.within_m2,
            count: self.count,
            samples: candidates,
            values: &self.at_hand,
            room: &mut self.room,
        };
        match (candidates.last, self.idw.smoothing_m2 == 0.0) {
            (None, true) => self.arch.dispatch(Work::<false, false>(cells)),
            (None, false) => self.arch.dispatch(Work::<false, true>(cells)),
            (Some(_), true) => self.arch.dispatch(Work::<true, false>(cells)),
            (Some(_), false) => self.arch.dispatch(Work::<true, true>(cells)),
        }
        for (number, (row, column)) in block.cells().enumerate() {
            if self.wanted.cell(row, column) {
                let value = match self.room.odd[number] == 0.0 {
                    true => self.room.values[number],
                    false => self.odd_cell(number, candidates),
                };
                self.band.set(row, column, value);
            }
        }
    }
}

/// The work of one block.
struct Cells<'a> {
    idw: &'a Idw,
    within_m2: f64,
    count: usize,
    samples: &'a Candidates<'a>,
    values: &'a [f64],
    room: &'a mut Room,
}

/// The work where the needed samples are to be chosen, or are all, and with smoothing or without.
struct Work<'a, const CHOOSE: bool, const SMOOTH: bool>(Cells<'a>);

impl<const CHOOSE: bool, const SMOOTH: bool> WithSimd for Work<'_, CHOOSE, SMOOTH> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Cells { idw, within_m2, count, samples, values, room } = self.0;
        let squares = room.lanes.room::<S>(values.len());
        room.needed.resize(values.len().max(room.needed.len()), 0);
        let bounds = samples.last.map_or([0.0; 2], |last| [last.of_middle, last.most]);
        let [zero, one] = [0.0, 1.0].map(|number| simd.splat_f64s(number));
        let smoothing_m2 = simd.splat_f64s(idw.smoothing_m2);
        let smooth = |squares: S::f64s| match SMOOTH {
            true => simd.add_f64s(squares, smoothing_m2),
            false => squares,
        };
        let cells =
            S::as_simd_f64s(&room.places.east).0.iter().zip(S::as_simd_f64s(&room.places.north).0);
        let results = S::as_mut_simd_f64s(&mut room.values).0.iter_mut();
        let results = results.zip(S::as_mut_simd_f64s(&mut room.odd).0);
        for ((&east, &north), (value, odd)) in cells.zip(results) {
            squares_to(simd, east, north, samples.east, samples.north, squares);
            let mut last = simd.splat_f64s(within_m2);
            *odd = zero;
            if CHOOSE {
                let (nth, is_open) = last_needed(simd, squares, count, bounds, &mut room.nth);
                *odd = simd.select_f64s(is_open, one, zero);
                last = simd.min_f64s(nth, last);
            }
            let least = least_of(simd, squares);
            // From the last to the first: the first sample taken has the value that the others'
            // differences are from.
            let mut origin = zero;
            let mut needed = 0;
            for (number, (&squares, &value)) in squares.iter().zip(values).enumerate().rev() {
                let is_taken = simd.less_than_or_equal_f64s(squares, last);
                origin = simd.select_f64s(is_taken, simd.splat_f64s(value), origin);
                room.needed[needed] = number as u32;
                needed += usize::from(simd.first_true_m64s(is_taken) < S::F64_LANES);
            }
            let numerator = smooth(least);
            let weigh = Weigh {
                squares,
                values,
                needed: &room.needed[..needed],
                last,
                origin,
                numerator,
                smoothing_m2: SMOOTH.then_some(smoothing_m2),
            };
            // Each way is compiled by itself: a call within it would push the sums out of the registers.
            let (sum, weights) = match idw.power {
                Power::Quarters(8) => weigh.sums(simd, |squared| squared),
                Power::Quarters(quarters) => {
                    weigh.sums(simd, |squared| quarters_of(simd, quarters, squared))
                }
                power @ Power::Any(_) => weigh.sums(simd, |squared| power.of_ratios(simd, squared)),
            };
            let mean = simd.add_f64s(origin, simd.div_f64s(sum, weights));
            let nothing = simd.less_than_f64s(last, least);
            *value = simd.select_f64s(nothing, simd.splat_f64s(f64::NAN), mean);
            *odd = simd.select_f64s(simd.equal_f64s(numerator, zero), one, *odd);
        }
    }
}

/// What the sums over the samples are formed from.
struct Weigh<'a, S: Simd> {
    squares: &'a [S::f64s],
    values: &'a [f64],
    /// Which samples, in falling order.
    needed: &'a [u32],
    last: S::f64s,
    origin: S::f64s,
    numerator: S::f64s,
    smoothing_m2: Option<S::f64s>,
}

impl<S: Simd> Weigh<'_, S> {
    /// The weighted sum of the differences from the origin, and of the weights.
    #[inline(always)]
    fn sums(&self, simd: S, power: impl Fn(S::f64s) -> S::f64s) -> (S::f64s, S::f64s) {
        let zero = simd.splat_f64s(0.0);
        let (mut sum, mut weights) = (zero, zero);
        for &number in self.needed.iter().rev() {
            let squares = self.squares[number as usize];
            let smoothed = self.smoothing_m2.map_or(squares, |more| simd.add_f64s(squares, more));
            let is_taken = simd.less_than_or_equal_f64s(squares, self.last);
            let weight = power(simd.div_f64s(self.numerator, smoothed));
            let weight = simd.select_f64s(is_taken, weight, zero);
            let value = simd.splat_f64s(self.values[number as usize]);
            let difference = simd.sub_f64s(value, self.origin);
            weights = simd.add_f64s(weights, weight);
            sum = simd.add_f64s(sum, simd.mul_f64s(weight, difference));
        }
        (sum, weights)
    }
}

/// The least number of each lane.
#[inline(always)]
fn least_of<S: Simd>(simd: S, all: &[S::f64s]) -> S::f64s {
    // Four side by side, which do not wait for each other.
    let mut least = [simd.splat_f64s(f64::INFINITY); 4];
    let chunks = all.chunks_exact(4);
    for &number in chunks.remainder() {
        least[0] = simd.min_f64s(number, least[0]);
    }
    for chunk in chunks {
        for k in 0..4 {
            least[k] = simd.min_f64s(chunk[k], least[k]);
        }
    }
    simd.min_f64s(simd.min_f64s(least[0], least[1]), simd.min_f64s(least[2], least[3]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blocks::Last;
    use crate::lane_counts::LaneCount;
    use crate::neighbours::Search;

    #[test]
    fn any_number_of_lanes_gives_the_same_bits() {
        let place = |k: u32| (f64::from(k * 37 % 41) * 0.7, f64::from(k * 17 % 23) * 1.3);
        let (east, north): (Vec<f64>, Vec<f64>) = (0..40).map(place).unzip();
        let values: Vec<f64> = (0..40).map(|k: u32| f64::from(k * k % 19)).collect();
        let ranks: Vec<u32> = (0..40).collect();
        // Among the cells are places of samples and such that no sample is near to.
        let places: Vec<(f64, f64)> =
            (0..16).map(|k| (f64::from(k) * 1.4 - 6.0, f64::from(k) * 0.65)).collect();
        for power in [0.25, 2.0, 2.75, 3.1] {
            for smoothing_m in [0.0, 1.5] {
                for last in [None, Some(Last { of_middle: 6.0, most: 60.0 })] {
                    let idw = Idw::new(power, Search::nearest(9)).unwrap();
                    let idw = idw.smoothed(smoothing_m).unwrap();
                    let samples = Candidates { ranks: &ranks, east: &east, north: &north, last };
                    LaneCount::each(|lanes| {
                        let mut room = Room { values: vec![0.0; 16], ..Room::default() };
                        room.odd = vec![0.0; 16];
                        (room.places.east, room.places.north) = places.iter().copied().unzip();
                        let cells = Cells {
                            idw: &idw,
                            within_m2: 30.0,
                            count: 9,
                            samples: &samples,
                            values: &values,
                            room: &mut room,
                        };
                        match (last, smoothing_m == 0.0) {
                            (None, true) => lanes.dispatch(Work::<false, false>(cells)),
                            (None, false) => lanes.dispatch(Work::<false, true>(cells)),
                            (Some(_), true) => lanes.dispatch(Work::<true, false>(cells)),
                            (Some(_), false) => lanes.dispatch(Work::<true, true>(cells)),
                        }
                        // Where a cell is for its own search, its value here means nothing.
                        let of_cell = |(value, odd): (&f64, &f64)| match *odd == 0.0 {
                            true => Some(value.to_bits()),
                            false => None,
                        };
                        room.values.iter().zip(&room.odd).map(of_cell).collect::<Vec<_>>()
                    });
                }
            }
        }
    }
}
