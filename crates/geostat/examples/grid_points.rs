//! Grids points by inverse-distance weighting.
//!
//! ```text
//! grid_points POINTS.csv WEST SOUTH CELL COLUMNS ROWS POWER NEIGHBOURS OUT.f64
//! ```
//!
//! POINTS.csv has a header and the columns easting, northing, value. OUT.f64 gets the values of the
//! cells' middles row by row from the north-west, little-endian.

#![expect(clippy::print_stdout, reason = "an example prints its result")]

use std::error::Error;
use std::str::FromStr;
use std::time::Instant;

use geostat::{Grid, Idw, NeighbourIndex, Sample, Samples, Search};

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [points, west, south, cell, columns, rows, power, neighbours, out] = arguments.as_slice()
    else {
        return Err("nine arguments are needed: see the head of the source".into());
    };
    let samples = read_samples(points)?;
    let grid = Grid::new(parse(west)?, parse(south)?, parse(cell)?, parse(columns)?, parse(rows)?)?;
    let idw = Idw::new(parse(power)?, Search::nearest(parse(neighbours)?))?;
    let start = Instant::now();
    let index = NeighbourIndex::new(&samples);
    let raster = idw.fill(&samples, &index, grid, |_, _| true);
    println!("gridding_s {:.6}", start.elapsed().as_secs_f64());
    let bytes: Vec<u8> = raster.values.iter().flat_map(|v| v.to_le_bytes()).collect();
    Ok(std::fs::write(out, bytes)?)
}

fn read_samples(file: &str) -> Result<Samples, Box<dyn Error>> {
    let text = std::fs::read_to_string(file)?;
    let sample = |line: &str| -> Result<Sample, Box<dyn Error>> {
        let numbers = line.split(',').map(parse).collect::<Result<Vec<f64>, _>>()?;
        let [easting_m, northing_m, value] = numbers[..] else {
            return Err(format!("not three numbers: {line}").into());
        };
        Ok(Sample { easting_m, northing_m, value })
    };
    let samples = text.lines().skip(1).map(sample).collect::<Result<_, _>>()?;
    Ok(Samples::new(samples)?)
}

fn parse<T: FromStr>(text: &str) -> Result<T, String> {
    text.parse().map_err(|_| format!("not a number: {text}"))
}
