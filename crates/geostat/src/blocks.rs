//! A grid taken block by block, each with the samples that can matter in it.
//!
//! Neighbouring cells mostly have the same nearest samples. One exact search at the middle of a block
//! of cells finds every sample that can be among the k nearest anywhere in it: with h the distance
//! from the middle to the farthest cell and r the distance to the k-th nearest sample there, those
//! within r + 2h, by the triangle inequality. Where the k-th and the next sample differ by more than
//! 2h, all cells of the block have the same k. Otherwise the block is divided in four, which choose
//! from the samples already found, until few are left that are not needed everywhere.
//!
//! The work on a block is left to a [`Worker`], with samples in rank order: sums over them run the
//! same way as in a search for each cell.

use pulp::{Arch, Simd, WithSimd};

use crate::grid::Grid;
use crate::neighbours::NeighbourIndex;
use crate::nth::{NthRoom, around, last_needed};
use crate::rank_stack::RankStack;
use crate::spatial_bins::NearRoom;

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
    lanes: Lanes,
    nth: NthRoom,
}

/// A block about to be worked on or divided.
struct Part {
    block: Block,
    middle: [f64; 2],
    /// Distance from the middle to the farthest cell.
    half: f64,
}

/// How far the last needed sample and the next are from a block's middle.
#[derive(Clone, Copy)]
struct Near {
    last: f64,
    next: f64,
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
        let (last, next) = self.index.distance_of(part.middle, self.count, &mut room.near);
        let near = Near { last: last.sqrt(), next: next.sqrt() };
        if 2.0 * part.half > DENSE * near.last && !is_least(part.block) {
            for quarter in quarters(part.block) {
                self.search(&self.part(quarter), room, wanted, worker);
            }
            return;
        }
        let within = (near.last + 2.0 * part.half) * SPARE;
        self.index.push_within(part.middle, within, &mut room.stack);
        self.finish(part, near, 0, room, wanted, worker);
        room.stack.truncate(0);
    }

    /// A part whose samples stand on the stack from `start`.
    fn finish(
        &self,
        part: &Part,
        near: Near,
        start: usize,
        room: &mut Room,
        wanted: &impl Fn(Block) -> bool,
        worker: &mut impl Worker,
    ) {
        let end = room.stack.ranks.len();
        let all_needed = near.next - near.last > 2.0 * part.half * SPARE;
        // Beyond the gap are only samples that no cell needs.
        debug_assert!(!all_needed || end - start == self.count);
        // No place in the block is farther from its last sample.
        let last_most = (near.last + part.half) * SPARE;
        let few = (end - start) as f64 <= FEW_SPARE * self.count as f64;
        if all_needed || few || is_least(part.block) {
            let candidates = Candidates {
                ranks: &room.stack.ranks[start..end],
                east: &room.stack.east[start..end],
                north: &room.stack.north[start..end],
                last: (end - start > self.count)
                    .then_some(Last { of_middle: near.last, most: last_most }),
            };
            worker.work(part.block, &candidates);
            return;
        }
        let parts: Vec<Part> = quarters(part.block).map(|quarter| self.part(quarter)).collect();
        let nears = self.nears(&parts, near, last_most, start, room);
        for (quarter, &near) in parts.iter().zip(&nears) {
            if wanted(quarter.block) {
                let within = (near.last + 2.0 * quarter.half) * SPARE;
                room.stack.push_within((start, end), quarter.middle, within);
                self.finish(quarter, near, end, room, wanted, worker);
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

    /// For up to four places, how near their samples are, which stand on the stack from `start`;
    /// none has its last beyond `last_most`.
    fn nears(
        &self,
        parts: &[Part],
        near: Near,
        last_most: f64,
        start: usize,
        room: &mut Room,
    ) -> [Near; 4] {
        let place = |k: usize| parts[k.min(parts.len() - 1)].middle;
        let mut nears = [Near { last: 0.0, next: 0.0 }; 4];
        Arch::new().dispatch(FourNears {
            east: std::array::from_fn(|k| place(k)[0]),
            north: std::array::from_fn(|k| place(k)[1]),
            bounds: [near.last, last_most],
            count: self.count,
            samples: (&room.stack.east[start..], &room.stack.north[start..]),
            lanes: &mut room.lanes,
            nth: &mut room.nth,
            nears: &mut nears,
        });
        nears
    }
}

/// Whether a block is too small to be divided further.
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

/// Room for squares of distances in vector units.
#[derive(Default)]
pub(crate) struct Lanes(Vec<f64>);

impl Lanes {
    /// Room for so many samples.
    #[inline(always)]
    pub fn room<S: Simd>(&mut self, samples: usize) -> &mut [S::f64s] {
        self.0.resize((samples * S::F64_LANES).max(self.0.len()), 0.0);
        &mut S::as_mut_simd_f64s(&mut self.0).0[..samples]
    }
}

/// The search for the `count`-th nearest sample and the next, of four places.
struct FourNears<'a> {
    east: [f64; 4],
    north: [f64; 4],
    /// Distances: where the `count`-th is expected, and what it is not beyond.
    bounds: [f64; 2],
    count: usize,
    samples: (&'a [f64], &'a [f64]),
    lanes: &'a mut Lanes,
    nth: &'a mut NthRoom,
    nears: &'a mut [Near; 4],
}

impl WithSimd for FourNears<'_> {
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
            let (most, is_tied) = match squares.len() > self.count {
                true => last_needed(simd, squares, self.count, self.bounds, self.nth),
                false => (simd.splat_f64s(f64::INFINITY), simd.less_than_f64s(east, east)),
            };
            let (last, next) = around(simd, squares, most);
            let next = simd.select_f64s(is_tied, last, next);
            let (mut lasts, mut nexts) = ([0.0; MOST_LANES], [0.0; MOST_LANES]);
            simd.partial_store_f64s(&mut lasts[..S::F64_LANES], last);
            simd.partial_store_f64s(&mut nexts[..S::F64_LANES], next);
            for k in 0..lanes {
                self.nears[start + k] = Near { last: lasts[k].sqrt(), next: nexts[k].sqrt() };
            }
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
