//! The cells of a block laid out for the vector unit.

use crate::anisotropy::Stretch;
use crate::blocks::{Block, MOST_LANES};
use crate::grid::Grid;

/// Stretched places of the middles of a block's cells, row by row, filled up with the last to a
/// multiple of [`MOST_LANES`].
#[derive(Default)]
pub(crate) struct BlockCells {
    pub east: Vec<f64>,
    pub north: Vec<f64>,
}

impl BlockCells {
    /// Takes the cells of another block.
    pub fn lay_out(&mut self, block: Block, grid: Grid, stretch: Stretch) {
        self.east.clear();
        self.north.clear();
        for row in block.row..block.row + block.rows {
            let northing_m = grid.northing_m(row);
            for column in block.column..block.column + block.columns {
                let [east, north] = stretch.place([grid.easting_m(column), northing_m]);
                self.east.push(east);
                self.north.push(north);
            }
        }
        self.fill_up();
    }

    /// Takes cells by row and column.
    pub fn lay_out_some(&mut self, cells: &[(u32, u32)], grid: Grid, stretch: Stretch) {
        self.east.clear();
        self.north.clear();
        for &(row, column) in cells {
            let place = [grid.easting_m(column as usize), grid.northing_m(row as usize)];
            let [east, north] = stretch.place(place);
            self.east.push(east);
            self.north.push(north);
        }
        self.fill_up();
    }

    fn fill_up(&mut self) {
        let cells = self.east.len().next_multiple_of(MOST_LANES);
        for places in [&mut self.east, &mut self.north] {
            if let Some(&last) = places.last() {
                places.resize(cells, last);
            }
        }
    }
}
