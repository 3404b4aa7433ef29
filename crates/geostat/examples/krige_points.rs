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
use std::fs::File;
use std::io::{BufWriter, Write};

use geostat::{GlobalKriging, KrigedRaster, Kriging, NeighbourIndex, Search, Shape, Variogram};
use grid::{bands, grid};
use support::{Stopwatch, parse, read_samples, write_values};

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
    let (mut values, mut variances) = (
        BufWriter::new(File::create(out)?),
        BufWriter::new(File::create(format!("{out}.variance"))?),
    );
    let mut stopwatch = Stopwatch::default();
    let mut write = |kriged: &KrigedRaster| -> Result<(), Box<dyn Error>> {
        let variance = kriged.variance.as_ref().ok_or("no variance")?;
        write_values(&mut values, &kriged.value.values)?;
        Ok(write_values(&mut variances, &variance.values)?)
    };
    match neighbours.as_str() {
        "all" => {
            let global = stopwatch.time(|| GlobalKriging::new(&samples, &kriging))?;
            for band in bands(grid) {
                write(&stopwatch.time(|| global.fill(band, true, |_, _| true)))?;
            }
        }
        count => {
            let kriging = kriging.with_search(Search::nearest(parse(count)?))?;
            let index = stopwatch.time(|| NeighbourIndex::new(&samples));
            for band in bands(grid) {
                let fill = || kriging.fill(&samples, &index, band, true, |_, _| true);
                write(&stopwatch.time(fill)?)?;
            }
        }
    }
    values.flush()?;
    variances.flush()?;
    stopwatch.print();
    Ok(())
}
