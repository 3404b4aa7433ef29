//! Which cells of a tile share their nearest samples.

use std::collections::HashMap;

use pulp::{Arch, Simd, WithSimd};

use crate::block_cells::BlockCells;
use crate::blocks::{Block, Candidates, Worker, squares_to};
use crate::grid::Grid;
use crate::lane_room::LaneRoom;
use crate::neighbours::NeighbourIndex;
use crate::nth::last_needed;
use crate::tiles::Wanted;

/// Choices among so many samples fit in the bits of a floating-point number.
const MOST_CHOICES: usize = 50;

/// A set of samples and the cells that need just these.
pub(crate) struct NeighbourSet {
    /// Ranks of the samples, rising.
    pub ranks: Vec<u32>,
    /// Row and column of each cell.
    pub cells: Vec<(u32, u32)>,
}

/// Sets of samples and the cells of a tile that need just these.
pub(crate) struct NeighbourSets<'a> {
    index: &'a NeighbourIndex,
    grid: Grid,
    wanted: &'a Wanted,
    count: usize,
    arch: Arch,
    /// Number of each set, by the ranks of its samples, rising.
    numbers: HashMap<Vec<u32>, u32>,
    /// The ranks of each set, `count` of them, one set after the other.
    ranks: Vec<u32>,
    /// Set, row and column of each cell, in the order found.
    cells: Vec<(u32, u32, u32)>,
    places: BlockCells,
    choices: Vec<f64>,
    lanes: LaneRoom,
    nth: LaneRoom,
    /// Choices met in a block, and their sets.
    met: Vec<(u64, u32)>,
}

impl<'a> NeighbourSets<'a> {
    pub fn new(index: &'a NeighbourIndex, grid: Grid, wanted: &'a Wanted, count: usize) -> Self {
        NeighbourSets {
            index,
            grid,
            wanted,
            count,
            arch: Arch::new(),
            numbers: HashMap::new(),
            ranks: Vec::new(),
            cells: Vec::new(),
            places: BlockCells::default(),
            choices: Vec::new(),
            lanes: LaneRoom::default(),
            nth: LaneRoom::default(),
            met: Vec::new(),
        }
    }

    /// The sets in the order found.
    pub fn finish(self) -> Vec<NeighbourSet> {
        let set = |ranks: &[u32]| NeighbourSet { ranks: ranks.to_vec(), cells: Vec::new() };
        let mut sets: Vec<_> = self.ranks.chunks_exact(self.count).map(set).collect();
        for (set, row, column) in self.cells {
            sets[set as usize].cells.push((row, column));
        }
        sets
    }

    fn number(&mut self, ranks: &[u32]) -> u32 {
        if let Some(&number) = self.numbers.get(ranks) {
            return number;
        }
        let number = self.numbers.len() as u32;
        self.numbers.insert(ranks.to_vec(), number);
        self.ranks.extend_from_slice(ranks);
        number
    }

    /// The set of one cell, by its own search among the candidates.
    fn search(&mut self, place: [f64; 2], candidates: &Candidates) -> u32 {
        let found = candidates.nearest(self.index, place, self.count, f64::INFINITY);
        let mut ranks: Vec<u32> = found.iter().map(|near| self.index.rank(near.index)).collect();
        ranks.sort_unstable();
        self.number(&ranks)
    }

    /// The set of a choice, a bit for each candidate.
    fn chosen(&mut self, choice: u64, candidates: &Candidates) -> u32 {
        if let Some(&(_, set)) = self.met.iter().find(|met| met.0 == choice) {
            return set;
        }
        let is_chosen = |&(number, _): &(usize, &u32)| choice >> number & 1 == 1;
        let ranks = candidates.ranks.iter().enumerate().filter(is_chosen);
        let ranks: Vec<u32> = ranks.map(|(_, &rank)| rank).collect();
        let set = self.number(&ranks);
        self.met.push((choice, set));
        set
    }
}

impl Worker for NeighbourSets<'_> {
    fn work(&mut self, block: Block, candidates: &Candidates) {
        let Some(last) = candidates.last else {
            let set = self.number(candidates.ranks);
            for (row, column) in block.cells() {
                if self.wanted.cell(row, column) {
                    self.cells.push((set, row as u32, column as u32));
                }
            }
            return;
        };
        self.places.lay_out(block, self.grid, self.index.stretch());
        self.choices.clear();
        self.choices.resize(self.places.east.len(), 0.0);
        let by_bits = candidates.ranks.len() <= MOST_CHOICES;
        if by_bits {
            self.arch.dispatch(Choose {
                count: self.count,
                bounds: [last.of_middle, last.most],
                samples: candidates,
                places: &self.places,
                choices: &mut self.choices,
                lanes: &mut self.lanes,
                nth: &mut self.nth,
            });
        }
        self.met.clear();
        for (number, (row, column)) in block.cells().enumerate() {
            if self.wanted.cell(row, column) {
                let choice = self.choices[number];
                let set = match choice > 0.0 {
                    true => self.chosen(choice as u64, candidates),
                    false => {
                        let place = [self.places.east[number], self.places.north[number]];
                        self.search(place, candidates)
                    }
                };
                self.cells.push((set, row as u32, column as u32));
            }
        }
    }
}

/// For each cell which samples it needs, a bit for each; 0 where equal distances leave it open.
struct Choose<'a> {
    count: usize,
    bounds: [f64; 2],
    samples: &'a Candidates<'a>,
    places: &'a BlockCells,
    choices: &'a mut [f64],
    lanes: &'a mut LaneRoom,
    nth: &'a mut LaneRoom,
}

impl WithSimd for Choose<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Choose { count, bounds, samples, places, choices, lanes, nth } = self;
        let squares = lanes.room::<S>(samples.ranks.len());
        let zero = simd.splat_f64s(0.0);
        let cells = S::as_simd_f64s(&places.east).0.iter().zip(S::as_simd_f64s(&places.north).0);
        for ((&east, &north), choice) in cells.zip(S::as_mut_simd_f64s(choices).0) {
            squares_to(simd, east, north, samples.east, samples.north, squares);
            let (last, is_open) = last_needed(simd, squares, count, bounds, nth);
            let mut bits = zero;
            let mut bit = 1.0;
            for &squares in squares.iter() {
                let is_taken = simd.less_than_or_equal_f64s(squares, last);
                bits = simd.add_f64s(bits, simd.select_f64s(is_taken, simd.splat_f64s(bit), zero));
                bit *= 2.0;
            }
            *choice = simd.select_f64s(is_open, zero, bits);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blocks::Last;
    use crate::lane_counts::LaneCount;

    #[test]
    fn any_number_of_lanes_makes_the_same_choice() {
        let place = |k: u32| (f64::from(k * 37 % 41) * 0.7, f64::from(k * 17 % 23) * 1.3);
        let (east, north): (Vec<f64>, Vec<f64>) = (0..50).map(place).unzip();
        let ranks: Vec<u32> = (0..50).collect();
        let last = Some(Last { of_middle: 6.0, most: 60.0 });
        let samples = Candidates { ranks: &ranks, east: &east, north: &north, last };
        let cell = |k: u32| (f64::from(k) * 1.4 - 6.0, f64::from(k) * 0.65);
        let mut places = BlockCells::default();
        (places.east, places.north) = (0..16).map(cell).unzip();
        for count in [1, 16, 45] {
            let choices = LaneCount::each(|lanes| {
                let mut choices = vec![0.0; 16];
                lanes.dispatch(Choose {
                    count,
                    bounds: [6.0, 60.0],
                    samples: &samples,
                    places: &places,
                    choices: &mut choices,
                    lanes: &mut LaneRoom::default(),
                    nth: &mut LaneRoom::default(),
                });
                choices
            });
            let is_of_count = |&choice: &f64| (choice as u64).count_ones() as usize == count;
            assert!(choices.iter().all(|choice| *choice == 0.0 || is_of_count(choice)));
            assert!(choices.iter().any(is_of_count));
        }
    }
}
