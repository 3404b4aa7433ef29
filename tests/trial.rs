//! The built command's trials: exit code, text and files.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

#[path = "support/mod.rs"]
mod support;

use std::fs;
use std::path::Path;

use serde_json::{Value, json};
use support::{Run, assert_as_kept, collection, demo, loosedepth, point};

/// Strips of the made-up field, from south to north.
const STRIPS: usize = 8;
/// Probes in each.
const PROBES: usize = 5;

/// South and north of a strip, degrees.
fn edges(strip: usize) -> [f64; 2] {
    let south = 41.93 + 3e-4 * strip as f64;
    [south, south + 3e-4]
}

/// A visit: depth in inches by strip and probe, with its moisture. Strips are 33 m wide, probes 41 m apart.
fn visit(day: &str, moisture_pct: Option<f64>, depth_in: impl Fn(usize, usize) -> f64) -> String {
    visit_of(day, moisture_pct, |strip, probe| (depth_in(strip, probe), false))
}

/// The same, and whether the threshold was not reached down to there.
fn visit_of(
    day: &str,
    moisture_pct: Option<f64>,
    reading: impl Fn(usize, usize) -> (f64, bool),
) -> String {
    let features: Vec<Value> = (0..STRIPS * PROBES)
        .map(|k| {
            let (strip, probe) = (k / PROBES, k % PROBES);
            let lat_deg = f64::midpoint(edges(strip)[0], edges(strip)[1]);
            let (depth_in, at_least) = reading(strip, probe);
            let treatment = if is_treated(strip) { "ripped" } else { "left" };
            point(
                -95.62 + 5e-4 * probe as f64,
                lat_deg,
                &json!({
                    "point_id": format!("P{k}"),
                    "date": day,
                    "depth_in": depth_in,
                    "at_least": at_least,
                    "threshold_psi": 200,
                    "moisture_pct": moisture_pct,
                    "treatment": treatment,
                    "pass": format!("pass {strip}"),
                }),
            )
        })
        .collect();
    collection(&features)
}

/// The odd strips are treated.
fn is_treated(strip: usize) -> bool {
    strip % 2 == 1
}

/// A polygon over a strip, a little narrower.
fn area(strip: usize, properties: &Value) -> Value {
    let [south, north] = [edges(strip)[0] + 2e-5, edges(strip)[1] - 2e-5];
    let (west, east) = (-95.6203, -95.6177);
    let ring = [[west, south], [east, south], [east, north], [west, north], [west, south]];
    json!({
        "type": "Feature",
        "properties": properties,
        "geometry": { "type": "Polygon", "coordinates": [ring] },
    })
}

fn named(strip: usize) -> Value {
    let treatment = if is_treated(strip) { "treated" } else { "check" };
    area(strip, &json!({ "treatment": treatment, "strip": format!("S{strip}") }))
}

fn all_areas() -> String {
    collection(&(0..STRIPS).map(named).collect::<Vec<_>>())
}

fn boundary() -> String {
    let (south, north) = (edges(0)[0] - 1e-4, edges(STRIPS - 1)[1] + 1e-4);
    let (west, east) = (-95.6205, -95.6175);
    let ring = [[west, south], [east, south], [east, north], [west, north], [west, south]];
    json!({ "type": "Polygon", "coordinates": [ring] }).to_string()
}

/// 9 and 6 in before; after, treated strips lose 0 to 2 in and check strips 4 to 6 in.
fn before(_strip: usize, probe: usize) -> f64 {
    if probe.is_multiple_of(2) { 9.0 } else { 6.0 }
}

fn after(strip: usize, probe: usize) -> f64 {
    let loss = if is_treated(strip) { 0.0 } else { 4.0 };
    before(strip, probe) - loss - 0.5 * (strip / 2) as f64 - 0.25 * (probe % 2) as f64
}

/// A folder with two visits, areas and the boundary.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    write("before.geojson", &visit("2025-04-14", Some(25.0), before));
    write("after.geojson", &visit("2025-06-14", Some(24.0), after));
    write("areas.geojson", &all_areas());
    write("boundary.geojson", &boundary());
    folder
}

fn trial(folder: &Path, more: &[&str]) -> Run {
    let args = ["trial", "before.geojson", "after.geojson", "--boundary", "boundary.geojson"];
    loosedepth(folder, &[&args[..], more].concat())
}

fn with_areas(folder: &Path, areas: &str) -> Run {
    fs::write(folder.join("areas.geojson"), areas).unwrap();
    trial(folder, &["--areas", "areas.geojson"])
}

fn summary(folder: &Path) -> Value {
    serde_json::from_slice(&fs::read(folder.join("out/trial.json")).unwrap()).unwrap()
}

#[test]
fn the_demo_trial_cannot_tell_and_says_why() {
    let folder = tempfile::tempdir().unwrap();
    let field = demo("");
    let areas = demo("trial.geojson");
    let days = ["2025-04-14", "2025-08-24"];
    let args = ["trial", &field, days[0], days[1], "--areas", &areas, "--out", "out"];
    let run = loosedepth(folder.path(), &args);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(
        run.stdout.starts_with("*** The change is not evidence of compaction"),
        "{}",
        run.stdout
    );
    assert_as_kept(&run.stdout, "trial_demo.txt");
    let found = summary(folder.path());
    assert_eq!(found["verdict"], "cannot tell");
    let sentence =
        "Cannot tell: with 1 treated and 2 check strips ground and treatment look the same.";
    assert_eq!(found["sentence"], sentence);
    assert!(run.stdout.contains(&format!("\n{sentence}\n")));
    assert_eq!(found["cannot_tell_because"], "one_strip");
    assert_eq!(found["difference_of_changes"]["interval_cm"], Value::Null);
    let settle = found["what_would_settle_it"][0].as_str().unwrap();
    let expected = "with 4 strips a side the smallest share that a lot can give is 2 of 70 ways, no more than 5 %.";
    assert!(settle.ends_with(expected), "{settle}");
    let again = loosedepth(folder.path(), &args);
    assert_eq!(again.exit, 1);
    assert!(again.stderr.contains("already holds trial.json"), "{}", again.stderr);
}

/// Changes of the strips in inches: check −4.1, −4.6, −5.1, −5.6, treated −0.1, −0.6, −1.1, −1.6. So the difference
/// is 4, each side has the variance 5/12, and Welch's interval is 4 ± t(6) √(5/24) = 4 ± 2.447 · 0.45644 (NIST
/// e-Handbook, 1.3.6.7.2). No other of the 70 ways but the two with all sides sorted is as far from 0.
#[test]
fn a_treatment_that_works_is_told_with_its_interval_and_the_draw() {
    let folder = folder();
    let run = trial(folder.path(), &["--areas", "areas.geojson", "--randomised", "--out", "out"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let answer = "Worked: treated strips gained 4 in against check strips.\n\
                  Treated less check +4 in (95 % interval +2.9 to +5.1 in, 4 treated and 4 check strips), all of \
                  it at least the 1.5 in that matters.\n";
    assert!(run.stdout.starts_with(answer), "{}", run.stdout);
    // Check strips lose, and a loss has a minus sign.
    assert!(run.stdout.contains("   −4.1  "), "{}", run.stdout);
    let found = summary(folder.path());
    let change = &found["difference_of_changes"];
    let number = |value: &Value| value.as_f64().unwrap();
    assert!((number(&change["difference_in"]) - 4.0).abs() < 1e-9);
    let reach = 2.447 * (5.0_f64 / 24.0).sqrt();
    assert!((number(&change["interval_in"][0]) - (4.0 - reach)).abs() < 5e-4, "{change}");
    assert!((number(&change["degrees_of_freedom"]) - 6.0).abs() < 1e-9);
    let draw = &found["randomisation_test"];
    assert_eq!(draw["ways"], 70.0);
    assert!((number(&draw["p"]) - 2.0 / 70.0).abs() < 1e-6, "{draw}");
    assert_eq!(found["stamps"], json!([]));
    assert_eq!(found["what_would_settle_it"], json!([]));
    let table = fs::read_to_string(folder.path().join("out/trial.csv")).unwrap();
    assert_eq!(table.lines().count(), 1 + STRIPS);
    assert!(table.lines().nth(1).unwrap().starts_with("S0,check,,5,"), "{table}");
}

/// Two and two strips whose changes are alike within a side: Welch's interval lies far from 0, and the lot
/// gives such a difference in 2 of 6 ways.
#[test]
fn what_the_lot_alone_makes_is_not_told_as_an_effect() {
    let folder = folder();
    let areas = collection(&(0..4).map(named).collect::<Vec<_>>());
    fs::write(folder.path().join("areas.geojson"), areas).unwrap();
    let run = trial(folder.path(), &["--areas", "areas.geojson"]);
    assert!(run.stdout.starts_with("Worked: "), "{}", run.stdout);
    let run = trial(folder.path(), &["--areas", "areas.geojson", "--randomised", "--out", "out"]);
    let expected = "Cannot tell: the lot alone makes so great a difference too often";
    assert!(run.stdout.starts_with(expected), "{}", run.stdout);
    let expected = "  - Draw by lot among more strips: with 4 strips a side the smallest share that a lot can \
                    give is 2 of 70 ways, no more than 5 %.\n";
    assert!(run.stdout.contains(expected), "{}", run.stdout);
    let found = summary(folder.path());
    assert_eq!(found["cannot_tell_because"], "lot");
    assert!(found["difference_of_changes"]["p"].as_f64().unwrap() < 0.05);
    assert_eq!(found["randomisation_test"]["p"], 0.333_333);
}

#[test]
fn sides_swapped_turn_the_answer_and_the_sign() {
    let folder = folder();
    let swap = ["--areas", "areas.geojson", "--treated", "check", "--check", "treated"];
    let run = trial(folder.path(), &[&swap[..], &["--out", "out"]].concat());
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(run.stdout.starts_with("Worse: treated strips lost 4 in against check strips.\nTreated less check −4 in (95 % interval −5.1 to −2.9 in"));
    let found = summary(folder.path());
    assert!((found["difference_of_changes"]["difference_in"].as_f64().unwrap() + 4.0).abs() < 1e-9);
    assert_eq!(found["what_would_settle_it"].as_array().unwrap().len(), 1, "the lot is missing");
}

/// By the probes' own words: one strip for each word, and a strip for each pass where a property names it.
#[test]
fn probes_may_say_themselves_what_was_done() {
    let folder = folder();
    let words = ["--group", "treatment", "--treated", "ripped", "--check", "left"];
    let run = trial(folder.path(), &words);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(
        run.stdout.starts_with("Cannot tell: with 1 treated and 1 check strip"),
        "{}",
        run.stdout
    );
    let run = trial(folder.path(), &[&words[..], &["--strip-field", "pass"]].concat());
    assert!(run.stdout.starts_with("Worked: "), "{}\n{}", run.stdout, run.stderr);
    assert!(run.stdout.contains("4 treated and 4 check strips"), "{}", run.stdout);
    let run = trial(folder.path(), &["--group", "treatment", "--treated", "x", "--check", "left"]);
    assert_eq!(run.exit, 1);
    let expected =
        "no probe of both visits is of the group \"x\"; the groups there are \"left\", \"ripped\"";
    assert!(run.stderr.contains(expected), "{}", run.stderr);
    let run = trial(folder.path(), &["--group", "treatment", "--treated", "ripped"]);
    assert_eq!(run.exit, 2);
    let run = trial(folder.path(), &[]);
    assert_eq!(run.exit, 2);
}

#[test]
fn moisture_that_does_not_match_stands_above_the_answer() {
    let folder = folder();
    let write = |text: &str| fs::write(folder.path().join("after.geojson"), text).unwrap();
    write(&visit("2025-06-14", None, after));
    let run = trial(folder.path(), &["--areas", "areas.geojson"]);
    let lines: Vec<&str> = run.stdout.lines().filter(|line| !line.is_empty()).collect();
    assert!(lines[0].starts_with("*** The change is not evidence of compaction"), "{}", run.stdout);
    assert!(
        lines[1].contains("treated and the check ground is missing at the later"),
        "{}",
        lines[1]
    );
    let expected = "Cannot tell: whether treated and check ground were equally moist is not known";
    assert!(lines[2].starts_with(expected), "{}", lines[2]);
    assert!(run.stdout.contains("- Probe treated and check ground at equal moisture"));
    // Drier check ground explains its loss.
    let text = visit("2025-06-14", Some(24.0), after);
    let mut file: Value = serde_json::from_str(&text).unwrap();
    for feature in file["features"].as_array_mut().unwrap() {
        if feature["properties"]["treatment"] == "left" {
            feature["properties"]["moisture_pct"] = json!(18.0);
        }
    }
    write(&file.to_string());
    let run = trial(folder.path(), &["--areas", "areas.geojson"]);
    assert!(run.stdout.contains("\nCannot tell: treated and check ground were not equally moist"));
    assert!(run.stdout.contains("the treated ground was moister (24.0 % against 18.0 %"));
}

/// Both grounds are at 20 % in the end, and the check ground came from 31 % and the treated from 25 %: drying
/// alone explains what the check ground lost.
#[test]
fn moisture_that_differed_before_takes_the_answer_away() {
    let folder = folder();
    let text = visit("2025-04-14", Some(31.0), before);
    let mut file: Value = serde_json::from_str(&text).unwrap();
    for feature in file["features"].as_array_mut().unwrap() {
        if feature["properties"]["treatment"] == "ripped" {
            feature["properties"]["moisture_pct"] = json!(25.0);
        }
    }
    fs::write(folder.path().join("before.geojson"), file.to_string()).unwrap();
    let after = visit("2025-06-14", Some(20.0), after);
    fs::write(folder.path().join("after.geojson"), after).unwrap();
    let run = trial(folder.path(), &["--areas", "areas.geojson", "--out", "out"]);
    assert!(run.stdout.contains("\nCannot tell: treated and check ground were not equally moist"));
    let expected = "at the earlier visit the treated ground was drier (25.0 % against 31.0 %";
    assert!(run.stdout.contains(expected), "{}", run.stdout);
    let found = &summary(folder.path())["moisture"];
    assert_eq!(found["treated_and_check"], "differs");
    assert_eq!([&found["treated_before_pct"], &found["check_before_pct"]], [25.0, 31.0]);
    assert_eq!([&found["treated_after_pct"], &found["check_after_pct"]], [20.0, 20.0]);
}

/// Afterwards the rod went to 12 in and more in the check strips without reaching the threshold, and treated
/// strips reached it 1.3 in deeper on average: if the others reached it 1.5 in deeper, nothing is left.
#[test]
fn readings_that_did_not_reach_can_take_the_answer_away() {
    let folder = folder();
    let after = |strip: usize, _| {
        let more = 0.1 * strip as f64;
        if is_treated(strip) { (13.2 + more, false) } else { (12.0 + more, true) }
    };
    let text = visit_of("2025-06-14", Some(24.0), after);
    fs::write(folder.path().join("after.geojson"), text).unwrap();
    let run = trial(folder.path(), &["--areas", "areas.geojson"]);
    let expected = "Cannot tell: 1.5 in more where the threshold was not reached would turn the answer.\n\
                    Treated less check +1.3 in (";
    assert!(run.stdout.starts_with(expected), "{}", run.stdout);
    let expected = "treated 0 before and 0 after, check 0 and 20; there would be no difference if the loose \
                    layer went 1.3 in deeper at those that work against it";
    assert!(run.stdout.contains(expected) && run.stdout.contains('≥'), "{}", run.stdout);
    assert!(run.stdout.contains("- Probe with a longer rod"), "{}", run.stdout);
    let run = trial(folder.path(), &["--areas", "areas.geojson", "--matters", "0.5in"]);
    assert!(run.stdout.starts_with("Worked: "), "{}", run.stdout);
}

/// Treated strips lose 0.9 in less: the interval is 0.9 ± 2.447 · 0.456 in, as in the trial that works. By 2 s²
/// (t(0.975) + t(0.8))² / δ² with s² = 5/12 and t(6) of 2.447 and 0.906, four strips a side show 1.6 in: 2 · 5/12
/// · 3.353² / 1.6² = 3.66.
#[test]
fn a_trial_that_had_strips_enough_is_not_told_to_have_as_many() {
    let folder = folder();
    let after = |strip: usize, probe: usize| {
        after(strip, probe) - if is_treated(strip) { 3.1 } else { 0.0 }
    };
    let text = visit("2025-06-14", Some(24.0), after);
    fs::write(folder.path().join("after.geojson"), text).unwrap();
    let run = trial(folder.path(), &["--areas", "areas.geojson", "--matters", "1.6in"]);
    let expected = "  - Repeat it with as many strips again: about 4 strips a side show 1.6 in with 80 % power";
    assert!(run.stdout.contains(expected), "{}", run.stdout);
    let run = trial(folder.path(), &["--areas", "areas.geojson", "--matters", "1.5in"]);
    assert!(
        run.stdout.contains("  - About 5 strips a side would show 1.5 in with"),
        "{}",
        run.stdout
    );
}

#[test]
fn strips_that_differ_before_are_told() {
    let folder = folder();
    let deep = |strip: usize, probe: usize| {
        let more = if is_treated(strip) { 5.0 + 0.25 * strip as f64 } else { 0.0 };
        before(strip, probe) + more
    };
    fs::write(folder.path().join("before.geojson"), visit("2025-04-14", Some(25.0), deep)).unwrap();
    let run = trial(folder.path(), &["--areas", "areas.geojson"]);
    let told = "Before, the loose layer of the treated ground was already 6 in deeper than that of the check \
                ground (13.8 in against 7.8 in), ";
    assert!(run.stdout.contains(told), "{}", run.stdout);
    // In the treated strips the rod did not reach the threshold: no mean of theirs is measured.
    let deep = |strip: usize, probe: usize| (deep(strip, probe), is_treated(strip));
    let text = visit_of("2025-04-14", Some(25.0), deep);
    fs::write(folder.path().join("before.geojson"), text).unwrap();
    let run = trial(folder.path(), &["--areas", "areas.geojson"]);
    let told = "ground (≥13.8 in against 7.8 in, \"not reached\" taken at the depth probed), ";
    assert!(run.stdout.contains(told), "{}", run.stdout);
}

#[test]
fn areas_at_fault_are_named() {
    let folder = folder();
    let of = |areas: &[Value]| {
        let run = with_areas(folder.path(), &collection(areas));
        assert_eq!((run.exit, run.stdout.as_str()), (1, ""));
        assert!(run.stderr.contains("areas.geojson: "), "{}", run.stderr);
        run.stderr
    };
    let both = |strip: usize, more: Value| {
        let mut feature = named(strip);
        feature["properties"].as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        feature
    };
    let moved = |mut feature: Value| {
        for place in feature["geometry"]["coordinates"][0].as_array_mut().unwrap() {
            place[1] = json!(place[1].as_f64().unwrap() + 0.1);
        }
        feature
    };
    for (areas, expected) in [
        (vec![named(1), named(3)], "all ground of the trial is treated: without check ground"),
        (vec![moved(named(0)), moved(named(1))], "none of the trial's areas lies in the field"),
        (
            vec![named(0), moved(named(1))],
            "no probe that both visits have stands in a treated strip",
        ),
        (
            vec![named(0), area(1, &json!({ "treatment": "tilled" }))],
            "\"tilled\" is neither treated nor",
        ),
        (
            vec![named(0), area(0, &json!({ "treatment": "treated", "strip": "X" })), named(1)],
            "probe P0 stands in \"S0\" and in \"X\"",
        ),
        (
            vec![named(0), both(1, json!({ "strip": "S0" }))],
            "strip \"S0\" has two treatments or blocks",
        ),
        (
            vec![named(0), both(1, json!({ "block": "A" }))],
            "strip \"S0\" has no block and others have",
        ),
        (
            vec![both(0, json!({ "block": "B" })), both(1, json!({ "block": "A" }))],
            "no block has both",
        ),
        (vec![], "it has no features"),
    ] {
        let stderr = of(&areas);
        assert!(stderr.contains(expected), "{expected}\n{stderr}");
    }
}

#[test]
fn a_strip_without_probes_is_noted_and_left_out() {
    let folder = folder();
    let mut areas: Vec<Value> = (0..STRIPS).map(named).collect();
    areas[3]["geometry"]["coordinates"][0].as_array_mut().unwrap().iter_mut().for_each(|place| {
        // Between two rows of probes.
        place[1] = json!(place[1].as_f64().unwrap() * 0.1 + 0.9 * edges(3)[1]);
    });
    let run = with_areas(folder.path(), &collection(&areas));
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(run.stderr.contains("no probe of both visits stands in treated strip \"S3\""));
    assert!(run.stdout.contains("3 treated and 4 check strips"), "{}", run.stdout);
    assert!(run.stdout.contains("5 probes of both visits stand in no strip"), "{}", run.stdout);
}

#[test]
fn what_is_no_trial_is_refused() {
    let folder = folder();
    let args = |visits: [&str; 2], areas: &str| {
        let more = ["--areas", areas, "--boundary", "boundary.geojson"];
        loosedepth(folder.path(), &[&["trial", visits[0], visits[1]], &more[..]].concat())
    };
    let same = args(["before.geojson", "before.geojson"], "areas.geojson");
    assert_eq!(same.exit, 1);
    assert!(same.stderr.contains("both visits are the same readings"), "{}", same.stderr);
    let visits = ["before.geojson", "after.geojson"];
    fs::write(folder.path().join("empty.geojson"), "").unwrap();
    for (file, expected) in [
        ("nowhere.geojson", "cannot be read"),
        ("empty.geojson", "the file is empty"),
        ("boundary.geojson", "no FeatureCollection"),
        ("before.geojson", "it is a Point"),
    ] {
        let run = args(visits, file);
        assert_eq!((run.exit, run.stdout.as_str()), (1, ""), "{file}");
        assert!(run.stderr.contains(expected), "{file}: {}", run.stderr);
    }
    for (flag, value, expected) in [
        ("--matters", "0in", "must be above 0"),
        ("--confidence", "1", "--confidence must be at least 0.5"),
        ("--moisture-within", "nan", "moistures match within 0"),
        ("--pair-within", "0m", "--pair-within"),
    ] {
        let run = trial(folder.path(), &["--areas", "areas.geojson", flag, value]);
        assert_eq!(run.exit, 1, "{flag}");
        assert!(run.stderr.contains(expected), "{flag}: {}", run.stderr);
    }
}

/// Ground that is treated is compared with the check strip it lies nearest to.
#[test]
fn a_plan_is_a_trial_by_its_check_strips() {
    let folder = folder();
    // Differences of 4, 4.5, 4 and 4.5 in: mean 4.25, standard error 1/√12 / 2 = 0.144, 3 degrees of freedom.
    let more =
        |strip: usize, probe: usize| after(strip, probe) + if strip % 4 == 3 { 0.5 } else { 0.0 };
    let text = visit("2025-06-14", Some(24.0), more);
    fs::write(folder.path().join("after.geojson"), text).unwrap();
    let part = |strip: usize, check: Option<usize>| {
        let action = if check.is_some() { "leave" } else { "loosen to 14 in" };
        let id = format!("Z1 {strip}");
        area(
            strip,
            &json!({ "part_id": id, "zone_id": "Z1", "check_strip": check, "action": action }),
        )
    };
    let mut number = 0;
    let parts: Vec<Value> = (0..STRIPS)
        .map(|strip| {
            number += usize::from(!is_treated(strip));
            part(strip, (!is_treated(strip)).then_some(number))
        })
        .collect();
    let run = with_areas(folder.path(), &collection(&parts));
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let first: String = run.stdout.lines().take(2).collect();
    // 3.182 standard errors (NIST e-Handbook, 1.3.6.7.2) are 0.46 in.
    assert!(first.contains("gained 4.3 in") || first.contains("gained 4.2 in"), "{first}");
    assert!(first.contains("+3.8 to +4.7 in, 4 treated and 4 check strips in 4 blocks"), "{first}");
    assert!(run.stdout.contains("beside check strip 1"), "{}", run.stdout);
    // Turning the sign of four differences is no redraw of the plan's strips.
    assert!(!run.stdout.contains("Randomisation test"), "{}", run.stdout);
    assert!(run.stderr.contains("so there is no randomisation test"), "{}", run.stderr);
    assert!(!run.stdout.contains("Draw by lot"), "{}", run.stdout);
}
