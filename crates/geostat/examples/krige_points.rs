//! Grids points by ordinary kriging with a spherical variogram.
//!
//! ```text
//! krige_points POINTS.csv WEST SOUTH CELL COLUMNS ROWS NUGGET PARTIAL_SILL RANGE NEIGHBOURS OUT.f64
//! ```
//!
//! POINTS.csv has a header and the columns easting, northing, value; NEIGHBOURS may be `all`. OUT.f64
//! gets the estimates and OUT.f64.variance their variances for the cells' middles row by row from the
//! north-west, little-endian.

#![expect(clippy::print_stdout, reason = "an example prints its result")]

#[path = "support/grid.rs"]
mod grid;
mod support;

use std::error::Error;

use geostat::{GlobalKriging, Kriging, NeighbourIndex, Search, Shape, Variogram};
use grid::grid;
use support::{parse, read_samples, timed, write_values};

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [points, west, south, cell, columns, rows, nugget, sill, range, neighbours, out] =
        arguments.as_slice()
    else {
        return Err("eleven arguments are needed: see the head of the source".into());
    };
    let samples = read_samples(points)?;
    let grid = grid([west, south, cell, columns, rows])?;
    let variogram = Variogram::new(Shape::Spherical, parse(nugget)?, parse(sill)?, parse(range)?)?;
    let kriging = Kriging::new(variogram)?;
    let kriged = match neighbours.as_str() {
        "all" => timed(|| {
            let global = GlobalKriging::new(&samples, &kriging)?;
            Ok::<_, geostat::GeostatError>(global.fill(grid, true, |_, _| true))
        })?,
        count => {
            let kriging = kriging.with_search(Search::nearest(parse(count)?))?;
            timed(|| {
                let index = NeighbourIndex::new(&samples);
                kriging.fill(&samples, &index, grid, true, |_, _| true)
            })?
        }
    };
    write_values(out, &kriged.value.values)?;
    let variance = kriged.variance.ok_or("no variance")?;
    Ok(write_values(&format!("{out}.variance"), &variance.values)?)
}
