//! Kriging of a whole grid from the samples around each cell.
//!
//! Neighbouring cells mostly need the same samples. The equations of each set of samples are solved
//! once for all cells of a tile that need it, several sets side by side in the vector unit, and
//! then several cells.

use pulp::Arch;

use crate::anisotropy::Stretch;
use crate::block_cells::BlockCells;
use crate::blocks::{Blocks, MOST_LANES, Room};
use crate::error::GeostatError;
use crate::grid::{Grid, Raster};
use crate::kriging::neighbour_sets::{NeighbourSet, NeighbourSets};
use crate::kriging::set_lanes::{EstimateCells, SetLanes, SolveSets, SolvedSet};
use crate::kriging::{GlobalKriging, KrigedRaster, Kriging, Trend};
use crate::neighbours::{NeighbourIndex, Neighbours, Search};
use crate::sample::Samples;
use crate::tiles::{Band, fill_by_tile};

impl Kriging {
    /// Estimates, and variances if asked for, for the cells of a grid that are `wanted`, by row and
    /// column; NaN for the others and where there is no estimate. The results do not depend on the
    /// number of threads.
    ///
    /// They are those of [`Kriging::fill_plain`] up to rounding, and come much faster for ordinary
    /// kriging from the nearest few samples, and from all of them.
    ///
    /// # Errors
    /// When the equations of a cell have no solution: see [`GlobalKriging::new`].
    pub fn fill(
        &self,
        samples: &Samples,
        index: &NeighbourIndex,
        grid: Grid,
        with_variance: bool,
        wanted: impl Fn(usize, usize) -> bool + Sync,
    ) -> Result<KrigedRaster, GeostatError> {
        let count = match self.search() {
            Search { neighbours: Neighbours::Nearest(count), within_m: None, sectors: None } => {
                count
            }
            Search { neighbours: Neighbours::All, within_m: None, sectors: None } => samples.len(),
            _ => return self.fill_plain(samples, index, grid, with_variance, wanted),
        };
        if count >= samples.len() && samples.len() >= self.coefficients() {
            return Ok(GlobalKriging::new(samples, self)?.fill(grid, with_variance, wanted));
        }
        if count >= samples.len() || self.trend() != Trend::Constant {
            return self.fill_plain(samples, index, grid, with_variance, wanted);
        }
        let tiles = Tiles::new(self, samples, index, grid, count);
        if with_variance {
            let [value, variance] = tiles.fill(wanted)?;
            return Ok(KrigedRaster::new(value, Some(variance)));
        }
        let [value] = tiles.fill(wanted)?;
        Ok(KrigedRaster::new(value, None))
    }
}

/// What all tiles have in common.
struct Tiles<'a> {
    kriging: &'a Kriging,
    index: &'a NeighbourIndex,
    grid: Grid,
    count: usize,
    arch: Arch,
    /// As the variogram is.
    stretch: Stretch,
    /// Place, stretched as the variogram is, and value of each sample by rank.
    by_rank: Vec<([f64; 2], f64)>,
}

/// Room that the tiles of a band share.
struct TileRoom {
    blocks: Room,
    sets: SetLanes,
    set: SolvedSet,
    cells: BlockCells,
    values: Vec<f64>,
    variances: Vec<f64>,
    lanes: Vec<f64>,
}

impl TileRoom {
    fn of(count: usize) -> Self {
        TileRoom {
            blocks: Room::default(),
            sets: SetLanes::of(count),
            set: SolvedSet::default(),
            cells: BlockCells::default(),
            values: Vec::new(),
            variances: Vec::new(),
            lanes: vec![0.0; count * MOST_LANES],
        }
    }
}

impl<'a> Tiles<'a> {
    fn new(
        kriging: &'a Kriging,
        samples: &Samples,
        index: &'a NeighbourIndex,
        grid: Grid,
        count: usize,
    ) -> Self {
        let stretch = Stretch::new(kriging.variogram().anisotropy, index.place(0));
        let of_number = |&number: &u32| {
            let sample = samples.as_slice()[number as usize];
            (stretch.place([sample.easting_m, sample.northing_m]), sample.value)
        };
        let by_rank = index.numbers_by_rank().iter().map(of_number).collect();
        Tiles { kriging, index, grid, count, arch: Arch::new(), stretch, by_rank }
    }

    /// Estimates and, where a second raster is asked for, their variances.
    fn fill<const N: usize>(
        &self,
        wanted: impl Fn(usize, usize) -> bool + Sync,
    ) -> Result<[Raster; N], GeostatError> {
        let Tiles { index, grid, count, .. } = *self;
        fill_by_tile(
            grid,
            wanted,
            || TileRoom::of(count),
            |tile, wanted, bands, room| {
                let mut sets = NeighbourSets::new(index, grid, wanted, count);
                let blocks = Blocks { index, count, grid };
                blocks.divide(tile, &mut room.blocks, &|block| wanted.any(block), &mut sets);
                self.estimate(&sets.finish(), bands, room)
            },
        )
    }

    /// Works out the cells of some sets: their values in the first band, their variances in the second,
    /// where there is one.
    fn estimate(
        &self,
        sets: &[NeighbourSet],
        bands: &mut [Band],
        room: &mut TileRoom,
    ) -> Result<(), GeostatError> {
        for group in sets.chunks(MOST_LANES) {
            // Lanes that are left over repeat the last set.
            for lane in 0..MOST_LANES {
                let ranks = &group[lane.min(group.len() - 1)].ranks;
                for (k, &rank) in ranks.iter().enumerate() {
                    let ([east, north], value) = self.by_rank[rank as usize];
                    room.sets.east[k][lane] = east;
                    room.sets.north[k][lane] = north;
                    room.sets.values[k][lane] = value;
                }
            }
            self.arch.dispatch(SolveSets { kriging: self.kriging, sets: &mut room.sets });
            for (lane, NeighbourSet { ranks, cells }) in group.iter().enumerate() {
                let singular = room.sets.singular[lane];
                if singular < self.count {
                    let number = self.index.numbers_by_rank()[ranks[singular] as usize];
                    return Err(GeostatError::Singular { sample: number as usize });
                }
                room.sets.take(lane, &mut room.set);
                self.estimate_cells(cells, bands, room);
            }
        }
        Ok(())
    }

    fn estimate_cells(&self, cells: &[(u32, u32)], bands: &mut [Band], room: &mut TileRoom) {
        let with_variance = bands.len() > 1;
        room.cells.lay_out_some(cells, self.grid, self.stretch);
        let lanes = room.cells.east.len();
        room.values.resize(lanes, 0.0);
        room.variances.resize(lanes, 0.0);
        self.arch.dispatch(EstimateCells {
            kriging: self.kriging,
            set: &room.set,
            cells: &room.cells,
            values: &mut room.values,
            variances: with_variance.then_some(room.variances.as_mut_slice()),
            room: &mut room.lanes,
        });
        for (number, &(row, column)) in cells.iter().enumerate() {
            let (row, column) = (row as usize, column as usize);
            bands[0].set(row, column, room.values[number]);
            if with_variance {
                bands[1].set(row, column, self.kriging.settled(room.variances[number]));
            }
        }
    }
}
