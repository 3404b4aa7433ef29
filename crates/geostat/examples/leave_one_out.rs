//! Leave-one-out cross-validation of inverse-distance weighting for many powers.
//!
//! ```text
//! leave_one_out POINTS.csv POWERS NEIGHBOURS OUT.f64
//! ```
//!
//! The powers run from 0.5 in steps of a quarter; NEIGHBOURS may be `all`. OUT.f64 gets the root
//! mean square residual of each power, little-endian.

#![expect(clippy::print_stdout, reason = "an example prints its result")]

mod support;

use std::error::Error;
use std::fs::File;

use geostat::{NeighbourIndex, Search, leave_one_out_idw};
use support::{Stopwatch, parse, read_samples, write_values};

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [points, count, neighbours, out] = arguments.as_slice() else {
        return Err("four arguments are needed: see the head of the source".into());
    };
    let samples = read_samples(points)?;
    let powers: Vec<f64> = (0..parse(count)?).map(|k: u32| 0.5 + f64::from(k) / 4.0).collect();
    let search = match neighbours.as_str() {
        "all" => Search::EVERYTHING,
        count => Search::nearest(parse(count)?),
    };
    let mut stopwatch = Stopwatch::default();
    let results = stopwatch.time(|| {
        let index = NeighbourIndex::new(&samples);
        leave_one_out_idw(&samples, &index, search, None, &powers)
    })?;
    stopwatch.print();
    let rmse: Vec<f64> = results.iter().map(|validation| validation.rmse).collect();
    Ok(write_values(&mut File::create(out)?, &rmse)?)
}
