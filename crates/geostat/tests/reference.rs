//! Results against published values and against R gstat 2.1-0.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

mod agreement;

use std::path::Path;

use agreement::{Set, checks};
use geostat::{Idw, NeighbourIndex, Sample, Samples, Search};

/// Isaaks and Srivastava 1989, "An Introduction to Applied Geostatistics", the seven samples
/// around (65, 137); values computed with two independent programs.
#[test]
fn isaaks_and_srivastava_seven_samples() {
    let samples = [
        (61.0, 139.0, 477.0),
        (63.0, 140.0, 696.0),
        (64.0, 129.0, 227.0),
        (68.0, 128.0, 646.0),
        (71.0, 140.0, 606.0),
        (73.0, 141.0, 791.0),
        (75.0, 128.0, 783.0),
    ];
    let sample =
        |&(easting_m, northing_m, value): &(f64, f64, f64)| Sample { easting_m, northing_m, value };
    let samples = Samples::new(samples.iter().map(sample).collect()).unwrap();
    let index = NeighbourIndex::new(&samples);
    for (power, expected) in
        [(1.0, 593.9537), (2.0, 597.6204), (3.0, 609.2596), (5.0, 635.3748), (10.0, 672.9934)]
    {
        let idw = Idw::new(power, Search::EVERYTHING).unwrap();
        let estimate = idw.estimate(&samples, &index, [65.0, 137.0]);
        assert!((estimate - expected).abs() < 5e-5, "power {power}: {estimate}");
    }
}

/// Every result of gstat in the files that may be copied; see `tests/reference/README.md`.
#[test]
fn results_agree_with_gstat() {
    let folder = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference"));
    let mut compared = 0;
    for name in ["mercer_hall_wheat", "demo_field_a_april"] {
        let set = Set::read(&folder.join(format!("{name}.gstat.json")));
        for check in checks(&set) {
            assert!(check.passes(), "{name}, {}: {:e} at {}", check.what, check.largest, check.at);
            compared += check.compared;
        }
    }
    assert!(compared > 31_000, "{compared}");
}
