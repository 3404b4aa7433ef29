//! A grid filled in parallel, cell by cell or tile by tile.

use rayon::prelude::*;

use crate::blocks::{Block, TILE};
use crate::grid::{Grid, Raster};
use crate::neighbours::Neighbour;

/// Fills the wanted cells of a grid one by one from a function of the place; NaN elsewhere. The
/// function gets room for neighbours.
pub(crate) fn fill_by_cell(
    grid: Grid,
    wanted: impl Fn(usize, usize) -> bool + Sync,
    estimate: impl Fn([f64; 2], &mut Vec<Neighbour>) -> f64 + Sync,
) -> Raster {
    let mut values = vec![f64::NAN; grid.cells()];
    values.par_chunks_mut(grid.columns()).enumerate().for_each_init(
        Vec::new,
        |room, (row, values)| {
            for (column, value) in values.iter_mut().enumerate() {
                if wanted(row, column) {
                    *value = estimate([grid.easting_m(column), grid.northing_m(row)], room);
                }
            }
        },
    );
    Raster { grid, values }
}

/// The part of a raster that a tile's work may write to: whole rows, of which only the tile's
/// columns are its own.
pub(crate) struct Band<'a> {
    first: usize,
    columns: usize,
    values: &'a mut [f64],
}

impl Band<'_> {
    /// Sets the value of a cell.
    #[inline]
    pub fn set(&mut self, row: usize, column: usize, value: f64) {
        self.values[(row - self.first) * self.columns + column] = value;
    }
}

/// Which cells of a tile are wanted.
pub(crate) struct Wanted {
    tile: Block,
    cells: Vec<bool>,
    all: bool,
}

impl Wanted {
    fn new(tile: Block, wanted: &impl Fn(usize, usize) -> bool) -> Self {
        let mut cells = vec![false; tile.rows * tile.columns];
        for (row, cells) in cells.chunks_mut(tile.columns).enumerate() {
            for (column, cell) in cells.iter_mut().enumerate() {
                *cell = wanted(tile.row + row, tile.column + column);
            }
        }
        let all = cells.iter().all(|&cell| cell);
        Wanted { tile, cells, all }
    }

    /// Whether a cell is wanted.
    #[inline]
    pub fn cell(&self, row: usize, column: usize) -> bool {
        self.all
            || self.cells[(row - self.tile.row) * self.tile.columns + column - self.tile.column]
    }

    /// Whether any cell of a block is wanted.
    pub fn any(&self, block: Block) -> bool {
        let columns = block.column..block.column + block.columns;
        self.all
            || (block.row..block.row + block.rows)
                .any(|row| columns.clone().any(|column| self.cell(row, column)))
    }
}

/// Fills rasters of a grid by tiles of [`TILE`] cells: bands of tiles in parallel, each tile by a
/// function that sets its wanted cells, with room that the tiles of a band share. Cells that are not
/// set are NaN.
///
/// # Errors
/// That of the first band that has one.
pub(crate) fn fill_by_tile<const N: usize, R, E: Send>(
    grid: Grid,
    wanted: impl Fn(usize, usize) -> bool + Sync,
    room: impl Fn() -> R + Sync,
    fill: impl Fn(Block, &Wanted, &mut [Band; N], &mut R) -> Result<(), E> + Sync,
) -> Result<[Raster; N], E> {
    let mut rasters: [Vec<f64>; N] = std::array::from_fn(|_| vec![f64::NAN; grid.cells()]);
    let mut parts = rasters.each_mut().map(|values| values.chunks_mut(TILE * grid.columns()));
    let band =
        |number: usize, values| Band { first: number * TILE, columns: grid.columns(), values };
    let bands: Vec<[Band; N]> = (0..grid.rows().div_ceil(TILE))
        .map(|number| {
            parts.each_mut().map(|part| band(number, part.next().expect("a chunk for each band")))
        })
        .collect();
    let of_band = |(number, mut bands): (usize, [Band; N])| {
        let mut room = room();
        let (row, rows) = (number * TILE, TILE.min(grid.rows() - number * TILE));
        (0..grid.columns()).step_by(TILE).try_for_each(|column| {
            let columns = TILE.min(grid.columns() - column);
            let tile = Block { row, column, rows, columns };
            let wanted = Wanted::new(tile, &wanted);
            match wanted.any(tile) {
                true => fill(tile, &wanted, &mut bands, &mut room),
                false => Ok(()),
            }
        })
    };
    let done: Vec<Result<(), E>> = bands.into_par_iter().enumerate().map(of_band).collect();
    done.into_iter().collect::<Result<(), E>>()?;
    Ok(rasters.map(|values| Raster { grid, values }))
}
