//! The built command on files of a map and of a plan: what it says, and how it ends.

#[path = "support/mod.rs"]
mod support;

use std::fs;

use support::{demo, loosedepth};

#[test]
fn files_of_a_map_and_a_plan_say_the_same_ground() {
    let folder = tempfile::tempdir().unwrap();
    let run = |args: &[&str]| {
        let run = loosedepth(folder.path(), args);
        assert_eq!(run.exit, 0, "{args:?}: {}", run.stderr);
        run.stdout
    };
    let (survey, boundary) = (demo("visits/2025-04-14.geojson"), demo("boundary.geojson"));
    run(&["map", &survey, "--boundary", &boundary, "--out", "map"]);
    let rates = demo("rates.toml");
    run(&["plan", "map/zones.geojson", "--rates", &rates, "--out", "plan", "--check-strips", "3"]);
    let zones = run(&["inspect", "map/zones.geojson"]);
    assert!(
        zones.starts_with("map/zones.geojson: GeoJSON (RFC 7946)\nfield: North Bench\n"),
        "{zones}"
    );
    let total = |text: &str| {
        let line = text.lines().find(|line| line.ends_with(" in all")).unwrap().to_owned();
        line.rsplit_once(", ").unwrap().1.to_owned()
    };
    for name in ["plan.geojson", "plan.gpkg", "plan.kml", "loosen.shp", "gypsum.dbf"] {
        let said = run(&["inspect", &format!("plan/{name}")]);
        assert_eq!(total(&said), total(&zones), "{name}: {said}");
        assert!(!said.contains("overlap") && !said.contains("no valid"), "{name}: {said}");
    }
    let hectares = run(&["inspect", "plan/plan.gpkg", "--units", "si"]);
    assert!(total(&hectares).ends_with(" ha in all"), "{hectares}");
    let raster = run(&["inspect", "plan/loosen.tif"]);
    assert!(
        raster.contains("values: tillage depth in cm\n") && raster.contains(" 35.56 cm\n"),
        "{raster}"
    );
}

#[test]
fn what_is_no_such_file_is_told_in_one_line() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("a.png"), b"\x89PNG\r\n\x1a\n").unwrap();
    let run = loosedepth(folder.path(), &["inspect", "a.png"]);
    assert_eq!((run.exit, run.stdout.as_str()), (1, ""));
    assert!(
        run.stderr.starts_with("error: a.png: is a picture; what can be inspected is "),
        "{}",
        run.stderr
    );
    let run = loosedepth(folder.path(), &["inspect", "missing"]);
    assert_eq!((run.exit, run.stderr.lines().next()), (1, Some("error: missing: cannot be read")));
}
