//! The season of a field folder: every visit mapped, tables, pictures and the archive.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

mod support;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use serde_json::{Value, json};
use support::{Run, assert_as_kept, collection, demo, features, loosedepth, ring};

const BOUNDARY: &str = "boundary = \"boundary.geojson\"\n";
const OF_SEASON: [&str; 8] = [
    "classes.csv",
    "readings.csv",
    "season.gpkg",
    "season.json",
    "season.png",
    "spots.csv",
    "visits.csv",
    "visits.png",
];

/// A field folder with a visit for each of some days.
fn field(folder: &Path, days: &[&str]) {
    fs::create_dir(folder.join("visits")).unwrap();
    let boundary = json!({ "type": "Polygon", "coordinates": [ring()] });
    fs::write(folder.join("boundary.geojson"), boundary.to_string()).unwrap();
    settings(folder, BOUNDARY);
    for day in days {
        visit(folder, day, |_, _| {});
    }
}

fn settings(folder: &Path, text: &str) {
    fs::write(folder.join("loosedepth.toml"), text).unwrap();
}

/// Twenty readings named P0 to P19 of 0, 3, 6, 9 and 12 in, four of each, at 30 % moisture; each may be
/// changed.
fn visit(folder: &Path, day: &str, change: impl Fn(usize, &mut Value)) {
    let mut all = features();
    for (k, feature) in all.iter_mut().enumerate() {
        let properties = &mut feature["properties"];
        properties["point_id"] = json!(format!("P{k}"));
        properties["date"] = json!(day);
        properties["moisture_pct"] = json!(30.0);
        properties["threshold_psi"] = json!(200);
        change(k, properties);
    }
    fs::write(folder.join(format!("visits/{day}.geojson")), collection(&all)).unwrap();
}

fn season(folder: &Path, more: &[&str]) -> Run {
    loosedepth(folder, &[&["season", ".", "--out", "out"], more].concat())
}

/// Fails, says why, and writes nothing.
fn fails(folder: &Path, more: &[&str], exit: i32, words: &[&str]) {
    let run = season(folder, more);
    assert_eq!(run.exit, exit, "{}", run.stderr);
    for word in words {
        assert!(run.stderr.contains(word), "{word:?} is not in {}", run.stderr);
    }
    assert!(!folder.join("out").exists());
}

fn succeeds(folder: &Path, more: &[&str]) -> Run {
    let run = season(folder, more);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    run
}

fn summary(folder: &Path) -> Value {
    serde_json::from_slice(&fs::read(folder.join("out/season.json")).unwrap()).unwrap()
}

/// The lines of a table by the names of their columns.
fn table(folder: &Path, name: &str) -> Vec<BTreeMap<String, String>> {
    let text = fs::read_to_string(folder.join("out").join(name)).unwrap();
    let mut lines = text.lines().map(|line| line.split(',').map(str::to_owned).collect::<Vec<_>>());
    let names = lines.next().unwrap();
    lines
        .map(|fields| {
            assert_eq!(fields.len(), names.len(), "{name}");
            names.iter().cloned().zip(fields).collect()
        })
        .collect()
}

/// All files of a folder and its folders.
fn bytes(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut files = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
        let name = entry.file_name().into_string().unwrap();
        match entry.path().is_dir() {
            true => files.extend(
                bytes(&entry.path()).into_iter().map(|(of, bytes)| (format!("{name}/{of}"), bytes)),
            ),
            false => {
                files.insert(name, fs::read(entry.path()).unwrap());
            }
        }
    }
    files
}

/// The demo field with settings of our own.
fn demo_field(folder: &Path) {
    fs::create_dir(folder.join("visits")).unwrap();
    fs::copy(demo("boundary.geojson"), folder.join("boundary.geojson")).unwrap();
    for entry in fs::read_dir(demo("visits")).unwrap().map(Result::unwrap) {
        fs::copy(entry.path(), folder.join("visits").join(entry.file_name())).unwrap();
    }
    settings(folder, &format!("name = \"North Bench\"\n{BOUNDARY}"));
}

#[test]
fn the_season_of_the_demo_field_is_told_as_kept() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    demo_field(at);
    let run = succeeds(at, &[]);
    let first = run.stdout.lines().next().unwrap();
    assert!(first.starts_with("The change is not evidence of compaction"), "{first}");
    assert_as_kept(&run.stdout, "season_demo.txt");
    assert_eq!(summary(at)["moisture_says"], json!(first));
    assert_eq!(summary(at)["moisture_matches"], json!(false));
    let files = bytes(&at.join("out"));
    let of_season: Vec<&String> = files.keys().filter(|name| !name.contains('/')).collect();
    assert_eq!(of_season, OF_SEASON);
    assert_eq!(files.len(), OF_SEASON.len() + 12 * 4);

    // Each visit is mapped as `map` maps it.
    let day = "2025-07-08";
    let map = loosedepth(at, &["map", ".", "--visit", day, "--out", "map"]);
    assert_eq!(map.exit, 0);
    for (name, map) in bytes(&at.join("map")) {
        assert!(files[&format!("{day}/{name}")] == map, "{name}");
    }

    let visits = table(at, "visits.csv");
    // Counted in the files by hand: 34 of the 108 readings of 14 April are at least 18 in, the 54th and
    // the 55th are 9 in; on 24 August both are 6 in.
    let first = &visits[0];
    assert_eq!([&first["probes"], &first["not_reached"], &first["median_in"]], ["108", "34", "9"]);
    assert_eq!(visits[11]["median_in"], "6");
    let p: f64 = visits[11]["log_rank_p_against_first"].parse().unwrap();
    assert!(p > 0.0 && p < 1e-6, "{p}");
    assert_eq!(table(at, "readings.csv").len(), 12 * 108);
    assert_eq!(table(at, "spots.csv").len(), 108);
    let classes = table(at, "classes.csv");
    for visit in visits {
        let of_visit = classes.iter().filter(|class| class["visit"] == visit["visit"]);
        let sum: f64 = of_visit.map(|class| class["area_ac"].parse::<f64>().unwrap()).sum();
        // Eight numbers, each rounded to 0.0001 ac.
        assert!((sum - visit["field_ac"].parse::<f64>().unwrap()).abs() < 5e-4, "{sum}");
    }
    let ranks = &summary(at)["ranks"];
    assert_eq!(ranks["moisture_explains_as_much_as_the_day"], json!(true));

    let again = season(at, &[]);
    assert_eq!(again.exit, 1);
    assert!(again.stderr.contains("--replace"), "{}", again.stderr);
    assert!(bytes(&at.join("out")) == files, "a refused run changes nothing");
    succeeds(at, &["--replace"]);
    assert!(bytes(&at.join("out")) == files, "the same input gives the same bytes");
}

#[test]
fn a_season_may_have_one_visit() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let at = &at.join("Home Forty");
    fs::create_dir(at).unwrap();
    field(at, &["2025-04-14"]);
    let run = succeeds(at, &[]);
    // Nothing names the field but its folder.
    assert!(run.stdout.starts_with("Home Forty: one visit, 2025-04-14\n"), "{}", run.stdout);
    assert!(run.stdout.contains("Next visit due 2025-04-24 to 2025-04-28"), "{}", run.stdout);
    let summary = summary(at);
    assert_eq!((&summary["falls"], &summary["moisture_says"]), (&Value::Null, &Value::Null));
    assert_eq!(summary["visits"][0]["median"]["depth_in"], json!(6.0));
    assert_eq!(table(at, "spots.csv")[0]["change_most_in"], "");
}

/// Twenty readings of 0 to 12 in. P4, P9 and P14 were 12 in and then 3, 6 and 3 in; P0 was deeper than 18 in
/// and then 12 in.
#[test]
fn spots_that_fell_furthest_stand_first_with_what_is_known_of_them() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at, &[]);
    visit(at, "2025-04-14", |k, properties| {
        if k == 0 {
            (properties["depth_in"], properties["at_least"]) = (json!(18), json!(true));
        }
    });
    visit(at, "2025-04-28", |_, _| {});
    visit(at, "2025-05-13", |k, properties| match k {
        0 | 3 => properties["depth_in"] = json!(12),
        4 | 14 => properties["depth_in"] = json!(3),
        9 => properties["depth_in"] = json!(6),
        _ => {}
    });
    let run = succeeds(at, &[]);
    let told = "fell furthest from 2025-04-14 to 2025-05-13: P4 9 in thinner, P14 9 in thinner, P0 at least 6 in \
                thinner, P9 6 in thinner\ndeepened: P3 3 in deeper\n";
    assert!(run.stdout.contains(told), "{}", run.stdout);
    assert!(
        run.stdout
            .contains("Late, more than 14 days after the visit before: 2025-05-13 (15 days).")
    );
    assert!(run.stdout.contains("Moisture matches: 30.0 % earlier, 30.0 % later."));
    let spots = table(at, "spots.csv");
    let bounds = |spot: usize| {
        let line = &spots[spot];
        [&line["earlier_outcome"], &line["change_least_in"], &line["change_most_in"]]
            .map(String::clone)
    };
    assert_eq!(bounds(0), ["not_reached", "", "-6"]);
    assert_eq!(bounds(4), ["reached", "-9", "-9"]);
    assert_eq!(spots[9]["rank_of_falls"], "4");
    assert_eq!(spots[3]["rank_of_rises"], "1");
    let visits = table(at, "visits.csv");
    assert_eq!(
        visits.iter().map(|visit| visit["days_late"].as_str()).collect::<Vec<_>>(),
        ["", "0", "1"]
    );

    let text = fs::read_to_string(at.join("out/visits.csv")).unwrap();
    assert_as_kept(&text, "season_visits.csv");
    let since = succeeds(at, &["--since", "2025-04-28", "--replace", "--visits-every", "15"]);
    assert!(since.stdout.contains("from 2025-04-28 to 2025-05-13: P4 9 in thinner"));
    assert!(since.stdout.contains("No visit came more than 15 days"), "{}", since.stdout);
}

#[test]
fn a_visit_without_moisture_is_no_evidence_and_the_table_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at, &["2025-04-14"]);
    visit(at, "2025-04-26", |_, properties| properties["moisture_pct"] = Value::Null);
    let run = succeeds(at, &[]);
    assert!(run.stdout.contains("soil moisture is missing on the later date"), "{}", run.stdout);
    let change = &summary(at)["visits"][1]["median_change_since_first"];
    assert_eq!(change["moisture_matches"], json!("unknown"));
    let last = &table(at, "visits.csv")[1];
    assert_eq!(
        [&last["moisture_mean_pct"], &last["moisture_matches_since_first"]],
        ["", "unknown"]
    );
}

#[test]
fn what_is_wrong_with_a_folder_is_said_once_and_names_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at, &["2025-04-14", "2025-04-26"]);

    fs::write(at.join("visits/2025-05-09.geojson"), "{ \"type\": ").unwrap();
    fails(at, &[], 1, &["visits/2025-05-09.geojson: not JSON"]);
    fs::copy(at.join("visits/2025-04-26.geojson"), at.join("visits/2025-05-09.geojson")).unwrap();
    let both = ["2025-04-26.geojson and ", "2025-05-09.geojson both hold the visit of 2025-04-26"];
    fails(at, &[], 1, &both);
    fs::remove_file(at.join("visits/2025-05-09.geojson")).unwrap();

    visit(at, "2025-05-09", |_, properties| properties["threshold_psi"] = json!(300));
    fails(at, &[], 1, &["2025-05-09.geojson", "300 psi", "200 psi"]);
    fs::remove_file(at.join("visits/2025-05-09.geojson")).unwrap();

    settings(at, "visits = \"visits\"\n");
    fails(at, &[], 2, &["--boundary"]);
    fs::remove_file(at.join("loosedepth.toml")).unwrap();
    fails(at, &[], 1, &["no loosedepth.toml", "boundary = \"boundary.geojson\""]);
    settings(at, BOUNDARY);

    fails(at, &["--since", "2025-04-26"], 2, &["the last visit"]);
    fails(at, &["--since", "2025-04-27"], 2, &["no such visit", "2025-04-14, 2025-04-26"]);
    fails(at, &["--marks", "6,3"], 2, &["--marks"]);
    fails(at, &["--visits-every", "14..10"], 2, &["14..10"]);
    let file = loosedepth(at, &["season", "visits/2025-04-14.geojson", "--out", "out"]);
    assert_eq!(file.exit, 2);
    assert!(file.stderr.contains("not the folder of a field"), "{}", file.stderr);
}

#[test]
fn a_map_that_is_there_is_not_replaced_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at, &["2025-04-14", "2025-04-26"]);
    let map = ["map", ".", "--visit", "2025-04-26"];
    assert_eq!(loosedepth(at, &map).exit, 0);
    let run = loosedepth(at, &["season", "."]);
    assert_eq!(run.exit, 1);
    assert!(run.stderr.contains("results/2025-04-26 already holds depth.tif"), "{}", run.stderr);
    assert!(!at.join("results/season.json").exists() && !at.join("results/2025-04-14").exists());
    assert_eq!(loosedepth(at, &["season", ".", "--replace"]).exit, 0);
    assert!(at.join("results/season.json").is_file());
}

#[test]
fn readings_left_out_end_with_three_and_all_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at, &["2025-04-14"]);
    visit(at, "2025-04-26", |k, properties| {
        if k == 7 {
            properties["depth_in"] = json!(-3);
        }
    });
    let run = season(at, &[]);
    assert_eq!(run.exit, 3, "{}", run.stderr);
    assert!(run.stderr.contains("point P7"), "{}", run.stderr);
    assert!(at.join("out/2025-04-26/depth.tif").is_file());
    assert!(
        run.stdout.contains("1 of 20 spots have no reading on some visit: P7."),
        "{}",
        run.stdout
    );
    assert_eq!(summary(at)["spots_without_a_reading_on_some_visit"], json!(["P7"]));
    let readings = table(at, "readings.csv");
    let last = readings.iter().filter(|line| line["spot"] == "P7").nth(1).unwrap();
    assert_eq!([&last["depth_in"], &last["outcome"]], ["", "no_reading"]);
}

#[test]
fn names_of_spots_are_no_formulas_in_a_spreadsheet() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at, &[]);
    for day in ["2025-04-14", "2025-04-26"] {
        visit(at, day, |k, properties| {
            if k == 0 {
                properties["point_id"] = json!("=HYPERLINK(\"http://example.org\")");
            }
        });
    }
    succeeds(at, &[]);
    for name in ["readings.csv", "spots.csv"] {
        let text = fs::read_to_string(at.join("out").join(name)).unwrap();
        let field = "\"'=HYPERLINK(\"\"http://example.org\"\")\",";
        assert!(text.lines().nth(1).unwrap().starts_with(field), "{text}");
    }
}

#[test]
fn a_stage_that_was_seen_ends_the_visits() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at, &["2025-06-30", "2025-07-12"]);
    let stage = "crop = \"corn\"\n[[stages]]\ndate = 2025-07-14\nstage = \"R1\"\n";
    settings(at, &format!("{BOUNDARY}{stage}"));
    let run = succeeds(at, &[]);
    let told = "No visit is due: visits go to the reproductive stage, and silking (R1) of corn is over by \
                2025-07-14.";
    assert!(run.stdout.contains(told), "{}", run.stdout);
    let found = &summary(at)["reproductive_stage"];
    assert_eq!([&found["first_day"], &found["last_day"]], [&json!("2025-07-14"); 2]);
}

#[test]
fn units_marks_and_classes_are_those_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at, &["2025-04-14", "2025-04-26"]);
    succeeds(at, &["--units", "si", "--classes", "10,20", "--marks", "15"]);
    let first = &table(at, "visits.csv")[0];
    // 6 in; twelve of twenty readings are 0, 3 or 6 in (15.24 cm), eight of them less than 15 cm.
    assert_eq!([&first["median_cm"], &first["shallower_than_15cm_pct_of_probes"]], ["15.24", "40"]);
    // 200 psi of 6.894757 kPa (NIST SP 811, appendix B.8).
    assert_eq!(first["threshold_kpa"], "1378.95");
    assert!(!first.contains_key("threshold_psi"));
    let classes: Vec<String> =
        table(at, "classes.csv").iter().take(4).map(|class| class["class"].clone()).collect();
    assert_eq!(classes, ["0–10 cm", "10–20 cm", "≥ 20 cm", "no value"]);
}

#[test]
fn a_file_outside_of_the_folder_leaves_the_archive_out() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path().join("field");
    fs::create_dir(&at).unwrap();
    field(&at, &["2025-04-14", "2025-04-26"]);
    fs::rename(at.join("boundary.geojson"), folder.path().join("outline.geojson")).unwrap();
    settings(&at, "boundary = \"../outline.geojson\"\n");
    let run = succeeds(&at, &[]);
    assert!(run.stderr.contains("no season.gpkg: "), "{}", run.stderr);
    assert!(run.stderr.contains("outline.geojson lies outside"), "{}", run.stderr);
    assert!(!at.join("out/season.gpkg").exists() && at.join("out/season.json").is_file());

    // What another run left is no part of this season, and is said.
    for name in ["visits_2.png", "season.gpkg"] {
        fs::write(at.join("out").join(name), "of another run").unwrap();
    }
    let again = succeeds(&at, &["--replace"]);
    assert!(
        again.stderr.contains("not of this season: season.gpkg, visits_2.png"),
        "{}",
        again.stderr
    );
}
