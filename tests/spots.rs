//! The built command plans spots: where they stand, what is written, and how a filled-in table comes back.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

#[path = "support/mod.rs"]
mod support;

use std::fs;
use std::path::Path;

use serde_json::{Value, json};
use support::{Run, assert_as_kept, collection, demo, features, loosedepth, ring, root};

const FILES: [&str; 7] = [
    "spots.json",
    "spots.gpx",
    "spots.geojson",
    "spots.csv",
    "spots.pdf",
    "spots.png",
    "record.html",
];

fn spots(folder: &Path, args: &[&str]) -> Run {
    loosedepth(folder, &[&["spots"], args].concat())
}

/// The file of a small field, 180 m by 155 m.
fn small(folder: &Path) -> String {
    let path = folder.join("field.geojson");
    fs::write(&path, json!({ "type": "Polygon", "coordinates": [ring()] }).to_string()).unwrap();
    path.display().to_string()
}

/// A survey of twenty spots named S0 to S19.
fn survey(folder: &Path) -> String {
    let mut all = features();
    for (k, feature) in all.iter_mut().enumerate() {
        feature["properties"]["point_id"] = json!(format!("S{k}"));
        feature["properties"]["date"] = json!("2025-04-14");
        feature["properties"]["threshold_psi"] = json!(200);
    }
    let path = folder.join("survey.geojson");
    fs::write(&path, collection(&all)).unwrap();
    path.display().to_string()
}

fn read(folder: &Path, name: &str) -> String {
    fs::read_to_string(folder.join("out").join(name)).unwrap()
}

/// What the recording page is given.
fn record_data(folder: &Path) -> Value {
    let page = read(folder, "record.html");
    let (_, data) = page.split_once("<script type=\"application/json\" id=\"page-data\">").unwrap();
    serde_json::from_str(data.split_once("</script>").unwrap().0).unwrap()
}

fn names(folder: &Path) -> Vec<String> {
    let value: Value = serde_json::from_str(&read(folder, "spots.geojson")).unwrap();
    let features = value["features"].as_array().unwrap().iter();
    features.map(|f| f["properties"]["point_id"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn the_demo_field_on_a_grid_is_told_whole() {
    let folder = tempfile::tempdir().unwrap();
    let boundary = demo("boundary.geojson");
    let args =
        [&boundary, "--grid", "180ft", "--precision", "10", "--mean", "9in", "--spread", "4in"];
    let run = spots(folder.path(), &args);
    assert_eq!((run.exit, run.stderr.as_str()), (0, ""), "{}", run.stdout);
    assert_as_kept(&run.stdout, "spots_demo.txt");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0, "without --out nothing is written");
}

#[test]
fn a_field_folder_has_its_own_place_for_spots_and_the_same_bytes_each_time() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let field = at.join("field");
    fs::create_dir_all(field.join("visits")).unwrap();
    fs::copy(survey(at), field.join("visits/april.geojson")).unwrap();
    fs::copy(small(at), field.join("boundary.geojson")).unwrap();
    let toml = "name = \"Home\"\nboundary = \"boundary.geojson\"\nthreshold = \"200psi\"\nrod = \"18in\"\n";
    fs::write(field.join("loosedepth.toml"), toml).unwrap();
    let run = spots(at, &["field", "--random", "6", "--again", "--visit", "2025-04-14"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let out = field.join("results/spots");
    let bytes = || FILES.map(|name| fs::read(out.join(name)).unwrap());
    let first = bytes();
    let again = spots(at, &["field", "--random", "6", "--again", "--visit", "2025-04-14"]);
    assert_eq!(again.exit, 1);
    assert!(again.stderr.contains("give --replace"), "{}", again.stderr);
    let args = ["field", "--random", "6", "--again", "--visit", "2025-04-14", "--replace"];
    assert_eq!(spots(at, &args).exit, 0);
    assert!(first == bytes(), "the same seed gives the same bytes");
    assert_eq!(spots(at, &[&args[..], &["--seed", "2"]].concat()).exit, 0);
    assert!(first[2] != bytes()[2], "another seed gives other spots");
    let summary: Value = serde_json::from_slice(&first[0]).unwrap();
    assert_eq!(summary["field"], "Home");
    assert_eq!(
        (summary["spots"].as_u64(), summary["spots_probed_before"].as_u64()),
        (Some(26), Some(20))
    );
    assert!(summary["walk"]["length_m"].as_f64() <= summary["walk"]["length_as_placed_m"].as_f64());
}

#[test]
fn the_recording_page_has_the_spots_in_walking_order() {
    let folder = tempfile::tempdir().unwrap();
    let (at, boundary) = (folder.path(), small(folder.path()));
    let args = [&boundary, "--random", "7", "--rod", "24in", "--insertions", "5", "--out", "out"];
    assert_eq!(spots(at, &args).exit, 0);
    let data = record_data(at);
    let ids = data["spots"].as_array().unwrap().iter().map(|spot| spot[0].as_str().unwrap());
    assert_eq!(ids.collect::<Vec<_>>(), names(at));
    assert_eq!(
        (&data["rod"], &data["pushes"], &data["units"]),
        (&json!(24), &json!(5), &json!("us"))
    );
    assert_eq!(data["outline"][0].as_array().unwrap().len(), ring().as_array().unwrap().len());
}

#[test]
fn spots_probed_again_keep_their_names_and_new_ones_get_others() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let (field, survey) = (small(at), survey(at));
    let args = [&field, "--earlier", &survey, "--again", "--least-sure", "3", "--out", "out"];
    let run = spots(at, &args);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(
        run.stderr.contains("go by distance: 20 readings, and a variogram needs 50"),
        "{}",
        run.stderr
    );
    assert!(run.stdout.contains("3 spots in the widest gaps"), "{}", run.stdout);
    let mut found = names(at);
    assert_eq!(found.len(), 23);
    found.sort();
    let mut expected: Vec<String> = (0..20).map(|k| format!("S{k}")).collect();
    expected.extend((1..=3).map(|k| format!("P{k:03}")));
    expected.sort();
    assert_eq!(found, expected);
}

#[test]
fn the_demo_map_is_least_sure_where_the_kriging_variance_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let args = [&demo(""), "--visit", "2025-04-14", "--least-sure", "5", "--out", "out"];
    let run = spots(at, &args);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(run.stdout.contains("5 spots where the kriged map is least sure"), "{}", run.stdout);
    let summary: Value = serde_json::from_str(&read(at, "spots.json")).unwrap();
    let design = &summary["designs"][0];
    assert!(design["mean_error_after_cm"].as_f64() < design["mean_error_before_cm"].as_f64());
}

#[test]
fn a_filled_in_table_is_a_survey() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let field = small(at);
    let args =
        [&field, "--grid", "40m", "--threshold", "200psi", "--insertions", "2", "--out", "out"];
    let run = spots(at, &args);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let csv = read(at, "spots.csv");
    let mut lines = csv.lines();
    let header =
        "point_id,push,latitude,longitude,date,depth_in,at_least,threshold_psi,moisture_pct,note";
    assert_eq!(lines.next(), Some(header));
    let rows: Vec<Vec<&str>> = lines.map(|line| line.split(',').collect()).collect();
    let count = names(at).len();
    assert_eq!(rows.len(), 2 * count);
    // By hand: each second push one inch deeper, the last spot not reached, one stone, one line left empty.
    let filled = rows.iter().enumerate().map(|(k, row)| {
        let (spot, push) = (k / 2, k % 2);
        let (depth, at_least, note) = match (spot, push) {
            (0, 0) => (String::new(), "", "stone"),
            (1, 1) => (String::new(), "", ""),
            _ if spot + 1 == count => ("18".into(), "true", ""),
            _ => ((6 + spot % 6 + push).to_string(), "false", ""),
        };
        let [id, number, lat, lon, threshold] = [0, 1, 2, 3, 7].map(|column| row[column]);
        format!("{id},{number},{lat},{lon},2026-04-20,{depth},{at_least},{threshold},24.5,{note}\n")
    });
    let table = format!("{header}\n{}", filled.collect::<String>());
    fs::write(at.join("filled.csv"), table).unwrap();
    let check = loosedepth(at, &["check", "filled.csv", "--boundary", &field]);
    assert_eq!(check.exit, 0, "{}\n{}", check.stderr, check.stdout);
    let map = loosedepth(at, &["map", "filled.csv", "--boundary", &field, "--out", "map"]);
    assert_eq!(map.exit, 0, "{}", map.stderr);
    let summary: Value =
        serde_json::from_slice(&fs::read(at.join("map/summary.json")).unwrap()).unwrap();
    let text = summary.to_string();
    assert!(text.contains("2026-04-20"), "{text}");
    assert!(
        map.stdout.contains(&format!("{count} spots")) || map.stdout.contains(&count.to_string())
    );
}

#[test]
fn filled_in_geojson_is_a_survey_and_the_waypoints_take_a_table() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let field = small(at);
    let args = [&field, "--grid", "40m", "--units", "si", "--threshold", "1379kPa", "--out", "out"];
    assert_eq!(spots(at, &args).exit, 0);
    let mut value: Value = serde_json::from_str(&read(at, "spots.geojson")).unwrap();
    let mut joined = String::from("point_id,date,depth_cm,at_least,threshold_kpa\n");
    for (k, feature) in value["features"].as_array_mut().unwrap().iter_mut().enumerate() {
        let said = &mut feature["properties"];
        assert_eq!(said["threshold_kpa"], 1379.0);
        said["depth_cm"] = json!(20 + k % 20);
        said["date"] = json!("2026-04-20");
        said["at_least"] = json!(false);
        let id = said["point_id"].as_str().unwrap();
        joined += &format!("{id},2026-04-20,{},false,1379\n", 20 + k % 20);
    }
    fs::write(at.join("filled.geojson"), value.to_string()).unwrap();
    let run = loosedepth(at, &["map", "filled.geojson", "--boundary", &field, "--out", "map"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    fs::write(at.join("joined.csv"), joined).unwrap();
    let run =
        loosedepth(at, &["check", "out/spots.gpx", "--join", "joined.csv", "--boundary", &field]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let inspected = loosedepth(at, &["inspect", "out/spots.gpx"]);
    assert_eq!(inspected.exit, 0, "{}", inspected.stderr);
    let inspected = loosedepth(at, &["inspect", "out/spots.geojson"]);
    assert_eq!(inspected.exit, 0, "{}", inspected.stderr);
}

#[test]
fn strata_share_the_spots_by_area() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let args = [&demo(""), "--stratified", "40", "--at-least", "6", "--out", "out"];
    let run = spots(at, &args);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let summary: Value = serde_json::from_str(&read(at, "spots.json")).unwrap();
    let strata = summary["strata"].as_array().unwrap();
    let of: Vec<(&str, u64)> = strata
        .iter()
        .map(|s| (s["name"].as_str().unwrap(), s["spots"].as_u64().unwrap()))
        .collect();
    assert_eq!(of, [("headland", 6), ("main ground", 34)]);
    let zones = root().join("maps/north-bench-2025-04-14/zones.geojson").display().to_string();
    let args = [
        &demo("boundary.geojson"),
        "--stratified",
        "40",
        "--zones",
        &zones,
        "--at-least",
        "3",
        "--out",
        "by-class",
    ];
    let run = spots(at, &args);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let csv = fs::read_to_string(at.join("by-class/spots.csv")).unwrap();
    assert!(csv.lines().next().unwrap().ends_with(",note,stratum"), "{csv}");
    assert!(csv.contains(" in"), "classes are named with their unit");
}

#[test]
fn transects_say_when_they_would_miss_the_wheel_lanes() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let field = small(at);
    let args = [&field, "--transects", "200ft", "--heading", "90", "--swath", "30ft"];
    let good = spots(at, &args);
    assert_eq!(good.exit, 0, "{}", good.stderr);
    assert!(!good.stderr.contains("leave out"), "{}", good.stderr);
    assert!(good.stdout.contains("a spot every 18.5 ft"), "{}", good.stdout);
    let bad = spots(at, &[&args[..], &["--along", "30ft"]].concat());
    assert!(bad.stderr.contains("leave out 100 % of the width of a pass"), "{}", bad.stderr);
    assert!(bad.stderr.contains("--along 18.5ft"), "{}", bad.stderr);
}

#[test]
fn a_precision_is_reckoned_from_the_readings_of_a_visit() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let args = [&demo(""), "--visit", "2025-04-14", "--precision", "10"];
    let run = spots(at, &args);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(
        run.stdout
            .contains("did not reach the threshold and count with the depth probed, a lower bound")
    );
    // A coefficient of variation of 30 %: 38 spots, as reckoned by hand in the crate `sampling`.
    let args = [&small(at), "--precision", "10", "--mean", "10in", "--spread", "3in"];
    let given = spots(at, &args).stdout;
    let line = given.lines().find(|line| line.contains("within 10 %")).unwrap();
    assert_eq!(line.split_whitespace().collect::<Vec<_>>()[3], "38", "{given}");
}

#[test]
fn what_cannot_be_done_is_told_in_one_message_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let (field, survey) = (small(at), survey(at));
    let (field, survey) = (field.as_str(), survey.as_str());
    for (args, exit, words) in [
        (
            &["--grid", "40m", "--from-edge", "100m"][..],
            1,
            "give a smaller distance with --from-edge",
        ),
        (&["--grid", "0m"], 1, "must be above zero"),
        (&["--grid", "1m"], 1, "2000 is the most"),
        (&["--random", "5000"], 1, "more than the most"),
        (&["--random", "0"], 2, "above zero"),
        (&[], 2, "say how spots are placed"),
        (&["--stratified", "20"], 2, "needs strata"),
        (&["--again"], 2, "--earlier SURVEY"),
        (&["--grid", "40m", "--earlier", survey], 2, "an earlier visit is for"),
        (&["--grid", "40m", "--visit", "2025-04-14"], 2, "an earlier visit is for"),
        (&["--grid", "40m", "--heading", "400"], 2, "0 to 360"),
        (&["--random", "9", "--heading", "40"], 2, "--heading is for"),
        (&["--transects", "40m", "--heading", "0"], 2, "--along"),
        (&["--grid", "40m", "--start", "41.93,-95.62"], 2, "longitude comes first"),
        (&["--grid", "40m", "--start", "-95.62,141.9"], 2, "longitude comes first"),
        (&["--precision", "0", "--mean", "3in", "--spread", "1in"], 2, "--precision must be"),
        (
            &["--earlier", survey, "--least-sure", "4", "--sure-by", "variance"],
            1,
            "a variogram needs 50",
        ),
    ] {
        let run = spots(at, &[&[field], args, &["--out", "out"]].concat());
        assert_eq!(run.exit, exit, "{args:?} {}\n{}", run.stderr, run.stdout);
        assert!(run.stderr.contains(words), "{args:?} {words:?} is not in {}", run.stderr);
        assert_eq!(run.stderr.matches("error:").count(), 1, "{}", run.stderr);
        assert!(!at.join("out").exists(), "{args:?}");
    }
}

#[test]
fn a_narrow_field_a_tiny_one_and_one_of_parts_have_spots_and_a_sheet() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let box_of = |west: f64, south: f64, east: f64, north: f64| {
        json!([[[west, south], [east, south], [east, north], [west, north], [west, south]]])
    };
    // 12 m by 890 m; 12 m by 14 m; two parts of 83 m by 110 m, 400 m apart.
    let narrow =
        json!({ "type": "Polygon", "coordinates": box_of(-95.62, 41.93, -95.619_855, 41.938) });
    let tiny =
        json!({ "type": "Polygon", "coordinates": box_of(-95.62, 41.93, -95.619_855, 41.930_13) });
    let parts = json!({ "type": "MultiPolygon", "coordinates": [
        box_of(-95.62, 41.93, -95.619, 41.931), box_of(-95.615, 41.93, -95.614, 41.931),
    ] });
    for (name, shape, least) in [("narrow", narrow, 20), ("tiny", tiny, 1), ("parts", parts, 8)] {
        let file = format!("{name}.geojson");
        fs::write(at.join(&file), shape.to_string()).unwrap();
        let args = [&file, "--grid", "40m", "--from-edge", "2m", "--out", "out", "--replace"];
        let run = spots(at, &args);
        assert_eq!(run.exit, 0, "{name}: {}", run.stderr);
        let count = names(at).len();
        assert!(count >= least, "{name}: {count}");
        assert!(
            FILES.iter().all(|file| fs::metadata(at.join("out").join(file)).unwrap().len() > 100)
        );
    }
}
