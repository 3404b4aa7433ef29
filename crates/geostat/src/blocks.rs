//! Inverse-distance weighting of a whole grid, block by block.
//!
//! Neighbouring cells mostly have the same nearest samples. One exact search at the middle of a block
//! of cells finds every sample that can be among the k nearest anywhere in it: with h the distance
//! from the middle to the farthest cell and r the distance to the k-th nearest sample there, those
//! within r + 2h, by the triangle inequality. Where the k-th and the next sample differ by more than
//! 2h, all cells of the block have the same k, and are worked out in lanes. Otherwise the block is
//! divided in four, which choose from the samples already found. Small blocks choose cell by cell.
//!
//! The result is, bit for bit, that of a search for each cell: sums run over the samples in their
//! order in both, and of samples equally far the earlier is taken.

use std::cmp::Ordering;

use kdtree::distance::squared_euclidean;

use crate::grid::Grid;
use crate::idw::{LANES, Power, evaluate_lanes, prepare, weighted_mean};
use crate::neighbours::{Neighbour, NeighbourIndex, Search};
use crate::sample::Sample;

/// Cells along the side of a block that is not divided further.
const LEAF: usize = 4;

/// Where samples lie so dense that a block's size is more than this many times the distance to its
/// k-th nearest, a search for the block would find too many: it is divided first.
const DENSE: f64 = 2.5;

/// Distances are compared with this much to spare, so that rounding never hides a sample.
const SPARE: f64 = 1.0 + 1e-9;

/// A grid being filled from the nearest few samples.
pub(crate) struct Blocks<'a, W> {
    pub samples: &'a [Sample],
    pub index: &'a NeighbourIndex,
    pub power: Power,
    /// How many nearest samples; fewer than there are.
    pub count: usize,
    pub reach_m: Option<f64>,
    pub grid: Grid,
    /// Which cells are wanted, by row and column.
    pub wanted: &'a W,
}

/// A block of cells.
#[derive(Clone, Copy)]
pub(crate) struct Block {
    pub row: usize,
    pub column: usize,
    pub rows: usize,
    pub columns: usize,
}

impl<W: Fn(usize, usize) -> bool + Sync> Blocks<'_, W> {
    /// Fills a block of a band of rows that begins with row `first`.
    pub fn fill(&self, block: Block, first: usize, band: &mut [f64]) {
        self.divide(block, None, first, band);
    }

    /// Fills a block; `known` holds every sample that can matter in it, or `None` all samples.
    fn divide(&self, block: Block, known: Option<&[usize]>, first: usize, band: &mut [f64]) {
        if !self.is_wanted(block) {
            return;
        }
        let (middle, half_m) = self.middle(block);
        let is_leaf = block.rows <= LEAF && block.columns <= LEAF;
        let Some(near) = self.candidates(middle, half_m, known) else {
            match is_leaf {
                true => self.cell_by_cell(block, None, first, band),
                false => self.quarters(block, None, first, band),
            }
            return;
        };
        if near.gap_m > 2.0 * half_m * SPARE {
            self.same_samples(block, &near.all[..self.count], first, band);
        } else if is_leaf {
            self.cell_by_cell(block, Some(&near.all), first, band);
        } else {
            self.quarters(block, Some(&near.all), first, band);
        }
    }

    fn is_wanted(&self, block: Block) -> bool {
        let columns = block.column..block.column + block.columns;
        (block.row..block.row + block.rows)
            .any(|row| columns.clone().any(|column| (self.wanted)(row, column)))
    }

    /// The middle of a block's cells, and the distance from there to the farthest of them, metres.
    fn middle(&self, block: Block) -> ([f64; 2], f64) {
        let middle = |a: f64, b: f64| (a + b) / 2.0;
        let (row, column) = (block.row + block.rows - 1, block.column + block.columns - 1);
        let (east, west) = (self.grid.easting_m(column), self.grid.easting_m(block.column));
        let (north, south) = (self.grid.northing_m(block.row), self.grid.northing_m(row));
        ([middle(west, east), middle(south, north)], (east - west).hypot(north - south) / 2.0)
    }

    /// The samples that can matter within `half_m` of a place; `None` where they would be too many
    /// to be worth it.
    fn candidates(&self, middle: [f64; 2], half_m: f64, known: Option<&[usize]>) -> Option<Near> {
        let mut near: Vec<Neighbour> = Vec::new();
        if let Some(known) = known {
            near.extend(known.iter().map(|&index| self.neighbour(index, middle)));
            return Some(Near::of(near, self.count, half_m));
        }
        self.index.find(middle, Search::nearest(self.count + 1), &mut near);
        let [farthest_m, next_m] = [self.count - 1, self.count].map(|k| near[k].squared_m2.sqrt());
        if 2.0 * half_m > DENSE * farthest_m {
            return None;
        }
        let within_m = (farthest_m + 2.0 * half_m).max(next_m) * SPARE;
        self.index.within(middle, within_m, &mut near);
        Some(Near::of(near, self.count, half_m))
    }

    fn neighbour(&self, index: usize, place: [f64; 2]) -> Neighbour {
        let sample = &self.samples[index];
        let squared_m2 = squared_euclidean(&place, &[sample.easting_m, sample.northing_m]);
        Neighbour { index, squared_m2 }
    }

    fn quarters(&self, block: Block, known: Option<&[usize]>, first: usize, band: &mut [f64]) {
        let (rows, columns) = (block.rows.div_ceil(2), block.columns.div_ceil(2));
        for (row, rows) in [(block.row, rows), (block.row + rows, block.rows - rows)] {
            for (column, columns) in
                [(block.column, columns), (block.column + columns, block.columns - columns)]
            {
                if rows > 0 && columns > 0 {
                    self.divide(Block { row, column, rows, columns }, known, first, band);
                }
            }
        }
    }

    /// Every cell from the same samples, several cells at a time.
    fn same_samples(&self, block: Block, chosen: &[usize], first: usize, band: &mut [f64]) {
        let mut order = chosen.to_vec();
        order.sort_unstable();
        let set: Vec<Sample> = order.iter().map(|&index| self.samples[index]).collect();
        let mut squares = vec![[0.0; LANES]; set.len()];
        for row in block.row..block.row + block.rows {
            let northing_m = self.grid.northing_m(row);
            for start in (0..block.columns).step_by(LANES) {
                let lanes = LANES.min(block.columns - start);
                let eastings_m: [f64; LANES] = std::array::from_fn(|lane| {
                    self.grid.easting_m(block.column + start + lane.min(lanes - 1))
                });
                let (values, least) =
                    evaluate_lanes(self.power, &set, eastings_m, northing_m, &mut squares);
                for lane in 0..lanes {
                    let column = block.column + start + lane;
                    if (self.wanted)(row, column) && self.is_within_reach(least[lane]) {
                        band[(row - first) * self.grid.columns() + column] = values[lane];
                    }
                }
            }
        }
    }

    fn cell_by_cell(&self, block: Block, known: Option<&[usize]>, first: usize, band: &mut [f64]) {
        let mut found: Vec<Neighbour> = Vec::new();
        for row in block.row..block.row + block.rows {
            for column in block.column..block.column + block.columns {
                if !(self.wanted)(row, column) {
                    continue;
                }
                let place = [self.grid.easting_m(column), self.grid.northing_m(row)];
                match known {
                    Some(known) => self.choose(place, known, &mut found),
                    None => self.index.find(place, Search::nearest(self.count), &mut found),
                }
                prepare(&mut found, self.reach_m);
                band[(row - first) * self.grid.columns() + column] =
                    weighted_mean(self.power, self.samples, &found);
            }
        }
    }

    /// The nearest of known samples.
    fn choose(&self, place: [f64; 2], known: &[usize], found: &mut Vec<Neighbour>) {
        found.clear();
        found.extend(known.iter().map(|&index| self.neighbour(index, place)));
        if found.len() > self.count {
            found.select_nth_unstable_by(self.count - 1, nearer);
            found.truncate(self.count);
        }
    }

    fn is_within_reach(&self, squared_m2: f64) -> bool {
        self.reach_m.is_none_or(|reach_m| squared_m2 <= reach_m * reach_m)
    }
}

/// The samples that can matter in a block.
struct Near {
    /// Their numbers, the k nearest to its middle first.
    all: Vec<usize>,
    /// How much farther the next sample is than the k-th, metres; infinite where there is none.
    gap_m: f64,
}

impl Near {
    /// Of samples with their distances to the middle of a block, those that can matter `half_m` away.
    fn of(mut near: Vec<Neighbour>, count: usize, half_m: f64) -> Self {
        near.sort_unstable_by(nearer);
        let distance_m = |neighbour: &Neighbour| neighbour.squared_m2.sqrt();
        let farthest_m = distance_m(&near[count - 1]);
        let gap_m = near.get(count).map_or(f64::INFINITY, |next| distance_m(next) - farthest_m);
        let within_m = (farthest_m + 2.0 * half_m) * SPARE;
        let matter = near.iter().take_while(|neighbour| distance_m(neighbour) <= within_m);
        Near { all: matter.map(|neighbour| neighbour.index).collect(), gap_m }
    }
}

/// By distance, and of samples equally far by their order.
fn nearer(a: &Neighbour, b: &Neighbour) -> Ordering {
    a.squared_m2.total_cmp(&b.squared_m2).then(a.index.cmp(&b.index))
}
