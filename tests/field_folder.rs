//! The folder of a field in place of a survey's file.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

mod support;

use std::fs;
use std::path::Path;

use serde_json::{Value, json};
use support::{Run, collection, demo, features, loosedepth, ring};

/// A field of two visits in two files.
fn field(folder: &Path) {
    fs::create_dir(folder.join("visits")).unwrap();
    let boundary = json!({ "type": "Polygon", "coordinates": [ring()] });
    fs::write(folder.join("boundary.geojson"), boundary.to_string()).unwrap();
    settings(folder, "boundary = \"boundary.geojson\"\n");
    for day in ["2025-04-14", "2025-04-26"] {
        visit(folder, &format!("visits/{day}.geojson"), &[day]);
    }
}

fn settings(folder: &Path, text: &str) {
    fs::write(folder.join("loosedepth.toml"), text).unwrap();
}

/// Twenty readings named P0 to P19, shared out among some days.
fn visit(folder: &Path, file: &str, days: &[&str]) {
    let mut all = features();
    for (k, feature) in all.iter_mut().enumerate() {
        feature["properties"]["point_id"] = json!(format!("P{k}"));
        if !days.is_empty() {
            feature["properties"]["date"] = json!(days[k % days.len()]);
        }
    }
    fs::write(folder.join(file), collection(&all)).unwrap();
}

fn fails(folder: &Path, args: &[&str], exit: i32, words: &[&str]) {
    let Run { exit: found, stderr, .. } = loosedepth(folder, args);
    assert_eq!(found, exit, "{stderr}");
    for word in words {
        assert!(stderr.contains(word), "{word:?} is not in {stderr}");
    }
}

fn summary(path: &Path) -> Value {
    serde_json::from_slice(&fs::read(path).unwrap()).unwrap()
}

#[test]
fn a_visit_of_the_demo_field_is_mapped_as_its_file_is_with_flags() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let day = "2025-07-08";
    let by_folder = loosedepth(at, &["map", &demo(""), "--visit", day, "--out", "folder"]);
    let (file, boundary, strata) =
        (demo(&format!("visits/{day}.geojson")), demo("boundary.geojson"), demo("strata.geojson"));
    let flags = ["--boundary", &boundary, "--strata", &strata, "--out", "flags"];
    let by_file = loosedepth(at, &[&["map", file.as_str()], &flags[..]].concat());
    assert_eq!((by_folder.exit, by_file.exit), (0, 0), "{}", by_folder.stderr);
    for name in ["depth.tif", "zones.geojson", "map.png"] {
        let bytes = |of: &str| fs::read(at.join(of).join(name)).unwrap();
        assert!(bytes("folder") == bytes("flags"), "{name}");
    }
    let inputs = summary(&at.join("folder/summary.json"))["inputs"].to_string();
    assert!(inputs.contains("loosedepth.toml"), "{inputs}");
}

#[test]
fn results_lie_in_the_field_folder_and_a_plan_finds_them() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at);
    let rates = "[plan]\nname = \"Loosen\"\n";
    fs::write(at.join("rates.toml"), rates).unwrap();
    settings(at, "boundary = \"boundary.geojson\"\nrates = \"rates.toml\"\nresults = \"out\"\n");
    let plan = ["plan", ".", "--visit", "2025-04-26"];
    fails(at, &plan, 1, &["not mapped yet", "loosedepth map . --visit 2025-04-26"]);
    assert_eq!(loosedepth(at, &["map", ".", "--visit", "2025-04-26"]).exit, 0);
    assert!(at.join("out/2025-04-26/zones.geojson").is_file());
    // The zones are found now, and the rates, which plan nothing yet.
    fails(at, &plan, 1, &["rates.toml"]);
    fails(at, &["map", ".", "--visit", "2025-04-26"], 1, &["--replace"]);
}

#[test]
fn flags_count_over_the_settings_file() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at);
    settings(
        at,
        "boundary = \"boundary.geojson\"\nunits = \"si\"\nclasses = [10, 20]\nname = \"Home\"\n",
    );
    let limits = |args: &[&str]| {
        let common = ["map", ".", "--visit", "2025-04-14", "--out", "out", "--replace"];
        let run = loosedepth(at, &[&common, args].concat());
        assert_eq!(run.exit, 0, "{}", run.stderr);
        let summary = summary(&at.join("out/summary.json"));
        (summary["field"]["name"].clone(), run.stdout)
    };
    let (field, si) = limits(&[]);
    assert_eq!(field, "Home");
    assert!(si.starts_with("Home") && si.contains("≥ 20") && si.contains("cm"), "{si}");
    let (_, us) = limits(&["--units", "us", "--classes", "4,8"]);
    assert!(us.contains("≥ 8"), "{us}");
}

#[test]
fn classes_of_the_settings_file_are_in_its_units() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at);
    let boundary = "boundary = \"boundary.geojson\"\n";
    for (units, other, words) in [
        ("", "si", ["loosedepth.toml: its classes are in inches", "--classes in centimetres"]),
        (
            "units = \"si\"\n",
            "us",
            ["loosedepth.toml: its classes are in centimetres", "--classes in inches"],
        ),
    ] {
        settings(at, &format!("{boundary}{units}classes = [3, 6, 9]\n"));
        let map = ["map", ".", "--visit", "2025-04-14", "--units", other];
        let compare = ["compare", ".", "2025-04-14", "2025-04-26", "--units", other];
        let season = ["season", ".", "--units", other];
        for args in [&map[..], &compare, &season] {
            fails(at, args, 2, &words);
        }
        assert!(!at.join("results").exists());
        let run = loosedepth(at, &[&map[..], &["--classes", "4,8", "--out", other]].concat());
        assert_eq!(run.exit, 0, "{}", run.stderr);
    }
}

#[test]
fn one_file_may_hold_several_visits_and_a_visit_several_days() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at);
    fs::remove_dir_all(at.join("visits")).unwrap();
    let days = ["2025-04-14", "2025-04-15", "2025-06-14", "2025-06-17"];
    visit(at, "all.geojson", &days);
    settings(at, "boundary = \"boundary.geojson\"\nvisits = [\"all.geojson\"]\n");
    let run = loosedepth(at, &["check", ".", "--visit", "2025-04-15"]);
    assert!(run.stdout.contains("10 readings"), "{}{}", run.stdout, run.stderr);
    fails(at, &["check", "."], 1, &["--visit DATE", "2025-04-14, 2025-06-14"]);
    fails(at, &["check", ".", "--visit", "2025-05-01"], 1, &["no visit of 2025-05-01"]);
}

#[test]
fn corrections_of_a_field_name_their_visit() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at);
    settings(at, "boundary = \"boundary.geojson\"\nedits = \"edits.csv\"\n");
    let edits = |text: &str| fs::write(at.join("edits.csv"), text).unwrap();
    let check = |day: &str| loosedepth(at, &["check", ".", "--visit", day]).stderr;
    edits("visit,point,field,old,new,who,why\n2025-04-26,P1,depth_in,3,6,Ana,misread\n");
    assert!(!check("2025-04-14").contains("corrected"));
    assert!(check("2025-04-26").contains("corrected to \"6\""));
    edits("visit,point,field,old,new,who,why\n2025-04-16,P1,depth_in,3,6,Ana,misread\n");
    let words = ["edits.csv", "line 2", "visit of 2025-04-16", "2025-04-14, 2025-04-26"];
    fails(at, &["check", ".", "--visit", "2025-04-14"], 1, &words);
    fails(at, &["season", "."], 1, &words);
    edits("point,field,old,new,who,why\nP1,depth_in,3,6,Ana,misread\n");
    let words = ["edits.csv", "line 2", "column `visit`"];
    fails(at, &["check", ".", "--visit", "2025-04-14"], 1, &words);
    edits("visit,point,field,old,new,who,why\n26 April,P1,depth_in,3,6,Ana,misread\n");
    fails(at, &["check", ".", "--visit", "2025-04-14"], 1, &["line 2", "26 April"]);
}

#[test]
fn a_file_alone_takes_the_corrections_of_its_own_days() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    visit(at, "one.geojson", &["2025-04-14", "2025-04-16"]);
    visit(at, "silent.geojson", &[]);
    let edits = "visit,point,field,old,new,who,why\n2025-04-26,P1,depth_in,3,6,Ana,misread\n\
                 2025-04-15,P2,depth_in,6,7,Ana,misread\n,P3,depth_in,9,10,Ana,misread\n";
    fs::write(at.join("edits.csv"), edits).unwrap();
    let days = ["--date", "2025-04-14..2025-04-16"];
    for (file, days, expected) in
        [("one.geojson", &days[..], [false, true, true]), ("silent.geojson", &[], [true; 3])]
    {
        let args = ["check", file, "--edits", "edits.csv"];
        let told = loosedepth(at, &[&args[..], days].concat()).stderr;
        let found = ["6", "7", "10"].map(|new| told.contains(&format!("corrected to \"{new}\"")));
        assert_eq!(found, expected, "{file}: {told}");
    }
}

#[test]
fn findings_of_several_visits_name_their_file() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at);
    let mut all = features();
    for feature in &mut all {
        feature["properties"]["date"] = json!("2025-04-26");
    }
    all[3]["properties"]["depth_in"] = json!(900);
    fs::write(at.join("visits/2025-04-26.geojson"), collection(&all)).unwrap();
    let season = ["season", ".", "--out", "out"];
    let compare = ["compare", ".", "2025-04-14", "2025-04-26", "--out", "change"];
    for args in [&season[..], &compare] {
        let Run { exit, stderr, .. } = loosedepth(at, args);
        assert_eq!(exit, 3, "{stderr}");
        let faults: Vec<&str> = stderr.lines().filter(|line| line.starts_with("fault: ")).collect();
        let is_named = |line: &&str| line.starts_with("fault: 2025-04-26.geojson: ");
        assert!(!faults.is_empty() && faults.iter().all(is_named), "{stderr}");
        assert!(stderr.contains("note: 2025-04-14.geojson: "), "{stderr}");
    }
    let strict = ["season", ".", "--out", "strict", "--strict"];
    fails(at, &strict, 1, &["visits/2025-04-26.geojson: ", "of the findings are faults"]);
}

#[test]
fn names_of_others_do_not_control_the_terminal() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at);
    settings(
        at,
        "boundary = \"boundary.geojson\"\nname = \"Home\\u001b[2J\\u202e\\nerror: none\"\n",
    );
    let mut all = features();
    for feature in &mut all {
        feature["properties"]["date"] = json!("2025-04-26");
        feature["properties"]["point_id"] = json!("P\u{1b}[31m\u{2066}\nfault: gone");
    }
    all[3]["properties"]["depth_in"] = json!(900);
    fs::write(at.join("visits/2025-04-26.geojson"), collection(&all)).unwrap();
    for args in [
        &["check", ".", "--visit", "2025-04-26"][..],
        &["season", ".", "--out", "out"],
        &["calendar", "."],
    ] {
        let Run { stdout, stderr, .. } = loosedepth(at, args);
        let told = format!("{stdout}{stderr}");
        assert!(!told.contains(['\u{1b}', '\u{202e}', '\u{2066}']), "{told:?}");
        assert!(!stderr.lines().any(|line| line.starts_with("fault: gone")), "{told}");
    }
    let check = loosedepth(at, &["check", ".", "--visit", "2025-04-26"]);
    assert!(check.stdout.starts_with("Home[2J error: none"), "{}", check.stdout);
}

#[test]
fn the_folder_of_visits_holds_surveys_alone() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at);
    let check = ["check", ".", "--visit", "2025-04-14"];
    // What a Mac leaves beside a file on a stick is no visit.
    fs::write(at.join("visits/._2025-04-14.geojson"), "\u{0}\u{5}").unwrap();
    assert_eq!(loosedepth(at, &check).exit, 0);
    for (args, out) in [
        (&["season", "."][..], "visits"),
        (&["season", "."], "./visits/../visits"),
        (&["map", ".", "--visit", "2025-04-14"], "visits"),
    ] {
        fails(at, &[args, &["--out", out]].concat(), 2, &["results among them", "--out FOLDER"]);
    }
    assert_eq!(fs::read_dir(at.join("visits")).unwrap().count(), 3);
    for name in ["notes.txt", "notes.json", "notes.csv"] {
        fs::write(at.join("visits").join(name), "rained on the way\n").unwrap();
        let words = [name, "is no survey", "loosedepth.toml: visits = [\"FILE\""];
        fails(at, &check, 1, &words);
        fs::remove_file(at.join("visits").join(name)).unwrap();
    }
}

#[test]
fn every_command_calls_the_field_alike() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let home = at.join("Home 7");
    fs::create_dir(&home).unwrap();
    field(&home);
    // A survey's own name is that of its visit.
    for day in ["2025-04-14", "2025-04-26"] {
        let path = home.join(format!("visits/{day}.geojson"));
        let mut survey: Value = serde_json::from_slice(&fs::read(&path).unwrap()).unwrap();
        survey["name"] = json!(format!("walk of {day}"));
        fs::write(&path, survey.to_string()).unwrap();
    }
    let called = |from: &str, out: &str, name: &str| {
        let out = |of: &str| format!("{out}/{of}");
        for args in [
            &["map", from, "--visit", "2025-04-14", "--out", &out("map")][..],
            &["season", from, "--out", &out("season")],
            &["compare", from, "2025-04-14", "2025-04-26", "--out", &out("change")],
            &["calendar", from, "--until", "2025-05-31"],
        ] {
            let run = loosedepth(at, args);
            assert_eq!(run.exit, 0, "{}", run.stderr);
            let told = run.stdout.lines().any(|line| line.starts_with(name));
            assert!(told, "{args:?}: {}", run.stdout);
        }
        let of_map = summary(&at.join(out("map/summary.json")))["field"]["name"].clone();
        let of_visit = summary(&at.join(out("season/2025-04-14/summary.json")));
        assert_eq!([&of_map, &of_visit["field"]["name"]], [name, name]);
    };
    called("Home 7", "a", "Home 7");
    called("a/season/season.gpkg", "b", "Home 7");
    settings(&home, "boundary = \"boundary.geojson\"\nname = \"North/South\"\n");
    called("Home 7", "c", "North/South");
    called("c/season/season.gpkg", "d", "North/South");
}

#[test]
fn visits_of_a_folder_are_not_chosen_by_date() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at);
    let days = ["2025-04-14", "2025-04-26"];
    for command in [
        &["season", "."][..],
        &["compare", ".", days[0], days[1]],
        &["trial", ".", days[0], days[1], "--group", "a", "--treated", "b", "--check", "c"],
    ] {
        let args = [command, &["--date", days[0], "--out", "out"]].concat();
        fails(at, &args, 2, &["--date is for a survey's file"]);
    }
}

/// Two files of surveys, of which the later alone has settings; its column is another in the earlier.
fn two_files(at: &Path) {
    for (folder, day) in [("early", "2025-04-14"), ("late", "2025-04-26")] {
        fs::create_dir(at.join(folder)).unwrap();
        let mut all = features();
        for feature in &mut all {
            let properties = &mut feature["properties"];
            properties["date"] = json!(day);
            properties["D"] =
                if folder == "late" { properties["depth_in"].take() } else { json!(1) };
        }
        fs::write(at.join(folder).join("survey.geojson"), collection(&all)).unwrap();
    }
    let ground = json!({ "type": "Polygon", "coordinates": [ring()] });
    fs::write(at.join("boundary.geojson"), ground.to_string()).unwrap();
    let headland = json!({ "type": "Feature", "properties": { "name": "headland" },
        "geometry": { "type": "Polygon", "coordinates": [[[-95.6202, 41.9298], [-95.618, 41.9298],
            [-95.618, 41.93045], [-95.6202, 41.93045], [-95.6202, 41.9298]]] } });
    fs::write(at.join("late/strata.geojson"), collection(&[headland])).unwrap();
    let late = "strata = \"strata.geojson\"\nunits = \"si\"\nclasses = [10, 20]\n\
                [columns]\ndepth = { name = \"D\", unit = \"in\" }\n";
    settings(&at.join("late"), late);
}

#[test]
fn settings_beside_the_later_file_do_not_count_for_the_earlier() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    two_files(at);
    let compare = |out: &str, flags: &[&str]| {
        let files = ["compare", "early/survey.geojson", "late/survey.geojson"];
        let common = ["--boundary", "boundary.geojson", "--out", out];
        let run = loosedepth(at, &[&files[..], &common, flags].concat());
        assert_eq!(run.exit, 0, "{}", run.stderr);
        assert!(run.stdout.contains(" cm"), "{}", run.stdout);
        let pairs = fs::read_to_string(at.join(out).join("pairs.csv")).unwrap();
        (summary(&at.join(out).join("compare.json"))["inputs"].to_string(), pairs)
    };
    let (inputs, pairs) = compare("a", &[]);
    assert!(!inputs.contains("strata"), "{inputs}");
    let mut lines = pairs.lines().map(|line| line.split(',').collect::<Vec<_>>());
    let names = lines.next().unwrap();
    let change = names.iter().position(|name| *name == "change_cm").unwrap();
    let changes: Vec<f64> = lines.map(|fields| fields[change].parse().unwrap()).collect();
    assert_eq!(changes, [0.0; 20], "{pairs}");
    let (inputs, _) = compare("b", &["--strata", "late/strata.geojson"]);
    assert!(inputs.contains("strata.geojson"), "{inputs}");
}

#[test]
fn a_missing_folder_for_results_is_told_before_anything_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let compare = ["compare", "missing.geojson", "missing_too.geojson"];
    fails(folder.path(), &compare, 2, &["--out FOLDER"]);
}

#[test]
fn a_folder_that_is_no_field_says_what_it_needs() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let check = ["check", ".", "--visit", "2025-04-14"];
    fails(at, &check, 1, &["no loosedepth.toml", "visits = \"visits\""]);
    settings(at, "");
    fails(at, &check, 1, &["visits", "looked for here"]);
    fs::create_dir(at.join("visits")).unwrap();
    fails(at, &check, 1, &["no survey in this folder"]);
    visit(at, "visits/a.geojson", &[]);
    fails(at, &check, 1, &["a.geojson", "column `date`"]);
    visit(at, "visits/a.geojson", &["2025-04-14"]);
    visit(at, "visits/b.geojson", &["2025-04-14", "2025-04-16"]);
    fails(at, &check, 1, &["a.geojson", "b.geojson", "one visit is one file"]);
    settings(at, "boundry = \"boundary.geojson\"\n");
    fails(at, &check, 1, &["loosedepth.toml", "boundry"]);
    settings(at, "planted = \"May\"\n");
    fails(at, &check, 1, &["loosedepth.toml", "planted"]);
    for points in ["nan", "inf", "-5", "-0.1"] {
        settings(at, &format!("moisture_within = {points}\n"));
        fails(at, &check, 1, &["loosedepth.toml", "moisture_within is", "percentage points"]);
    }
    settings(at, "threshold = 200\n");
    fails(at, &check, 1, &["loosedepth.toml", "quotation marks"]);
    fails(at, &["check", "visits/a.geojson", "--visit", "2025-04-14"], 2, &["--date"]);
}
