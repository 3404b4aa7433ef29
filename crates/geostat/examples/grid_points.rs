//! Grids points by inverse-distance weighting.
//!
//! ```text
//! grid_points POINTS.csv WEST SOUTH CELL COLUMNS ROWS POWER NEIGHBOURS OUT.f64
//! ```
//!
//! POINTS.csv has a header and the columns easting, northing, value. OUT.f64 gets the values of the
//! cells' middles row by row from the north-west, little-endian.

#![expect(clippy::print_stdout, reason = "an example prints its result")]

#[path = "support/grid.rs"]
mod grid;
mod support;

use std::error::Error;
use std::fs::File;
use std::io::{BufWriter, Write};

use geostat::{Idw, NeighbourIndex, Search};
use grid::{bands, grid};
use support::{Stopwatch, parse, read_samples, write_values};

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [points, west, south, cell, columns, rows, power, neighbours, out] = arguments.as_slice()
    else {
        return Err("nine arguments are needed: see the head of the source".into());
    };
    let samples = read_samples(points)?;
    let grid = grid([west, south, cell, columns, rows])?;
    let idw = Idw::new(parse(power)?, Search::nearest(parse(neighbours)?))?;
    let mut out = BufWriter::new(File::create(out)?);
    let mut stopwatch = Stopwatch::default();
    let index = stopwatch.time(|| NeighbourIndex::new(&samples));
    for band in bands(grid) {
        let raster = stopwatch.time(|| idw.fill(&samples, &index, band, |_, _| true));
        write_values(&mut out, &raster.values)?;
    }
    out.flush()?;
    stopwatch.print();
    Ok(())
}
