//! Readings as the field gives them: other formats, profiles, corrections, several thresholds.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

#[path = "support/mod.rs"]
mod support;

use std::fs;
use std::path::Path;

use serde_json::{Value, json};
use support::{Run, collection, demo, features, loosedepth};

fn profiles() -> String {
    support::root().join("demo-data/slough-piece/profiles.geojson").display().to_string()
}

/// The twenty readings as a table, with commas, decimal points and the columns named.
fn table() -> String {
    let mut text = String::from("Point,Lat,Long,D200\n");
    for (k, feature) in features().iter().enumerate() {
        let place = &feature["geometry"]["coordinates"];
        text += &format!("P{k},{},{},{}\n", place[1], place[0], feature["properties"]["depth_in"]);
    }
    text
}

fn summary(folder: &Path) -> Value {
    serde_json::from_slice(&fs::read(folder.join("summary.json")).unwrap()).unwrap()
}

fn ok(run: &Run) {
    assert_eq!(run.exit, 0, "{}{}", run.stdout, run.stderr);
}

#[test]
fn a_table_gives_the_same_map_as_geojson() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    fs::write(path.join("s.geojson"), collection(&features())).unwrap();
    fs::write(path.join("s.csv"), table()).unwrap();
    let german = table().replace(',', ";").replace('.', ",");
    fs::write(path.join("german.txt"), format!("\u{feff}{german}")).unwrap();
    fs::create_dir(path.join("set")).unwrap();
    fs::write(path.join("set/s.csv"), table()).unwrap();
    let settings = "[columns]\ndepth = { name = \"D200\", unit = \"in\" }\nid = \"Point\"\n";
    fs::write(path.join("set/loosedepth.toml"), settings).unwrap();
    ok(&loosedepth(path, &["map", "s.geojson", "--title", "T", "--out", "a"]));
    for (survey, out, more) in [
        ("s.csv", "b", &["--column", "depth=D200:in"][..]),
        ("german.txt", "c", &["--depth-field", "D200", "--depth-unit", "in"]),
        ("set/s.csv", "d", &[]),
    ] {
        let args = ["map", survey, "--title", "T", "--out", out];
        ok(&loosedepth(path, &[&args[..], more].concat()));
        let bytes = |folder: &str| fs::read(path.join(folder).join("depth.tif")).unwrap();
        assert!(bytes("a") == bytes(out), "{survey}");
    }
    let roles: Vec<Value> = summary(&path.join("d"))["inputs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|input| input["role"].clone())
        .collect();
    assert_eq!(roles, ["survey", "settings"]);
}

#[test]
fn unknown_columns_are_proposed_and_never_guessed() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("s.csv"), table()).unwrap();
    let run = loosedepth(folder.path(), &["check", "s.csv"]);
    assert_eq!(run.exit, 1);
    for part in ["s.csv", "D200", "0 to 12", "steps of 3", "inches?", "--depth-unit"] {
        assert!(run.stderr.contains(part), "{part}: {}", run.stderr);
    }
    fs::write(folder.path().join("loosedepth.toml"), "[colums]\nid = \"x\"\n").unwrap();
    let run = loosedepth(folder.path(), &["check", "s.csv"]);
    assert!(run.exit == 1 && run.stderr.contains("colums"), "{}", run.stderr);
}

#[test]
fn a_profile_survey_is_mapped_at_several_thresholds_in_one_run() {
    let folder = tempfile::tempdir().unwrap();
    let survey = profiles();
    let args = ["map", &survey, "--date", "2025-06-14", "--out", "out"];
    let both = ["--threshold", "200psi", "--threshold", "2MPa"];
    ok(&loosedepth(folder.path(), &[&args[..], &both].concat()));
    let depth = |name: &str| {
        let summary = summary(&folder.path().join("out").join(name));
        assert_eq!(summary["survey"]["spots_with_reading"], 68);
        summary["survey"]["not_reached"].as_u64().unwrap()
    };
    assert!(depth("200psi") < depth("2MPa"), "2 MPa is reached by fewer");
    let again = loosedepth(folder.path(), &[&args[..], &both].concat());
    assert!(again.exit == 1 && again.stderr.contains("200psi already holds"), "{}", again.stderr);
}

#[test]
fn profiles_are_summed_up_drawn_and_tabled() {
    let folder = tempfile::tempdir().unwrap();
    let survey = profiles();
    let args = ["profile", &survey, "--date", "2025-06-14", "--threshold", "2MPa", "--out", "out"];
    let run = loosedepth(folder.path(), &args);
    ok(&run);
    for part in ["68 profiles", "2 MPa or more at", "300 psi or more at", "measuring points"] {
        assert!(run.stdout.contains(part), "{part}: {}", run.stdout);
    }
    let csv = fs::read_to_string(folder.path().join("out/profiles.csv")).unwrap();
    assert_eq!(csv.lines().count(), 69);
    assert!(csv.starts_with("probe,") && csv.contains("outcome_2MPa"));
    assert!(folder.path().join("out/profile.png").exists());
    let none = loosedepth(folder.path(), &["profile", &demo("visits/2025-04-14.geojson")]);
    assert!(none.exit == 1 && none.stderr.contains("no profile"), "{}", none.stderr);
}

#[test]
fn a_cleaned_survey_reads_back_and_cleans_to_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    for (survey, more) in
        [(demo("visits/2025-07-19.geojson"), &[][..]), (profiles(), &["--date", "2025-06-14"])]
    {
        let clean = |survey: &str, out: &str| {
            let args = ["clean", survey, "--out", out, "--replace"];
            ok(&loosedepth(folder.path(), &[&args[..], more].concat()));
        };
        clean(&survey, "a");
        let read = |name: &str| fs::read(folder.path().join(name)).unwrap();
        for written in ["survey.geojson", "survey.csv"] {
            clean(&format!("a/{written}"), "b");
            assert!(read("a/survey.csv") == read("b/survey.csv"), "{survey} {written}");
        }
        assert!(read("a/survey.gpkg").starts_with(b"SQLite format 3"));
    }
}

#[test]
fn corrections_are_kept_beside_the_survey() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    let mut wrong = features();
    wrong[7]["properties"]["depth_in"] = json!(99);
    fs::write(path.join("s.geojson"), collection(&wrong)).unwrap();
    assert_eq!(loosedepth(path, &["check", "s.geojson"]).exit, 3);
    let edits = "point,field,old,new,who,why\n#8,depth_in,99,9,J. Doe,\"one 9, not two\"\n";
    fs::write(path.join("edits.csv"), edits).unwrap();
    let run = loosedepth(path, &["map", "s.geojson", "--edits", "edits.csv", "--out", "out"]);
    ok(&run);
    let said = "feature 8: depth_in \"99\" is corrected to \"9\"; by J. Doe: one 9, not two";
    assert!(run.stderr.contains(said), "{}", run.stderr);
    let inputs = &summary(&path.join("out"))["inputs"];
    assert_eq!((&inputs[0]["role"], &inputs[1]["role"]), (&json!("survey"), &json!("edits")));
    fs::write(path.join("edits.csv"), edits.replace("99", "98")).unwrap();
    let run = loosedepth(path, &["check", "s.geojson", "--edits", "edits.csv"]);
    assert!(
        run.exit == 1 && run.stderr.contains("edits.csv: line 2: depth_in is 99"),
        "{}",
        run.stderr
    );
}

#[test]
fn strict_stops_at_doubts_and_writes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    let mut odd = features();
    odd[7]["properties"]["depth_in"] = json!(7.5);
    fs::write(path.join("s.geojson"), collection(&odd)).unwrap();
    let run = loosedepth(path, &["check", "s.geojson"]);
    ok(&run);
    assert!(run.stderr.contains("doubt: feature 8: 7.5 in is on no mark"), "{}", run.stderr);
    let run = loosedepth(path, &["map", "s.geojson", "--strict", "--out", "out"]);
    assert!(run.exit == 1 && run.stderr.contains("--strict was given"), "{}", run.stderr);
    assert!(!path.join("out").exists());
}

#[test]
fn silent_depths_are_not_mapped_at_several_thresholds() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("s.geojson"), collection(&features())).unwrap();
    let args = ["map", "s.geojson", "--out", "out", "--threshold", "200psi"];
    let run = loosedepth(folder.path(), &args);
    ok(&run);
    assert!(
        run.stderr
            .contains("20 of 20 records do not say their threshold; taken as read at 200 psi")
    );
    let run =
        loosedepth(folder.path(), &[&args[..], &["--replace", "--threshold", "300psi"]].concat());
    assert!(run.exit == 1 && run.stderr.contains("20 single depths do not say"), "{}", run.stderr);
    let run =
        loosedepth(folder.path(), &[&args[..], &["--replace", "--threshold", "200 psi"]].concat());
    assert!(run.exit == 1 && run.stderr.contains("two thresholds"), "{}", run.stderr);
}

#[test]
fn the_unit_typed_is_the_unit_printed() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("s.geojson"), collection(&features())).unwrap();
    let run = loosedepth(folder.path(), &["check", "s.geojson", "--threshold", "1.38MPa"]);
    ok(&run);
    assert!(run.stdout.contains("depth to 1.38 MPa"), "{}", run.stdout);
}
