//! The built command's plans: exit code, text and files.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

#[path = "support/mod.rs"]
mod support;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use serde_json::Value;
use support::{Run, assert_as_kept, demo, loosedepth, root};

/// Maps a visit of the demo field into `map`.
fn mapped(folder: &Path) {
    let (survey, boundary) = (demo("visits/2025-04-14.geojson"), demo("boundary.geojson"));
    let run = loosedepth(folder, &["map", &survey, "--boundary", &boundary, "--out", "map"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
}

fn plan(folder: &Path, rates: &str, more: &[&str]) -> Run {
    let args = ["plan", "map/zones.geojson", "--rates", rates, "--out", "plan"];
    loosedepth(folder, &[&args[..], more].concat())
}

fn bytes(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let name = |entry: &fs::DirEntry| entry.file_name().into_string().unwrap();
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
    entries
        .map(|entry| (name(&entry), entry.path()))
        .filter(|(_, path)| path.is_file())
        .map(|(name, path)| (name, fs::read(path).unwrap()))
        .collect()
}

fn summary(folder: &Path) -> Value {
    serde_json::from_slice(&fs::read(folder.join("plan/plan.json")).unwrap()).unwrap()
}

#[test]
fn the_demo_plan_is_written_and_the_same_input_gives_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    mapped(folder.path());
    let rates = demo("rates.toml");
    let run = plan(folder.path(), &rates, &["--check-strips", "4", "--seed", "3"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(
        run.stderr.lines().all(|line| line.starts_with("note: in 9.14 m cells")),
        "{}",
        run.stderr
    );
    for part in [
        "North Bench, autumn 2025: field North Bench\nfarm Demo Farm, grower R. Example\n",
        "zones of the visit of 2025-04-14\npasses of 30 ft, heading 90°\n",
        "\n  check strip 4: leave ",
        "\nwarnings:\n  - ",
        "\ncautions:\n  - Call before you dig",
        // 7.379 Mg/ha of pure gypsum in gypsum of 92 %.
        "= 8.02 Mg/ha = 3.578 ton/ac (short tons)",
        "\nwrote plan.json, ",
    ] {
        assert!(run.stdout.contains(part), "{part}\n--\n{}", run.stdout);
    }
    assert!(!run.stdout.contains("NOT BACKED"), "{}", run.stdout);

    let out = folder.path().join("plan");
    let first = bytes(&out);
    let found = summary(folder.path());
    for name in found["files"].as_array().unwrap() {
        assert!(out.join(name.as_str().unwrap()).is_file(), "{name} is not there");
    }
    let again = plan(folder.path(), &rates, &[]);
    assert_eq!(again.exit, 1);
    assert!(again.stderr.contains("already holds plan.json; give --replace"), "{}", again.stderr);
    assert!(bytes(&out) == first, "a refused run changes nothing");
    let replaced =
        plan(folder.path(), &rates, &["--check-strips", "4", "--seed", "3", "--replace"]);
    assert_eq!(replaced.exit, 0, "{}", replaced.stderr);
    assert!(bytes(&out) == first, "the same input gives the same bytes");

    // A plan without the gypsum leaves the gypsum's files of the other plan where they are, and says so.
    let (text, gypsum) = (fs::read_to_string(&rates).unwrap(), "[[action]]\nclasses = [3, 4]");
    let (before, after) = text.split_once(gypsum).unwrap();
    let less = format!("{before}{}", &after[after.find("[[action]]").unwrap()..]);
    fs::write(folder.path().join("less.toml"), less).unwrap();
    let less = plan(folder.path(), "less.toml", &["--replace"]);
    assert_eq!(less.exit, 0, "{}", less.stderr);
    assert!(
        less.stderr.contains(
            "results of another run, not of this plan: TASKDATA/GRD00002.bin, gypsum.shp"
        ),
        "{}",
        less.stderr
    );
}

/// As the README shows it: zones a machine can follow, then the plan.
#[test]
fn the_plan_of_the_readme_is_told_as_kept() {
    let folder = tempfile::tempdir().unwrap();
    let (survey, boundary) = (demo("visits/2025-04-14.geojson"), demo("boundary.geojson"));
    let zones = ["--swath", "30ft", "--heading", "90", "--most-zones", "7"];
    let map = ["map", &survey, "--boundary", &boundary, "--out", "map"];
    assert_eq!(loosedepth(folder.path(), &[&map[..], &zones].concat()).exit, 0);
    let run = plan(folder.path(), &demo("rates.toml"), &["--check-strips", "3"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert_as_kept(&run.stdout, "plan_demo.txt");
    for name in ["operator.pdf", "operator.png", "TASKDATA/TASKDATA.XML", "TASKDATA.zip"] {
        assert!(folder.path().join("plan").join(name).is_file(), "{name} is not there");
    }
}

/// The rates in the README are sound: what stops them here is that this field has no profiles.
#[test]
fn the_rates_of_the_readme_can_be_read() {
    let folder = tempfile::tempdir().unwrap();
    mapped(folder.path());
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    let rates = readme.split("```toml\n[plan]").nth(1).unwrap().split("```").next().unwrap();
    fs::write(folder.path().join("rates.toml"), format!("[plan]{rates}")).unwrap();
    let run = plan(folder.path(), "rates.toml", &[]);
    assert_eq!(run.exit, 1);
    assert!(run.stderr.contains("bottom of the tight layer not measured"), "{}", run.stderr);
    let given = rates
        .replace("\"profiles\"", "{ depth = \"13in\", how = \"4 pits\", date = \"2025-04-16\" }");
    fs::write(folder.path().join("rates.toml"), format!("[plan]{given}")).unwrap();
    let run = plan(folder.path(), "rates.toml", &[]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
}

#[test]
fn a_terminal_sees_the_same_doses_in_taskdata_of_every_kind() {
    let folder = tempfile::tempdir().unwrap();
    mapped(folder.path());
    for (version, named) in [("3", "version 3.3"), ("4", "version 4.3")] {
        for kind in ["zones", "doses", "polygons"] {
            let options = ["--taskdata", kind, "--taskdata-version", version, "--replace"];
            let run = plan(folder.path(), &demo("rates.toml"), &options);
            assert_eq!(run.exit, 0, "{}", run.stderr);
            for path in ["plan/TASKDATA", "plan/TASKDATA.zip"] {
                let seen = loosedepth(folder.path(), &["inspect", path]);
                assert_eq!(seen.exit, 0, "{}", seen.stderr);
                for part in
                    [named, "field: North Bench", "14 in (35.6 cm)", "outside the field: 0 in"]
                {
                    assert!(
                        seen.stdout.contains(part),
                        "{kind} {version}: {part}\n{}",
                        seen.stdout
                    );
                }
            }
        }
    }
    let cell = ["--taskdata", "polygons", "--taskdata-cell", "5m", "--replace"];
    let run = plan(folder.path(), &demo("rates.toml"), &cell);
    assert_eq!(run.exit, 1);
    assert!(run.stderr.contains("has no use for --taskdata-cell"), "{}", run.stderr);
}

/// The profiles of the other demo field go below the tight layer: the set depth is the bottom they measured,
/// as the zone file gives it, and an inch.
#[test]
fn a_set_depth_comes_from_the_bottom_that_profiles_measured() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| root().join("demo-data/slough-piece").join(name).display().to_string();
    let (survey, boundary, rates) =
        (file("profiles.geojson"), file("boundary.geojson"), file("rates.toml"));
    let day = ["--date", "2025-04-16", "--threshold", "200psi"];
    let map = ["map", &survey, "--boundary", &boundary, "--out", "map"];
    assert_eq!(loosedepth(folder.path(), &[&map[..], &day].concat()).exit, 0);
    let run = plan(folder.path(), &rates, &[]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let zones: Value =
        serde_json::from_slice(&fs::read(folder.path().join("map/zones.geojson")).unwrap())
            .unwrap();
    let found = summary(folder.path());
    let mut loosened = 0;
    for part in found["parts"].as_array().unwrap() {
        let dose = &part["doses"]["loosen"]["value"];
        let is_zone = |zone: &&Value| zone["id"] == part["zone_id"];
        let zone = zones["features"].as_array().unwrap().iter().find(is_zone).unwrap();
        if let Some(depth_cm) = dose.as_f64().filter(|&depth_cm| depth_cm > 0.0) {
            loosened += 1;
            let bottom_in = zone["properties"]["bottom_in"].as_f64().unwrap();
            // The zone file rounds to a hundredth of an inch.
            assert!((depth_cm / 2.54 - bottom_in - 1.0).abs() < 0.011, "{part} {bottom_in}");
        }
    }
    assert!(loosened > 0);
}

/// Totals of the summary are the sums over its parts, whatever the zones are.
#[test]
fn totals_in_the_summary_are_those_of_its_parts() {
    let folder = tempfile::tempdir().unwrap();
    mapped(folder.path());
    let run = plan(folder.path(), &demo("rates.toml"), &["--check-strips", "3"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let found = summary(folder.path());
    assert_eq!(found["inputs"][0]["role"], "zones");
    assert_eq!(found["inputs"][1]["file"], "rates.toml");
    let zones: Value =
        serde_json::from_slice(&fs::read(folder.path().join("map/zones.geojson")).unwrap())
            .unwrap();
    let area = |value: &Value| value.as_f64().unwrap();
    let mapped_ha: f64 = zones["features"]
        .as_array()
        .unwrap()
        .iter()
        .map(|f| area(&f["properties"]["area_ha"]))
        .sum();
    let parts = found["parts"].as_array().unwrap();
    let planned_ha: f64 = parts.iter().map(|part| area(&part["area_ha"])).sum();
    assert!((planned_ha / mapped_ha - 1.0).abs() < 1e-5, "{planned_ha} ha of {mapped_ha}");
    let dose = |part: &Value, slug: &str| part["doses"][slug]["value"].as_f64().unwrap_or(0.0);
    let operations = found["operations"].as_array().unwrap();
    assert_eq!(operations.len(), 2);
    let gypsum = &operations[1];
    let kg: f64 = parts.iter().map(|part| area(&part["area_ha"]) * dose(part, "gypsum")).sum();
    assert!((area(&gypsum["total"]) / kg - 1.0).abs() < 1e-5);
    let hopper_kg = 12_000.0 * 0.453_592_37;
    assert_eq!(gypsum["fills"].as_f64().unwrap(), (kg / hopper_kg).ceil());
    let treated_ac = area(&gypsum["treated_ac"]);
    let cost = kg / 907.184_74 * 38.0 + treated_ac * 9.0;
    assert!((area(&gypsum["cost"]) - cost).abs() < 0.01 + 1e-5 * cost);
    let is_strip = |part: &&Value| !part["check_strip"].is_null();
    let strips: Vec<&Value> = parts.iter().filter(is_strip).collect();
    assert!(strips.len() >= 3);
    for strip in strips {
        assert!(dose(strip, "gypsum") == 0.0 && dose(strip, "loosen") == 0.0, "{strip}");
    }
    assert_eq!(operations[0]["out_of_field"]["value"], 0.0);
    // 13 in and a margin of one inch.
    assert_eq!(operations[0]["signal_lost"]["value"], 35.56);
}

#[test]
fn what_cannot_be_planned_is_said_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    mapped(folder.path());
    let (file, rates) =
        (folder.path().join("r.toml"), fs::read_to_string(demo("rates.toml")).unwrap());
    let pits =
        "{ depth = \"13in\", how = \"4 pits, one in each large zone\", date = \"2025-04-16\" }";
    for (from, to, expected) in [
        (pits, "\"profiles\"", "r.toml: [[action]] 1: bottom of the tight layer not measured in Z"),
        (
            "margin = \"1in\"",
            "set_depth = \"14in\"",
            "r.toml: [[action]] 1, key `set_depth`: a set depth is not",
        ),
        (pits, "\"loose layer\"", "that is the TOP of the tight layer"),
        (
            "classes = [5, 6]",
            "classes = [11]",
            "r.toml: [[action]] 3: no zone of class 11 in zones.geojson",
        ),
        ("hopper", "hoper", "unknown key `hoper`"),
    ] {
        assert!(rates.contains(from), "{from}");
        fs::write(&file, rates.replacen(from, to, 1)).unwrap();
        let run = plan(folder.path(), "r.toml", &[]);
        assert_eq!((run.exit, run.stdout.as_str()), (1, ""), "{}", run.stderr);
        assert!(run.stderr.starts_with("error: r.toml: "), "{}", run.stderr);
        assert!(run.stderr.contains(expected), "{}", run.stderr);
        assert!(!folder.path().join("plan").exists());
    }
    for (args, exit, expected) in [
        (&["--check-strips", "0"][..], 1, "--check-strips must be from 1 to 1000"),
        (&["--check-strips", "900"], 1, "ask for "),
        (&["--check-strips", "2", "--swath", "30"], 2, "has no unit"),
        (&["--seed", "2"], 2, "--check-strips"),
        (&["--heading", "-5"], 1, "--heading: -5 must be from 0 to 360"),
    ] {
        let run = plan(folder.path(), &demo("rates.toml"), args);
        assert_eq!(run.exit, exit, "{args:?} {}", run.stderr);
        assert!(run.stderr.contains(expected), "{}", run.stderr);
        assert!(!folder.path().join("plan").exists());
    }
    let missing = plan(folder.path(), "none.toml", &[]);
    assert_eq!(missing.exit, 1);
    assert!(missing.stderr.contains("none.toml: cannot be read"), "{}", missing.stderr);
}

#[test]
fn a_rate_without_a_basis_is_stamped_first() {
    let folder = tempfile::tempdir().unwrap();
    mapped(folder.path());
    let rates = fs::read_to_string(demo("rates.toml")).unwrap();
    let bare: Vec<&str> = rates.lines().filter(|line| !line.starts_with("basis = ")).collect();
    fs::write(folder.path().join("r.toml"), bare.join("\n")).unwrap();
    let run = plan(folder.path(), "r.toml", &[]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(run.stdout.starts_with("*** RATES NOT BACKED BY A SOIL TEST ***\n"), "{}", run.stdout);
    assert!(run.stdout.contains("missing in `basis`: lab, date, method, recommended_by"));
    assert_eq!(summary(folder.path())["stamps"][0], "RATES NOT BACKED BY A SOIL TEST");
}

/// The rates of Slough Piece take the bottom from profiles; zones without any refuse it by name.
#[test]
fn rates_of_the_other_field_do_not_fit() {
    let folder = tempfile::tempdir().unwrap();
    mapped(folder.path());
    let rates = root().join("demo-data/slough-piece/rates.toml").display().to_string();
    let run = plan(folder.path(), &rates, &[]);
    assert_eq!(run.exit, 1);
    assert!(run.stderr.contains("bottom of the tight layer not measured in"), "{}", run.stderr);
}
