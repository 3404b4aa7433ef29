//! Methods, their errors and chances, from options to files.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

#[path = "support/mod.rs"]
mod support;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use formats::{ReadSettings, read_boundary, read_survey};
use geostat::{
    Anisotropy, Bins, EmpiricalVariogram, Estimator, GlobalKriging, Kriging, Sample, Samples,
    Shape, Weighting,
};
use mapping::{MapSettings, MethodChoice, map_survey};
use serde_json::{Value, json};
use support::{Run, collection, demo, features, loosedepth, point};
use survey::{CheckSettings, CheckedSurvey, UnitSystem, check};

const KRIGED: [&str; 3] = ["standard_error.png", "standard_error.tif", "variogram.png"];

fn map_demo(folder: &Path, more: &[&str]) -> Run {
    let (survey, boundary) = (demo("visits/2025-04-14.geojson"), demo("boundary.geojson"));
    let args = ["map", &survey, "--boundary", &boundary, "--cell", "5", "--out", "out"];
    loosedepth(folder, &[&args[..], more].concat())
}

fn bytes(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
    entries
        .map(|entry| (entry.file_name().into_string().unwrap(), fs::read(entry.path()).unwrap()))
        .collect()
}

fn summary(folder: &Path) -> Value {
    serde_json::from_slice(&fs::read(folder.join("out/summary.json")).unwrap()).unwrap()
}

/// Maps readings given as features; the folder holds the results.
fn map_of(readings: &[Value], more: &[&str]) -> (tempfile::TempDir, Run) {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("s.geojson"), collection(readings)).unwrap();
    let run = loosedepth(folder.path(), &[&["map", "s.geojson", "--out", "out"], more].concat());
    (folder, run)
}

/// Sixty-four readings about 33 m apart, of a depth by column and row.
fn readings(properties: impl Fn(i64, i64) -> Value) -> Vec<Value> {
    (0..64)
        .map(|k| {
            let (column, row) = (k % 8, k / 8);
            let (east, north) = (4e-4 * column as f64, 3e-4 * row as f64);
            point(-95.62 + east, 41.93 + north, &properties(column, row))
        })
        .collect()
}

fn demo_survey() -> CheckedSurvey {
    let file = PathBuf::from(demo("visits/2025-04-14.geojson"));
    let (_, survey) = read_survey(&file, &ReadSettings::default()).unwrap();
    let (_, boundary) = read_boundary(&PathBuf::from(demo("boundary.geojson"))).unwrap();
    check(&survey, Some(&boundary), &CheckSettings::default()).unwrap()
}

/// The map's values and standard errors are those of geostat, called here step by step as its own
/// documentation says, with and without a direction.
#[test]
fn a_kriged_map_is_what_geostat_gives() {
    let survey = demo_survey();
    let samples: Vec<Sample> = survey
        .spots()
        .iter()
        .map(|spot| Sample {
            easting_m: spot.position.easting_m,
            northing_m: spot.position.northing_m,
            value: spot.reading.at_least().cm(),
        })
        .collect();
    for anisotropy in [Anisotropy::NONE, Anisotropy::new(15.0, 0.5).unwrap()] {
        let settings = MapSettings {
            method: MethodChoice::Kriging,
            anisotropy,
            cell_m: Some(20.0),
            realisations: 0,
            ..MapSettings::new(UnitSystem::Us)
        };
        let map = map_survey(&survey, &settings).unwrap();
        let stretched = samples.iter().map(|s| {
            let [easting_m, northing_m] = anisotropy.stretch([s.easting_m, s.northing_m]);
            Sample { easting_m, northing_m, value: s.value }
        });
        let stretched = Samples::new(stretched.collect()).unwrap();
        let bins = Bins::Default;
        let empirical =
            EmpiricalVariogram::new(&stretched, Estimator::Matheron, &bins, None).unwrap();
        let shapes = [Shape::Spherical, Shape::Exponential, Shape::Gaussian];
        let fit = empirical.fit_best(&shapes, Weighting::PairsPerSquaredDistance).unwrap();
        let mut model = fit.model;
        model.anisotropy = anisotropy;
        let kriging = Kriging::new(model).unwrap();
        let global = GlobalKriging::new(&Samples::new(samples.clone()).unwrap(), &kriging).unwrap();
        let (grid, errors) = (map.depth_cm.grid, map.standard_error_cm.as_ref().unwrap());
        let mut compared = 0;
        for row in 0..grid.rows() {
            for column in 0..grid.columns() {
                let depth_cm = map.depth_cm.value(row, column);
                if depth_cm.is_nan() {
                    continue;
                }
                let kriged = global.estimate([grid.easting_m(column), grid.northing_m(row)]);
                assert!((depth_cm - kriged.value).abs() < 1e-9);
                assert!((errors.value(row, column) - kriged.standard_error()).abs() < 1e-9);
                compared += 1;
            }
        }
        assert!(compared > 700, "{compared}");
        let validation = global.leave_one_out();
        assert!((map.method.validation.rmse - validation.rmse).abs() < 1e-9);
        assert_eq!(map.method.validation.coverage_95(), validation.coverage_95());
    }
}

#[test]
fn the_raster_of_kriging_is_that_of_the_map() {
    let folder = tempfile::tempdir().unwrap();
    for more in [&["--method", "kriging"][..], &["--method", "kriging", "--neighbours", "12"]] {
        let map = map_demo(folder.path(), &[more, &["--replace", "--realisations", "0"]].concat());
        assert_eq!(map.exit, 0, "{}", map.stderr);
        let (survey, boundary) = (demo("visits/2025-04-14.geojson"), demo("boundary.geojson"));
        let args = ["raster", &survey, "--boundary", &boundary, "--cell", "5", "--out", "r.tif"];
        let run = loosedepth(folder.path(), &[&args[..], more, &["--replace"]].concat());
        assert_eq!(run.exit, 0, "{}", run.stderr);
        let raster = fs::read(folder.path().join("r.tif")).unwrap();
        assert!(raster == fs::read(folder.path().join("out/depth.tif")).unwrap(), "{more:?}");
    }
}

#[test]
fn the_same_input_gives_the_same_bytes_and_nothing_is_replaced_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let more = ["--method", "kriging", "--thinner-than", "12in"];
    let run = map_demo(folder.path(), &more);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let first = bytes(&out);
    let expected =
        ["depth.tif", "map.png", "standard_error.png", "standard_error.tif", "summary.json"];
    let expected = [&expected[..], &["thinner_than_12in.png", "thinner_than_12in.tif"]].concat();
    let expected = [&expected[..], &["variogram.png", "zones.geojson"]].concat();
    assert_eq!(first.keys().collect::<Vec<_>>(), expected);
    let said: Vec<Value> = summary(folder.path())["files"].as_array().unwrap().clone();
    assert_eq!(said.len(), expected.len(), "the summary names every file");

    assert_eq!(map_demo(folder.path(), &[&more[..], &["--replace"]].concat()).exit, 0);
    assert!(bytes(&out) == first, "the same input gives the same bytes");

    let other_seed = [&more[..], &["--replace", "--seed", "7"]].concat();
    assert_eq!(map_demo(folder.path(), &other_seed).exit, 0);
    let other = bytes(&out);
    assert!(
        other["depth.tif"] == first["depth.tif"] && other["summary.json"] != first["summary.json"]
    );

    for name in KRIGED.into_iter().chain(["thinner_than_12in.tif", "thinner_than_12in.png"]) {
        fs::remove_dir_all(&out).unwrap();
        fs::create_dir(&out).unwrap();
        fs::write(out.join(name), "kept").unwrap();
        // What `auto` will write is not known before, so it may not be in the way either.
        for method in ["kriging", "auto"] {
            let args = ["--method", method, "--thinner-than", "12in"];
            let run = map_demo(folder.path(), &args);
            assert_eq!(run.exit, 1);
            assert!(run.stderr.contains(&format!("already holds {name}")), "{}", run.stderr);
            assert_eq!(bytes(&out).len(), 1, "a refused run changes nothing");
        }
    }
}

/// The least error of a summary's table, of equals the first: what `auto` must take.
fn least(summary: &Value) -> String {
    let tried = summary["methods_tried"].as_array().unwrap();
    let rmse = |tried: &Value| tried["rmse_in"].as_f64().unwrap_or(f64::INFINITY);
    let mut best = &tried[0];
    for other in tried {
        if rmse(other) < rmse(best) {
            best = other;
        }
    }
    best["method"].as_str().unwrap().to_owned()
}

#[test]
fn auto_takes_the_least_error_and_says_why() {
    let (folder, run) = {
        let folder = tempfile::tempdir().unwrap();
        let run = map_demo(folder.path(), &["--method", "auto"]);
        (folder, run)
    };
    let said = summary(folder.path());
    assert_eq!(least(&said), "inverse distance");
    assert_eq!(said["settings"]["method"], "inverse-distance weighting");
    assert_eq!(said["methods_tried"].as_array().unwrap().len(), 21, "mean, 19 powers, kriging");
    assert!(run.stdout.contains("chosen: inverse distance, by the least error"), "{}", run.stdout);
    assert!(!folder.path().join("out/variogram.png").exists());

    // A smooth slope: kriging. A chequerboard: the mean.
    let slope = readings(|c, r| json!({ "depth_in": 2 * c + r / 2 }));
    let board = readings(|c, r| json!({ "depth_in": if (c + r) % 2 == 0 { 3 } else { 15 } }));
    for (readings, method, name) in
        [(slope, "ordinary kriging", "kriging"), (board, "field mean", "field mean")]
    {
        let (folder, run) = map_of(&readings, &["--method", "auto"]);
        assert_eq!(run.exit, 0, "{}", run.stderr);
        let said = summary(folder.path());
        assert_eq!((said["settings"]["method"].as_str(), &*least(&said)), (Some(method), name));
        assert!(run.stdout.contains(&format!("chosen: {name}, by")), "{}", run.stdout);
        let is_kriged = KRIGED.iter().all(|file| folder.path().join("out").join(file).exists());
        assert_eq!(is_kriged, name == "kriging");
    }
}

#[test]
fn equal_readings_and_few_readings_are_no_choice() {
    let equal = readings(|_, _| json!({ "depth_in": 9 }));
    let (folder, run) = map_of(&equal, &["--method", "auto"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert_eq!(summary(folder.path())["settings"]["method"], "field mean");
    assert!(run.stdout.contains("kriging could not be tried: all values are equal"));
    let (folder, run) = map_of(&equal, &["--method", "kriging"]);
    assert_eq!(run.exit, 1);
    assert!(run.stderr.contains("cannot be kriged; use --method idw"), "{}", run.stderr);
    assert!(run.stderr.contains("all values are equal"), "{}", run.stderr);
    assert!(!folder.path().join("out").exists());

    let (folder, run) = map_of(&features(), &["--method", "auto"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert_eq!(summary(folder.path())["settings"]["method"], "inverse-distance weighting");
    assert!(run.stdout.contains("fewer than 50 readings are too few to choose by"));
    let (folder, run) = map_of(&features(), &["--method", "kriging"]);
    assert_eq!(run.exit, 1);
    assert!(run.stderr.contains("20 readings are too few for one: it takes 50"), "{}", run.stderr);
    assert!(!folder.path().join("out").exists());

    let slope = readings(|c, r| json!({ "depth_in": 2 * c + (c * r) % 3 }));
    let (_folder, run) = map_of(&slope, &["--method", "kriging"]);
    assert!(run.stdout.contains("64 readings are few for a variogram"), "{}", run.stdout);
}

#[test]
fn the_field_mean_is_the_same_everywhere() {
    let (folder, run) = map_of(&features(), &["--method", "mean"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let said = summary(folder.path());
    // Depths 0, 3, 6, 9 and 12 in, four of each.
    assert_eq!(said["classes"][2]["share_of_field_pct"], 100.0);
    assert_eq!(said["settings"]["power"], Value::Null);
    let zones = fs::read_to_string(folder.path().join("out/zones.geojson")).unwrap();
    let zones: Value = serde_json::from_str(&zones).unwrap();
    let of_zone = &zones["features"][0]["properties"];
    assert_eq!([&of_zone["min_depth_in"], &of_zone["max_depth_in"]], [6.0, 6.0]);
}

#[test]
fn direction_sectors_and_smoothing_count() {
    let folder = tempfile::tempdir().unwrap();
    let mut rasters = Vec::new();
    for more in [
        &[][..],
        &["--direction", "15:0.5"],
        &["--direction", "-165:0.5"],
        &["--sectors", "quadrants:3"],
        &["--sectors", "octants:2"],
        &["--smoothing", "20"],
    ] {
        let run = map_demo(folder.path(), &[more, &["--power", "2", "--replace"]].concat());
        assert_eq!(run.exit, 0, "{}", run.stderr);
        let said = summary(folder.path());
        let rmse = said["cross_validation"]["rmse_in"].as_f64().unwrap();
        rasters.push((fs::read(folder.path().join("out/depth.tif")).unwrap(), rmse, run.stdout));
    }
    for (k, (raster, rmse, _)) in rasters.iter().enumerate() {
        for (other, other_rmse, _) in &rasters[..k] {
            // A direction has two ends.
            let is_same = k == 2 && (rmse - other_rmse).abs() < 1e-4;
            assert!(is_same || (raster != other && rmse != other_rmse), "{k}");
        }
    }
    assert!(rasters[1].2.contains("readings along 15° count as nearer"), "{}", rasters[1].2);
    assert!(rasters[4].2.contains("at most 2 from each octant"), "{}", rasters[4].2);
    assert!(rasters[5].2.contains("smoothed by 65.6 ft"), "{}", rasters[5].2);
}

/// Thinner than 6 in: 5 in is, 6 in and "not reached by 18 in" are not, and a rod that stopped at 4 in
/// without reaching the threshold tells nothing.
#[test]
fn a_chance_takes_not_reached_for_what_it_is() {
    let mixed = readings(|c, r| match (c, r) {
        (0, 0 | 1) => json!({ "depth_in": 4, "at_least": true }),
        (7, 7) => json!({ "depth_in": 6 }),
        (c, _) if c < 4 => json!({ "depth_in": 5 }),
        _ => json!({ "depth_in": 18, "at_least": true }),
    });
    let (folder, run) = map_of(&mixed, &["--thinner-than", "6in"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let chance = &summary(folder.path())["probability"];
    assert_eq!(chance["thinner_than_in"], 6.0);
    let counts =
        ["spots_thinner", "spots_not_thinner", "spots_unknown"].map(|n| chance[n].as_u64());
    assert_eq!(counts, [Some(30), Some(32), Some(2)]);
    assert_eq!(chance["method"]["name"], "indicator kriging");
    let check = &chance["cross_validation"];
    assert_eq!(check["spots"], 62);
    // Neighbours tell nearly all, but where the halves meet.
    assert!(check["skill_against_plain_share"].as_f64().unwrap() > 0.7, "{check}");
    let in_classes: f64 =
        chance["classes"].as_array().unwrap().iter().map(|c| c["area_ha"].as_f64().unwrap()).sum();
    let field = summary(folder.path())["field"]["area_ha"].as_f64().unwrap();
    let without = chance["unmapped_ha"].as_f64().unwrap();
    assert!((in_classes + without - field).abs() < 1e-5 * field, "{in_classes} {without} {field}");

    // In SI the file has centimetres in its name.
    let (folder, run) = map_of(&mixed, &["--thinner-than", "15cm", "--units", "si"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(folder.path().join("out/thinner_than_15cm.tif").exists());
}

#[test]
fn chances_of_few_readings_need_no_variogram() {
    let (folder, run) = map_of(&features(), &["--thinner-than", "6in"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let chance = &summary(folder.path())["probability"];
    assert_eq!(chance["method"]["name"], "inverse distance of the indicators");
    assert_eq!(chance["method"]["not_kriged_because"], "20 readings are too few");
    assert!(run.stdout.contains("not kriged: 20 readings are too few"), "{}", run.stdout);
}

/// Where the best model is nearly a straight line, kriging would draw a trend across the field.
#[test]
fn chances_without_a_range_need_no_variogram() {
    let folder = tempfile::tempdir().unwrap();
    let (survey, boundary) = (demo("visits/2025-05-31.geojson"), demo("boundary.geojson"));
    let args = ["map", &survey, "--boundary", &boundary, "--thinner-than", "9in", "--out", "out"];
    let run = loosedepth(folder.path(), &args);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let chance = &summary(folder.path())["probability"];
    assert_eq!(chance["method"]["not_kriged_because"], "the variogram found no range");
    let asked = [&args[..], &["--probability", "indicator", "--replace"]].concat();
    let run = loosedepth(folder.path(), &asked);
    assert!(
        run.stdout.contains("the readings do not tell the variogram's range"),
        "{}",
        run.stdout
    );
}

#[test]
fn a_normal_chance_comes_with_its_assumption() {
    let folder = tempfile::tempdir().unwrap();
    let more = ["--method", "kriging", "--thinner-than", "12in", "--probability", "normal"];
    let run = map_demo(folder.path(), &more);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(run.stdout.contains("as if normally distributed: an assumption"), "{}", run.stdout);
    let chance = &summary(folder.path())["probability"];
    assert_eq!(chance["cross_validation"]["spots"], 108);
}

/// Six percent less squared error is little to act on.
#[test]
fn a_little_better_is_said_to_be_little() {
    let folder = tempfile::tempdir().unwrap();
    let (survey, boundary) = (demo("visits/2025-04-26.geojson"), demo("boundary.geojson"));
    let args = ["map", &survey, "--boundary", &boundary, "--thinner-than", "9in", "--out", "out"];
    let run = loosedepth(folder.path(), &args);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let check = &summary(folder.path())["probability"]["cross_validation"];
    let skill = check["skill_against_plain_share"].as_f64().unwrap();
    assert!(0.0 < skill && skill < 0.1, "{skill}");
    assert!(run.stdout.contains("barely better than one chance"), "{}", run.stdout);
}

/// Replacing takes away nothing, and what is left of another run is named.
#[test]
fn results_of_another_run_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let first = ["--method", "kriging", "--realisations", "0", "--thinner-than", "12in"];
    assert_eq!(map_demo(folder.path(), &first).stderr.matches("another run").count(), 0);
    let run = map_demo(folder.path(), &["--thinner-than", "9in", "--replace"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let left = "not of this map: standard_error.png, standard_error.tif, thinner_than_12in.png, \
                thinner_than_12in.tif, variogram.png";
    assert!(run.stderr.contains(left), "{}", run.stderr);
}

/// The mean errs just as much as itself, whatever rounding says.
#[test]
fn the_mean_does_not_beat_itself() {
    let folder = tempfile::tempdir().unwrap();
    let run = map_demo(folder.path(), &["--method", "mean"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(run.stdout.contains("the map is the field mean"), "{}", run.stdout);
    assert!(!run.stdout.contains("less squared error"), "{}", run.stdout);
    assert_eq!(summary(folder.path())["cross_validation"]["beats_field_mean"], false);
}

#[test]
fn simulated_areas_are_of_the_field() {
    let folder = tempfile::tempdir().unwrap();
    let run = map_demo(folder.path(), &["--method", "kriging", "--realisations", "40"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let said = summary(folder.path());
    assert_eq!(said["class_area_simulation"]["realisations"], 40);
    let field = said["field"]["area_ac"].as_f64().unwrap();
    for class in said["classes"].as_array().unwrap() {
        let area = &class["simulated_area"];
        let [low, median, high] = ["low_10_pct_ac", "median_ac", "high_90_pct_ac"]
            .map(|name| area[name].as_f64().unwrap());
        assert!(0.0 <= low && low <= median && median <= high && high <= field, "{class}");
    }
    assert!(run.stdout.contains("median and 80 % interval"), "{}", run.stdout);
    let without = ["--method", "kriging", "--realisations", "0", "--replace"];
    let run = map_demo(folder.path(), &without);
    assert!(!run.stdout.contains("80 % interval)"), "{}", run.stdout);
    assert_eq!(summary(folder.path())["class_area_simulation"], Value::Null);
}

#[test]
fn options_that_cannot_be_are_refused_before_anything_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let cases: &[(&[&str], i32, &str)] = &[
        (&["--method", "best"], 2, "invalid value 'best'"),
        (&["--direction", "15"], 2, "15:0.5"),
        (&["--direction", "15:0"], 2, "a ratio from 0.01 to 1"),
        (&["--direction", "15:2"], 2, "a ratio from 0.01 to 1"),
        (&["--direction", "nan:0.5"], 2, "an azimuth is from"),
        (&["--sectors", "thirds:3"], 2, "quadrants:3"),
        (&["--sectors", "quadrants:0"], 2, "quadrants:3"),
        (&["--smoothing", "-1"], 1, "smoothing length must be 0 m or more"),
        (&["--smoothing", "nan"], 1, "smoothing length must be 0 m or more"),
        (&["--thinner-than", "6"], 2, "no unit"),
        (&["--thinner-than", "0in"], 1, "--thinner-than must be above 0"),
        (&["--thinner-than", "2in"], 1, "no reading is thinner than 2 in"),
        (&["--thinner-than", "2in"], 1, "the shallowest is 3 in: give a greater"),
        (
            &["--thinner-than", "19in"],
            1,
            "every reading of which it is known is thinner than 19 in",
        ),
        (&["--probability", "normal"], 2, "--thinner-than"),
        (
            &["--thinner-than", "9in", "--probability", "normal"],
            1,
            "needs the variance of kriging, and the map is made by inverse distance",
        ),
        (&["--thinner-than", "6in", "--probability", "indicator"], 1, "5 readings on each side"),
        (&["--method", "kriging", "--power", "2"], 1, "kriging has no use for --power"),
        (&["--method", "kriging", "--smoothing", "2"], 1, "kriging has no use for --smoothing"),
        (&["--method", "mean", "--neighbours", "2"], 1, "mean has no use for --neighbours"),
        (&["--method", "mean", "--direction", "9:0.5"], 1, "mean has no use for --direction"),
        (&["--method", "kriging", "--neighbours", "0"], 1, "at least 1"),
        (&["--method", "kriging", "--realisations", "1000000"], 1, "from 20 to 10000, not 1000000"),
        (&["--method", "auto", "--realisations", "1"], 1, "0 for none, or from 20 to 10000, not 1"),
        (&["--realisations", "50"], 1, "idw has no use for --realisations"),
        (&["--method", "mean", "--seed", "2"], 1, "mean has no use for --seed"),
    ];
    for (more, exit, words) in cases {
        let run = map_demo(folder.path(), more);
        assert_eq!(run.exit, *exit, "{more:?}: {}", run.stderr);
        assert!(run.stderr.contains(words), "{more:?}: {}", run.stderr);
        assert_eq!(run.stdout, "", "{more:?}");
        assert!(!folder.path().join("out").exists(), "{more:?}");
    }
}
