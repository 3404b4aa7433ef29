//! `loosedepth compare` from arguments to files.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

#[path = "support/mod.rs"]
mod support;

use std::fs;
use std::path::Path;

use serde_json::{Value, json};
use support::{Run, assert_as_kept, collection, demo, features, loosedepth, point, ring};

const FILES: [&str; 5] =
    ["change.png", "change.tif", "change_uncertainty.tif", "compare.json", "pairs.csv"];

fn compare_demo(folder: &Path, days: [&str; 2], more: &[&str]) -> Run {
    let (field, [earlier, later]) = (demo(""), days);
    let args = ["compare", &field, earlier, later, "--cell", "10", "--out", "out"];
    loosedepth(folder, &[&args[..], more].concat())
}

fn summary(folder: &Path) -> Value {
    serde_json::from_slice(&fs::read(folder.join("out/compare.json")).unwrap()).unwrap()
}

/// Compares two files of readings within a boundary around the twenty.
fn compare_files(earlier: &[Value], later: &[Value], more: &[&str]) -> (tempfile::TempDir, Run) {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("a.geojson"), collection(earlier)).unwrap();
    fs::write(folder.path().join("b.geojson"), collection(later)).unwrap();
    let polygon = json!({ "type": "Polygon", "coordinates": [ring()] });
    fs::write(folder.path().join("field.geojson"), polygon.to_string()).unwrap();
    let args = ["compare", "a.geojson", "b.geojson", "--boundary", "field.geojson", "--out", "out"];
    let run = loosedepth(folder.path(), &[&args[..], more].concat());
    (folder, run)
}

/// The twenty readings of a day with a moisture, all so much shallower.
fn visit(day: &str, moisture_pct: Option<f64>, fall_in: i64) -> Vec<Value> {
    let mut features = features();
    for (k, feature) in features.iter_mut().enumerate() {
        let depth_in = feature["properties"]["depth_in"].as_i64().unwrap();
        let mut properties = json!({
            "point_id": format!("P{k}"),
            "date": day,
            // Falls differ from spot to spot, else there is nothing to test.
            "depth_in": 6 + depth_in - fall_in + (k % 3) as i64,
        });
        if let Some(pct) = moisture_pct {
            properties["moisture_pct"] = json!(pct);
        }
        if fall_in == 0 {
            properties["depth_in"] = json!(6 + depth_in);
        }
        feature["properties"] = properties;
    }
    features
}

#[test]
fn spring_and_summer_of_the_demo_field() {
    let folder = tempfile::tempdir().unwrap();
    let run = compare_demo(folder.path(), ["2025-04-14", "2025-08-24"], &[]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let first = run.stdout.lines().next().unwrap();
    assert!(first.starts_with("The change is not evidence of compaction"), "{first}");
    assert_as_kept(&run.stdout, "compare_demo.txt");
    let mut written: Vec<String> = fs::read_dir(folder.path().join("out"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    written.sort();
    assert_eq!(written, FILES);
    // A second run would replace what the first wrote.
    let again = compare_demo(folder.path(), ["2025-04-14", "2025-08-24"], &[]);
    assert_eq!(again.exit, 1);
    assert!(again.stderr.contains("--replace"), "{}", again.stderr);
}

/// Figures of `SciPy` 1.16.3 (`ttest_rel`, `wilcoxon(zero_method="pratt")`, `binomtest`) on the same readings
/// with marks as numbers and "not reached" as 18 in: t = −11.474511, p = 2.358e-20, mean −5.5 in; Pratt's
/// z = −8.429580; 78 down, none up, 30 equal, p = 6.617e-24; and the counts by class.
#[test]
fn paired_figures_of_the_demo_field_are_those_of_scipy() {
    let folder = tempfile::tempdir().unwrap();
    let days = ["2025-04-14", "2025-08-24"];
    let run = compare_demo(folder.path(), days, &["--classes", "3,9,15"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let summary = summary(folder.path());
    let paired = &summary["paired_change"];
    assert_eq!(paired["mean_in"], json!(-5.5));
    assert_eq!(paired["paired_t"]["n"], json!(108));
    assert_eq!(paired["paired_t"]["t"], json!(-11.4745));
    assert_eq!(paired["paired_t"]["sd_in"], json!(4.9813));
    let p = paired["paired_t"]["p"].as_f64().unwrap();
    assert!((p / 2.358_330_941e-20 - 1.0).abs() < 1e-3, "{p}");
    assert_eq!(paired["signed_rank"]["z"], json!(-8.4296));
    assert_eq!(paired["signed_rank"]["nonzero"], json!(78));
    let counts = json!([[0, 0, 0, 0], [9, 20, 0, 0], [8, 22, 15, 0], [4, 17, 13, 0]]);
    assert_eq!(summary["pairs"]["class_counts"], counts);
    // By SciPy's rule 30 are equal; all of them reached, so their direction is certain.
    let signs = &paired["sign_test"];
    assert_eq!((&signs["thinner"], &signs["deeper"]), (&json!(78), &json!(0)));
    assert_eq!(signs["equal"], json!(30));
    assert_eq!(signs["p"], json!(6.617e-24));
    let effective = paired["with_effective_size"]["effective_pairs"].as_f64().unwrap();
    assert!(effective > 2.0 && effective < 108.0, "{effective}");
}

#[test]
fn areas_add_up_to_the_field_and_to_each_other() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(compare_demo(folder.path(), ["2025-04-14", "2025-06-25"], &[]).exit, 0);
    let summary = summary(folder.path());
    let ha = |value: &Value| value["ha"].as_f64().unwrap();
    let change = &summary["change"];
    let parts = [
        "thinner_beyond_uncertainty",
        "deeper_beyond_uncertainty",
        "within_uncertainty",
        "unmapped",
    ];
    let sum: f64 = parts.iter().map(|part| ha(&change[*part])).sum();
    assert!((sum - ha(&summary["field"]["area"])).abs() < 1e-4, "{sum}");
    let found = &summary["transitions"];
    let rows = found["areas_m2"].as_array().unwrap();
    let cells = rows.iter().flat_map(|row| row.as_array().unwrap());
    let ground: f64 = cells.map(|cell| cell.as_f64().unwrap()).sum();
    assert!((ground / 1e4 - (sum - ha(&change["unmapped"]))).abs() < 1e-3, "{ground}");
    let moved = ["same_class", "to_shallower_class", "to_deeper_class"];
    let moved: f64 = moved.iter().map(|part| ha(&found[*part])).sum();
    assert!((moved - ground / 1e4).abs() < 1e-3);
}

#[test]
fn a_visit_beside_itself_has_no_change_and_no_test() {
    let folder = tempfile::tempdir().unwrap();
    let run = compare_demo(folder.path(), ["2025-04-14", "2025-04-14"], &[]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(run.stdout.starts_with("Moisture matches: "), "{}", run.stdout);
    assert!(!run.stdout.contains("p = ") && !run.stdout.contains("p < "), "{}", run.stdout);
    let summary = summary(folder.path());
    assert_eq!(summary["change"]["mean_in"], json!(0.0));
    assert_eq!(summary["change"]["thinner_beyond_uncertainty"]["ha"], json!(0.0));
    assert_eq!(summary["paired_change"]["paired_t"], Value::Null);
    assert_eq!(summary["paired_change"]["sign_test"]["p"], Value::Null);
}

#[test]
fn a_field_folder_has_its_own_place_for_the_results() {
    let folder = tempfile::tempdir().unwrap();
    let field = folder.path().join("field");
    fs::create_dir_all(field.join("visits")).unwrap();
    for name in ["boundary.geojson", "visits/2025-04-14.geojson", "visits/2025-08-24.geojson"] {
        fs::copy(demo(name), field.join(name)).unwrap();
    }
    let settings = "boundary = \"boundary.geojson\"\nmoisture_within = 20.0\n";
    fs::write(field.join("loosedepth.toml"), settings).unwrap();
    let args = ["compare", "field", "2025-04-14", "2025-08-24", "--cell", "20"];
    let run = loosedepth(folder.path(), &args);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(run.stdout.starts_with("Moisture matches"), "{}", run.stdout);
    let results = field.join("results/2025-04-14_to_2025-08-24");
    assert!(FILES.iter().all(|name| results.join(name).is_file()));
}

#[test]
fn the_first_line_says_when_moisture_is_missing_and_what_matches() {
    let first = |earlier, later, more: &[&str]| {
        let (earlier, later) = (visit("2025-04-14", earlier, 0), visit("2025-05-14", later, 3));
        let (_folder, run) = compare_files(&earlier, &later, more);
        assert_eq!(run.exit, 0, "{}", run.stderr);
        run.stdout.lines().next().unwrap().to_owned()
    };
    let missing = first(Some(30.0), None, &[]);
    assert!(missing.contains("not evidence") && missing.contains("on the later date"), "{missing}");
    assert!(first(None, None, &[]).contains("missing on both dates"));
    assert!(first(Some(30.0), Some(27.0), &[]).starts_with("Moisture matches"));
    let narrower = first(Some(30.0), Some(27.0), &["--moisture-within", "2"]);
    assert!(narrower.contains("not evidence") && narrower.contains("2 percentage points"));
}

/// Two visits to so many by so many spots within the ring: the change goes evenly from corner to corner.
fn evenly_changed(count: u32) -> [Vec<Value>; 2] {
    ["2025-04-14", "2025-05-14"].map(|day| {
        let reading = |k: u32| {
            let (column, row) = (k % count, k / count);
            let fall_in = if day == "2025-04-14" { 0 } else { column + row };
            let (east, north) = (f64::from(column), f64::from(row));
            let properties = json!({
                "point_id": format!("P{k}"),
                "date": day,
                "moisture_pct": 30.0,
                "depth_in": 18 - fall_in,
            });
            point(-95.62 + 2.4e-4 * east, 41.93 + 1.5e-4 * north, &properties)
        };
        (0..count * count).map(reading).collect()
    })
}

/// Of 64 spots all tell of one thing; of sixteen it is not known what near ones tell.
#[test]
fn an_interval_is_told_for_what_it_is_or_not_at_all() {
    let run = |count| {
        let [earlier, later] = evenly_changed(count);
        let (folder, run) = compare_files(&earlier, &later, &[]);
        assert_eq!(run.exit, 0, "{}", run.stderr);
        (run.stdout, summary(folder.path())["paired_change"]["with_effective_size"].clone())
    };
    let (text, effective) = run(8);
    assert!(text.contains("the mean has no interval: near spots tell so much the same"), "{text}");
    assert!(effective["effective_pairs"].as_f64().is_some_and(|size| size <= 2.0));
    assert_eq!(effective["interval_in"], Value::Null);
    let (text, effective) = run(4);
    assert!(text.contains("the mean is as if spots were independent"), "{text}");
    assert_eq!(effective, Value::Null);
}

#[test]
fn visits_without_a_spot_in_common_have_a_map_but_no_test() {
    let earlier = visit("2025-04-14", Some(30.0), 0);
    let later: Vec<Value> = visit("2025-05-14", Some(30.0), 3)
        .iter()
        .map(|feature| {
            let [lon, lat] =
                [0, 1].map(|k| feature["geometry"]["coordinates"][k].as_f64().unwrap());
            let mut properties = feature["properties"].clone();
            let id = properties["point_id"].as_str().unwrap().replace('P', "Q");
            properties["point_id"] = json!(id);
            point(lon - 1.5e-4, lat + 1e-4, &properties)
        })
        .collect();
    let (folder, run) = compare_files(&earlier, &later, &["--pair-within", "2m"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(run.stdout.contains("no spot was probed on both visits"), "{}", run.stdout);
    let summary = summary(folder.path());
    assert_eq!(summary["pairs"]["pairs"], json!(0));
    assert_eq!(summary["change"]["uncertainty"]["basis"], "spots left out of each map");
    let pairs = fs::read_to_string(folder.path().join("out/pairs.csv")).unwrap();
    assert_eq!(pairs.lines().count(), 1);
}

#[test]
fn the_adjustment_is_made_only_when_asked_for_and_tells_its_fit() {
    let days = ["2025-04-14", "2025-08-24"];
    let folder = tempfile::tempdir().unwrap();
    let run = compare_demo(folder.path(), days, &["--adjust-moisture"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(run.stdout.contains("can take real compaction for drying"), "{}", run.stdout);
    let adjusted = &summary(folder.path())["moisture_adjustment"];
    // Slope, R² and what is left were worked out apart by a plain script from the files of the demo:
    // 0.3574 in a point (standard error 0.0143), R² 0.984.
    let near = |key: &str, expected: f64, room: f64| {
        let found = adjusted[key].as_f64().unwrap();
        assert!((found - expected).abs() < room, "{key} {found}");
    };
    near("slope_per_pct_point_in", 0.3574, 0.002);
    near("slope_standard_error_in", 0.0143, 0.001);
    near("r_squared_of_visits", 0.9843, 0.003);
    near("adjusted_change_in", -0.22, 0.05);
    assert_eq!(adjusted["visits"].as_array().unwrap().len(), 12);
    let plain = tempfile::tempdir().unwrap();
    compare_demo(plain.path(), days, &[]);
    assert_eq!(summary(plain.path())["moisture_adjustment"], Value::Null);
}

#[test]
fn what_cannot_be_compared_is_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let refused = |days, more: &[&str], exit: i32, words: &str| {
        let run = compare_demo(folder.path(), days, more);
        assert_eq!(run.exit, exit, "{}", run.stderr);
        assert!(run.stderr.contains(words), "{words}: {}", run.stderr);
        assert!(!folder.path().join("out").exists());
    };
    let days = ["2025-04-14", "2025-08-24"];
    refused(["2025-08-24", "2025-04-14"], &[], 2, "give the earlier first");
    refused(["2025-08-24", "2025-04-14"], &["--adjust-moisture"], 2, "in the other order");
    refused(["2025-04-14", "2025-08-25"], &[], 1, "no visit of 2025-08-25");
    refused(["2025-04-14", "2025-08-25"], &["--adjust-moisture"], 1, "no visit of 2025-08-25");
    refused(["2025-04-14", "August"], &[], 2, "is not a day");
    refused(days, &["--confidence", "95"], 1, "--confidence must be");
    refused(days, &["--pair-within", "0m"], 1, "--pair-within");
    refused(days, &["--moisture-within", "-1"], 1, "--moisture-within");
}

#[test]
fn files_that_are_no_surveys_or_have_no_field_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let boundary = demo("boundary.geojson");
    fs::write(folder.path().join("empty.geojson"), "").unwrap();
    fs::write(folder.path().join("wrong.geojson"), "{\"type\": \"Thing\"}").unwrap();
    let visit = demo("visits/2025-04-14.geojson");
    let run = |later: &str, more: &[&str]| {
        let args = ["compare", &visit, later, "--out", "out"];
        loosedepth(folder.path(), &[&args[..], more].concat())
    };
    for later in ["empty.geojson", "wrong.geojson", "nowhere.geojson"] {
        let run = run(later, &["--boundary", &boundary]);
        assert_eq!(run.exit, 1, "{}", run.stderr);
        assert!(run.stderr.contains(later), "{}", run.stderr);
    }
    let later = demo("visits/2025-08-24.geojson");
    let without = run(&later, &[]);
    assert_eq!(without.exit, 2);
    assert!(without.stderr.contains("--boundary"), "{}", without.stderr);
    let adjusted = run(&later, &["--boundary", &boundary, "--adjust-moisture"]);
    assert_eq!(adjusted.exit, 2);
    assert!(adjusted.stderr.contains("folder of a field"), "{}", adjusted.stderr);
    assert!(!folder.path().join("out").exists());
}
