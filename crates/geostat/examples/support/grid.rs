//! A grid as it is typed.

use std::error::Error;

use geostat::Grid;

use crate::support::parse;

/// A grid from west, south, cell, columns and rows.
pub fn grid([west, south, cell, columns, rows]: [&str; 5]) -> Result<Grid, Box<dyn Error>> {
    let (west_m, south_m, cell_m) = (parse(west)?, parse(south)?, parse(cell)?);
    Ok(Grid::new(west_m, south_m, cell_m, parse(columns)?, parse(rows)?)?)
}
