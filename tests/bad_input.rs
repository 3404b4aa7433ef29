//! Bad input gets one clear message that names file, feature and field, exit code 1, and no file.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

#[path = "support/mod.rs"]
mod support;

use std::fs;

use serde_json::{Value, json};
use support::{collection, demo, features, loosedepth, point, ring};

/// Maps a survey and a boundary given as text. Returns the error, and makes sure that it is the
/// last thing said, that the exit code is 1 and nothing was written.
fn error_of(survey: &str, boundary: Option<&str>, more: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("s.geojson"), survey).unwrap();
    let mut args = vec!["map", "s.geojson", "--out", "out"];
    if let Some(boundary) = boundary {
        fs::write(folder.path().join("b.geojson"), boundary).unwrap();
        args.extend(["--boundary", "b.geojson"]);
    }
    let run = loosedepth(folder.path(), &[&args, more].concat());
    assert_eq!(run.exit, 1, "{}{}", run.stdout, run.stderr);
    assert_eq!(run.stdout, "");
    assert!(!folder.path().join("out").exists());
    let errors: Vec<&str> = run.stderr.lines().filter(|l| l.starts_with("error: ")).collect();
    assert_eq!(errors.len(), 1, "{}", run.stderr);
    run.stderr[run.stderr.find("error: ").unwrap()..].trim_end().to_owned()
}

fn assert_says(error: &str, parts: &[&str]) {
    for part in parts {
        assert!(error.contains(part), "{part:?} is not in {error:?}");
    }
}

fn good() -> String {
    collection(&features())
}

/// The readings with each feature changed.
fn changed(change: impl Fn(usize, &mut Value)) -> String {
    let mut features = features();
    features.iter_mut().enumerate().for_each(|(k, feature)| change(k, feature));
    collection(&features)
}

#[test]
fn files_that_are_not_a_collection_of_points() {
    let cases: [(&str, &[&str]); 7] = [
        ("", &["s.geojson", "empty"]),
        (" \n", &["s.geojson", "empty"]),
        ("lon,lat\n1,2\n", &["s.geojson", "no column", "lon, lat", "--depth-field"]),
        (&good()[..300], &["s.geojson", "not JSON", "line 1, column 300"]),
        ("[1, 2]", &["s.geojson", "it is a list", "FeatureCollection"]),
        (r#"{"type": "Feature"}"#, &["s.geojson", "it is a Feature"]),
        (&collection(&[]), &["s.geojson", "no features"]),
    ];
    for (text, parts) in cases {
        assert_says(&error_of(text, None, &[]), parts);
    }
    assert_says(&error_of(&format!("{}x", good()), None, &[]), &["not JSON", "trailing"]);
}

#[test]
fn too_few_readings() {
    assert_says(
        &error_of(&collection(&features()[..2]), None, &[]),
        &["2 usable readings", "at least 3"],
    );
    let stones = changed(|_, f| f["properties"] = json!({ "depth_in": null, "note": "stone" }));
    assert_says(&error_of(&stones, None, &[]), &["0 usable readings", "20 stopped by stones"]);
}

#[test]
fn coordinates_that_cannot_be() {
    let swapped = changed(|_, f| {
        let c = &mut f["geometry"]["coordinates"];
        *c = json!([c[1], c[0]]);
    });
    assert_says(
        &error_of(&swapped, None, &[]),
        &["s.geojson", "feature 1", "latitude -95.62", "swapped?"],
    );
    let metres = changed(|_, f| f["geometry"]["coordinates"] = json!([282_770, 4_645_300]));
    assert_says(&error_of(&metres, None, &[]), &["feature 1", "not on Earth", "degrees"]);
    let text = changed(|_, f| f["geometry"]["coordinates"][0] = json!("-95.62"));
    assert_says(&error_of(&text, None, &[]), &["feature 1", "longitude is the text \"-95.62\""]);
    let null = changed(|_, f| f["geometry"]["coordinates"][1] = Value::Null);
    assert_says(&error_of(&null, None, &[]), &["feature 1", "latitude is null"]);
    let infinite = good().replace("-95.62,", "1e999,");
    assert_says(&error_of(&infinite, None, &[]), &["s.geojson", "number out of range"]);
    let mut utm: Value = serde_json::from_str(&good()).unwrap();
    utm["crs"] = json!({ "type": "name", "properties": { "name": "urn:ogc:def:crs:EPSG::32615" } });
    assert_says(
        &error_of(&utm.to_string(), None, &[]),
        &["s.geojson", "feature 1", "looks like degrees, not like EPSG:32615"],
    );
    let lines = changed(|_, f| {
        f["geometry"] = json!({ "type": "LineString", "coordinates": [[1, 2], [3, 4]] });
    });
    assert_says(
        &error_of(&lines, None, &[]),
        &["s.geojson", "no points", "LineString", "is it the boundary?"],
    );
}

#[test]
fn depths_that_cannot_be() {
    let with = |value: Value| changed(|_, f| f["properties"]["depth_in"] = value.clone());
    assert_says(
        &error_of(&with(json!("9")), None, &[]),
        &["feature 1", "depth_in is the text \"9\""],
    );
    assert_says(&error_of(&with(json!(-3)), None, &[]), &["feature 1", "-3 in is negative"]);
    assert_says(
        &error_of(&with(json!(215)), None, &[]),
        &["feature 1", "215 in is deeper", "unit"],
    );
    let unknown = changed(|_, f| f["properties"] = json!({ "D200": 9, "farm": "x" }));
    assert_says(&error_of(&unknown, None, &[]), &["D200, farm", "--depth-field NAME --depth-unit"]);
    let unitless = changed(|_, f| f["properties"] = json!({ "depth": 9 }));
    assert_says(&error_of(&unitless, None, &[]), &["\"depth\" does not say its unit"]);
    let field = ["--depth-field", "D300", "--depth-unit", "in"];
    assert_says(
        &error_of(&unknown, None, &field),
        &["no feature has the property \"D300\"", "D200"],
    );
}

#[test]
fn visits_and_thresholds_are_not_mixed() {
    let dates =
        changed(|k, f| f["properties"]["date"] = json!(["2025-04-14", "2025-04-26"][k % 2]));
    assert_says(
        &error_of(&dates, None, &[]),
        &["2 dates", "10 of 2025-04-14", "--date 2025-04-14"],
    );
    assert_says(
        &error_of(&dates, None, &["--date", "2025-05-01"]),
        &["no reading is of 2025-05-01"],
    );
    let thresholds = changed(|k, f| f["properties"]["threshold_psi"] = json!([200, 300][k % 2]));
    assert_says(
        &error_of(&thresholds, None, &[]),
        &["10 at 200 psi, 10 at 300 psi", "--threshold"],
    );
    assert_says(
        &error_of(&thresholds, None, &["--threshold", "2MPa"]),
        &["taken at 2 MPa", "10 at 300 psi"],
    );
}

#[test]
fn boundaries_that_cannot_be() {
    let polygon = |rings: Value| json!({ "type": "Polygon", "coordinates": rings }).to_string();
    let ring = ring();
    let error = |boundary: &str| error_of(&good(), Some(boundary), &[]);
    let crossing = json!([[ring[0], ring[2], ring[1], ring[3], ring[0]]]);
    assert_says(&error(&polygon(crossing)), &["b.geojson", "lines meet near longitude -95.6191"]);
    let open = json!([[ring[0], ring[1], ring[2], ring[3]]]);
    assert_says(&error(&polygon(open)), &["b.geojson", "ring 1 is not closed"]);
    assert_says(
        &error(&polygon(json!([[ring[0], ring[1], ring[0]]]))),
        &["b.geojson", "3 positions"],
    );
    assert_says(&error(&good()), &["b.geojson", "20 features, the first a Point", "one Polygon"]);
    assert_says(
        &error(&point(-95.62, 41.93, &json!({})).to_string()),
        &["b.geojson", "it is a Point"],
    );
    assert_says(&error("{}"), &["b.geojson"]);
    assert_says(&error(&polygon(json!([[[1], [2], [3], [1]]]))), &["b.geojson"]);
    let metres = json!([[
        [282_770, 4_645_300],
        [282_900, 4_645_300],
        [282_900, 4_645_500],
        [282_770, 4_645_300]
    ]]);
    assert_says(&error(&polygon(metres)), &["b.geojson", "outside the UTM grid", "degrees"]);
    let far = json!([[[-94.0, 41.0], [-93.99, 41.0], [-93.99, 41.01], [-94.0, 41.0]]]);
    assert_says(&error(&polygon(far)), &["s.geojson", "km from the boundary"]);
    let huge = json!([[[-95.0, 41.0], [-93.0, 41.0], [-93.0, 43.0], [-95.0, 41.0]]]);
    assert_says(&error(&polygon(huge)), &["b.geojson", "at most 100 km"]);
}

#[test]
fn settings_that_make_no_map() {
    let polygon = json!({ "type": "Polygon", "coordinates": [ring()] }).to_string();
    let error = |more: &[&str]| error_of(&good(), Some(&polygon), more);
    assert_says(&error(&["--cell", "0"]), &["a cell must be"]);
    assert_says(&error(&["--reach", "-5"]), &["reach must be above zero"]);
    assert_says(&error(&["--cell", "1e300"]), &["a cell of 1e", "wider than the field"]);
    assert_says(&error(&["--cell", "1000"]), &["wider than the field"]);
    assert_says(&error(&["--reach", "0.001"]), &["within the reach of 0.001 m"]);
    assert_says(&error(&["--classes", "3.001,3.004,9"]), &["class limits"]);
    assert_says(&error(&["--classes", "6,3"]), &["class limits", "6,3"]);
    assert_says(&error(&["--neighbours", "0"]), &["at least 1"]);
    let far = error(&["--cell", "2", "--border-tolerance", "40.1m"]);
    assert_says(&far, &["--border-tolerance", "from 0 to 40 m", "20 cells of 2 m", "not 40.1 m"]);
    let km_wide = json!([[
        [-95.62, 41.93],
        [-95.32, 41.93],
        [-95.32, 42.13],
        [-95.62, 42.13],
        [-95.62, 41.93]
    ]]);
    let polygon = json!({ "type": "Polygon", "coordinates": km_wide }).to_string();
    let error = error_of(&good(), Some(&polygon), &["--cell", "0.5"]);
    assert_says(
        &error,
        &["a cell of 0.5 m makes", "million cells", "at most 50 million", "use a cell of"],
    );
}

#[test]
fn files_and_folders_that_cannot_be_used() {
    let folder = tempfile::tempdir().unwrap();
    let run = loosedepth(folder.path(), &["map", "none.geojson", "--out", "out"]);
    assert_eq!(run.exit, 1);
    assert_says(&run.stderr, &["error: none.geojson: cannot be read", "because: "]);
    fs::write(folder.path().join("file"), "kept").unwrap();
    for out in ["file", "file/under"] {
        let run =
            loosedepth(folder.path(), &["map", &demo("visits/2025-04-14.geojson"), "--out", out]);
        assert_eq!(run.exit, 1, "{}", run.stderr);
        assert_says(&run.stderr, &["error: file"]);
    }
    assert_eq!(fs::read_to_string(folder.path().join("file")).unwrap(), "kept");
    let latin = [0x7b, 0xe9, 0x7d];
    fs::write(folder.path().join("latin.geojson"), latin).unwrap();
    let run = loosedepth(folder.path(), &["check", "latin.geojson"]);
    assert_says(&run.stderr, &["latin.geojson: not UTF-8"]);
}

#[test]
fn rasters_that_cannot_be_made_leave_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let survey = demo("visits/2025-04-14.geojson");
    let error = |more: &[&str]| {
        let args = ["raster", &survey, "--boundary", &demo("boundary.geojson")];
        let run = loosedepth(folder.path(), &[&args[..], more].concat());
        assert_eq!(run.exit, 1, "{}", run.stderr);
        run.stderr
    };
    assert_says(&error(&["--out", "new/a.tif", "--reach", "0.001"]), &["reach of 0.001 m"]);
    assert_says(&error(&["--out", "a.tif", "--cell", "0"]), &["a cell must be"]);
    let two = ["--out", "a.tif", "--threshold", "200psi", "--threshold", "300psi"];
    assert_says(&error(&two), &["raster takes one --threshold"]);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    assert_says(&error(&["--out", "."]), &["error: . is a folder"]);
    fs::write(folder.path().join("file"), "kept").unwrap();
    assert_says(&error(&["--out", "file/a.tif"]), &["error: file/a.tif: cannot be written"]);
    assert_eq!(fs::read_to_string(folder.path().join("file")).unwrap(), "kept");
    let square = json!([[
        [-95.62, 41.93],
        [-95.32, 41.93],
        [-95.32, 42.13],
        [-95.62, 42.13],
        [-95.62, 41.93]
    ]]);
    let polygon = json!({ "type": "Polygon", "coordinates": square }).to_string();
    fs::write(folder.path().join("b.geojson"), polygon).unwrap();
    fs::write(folder.path().join("s.geojson"), good()).unwrap();
    let args = ["raster", "s.geojson", "--boundary", "b.geojson", "--out", "a.tif", "--cell"];
    let run = loosedepth(folder.path(), &[&args[..], &["0.2"]].concat());
    assert_eq!(run.exit, 1);
    assert_says(&run.stderr, &["a raster holds at most 4000 million", "use a cell of"]);
}

#[test]
fn wrong_arguments_end_with_2() {
    let folder = tempfile::tempdir().unwrap();
    for args in [
        &["map", "s.geojson"][..],
        &["map", "s.geojson", "--out", "o", "--threshold", "200"],
        &["map", "s.geojson", "--out", "o", "--power", "much"],
        &["check", "s.geojson", "--depth-field", "D"],
        &["dig"],
    ] {
        assert_eq!(loosedepth(folder.path(), args).exit, 2, "{args:?}");
    }
}
