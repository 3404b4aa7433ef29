//! Kriging against published values and against R gstat 2.1-0.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use geostat::{
    Anisotropy, GlobalKriging, Kriged, Kriging, NeighbourIndex, Neighbours, Sample, Samples,
    Search, Shape, Trend, Variogram,
};
use serde_json::Value;

/// Relative agreement asked of independent double-precision programs, of variances relative to the
/// sill; the differences seen between gstat and others are under 1e-12.
const TOLERANCE: f64 = 1e-9;

/// Block means agree to 2e-8 only between programs (`tests/reference/README.md`); of the sill or value.
const BLOCK_TOLERANCE: f64 = 1e-6;

struct Case {
    samples: Samples,
    index: NeighbourIndex,
    targets: Vec<[f64; 2]>,
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
        let expected: Value = serde_json::from_str(&json).unwrap();
        let index = NeighbourIndex::new(&samples);
        let [east, north] = ["x", "y"].map(|axis| numbers(&expected["targets"][axis]));
        let targets = east.into_iter().zip(north).map(|(e, n)| [e, n]).collect();
        Case { samples, index, targets, expected }
    }

    /// Checks estimates of a run of gstat; how many there were.
    fn check(
        &self,
        run: &Value,
        kriging: &Kriging,
        tolerance: f64,
        estimate: impl Fn([f64; 2]) -> Kriged,
    ) -> usize {
        let tied =
            run["tie_targets"].as_array().map_or(Vec::new(), |_| numbers(&run["tie_targets"]));
        let (values, variances) = (numbers(&run["pred"]), numbers(&run["var"]));
        let mut compared = 0;
        for (k, &target) in self.targets.iter().enumerate() {
            if tied.contains(&(k as f64)) || tied.contains(&((k + 1) as f64)) {
                continue;
            }
            let ours = estimate(target);
            let what = format!("{} target {k}", run["model"]);
            assert_close(ours.value, values[k], tolerance * values[k].abs().max(1.0), &what);
            let sill = kriging.variogram().sill();
            assert_close(ours.variance, variances[k], tolerance * sill, &what);
            compared += 1;
        }
        compared
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

fn assert_close(ours: f64, theirs: f64, tolerance: f64, what: &str) {
    let close = (ours - theirs).abs() <= tolerance;
    assert!(close || (ours.is_nan() && theirs.is_nan()), "{what}: {ours}, expected {theirs}");
}

/// The settings of a run of gstat.
fn kriging(run: &Value) -> Kriging {
    let number = |name: &str| run["model"][name].as_f64().unwrap();
    let shape = match run["model"]["model"].as_str().unwrap() {
        "Sph" => Shape::Spherical,
        "Exp" => Shape::Exponential,
        "Gau" => Shape::Gaussian,
        other => panic!("{other}"),
    };
    let mut variogram =
        Variogram::new(shape, number("nugget"), number("psill"), number("range")).unwrap();
    if let Some(azimuth) = run["anis"]["azimuth_deg_clockwise_from_north"].as_f64() {
        let ratio = run["anis"]["ratio_minor_over_major"].as_f64().unwrap();
        variogram.anisotropy = Anisotropy::new(azimuth, ratio).unwrap();
    }
    let neighbours =
        run["nmax"].as_u64().map_or(Neighbours::All, |count| Neighbours::Nearest(count as usize));
    let search = Search { neighbours, within_m: run["maxdist"].as_f64() };
    Kriging::new(variogram).unwrap().with_search(search).unwrap()
}

#[test]
fn ordinary_kriging_agrees_with_gstat() {
    let mut compared = 0;
    for case in cases() {
        for run in case.expected["ok"].as_array().unwrap() {
            let kriging = kriging(run);
            compared += if kriging.search() == Search::EVERYTHING {
                let global = GlobalKriging::new(&case.samples, &kriging).unwrap();
                case.check(run, &kriging, TOLERANCE, |place| global.estimate(place))
            } else {
                case.check(run, &kriging, TOLERANCE, |place| {
                    kriging.estimate(&case.samples, &case.index, place).unwrap()
                })
            };
        }
    }
    assert!(compared > 3_000, "{compared}");
}

#[test]
fn filtered_error_direction_and_trend_agree_with_gstat() {
    for case in cases() {
        for name in ["ok_err_nugget", "ok_anis", "uk_linear"] {
            let run = &case.expected[name];
            let mut kriging = kriging(run);
            match name {
                "ok_err_nugget" => {
                    let nugget = kriging.variogram().nugget;
                    kriging = kriging.with_error_variance(nugget).unwrap();
                }
                "uk_linear" => kriging = kriging.with_trend(Trend::Linear),
                _ => assert!(!kriging.variogram().anisotropy.is_none()),
            }
            let global = GlobalKriging::new(&case.samples, &kriging).unwrap();
            let compared = case.check(run, &kriging, TOLERANCE, |place| global.estimate(place));
            assert_eq!(compared, 405);
        }
    }
}

#[test]
fn means_of_cells_agree_with_gstat() {
    for case in cases() {
        let run = &case.expected["ok_block"];
        let kriging = kriging(run);
        let global = GlobalKriging::new(&case.samples, &kriging).unwrap();
        let size: [f64; 2] = numbers(&run["block"]).try_into().unwrap();
        let cell = |place| global.cell(place, size).unwrap();
        assert_eq!(case.check(run, &kriging, BLOCK_TOLERANCE, cell), 405);
    }
}

/// Isaaks and Srivastava 1989, "An Introduction to Applied Geostatistics", chapter 12: the seven
/// samples around (65, 137). The book prints values in whole units and variances with two decimals;
/// the further digits are of two independent programs.
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
    let model = |shape, nugget, sill, range_m, direction: Option<(f64, f64)>| {
        let mut variogram = Variogram::new(shape, nugget, sill, range_m).unwrap();
        if let Some((azimuth_deg, ratio)) = direction {
            variogram.anisotropy = Anisotropy::new(azimuth_deg, ratio).unwrap();
        }
        GlobalKriging::new(&samples, &Kriging::new(variogram).unwrap()).unwrap()
    };
    let (exponential, gaussian) = (Shape::Exponential, Shape::Gaussian);
    let third = 10.0 / 3.0;
    let plain = model(exponential, 0.0, 10.0, third, None);
    for (global, value, variance) in [
        (&plain, 592.7289, 8.95605),
        (&model(exponential, 5.0, 5.0, third, None), 596.7770, 10.30585),
        (&model(gaussian, 0.0, 10.0, 10.0 / 3.0_f64.sqrt(), None), 559.3700, 4.78060),
        (&model(exponential, 0.0, 10.0, 2.0 * third, None), 572.3899, 5.75850),
        (&model(exponential, 0.0, 10.0, 2.0 * third, Some((135.0, 0.5))), 619.8083, 6.29859),
        (&model(exponential, 0.0, 10.0, 2.0 * third, Some((45.0, 0.5))), 574.0486, 8.15629),
        (&model(exponential, 0.0, 10.0, 10.0 * third, Some((135.0, 0.1))), 653.7378, 2.82997),
    ] {
        let estimate = global.estimate([65.0, 137.0]);
        assert_close(estimate.value, value, 5.1e-5, "value");
        assert_close(estimate.variance, variance, 5.1e-6, "variance");
    }
    let weights = plain.weights([65.0, 137.0]);
    for (weight, expected) in weights.iter().zip([0.173, 0.318, 0.129, 0.086, 0.151, 0.057, 0.086])
    {
        assert_close(*weight, expected, 5.1e-4, "weight");
    }
    let negative = model(gaussian, 0.0, 10.0, 10.0 / 3.0_f64.sqrt(), None).weights([65.0, 137.0]);
    assert!(negative.iter().any(|&weight| weight < 0.0), "{negative:?}");
}
