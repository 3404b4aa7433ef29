//! A grid as it is typed.

use std::error::Error;

use geostat::Grid;

use crate::support::parse;

/// A grid from west, south, cell, columns and rows.
pub fn grid([west, south, cell, columns, rows]: [&str; 5]) -> Result<Grid, Box<dyn Error>> {
    let (west_m, south_m, cell_m) = (parse(west)?, parse(south)?, parse(cell)?);
    Ok(Grid::new(west_m, south_m, cell_m, parse(columns)?, parse(rows)?)?)
}

/// Rows worked out and written at a time, so that memory does not grow with the grid.
const BAND: usize = 256;

/// The bands of a grid from the north.
pub fn bands(grid: Grid) -> impl Iterator<Item = Grid> {
    (0..grid.rows()).step_by(BAND).map(move |first| grid.band(first, BAND.min(grid.rows() - first)))
}
