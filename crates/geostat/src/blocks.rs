//! A grid taken block by block, each with the samples that can matter in it.
//!
//! Neighbouring cells mostly have the same nearest samples. One exact search at the middle of a block
//! of cells finds every sample that can be among the k nearest anywhere in it: with h the distance
//! from the middle to the farthest cell and r the distance to the k-th nearest sample there, those
//! within r + 2h, by the triangle inequality. Where these are just k, all cells of the block need
//! them. Otherwise the block is divided in four, which choose from the samples already found, until
//! few are left that are not needed everywhere.
//!
//! The work on a block is left to a [`Worker`], with samples in rank order: sums over them run the
//! same way as in a search for each cell.

use pulp::{Arch, Simd, WithSimd};

use crate::grid::Grid;
use crate::lane_room::LaneRoom;
use crate::neighbours::{Neighbour, NeighbourIndex, nearer};
use crate::nth::{greatest_up_to, last_needed};
use crate::rank_stack::RankStack;
use crate::spatial_bins::{NearRoom, squared};

/// Rows and columns of a tile, the largest block.
pub(crate) const TILE: usize = 64;

/// The most cells that a vector unit works out at a time.
pub(crate) const MOST_LANES: usize = 8;

/// A block is not divided further when it holds no more than so many samples for each that a cell
/// needs.
const FEW_SPARE: f64 = 1.4;

/// Where samples lie so dense that a block's size is more than this many times the distance to its
/// k-th nearest, a search for the block would find too many: it is divided first.
const DENSE: f64 = 4.5;

/// A search for a block that finds more than this many samples for each that a cell needs is given up,
/// and the block divided, down to single cells: seen from afar, a whole crowd of samples is about
/// equally far.
const MOST_SPARE: usize = 64;

/// Distances are compared with this much to spare, so that rounding never hides a sample.
const SPARE: f64 = 1.0 + 1e-9;

/// A block of cells.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Block {
    pub row: usize,
    pub column: usize,
    pub rows: usize,
    pub columns: usize,
}

impl Block {
    /// Row and column of each cell, row by row.
    pub fn cells(self) -> impl Iterator<Item = (usize, usize)> {
        let columns = self.column..self.column + self.columns;
        (self.row..self.row + self.rows)
            .flat_map(move |row| columns.clone().map(move |column| (row, column)))
    }
}

/// The samples that can matter in a block, in rank order.
pub(crate) struct Candidates<'a> {
    /// Their ranks.
    pub ranks: &'a [u32],
    /// Their stretched places.
    pub east: &'a [f64],
    /// The same.
    pub north: &'a [f64],
    /// How far the last needed sample is; `None` where each cell needs all of the candidates.
    pub last: Option<Last>,
}

impl Candidates<'_> {
    /// The `count` nearest to a stretched place, no farther than the root of `within_m2`, of samples
    /// equally far the earlier; fewer where there are fewer.
    pub fn nearest(
        &self,
        index: &NeighbourIndex,
        place: [f64; 2],
        count: usize,
        within_m2: f64,
    ) -> Vec<Neighbour> {
        let numbers = index.numbers_by_rank();
        let places = self.east.iter().zip(self.north);
        let mut found: Vec<Neighbour> = places
            .zip(self.ranks)
            .map(|((&east, &north), &rank)| Neighbour {
                index: numbers[rank as usize] as usize,
                squared_m2: squared(place, [east, north]),
            })
            .filter(|neighbour| neighbour.squared_m2 <= within_m2)
            .collect();
        found.sort_unstable_by(nearer);
        found.truncate(count);
        found
    }
}

/// How far the last needed sample is.
#[derive(Clone, Copy)]
pub(crate) struct Last {
    /// From the block's middle.
    pub of_middle: f64,
    /// From any of its cells at most.
    pub most: f64,
}

/// What is done in each block.
pub(crate) trait Worker {
    /// Works out the wanted cells of a block.
    fn work(&mut self, block: Block, candidates: &Candidates);
}

/// A grid divided for the `count` nearest samples of each cell.
pub(crate) struct Blocks<'a> {
    pub index: &'a NeighbourIndex,
    /// How many nearest samples: no more than there are.
    pub count: usize,
    pub grid: Grid,
}

/// Room that searches share.
#[derive(Default)]
pub(crate) struct Room {
    near: NearRoom,
    /// Samples of the blocks being divided, one after the other.
    stack: RankStack,
    squares: LaneRoom,
    nth: LaneRoom,
}

/// A block about to be worked on or divided.
struct Part {
    block: Block,
    middle: [f64; 2],
    /// Distance from the middle to the farthest cell.
    half: f64,
}

impl Blocks<'_> {
    /// Divides a tile and has each part worked on; `wanted` says which parts have a wanted cell.
    pub fn divide(
        &self,
        tile: Block,
        room: &mut Room,
        wanted: &impl Fn(Block) -> bool,
        worker: &mut impl Worker,
    ) {
        room.stack.truncate(0);
        self.search(&self.part(tile), room, wanted, worker);
    }

    /// A part whose samples are still to be found.
    fn search(
        &self,
        part: &Part,
        room: &mut Room,
        wanted: &impl Fn(Block) -> bool,
        worker: &mut impl Worker,
    ) {
        if !wanted(part.block) {
            return;
        }
        let last = self.index.squared_distance_of(part.middle, self.count, &mut room.near).sqrt();
        let is_dense = 2.0 * part.half > DENSE * last && !is_least(part.block);
        let within = (last + 2.0 * part.half) * SPARE;
        let most = match is_one(part.block) {
            true => usize::MAX,
            false => MOST_SPARE.saturating_mul(self.count),
        };
        match !is_dense && self.index.push_within(part.middle, within, most, &mut room.stack) {
            true => self.finish(part, last, 0, room, wanted, worker),
            false => {
                room.stack.truncate(0);
                let parts: Vec<Block> = match is_least(part.block) {
                    true => part.block.cells().map(one).collect(),
                    false => quarters(part.block).collect(),
                };
                for block in parts {
                    self.search(&self.part(block), room, wanted, worker);
                }
            }
        }
        room.stack.truncate(0);
    }

    /// A part whose samples stand on the stack from `start`; `last` is the distance of the `count`-th
    /// from its middle.
    fn finish(
        &self,
        part: &Part,
        last: f64,
        start: usize,
        room: &mut Room,
        wanted: &impl Fn(Block) -> bool,
        worker: &mut impl Worker,
    ) {
        let end = room.stack.ranks.len();
        debug_assert!(end - start >= self.count);
        // No place in the block is farther from its last sample.
        let last_most = (last + part.half) * SPARE;
        let few = (end - start) as f64 <= FEW_SPARE * self.count as f64;
        if few || is_least(part.block) {
            let candidates = Candidates {
                ranks: &room.stack.ranks[start..end],
                east: &room.stack.east[start..end],
                north: &room.stack.north[start..end],
                last: (end - start > self.count)
                    .then_some(Last { of_middle: last, most: last_most }),
            };
            worker.work(part.block, &candidates);
            return;
        }
        let parts: Vec<Part> = quarters(part.block).map(|quarter| self.part(quarter)).collect();
        let lasts = self.lasts(&parts, [last, last_most], start, room);
        for (quarter, &last) in parts.iter().zip(&lasts) {
            if wanted(quarter.block) {
                let within = (last + 2.0 * quarter.half) * SPARE;
                room.stack.push_within((start, end), quarter.middle, within);
                self.finish(quarter, last, end, room, wanted, worker);
                room.stack.truncate(end);
            }
        }
    }

    fn part(&self, block: Block) -> Part {
        let (row, column) = (block.row + block.rows - 1, block.column + block.columns - 1);
        let (east, west) = (self.grid.easting_m(column), self.grid.easting_m(block.column));
        let (north, south) = (self.grid.northing_m(block.row), self.grid.northing_m(row));
        let stretch = self.index.stretch();
        let middle = stretch.place([(west + east) / 2.0, (south + north) / 2.0]);
        let far = |corner: [f64; 2]| {
            let (east, north) = (corner[0] - middle[0], corner[1] - middle[1]);
            (east * east + north * north).sqrt()
        };
        // Opposite corners are equally far, but for rounding.
        let corners = [[west, south], [west, north], [east, south], [east, north]];
        let half = corners.map(|corner| far(stretch.place(corner))).into_iter().fold(0.0, f64::max);
        Part { block, middle, half }
    }

    /// For the middles of up to four parts, the distance of the `count`-th of the samples that stand on
    /// the stack from `start`. `bounds` are distances: where it is expected, and what none is beyond.
    fn lasts(&self, parts: &[Part], bounds: [f64; 2], start: usize, room: &mut Room) -> [f64; 4] {
        let place = |k: usize| parts[k.min(parts.len() - 1)].middle;
        let mut squares = [0.0; 4];
        Arch::new().dispatch(FourLasts {
            east: std::array::from_fn(|k| place(k)[0]),
            north: std::array::from_fn(|k| place(k)[1]),
            bounds,
            count: self.count,
            samples: (&room.stack.east[start..], &room.stack.north[start..]),
            lanes: &mut room.squares,
            nth: &mut room.nth,
            squares: &mut squares,
        });
        squares.map(f64::sqrt)
    }
}

/// A block of a single cell.
fn one((row, column): (usize, usize)) -> Block {
    Block { row, column, rows: 1, columns: 1 }
}

/// Whether a block is a single cell.
fn is_one(block: Block) -> bool {
    block.rows * block.columns == 1
}

/// Whether a block is too small to be divided further with few samples at hand.
fn is_least(block: Block) -> bool {
    block.rows * block.columns <= 2 * MOST_LANES
}

/// The four parts of a block; two or one where it is a single row or column.
fn quarters(block: Block) -> impl Iterator<Item = Block> {
    let (rows, columns) = (block.rows.div_ceil(2), block.columns.div_ceil(2));
    let rows = [(block.row, rows), (block.row + rows, block.rows - rows)];
    let columns = [(block.column, columns), (block.column + columns, block.columns - columns)];
    rows.into_iter()
        .flat_map(move |row| columns.into_iter().map(move |column| (row, column)))
        .map(|((row, rows), (column, columns))| Block { row, column, rows, columns })
        .filter(|block| block.rows > 0 && block.columns > 0)
}

/// The search for the `count`-th nearest sample of four places, at least so many being there.
struct FourLasts<'a> {
    east: [f64; 4],
    north: [f64; 4],
    /// Distances: where the `count`-th is expected, and what it is not beyond.
    bounds: [f64; 2],
    count: usize,
    samples: (&'a [f64], &'a [f64]),
    lanes: &'a mut LaneRoom,
    nth: &'a mut LaneRoom,
    /// Squares of its distances.
    squares: &'a mut [f64; 4],
}

impl WithSimd for FourLasts<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let (all_east, all_north) = self.samples;
        let squares = self.lanes.room::<S>(all_east.len());
        let lanes = S::F64_LANES.min(4);
        for start in (0..4).step_by(lanes) {
            let load = |of: [f64; 4]| {
                let each: [f64; MOST_LANES] = std::array::from_fn(|k| of[start + k.min(lanes - 1)]);
                simd.partial_load_f64s(&each[..S::F64_LANES])
            };
            let (east, north) = (load(self.east), load(self.north));
            squares_to(simd, east, north, all_east, all_north, squares);
            let most = match squares.len() > self.count {
                true => last_needed(simd, squares, self.count, self.bounds, self.nth).0,
                false => simd.splat_f64s(f64::INFINITY),
            };
            let mut lasts = [0.0; MOST_LANES];
            let last = greatest_up_to(simd, squares, most);
            simd.partial_store_f64s(&mut lasts[..S::F64_LANES], last);
            self.squares[start..start + lanes].copy_from_slice(&lasts[..lanes]);
        }
    }
}

/// Squares of the distances from several places to each sample.
#[inline(always)]
pub(crate) fn squares_to<S: Simd>(
    simd: S,
    east: S::f64s,
    north: S::f64s,
    all_east: &[f64],
    all_north: &[f64],
    squares: &mut [S::f64s],
) {
    for ((squares, &sample_east), &sample_north) in squares.iter_mut().zip(all_east).zip(all_north)
    {
        let e = simd.sub_f64s(east, simd.splat_f64s(sample_east));
        let n = simd.sub_f64s(north, simd.splat_f64s(sample_north));
        *squares = simd.add_f64s(simd.mul_f64s(e, e), simd.mul_f64s(n, n));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lane_counts::LaneCount;

    #[test]
    fn any_number_of_lanes_finds_the_same_last() {
        let place = |k: u32| (f64::from(k * 37 % 41) * 0.7, f64::from(k * 17 % 23) * 1.3);
        let (east, north): (Vec<f64>, Vec<f64>) = (0..50).map(place).unzip();
        for count in [1, 12, 47, 50] {
            let found = LaneCount::each(|lanes| {
                let mut squares = [0.0; 4];
                lanes.dispatch(FourLasts {
                    east: [3.0, 3.5, 9.0, 9.1],
                    north: [4.0, 4.4, 4.0, 20.0],
                    bounds: [5.0, 60.0],
                    count,
                    samples: (&east, &north),
                    lanes: &mut LaneRoom::default(),
                    nth: &mut LaneRoom::default(),
                    squares: &mut squares,
                });
                squares
            });
            let mut sorted: Vec<f64> = east
                .iter()
                .zip(&north)
                .map(|(e, n)| (9.0 - e) * (9.0 - e) + (4.0 - n) * (4.0 - n))
                .collect();
            sorted.sort_by(f64::total_cmp);
            assert_eq!(found[2], sorted[count - 1]);
        }
    }
}
