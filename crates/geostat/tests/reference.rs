//! Inverse-distance weighting against published values and against R gstat 2.1-0.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use geostat::{Idw, NeighbourIndex, Neighbours, Sample, Samples, Search, leave_one_out_idw};
use serde_json::Value;

/// Relative agreement asked of independent double-precision programs; the difference seen between
/// gstat and others is under 1e-12.
const TOLERANCE: f64 = 1e-9;

struct Case {
    samples: Samples,
    index: NeighbourIndex,
    expected: Value,
}

impl Case {
    /// A set's samples, by column names, and what gstat made of them.
    fn read(name: &str, [east, north, value]: [&str; 3]) -> Case {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference");
        let csv = std::fs::read_to_string(format!("{folder}/{name}.csv")).unwrap();
        let mut lines = csv.lines();
        let header: Vec<&str> = lines.next().unwrap().split(',').collect();
        let column = |name: &str| header.iter().position(|h| *h == name).unwrap();
        let columns = [column(east), column(north), column(value)];
        let samples = lines
            .map(|line| {
                let fields: Vec<&str> = line.split(',').collect();
                let [easting_m, northing_m, value] = columns.map(|c| fields[c].parse().unwrap());
                Sample { easting_m, northing_m, value }
            })
            .collect();
        let samples = Samples::new(samples).unwrap();
        let json = std::fs::read_to_string(format!("{folder}/{name}.gstat.json")).unwrap();
        let index = NeighbourIndex::new(&samples);
        Case { samples, index, expected: serde_json::from_str(&json).unwrap() }
    }
}

fn cases() -> [Case; 2] {
    [
        Case::read("mercer_hall_wheat", ["x", "y", "yield"]),
        Case::read("demo_field_a_april", ["easting", "northing", "depth_in"]),
    ]
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap_or(f64::NAN)).collect()
}

fn neighbours(value: &Value) -> Neighbours {
    value.as_u64().map_or(Neighbours::All, |count| Neighbours::Nearest(count as usize))
}

fn assert_close(ours: f64, theirs: f64, what: &str) {
    let close = (ours - theirs).abs() <= TOLERANCE * theirs.abs().max(1.0);
    assert!(close || (ours.is_nan() && theirs.is_nan()), "{what}: {ours}, expected {theirs}");
}

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

#[test]
fn estimates_agree_with_gstat() {
    let mut compared = 0;
    for case in cases() {
        let targets = &case.expected["targets"];
        let (east, north) = (numbers(&targets["x"]), numbers(&targets["y"]));
        for run in case.expected["idw"].as_array().unwrap() {
            let search = Search {
                neighbours: neighbours(&run["nmax"]),
                within_m: run["maxdist"].as_f64(),
                sectors: None,
            };
            let idw = Idw::new(run["power"].as_f64().unwrap(), search).unwrap();
            let tied = numbers(&run["tie_targets"]);
            for (k, expected) in numbers(&run["pred"]).into_iter().enumerate() {
                if tied.contains(&(k as f64)) || tied.contains(&((k + 1) as f64)) {
                    continue;
                }
                let ours = idw.estimate(&case.samples, &case.index, [east[k], north[k]]);
                assert_close(ours, expected, &format!("{run:.60} target {k}"));
                compared += 1;
            }
        }
    }
    assert!(compared > 12_000, "{compared}");
}

#[test]
fn leave_one_out_agrees_with_gstat() {
    let mut compared = 0;
    for case in cases() {
        for run in case.expected["idw_loo"].as_array().unwrap() {
            if run["n_tied_points"].as_u64() != Some(0) {
                continue;
            }
            let search =
                Search { neighbours: neighbours(&run["nmax"]), within_m: None, sectors: None };
            let power = run["power"].as_f64().unwrap();
            let result =
                leave_one_out_idw(&case.samples, &case.index, search, None, &[9.0, power]).unwrap();
            let cv = &result[1];
            assert_close(cv.me, run["me"].as_f64().unwrap(), "me");
            assert_close(cv.mae, run["mae"].as_f64().unwrap(), "mae");
            assert_close(cv.rmse, run["rmse"].as_f64().unwrap(), "rmse");
            if run["pred"].is_array() {
                for (pair, expected) in cv.pairs.iter().zip(numbers(&run["pred"])) {
                    assert_close(pair.estimated, expected, "prediction");
                }
            }
            compared += 1;
        }
    }
    assert!(compared >= 27, "{compared}");
}
