//! The built command on the demo data and on a user's own file: exit code, text and files.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

#[path = "support/mod.rs"]
mod support;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use serde_json::{Value, json};
use support::{assert_as_kept, collection, demo, features, loosedepth, point, ring, root};

const FILES: [&str; 4] = ["depth.tif", "map.png", "summary.json", "zones.geojson"];

fn map_demo(folder: &Path, more: &[&str]) -> support::Run {
    let (survey, boundary) = (demo("visits/2025-04-14.geojson"), demo("boundary.geojson"));
    let args = ["map", &survey, "--boundary", &boundary, "--out", "out"];
    loosedepth(folder, &[&args[..], more].concat())
}

fn bytes(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap())
        .map(|entry| (entry.file_name().into_string().unwrap(), fs::read(entry.path()).unwrap()))
        .collect()
}

fn json_of(folder: &Path, name: &str) -> Value {
    serde_json::from_slice(&fs::read(folder.join(name)).unwrap()).unwrap()
}

#[test]
fn the_demo_field_is_mapped_and_the_same_input_gives_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let run = map_demo(folder.path(), &[]);
    assert_eq!(run.exit, 0);
    assert!(run.stderr.lines().all(|line| line.starts_with("note: ")), "{}", run.stderr);
    assert_as_kept(&run.stdout, "map_demo.txt");
    let first = bytes(&out);
    assert_eq!(first.keys().collect::<Vec<_>>(), FILES);

    let again = map_demo(folder.path(), &[]);
    assert_eq!(again.exit, 1);
    assert!(again.stderr.contains("already holds depth.tif, zones.geojson, map.png, summary.json"));
    assert!(bytes(&out) == first, "a refused run changes nothing");

    let replaced = map_demo(folder.path(), &["--replace"]);
    assert_eq!(replaced.exit, 0);
    assert!(bytes(&out) == first, "the same input gives the same bytes");
}

#[test]
fn a_kriged_demo_field_with_a_chance_is_told_as_kept() {
    let folder = tempfile::tempdir().unwrap();
    let run = map_demo(folder.path(), &["--method", "kriging", "--thinner-than", "12in"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert_as_kept(&run.stdout, "map_demo_kriging.txt");
}

#[test]
fn the_raster_alone_is_that_of_the_map() {
    let folder = tempfile::tempdir().unwrap();
    for more in [&[][..], &["--cell", "0.9", "--neighbours", "6", "--reach", "40"]] {
        let map = map_demo(folder.path(), &[more, &["--replace"]].concat());
        let (survey, boundary) = (demo("visits/2025-04-14.geojson"), demo("boundary.geojson"));
        let args = ["raster", &survey, "--boundary", &boundary, "--out", "new/raster.tif"];
        let run = loosedepth(folder.path(), &[&args[..], more, &["--replace"]].concat());
        assert_eq!((map.exit, run.exit), (0, 0), "{}", run.stderr);
        assert_eq!(map.stderr, run.stderr, "the same findings");
        let lines = |text: &str| text.lines().map(String::from).collect::<Vec<String>>();
        let (said, of_map) = (lines(&run.stdout), lines(&map.stdout));
        let (wrote, said) = said.split_last().unwrap();
        assert!(said.iter().all(|line| of_map.contains(line)), "{said:?}");
        assert!(wrote.starts_with("wrote new/raster.tif: "), "{wrote}");
        let files = bytes(&folder.path().join("new"));
        assert_eq!(files.len(), 1, "nothing but the raster");
        assert!(files["raster.tif"] == bytes(&folder.path().join("out"))["depth.tif"]);

        let again = loosedepth(folder.path(), &args);
        assert_eq!(again.exit, 1);
        assert!(again.stderr.contains("new/raster.tif is there already"), "{}", again.stderr);
        assert!(bytes(&folder.path().join("new")) == files, "a refused run changes nothing");
    }
}

#[test]
fn a_check_says_what_is_in_a_survey_and_writes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let (survey, boundary) = (demo("visits/2025-07-19.geojson"), demo("boundary.geojson"));
    let run = loosedepth(folder.path(), &["check", &survey, "--boundary", &boundary]);
    assert_eq!(run.exit, 0);
    assert!(run.stderr.lines().all(|line| line.starts_with("note: ")), "{}", run.stderr);
    assert_as_kept(&run.stdout, "check_demo.txt");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn zones_and_unmapped_ground_make_up_the_field() {
    let folder = tempfile::tempdir().unwrap();
    for more in [&["--reach", "35"][..], &["--smallest-zone", "0ha", "--cell", "3.7"]] {
        let run = map_demo(folder.path(), &[more, &["--replace"]].concat());
        assert_eq!(run.exit, 0, "{}", run.stderr);
        let out = folder.path().join("out");
        let (zones, summary) = (json_of(&out, "zones.geojson"), json_of(&out, "summary.json"));
        let number = |value: &Value| value.as_f64().unwrap();
        let zones = zones["features"].as_array().unwrap();
        let sum: f64 = zones.iter().map(|zone| number(&zone["properties"]["area_ha"])).sum();
        let unmapped = number(&summary["unmapped"]["area_ha"]);
        let field = number(&summary["field"]["area_ha"]);
        // Each area in the file is rounded to 0.01 m².
        assert!(
            (sum + unmapped - field).abs() < 1e-6 * zones.len() as f64,
            "{sum} {unmapped} {field}"
        );
        let by_class: f64 = summary["classes"]
            .as_array()
            .unwrap()
            .iter()
            .map(|class| number(&class["area_ha"]))
            .sum();
        assert!((by_class - sum).abs() < 1e-6 * zones.len() as f64);
        assert_eq!(unmapped > 0.5, more[0] == "--reach", "{unmapped}");
        assert!(zones.iter().all(|zone| zone["id"] == zone["properties"]["zone_id"]));
        let probes: u64 =
            zones.iter().map(|zone| zone["properties"]["probes"].as_u64().unwrap()).sum();
        assert_eq!(probes, 108);
    }
}

#[test]
fn rules_for_zones_are_told_and_kept() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let rules =
        ["--swath", "30ft", "--heading", "75", "--zone-cells", "swath", "--most-zones", "5"];
    let run = map_demo(folder.path(), &rules);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    for told in [
        "zones are at least 60 ft wide, and drawn 120 ft long along passes of 75°",
        "squares of 30 ft in line with passes of 75°",
        "joined in this order, for at most 5 zones:\n  1. ",
    ] {
        assert!(run.stdout.contains(told), "{told}: {}", run.stdout);
    }
    let (zones, summary) = (json_of(&out, "zones.geojson"), json_of(&out, "summary.json"));
    let number = |value: &Value| value.as_f64().unwrap();
    let zones = zones["features"].as_array().unwrap();
    assert!((1..=5).contains(&zones.len()), "{}", zones.len());
    let sum: f64 = zones.iter().map(|zone| number(&zone["properties"]["area_ha"])).sum();
    assert!((sum - number(&summary["field"]["area_ha"])).abs() < 1e-5, "{sum}");
    let settings = &summary["settings"];
    let set = ["swath_m", "narrowest_zone_m", "zone_length_along_passes_m", "heading_deg"];
    assert_eq!(set.map(|name| number(&settings[name])), [9.144, 18.288, 36.576, 75.0]);
    assert_eq!(settings["most_zones"], json!(5));
    let joins = summary["zones_joined"]["joins"].as_array().unwrap();
    assert!(joins.iter().enumerate().all(|(k, join)| join["order"] == json!(k + 1)));
    assert!(!joins.is_empty() && summary["zones_joined"]["within_most_zones"] == json!(true));
}

#[test]
fn rules_for_zones_that_mean_nothing_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    for (more, told) in [
        (["--zone-cells", "swath"], "--zone-cells swath needs the width of --swath"),
        (["--heading", "400"], "the heading must be from 0 to 360 degrees"),
        (["--heading", "90"], "--heading alone changes nothing"),
        (["--zone-cells", "1ft"], "must be as wide as the map's, 6.6 ft (2 m), or wider"),
        (
            ["--narrowest-zone", "9000ft"],
            "no zone can be 9000 ft (2743.2 m) wide in a field that is",
        ),
        (["--most-zones", "0"], "--most-zones 1 or more"),
    ] {
        let run = map_demo(folder.path(), &more);
        assert_eq!(run.exit, 1, "{more:?}");
        assert!(run.stderr.contains(told), "{told}: {}", run.stderr);
        assert!(!folder.path().join("out").exists());
    }
}

#[test]
fn a_users_own_file_needs_no_boundary_and_may_name_its_depth() {
    let folder = tempfile::tempdir().unwrap();
    let own: Vec<Value> = features()
        .into_iter()
        .map(|mut feature| {
            let depth = feature["properties"]["depth_in"].as_f64().unwrap() * 2.54;
            feature["properties"] = json!({ "D200": depth, "farm": "ours" });
            feature
        })
        .collect();
    fs::write(folder.path().join("own.geojson"), collection(&own)).unwrap();
    let run = loosedepth(
        folder.path(),
        &[
            "map",
            "own.geojson",
            "--depth-field",
            "D200",
            "--depth-unit",
            "cm",
            "--units",
            "si",
            "--out",
            "a/b",
        ],
    );
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(run.stderr.contains("boundary: none was given"), "{}", run.stderr);
    assert!(run.stdout.contains("hull widened by"), "{}", run.stdout);
    let summary = json_of(&folder.path().join("a/b"), "summary.json");
    assert_eq!(summary["field"]["outline"], "convex hull of the probes, widened");
    assert_eq!(summary["settings"]["units"], "si");
    assert_eq!(summary["classes"][5]["name"], "≥ 50 cm");
    let zones = json_of(&folder.path().join("a/b"), "zones.geojson");
    let properties = zones["features"][0]["properties"].as_object().unwrap();
    assert!(properties.contains_key("mean_depth_cm") && !properties.contains_key("mean_depth_in"));
}

#[test]
fn left_out_readings_are_named_and_the_exit_code_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let mut readings = features();
    readings[2] = point(-95.6, 41.93, &json!({ "depth_in": 6, "point_id": "far" }));
    readings[7]["properties"] = json!({ "depth_in": null, "note": "stone" });
    readings[8]["properties"] = json!({ "depth_in": 18, "at_least": true });
    fs::write(folder.path().join("s.geojson"), collection(&readings)).unwrap();
    let boundary = json!({ "type": "Polygon", "coordinates": [ring()] });
    fs::write(folder.path().join("b.geojson"), boundary.to_string()).unwrap();
    let run = loosedepth(
        folder.path(),
        &["map", "s.geojson", "--boundary", "b.geojson", "--out", "out", "--power", "2"],
    );
    assert_eq!(run.exit, 3, "{}", run.stderr);
    assert!(run.stderr.contains("fault: point far, feature 3: 1.5 km outside"), "{}", run.stderr);
    assert!(run.stdout.contains("1 stopped by stones or roots"), "{}", run.stdout);
    let summary = json_of(&folder.path().join("out"), "summary.json");
    assert_eq!(summary["survey"]["spots_with_reading"], 18);
    assert_eq!(summary["survey"]["not_reached"], 1);
    assert_eq!(summary["survey"]["stopped_by_stone"], 1);
    assert_eq!(summary["settings"]["power"], 2.0);
    assert_eq!(summary["settings"]["power_chosen_by_cross_validation"], false);
}

#[test]
fn a_map_that_does_not_beat_the_field_mean_says_so() {
    let folder = tempfile::tempdir().unwrap();
    // Depths that alternate like a chequerboard: every neighbour is wrong.
    let readings: Vec<Value> = features()
        .into_iter()
        .enumerate()
        .map(|(k, mut feature)| {
            feature["properties"]["depth_in"] =
                json!(if (k % 5 + k / 5) % 2 == 0 { 3 } else { 15 });
            feature
        })
        .collect();
    fs::write(folder.path().join("s.geojson"), collection(&readings)).unwrap();
    let run = loosedepth(folder.path(), &["map", "s.geojson", "--out", "out"]);
    assert_eq!(run.exit, 0);
    assert!(run.stdout.contains("does NOT beat the field mean: 9.0 in"), "{}", run.stdout);
    let summary = json_of(&folder.path().join("out"), "summary.json");
    assert_eq!(summary["cross_validation"]["beats_field_mean"], false);
}

#[test]
fn a_field_never_reached_is_all_in_the_deepest_class() {
    let folder = tempfile::tempdir().unwrap();
    let readings: Vec<Value> = features()
        .into_iter()
        .map(|mut feature| {
            feature["properties"] = json!({ "depth_in": 17, "at_least": true });
            feature
        })
        .collect();
    fs::write(folder.path().join("s.geojson"), collection(&readings)).unwrap();
    let run = loosedepth(folder.path(), &["map", "s.geojson", "--classes", "6,17", "--out", "out"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(run.stdout.contains("all readings are equal"), "{}", run.stdout);
    let summary = json_of(&folder.path().join("out"), "summary.json");
    assert_eq!(summary["classes"][2]["share_of_field_pct"], 100.0);
    assert_eq!(summary["settings"]["power_chosen_by_cross_validation"], false);
}

#[test]
fn a_wide_field_is_mapped_whole() {
    let folder = tempfile::tempdir().unwrap();
    let readings: Vec<Value> = (0..25)
        .map(|k| {
            let (east, north) = (0.01 * f64::from(k % 5), 0.008 * f64::from(k / 5));
            point(-95.62 + east, 41.93 + north, &json!({ "depth_in": k % 5 * 3 }))
        })
        .collect();
    fs::write(folder.path().join("s.geojson"), collection(&readings)).unwrap();
    let square = json!([
        [-95.625, 41.925],
        [-95.575, 41.925],
        [-95.575, 41.97],
        [-95.625, 41.97],
        [-95.625, 41.925]
    ]);
    let boundary = json!({ "type": "Polygon", "coordinates": [square] });
    fs::write(folder.path().join("b.geojson"), boundary.to_string()).unwrap();
    let args = ["map", "s.geojson", "--boundary", "b.geojson", "--out", "out"];
    let run = loosedepth(folder.path(), &args);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let summary = json_of(&folder.path().join("out"), "summary.json");
    let area = |value: &Value| value["area_ha"].as_f64().unwrap();
    let classes: f64 = summary["classes"].as_array().unwrap().iter().map(area).sum();
    let (unmapped, field) = (area(&summary["unmapped"]), area(&summary["field"]));
    assert!(field > 2_000.0 && ((classes + unmapped) / field - 1.0).abs() < 1e-6);
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    let folder = tempfile::tempdir().unwrap();
    let survey = demo("visits/2025-04-14.geojson");
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_loosedepth"))
        .args(["check", &survey])
        .current_dir(folder.path())
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::null())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

#[test]
fn every_kept_text_is_used() {
    let used = [
        "calendar_demo.txt",
        "check_demo.txt",
        "compare_demo.txt",
        "help_calendar.txt",
        "help_map.txt",
        "help_open.txt",
        "help_plan.txt",
        "help_report.txt",
        "help_spots.txt",
        "map_demo.txt",
        "map_demo_kriging.txt",
        "plan_demo.txt",
        "season_demo.txt",
        "season_visits.csv",
        "spots_demo.txt",
        "trial_demo.txt",
    ];
    let mut kept: Vec<String> = fs::read_dir(root().join("tests/expected"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    kept.sort();
    assert_eq!(kept, used);
}

#[test]
fn help_is_as_kept() {
    let folder = tempfile::tempdir().unwrap();
    for command in ["calendar", "map", "plan", "report", "spots"] {
        let run = loosedepth(folder.path(), &[command, "--help"]);
        assert_eq!(run.exit, 0);
        assert!(run.stdout.lines().all(|line| line.chars().count() <= 98), "help fits 98 columns");
        assert_as_kept(&run.stdout, &format!("help_{command}.txt"));
    }
}
