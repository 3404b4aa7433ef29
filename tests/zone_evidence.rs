//! What backs a zone, strata, and ids that stay, from options to files.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

#[path = "support/mod.rs"]
mod support;

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use formats::{ReadSettings, read_boundary, read_strata, read_survey};
use geostat::{GlobalKriging, Kriging, Sample, Samples};
use mapping::{DepthMap, EstimatedBy, MapSettings, MethodChoice, Zone, map_survey};
use serde_json::{Value, json};
use support::{Run, collection, demo, loosedepth, point, root};
use survey::{CheckSettings, CheckedSurvey, Measured, UnitSystem, check};

fn map_demo(folder: &Path, visit: &str, out: &str, more: &[&str]) -> Run {
    let (survey, boundary) = (demo(&format!("visits/{visit}.geojson")), demo("boundary.geojson"));
    let args = ["map", &survey, "--boundary", &boundary, "--cell", "5", "--out", out];
    loosedepth(folder, &[&args[..], more].concat())
}

fn zones(folder: &Path, out: &str) -> Vec<Value> {
    let text = fs::read(folder.join(out).join("zones.geojson")).unwrap();
    let whole: Value = serde_json::from_slice(&text).unwrap();
    whole["features"].as_array().unwrap().iter().map(|zone| zone["properties"].clone()).collect()
}

fn ids(folder: &Path, out: &str) -> BTreeSet<String> {
    let id = |zone: &Value| zone["zone_id"].as_str().unwrap().to_owned();
    zones(folder, out).iter().map(id).collect()
}

fn checked(survey: &Path, boundary: &Path, dates: Option<&str>) -> CheckedSurvey {
    let (_, survey) = read_survey(survey, &ReadSettings::default()).unwrap();
    let (_, boundary) = read_boundary(boundary).unwrap();
    let dates = dates.map(|dates| dates.parse().unwrap());
    check(&survey, Some(&boundary), &CheckSettings { dates, ..CheckSettings::default() }).unwrap()
}

fn demo_survey() -> CheckedSurvey {
    let file = |name: &str| demo(name).into();
    let (survey, boundary): (std::path::PathBuf, std::path::PathBuf) =
        (file("visits/2025-04-14.geojson"), file("boundary.geojson"));
    checked(&survey, &boundary, None)
}

fn settings() -> MapSettings {
    MapSettings { cell_m: Some(5.0), realisations: 0, ..MapSettings::new(UnitSystem::Us) }
}

fn demo_strata() -> MapSettings {
    let (_, strata) = read_strata(demo("strata.geojson").as_ref()).unwrap();
    MapSettings { strata, ..settings() }
}

#[test]
fn every_zone_says_the_same_things_in_its_units() {
    let folder = tempfile::tempdir().unwrap();
    for (units, depth, pressure) in [("us", "in", "300psi"), ("si", "cm", "2068kpa")] {
        assert_eq!(map_demo(folder.path(), "2025-04-14", units, &["--units", units]).exit, 0);
        let zones = zones(folder.path(), units);
        let names =
            |zone: &Value| -> Vec<String> { zone.as_object().unwrap().keys().cloned().collect() };
        assert!(zones.iter().all(|zone| names(zone) == names(&zones[0])));
        for name in [
            format!("estimate_{depth}"),
            format!("estimate_low_{depth}"),
            format!("estimate_high_{depth}"),
            format!("probe_mean_{depth}"),
            format!("points_above_{pressure}_pct"),
            format!("probes_above_{pressure}_pct"),
            format!("bottom_{depth}"),
        ] {
            assert!(names(&zones[0]).contains(&name), "{name}");
        }
        for zone in &zones {
            let number = |name: &str| zone[&format!("{name}_{depth}")].as_f64();
            assert_eq!(zone["few_probes"], json!(zone["probes"].as_u64() < Some(5)));
            assert_eq!(zone["stratum"], Value::Null);
            assert_eq!(number("estimate").is_some(), zone["class_confidence_pct"].is_number());
            if let Some(mean) = number("estimate") {
                assert!(number("estimate_low").unwrap() <= mean);
                assert!(mean <= number("estimate_high").unwrap());
                assert_eq!(zone["estimate_by"], "probes");
                let is_bound = zone["not_reached"].as_u64() > Some(0);
                assert_eq!(zone["mean_is_lower_bound"], json!(is_bound));
            }
        }
    }
}

/// The same mean and variance as one block of all the zone's cells: here cells are few enough.
#[test]
fn a_kriged_zone_has_the_mean_of_its_block() {
    let survey = demo_survey();
    // Cells of 20 m: at most 750 of them.
    let settings = MapSettings { method: MethodChoice::Kriging, cell_m: Some(20.0), ..settings() };
    let map = map_survey(&survey, &settings).unwrap();
    let samples = survey.spots().iter().map(|spot| Sample {
        easting_m: spot.position.easting_m,
        northing_m: spot.position.northing_m,
        value: spot.reading.at_least().cm(),
    });
    let samples = Samples::new(samples.collect()).unwrap();
    let kriging = Kriging::new(map.method.variogram().unwrap().model).unwrap();
    let global = GlobalKriging::new(&samples, &kriging).unwrap();
    // The greatest zone, from the places of cells that lie in it whole.
    let zone = map.zones.iter().max_by(|a, b| a.ground_area_m2.total_cmp(&b.ground_area_m2));
    let zone = zone.unwrap();
    let found = zone.evidence.mean.unwrap();
    assert_eq!(found.by, EstimatedBy::BlockKriging);
    let grid = map.depth_cm.grid;
    let places: Vec<[f64; 2]> = (0..grid.cells())
        .map(|cell| [grid.easting_m(cell % grid.columns()), grid.northing_m(cell / grid.columns())])
        .filter(|place| geo::Contains::contains(&zone.polygons, &geo::Point::from(*place)))
        .collect();
    // Kriging is linear: the mean of the block is the mean of its cells' estimates, each weighed by its
    // part in the field.
    for zone in &map.zones {
        let (mean, cells) = (zone.evidence.mean.unwrap().mean.cm(), zone.depth.mean.cm());
        assert!((mean - cells).abs() < 1e-6, "{}: {mean} {cells}", zone.id);
    }
    let block = global.block(&places, None).unwrap();
    let half_cm = 1.959_964 * block.standard_error();
    // Cells at the field's edge weigh by their part in the field: a little off.
    assert!((found.mean.cm() - block.value).abs() < 0.25, "{} {}", found.mean.cm(), block.value);
    let width = (found.high.cm() - found.low.cm()) / 2.0;
    assert!((width / half_cm - 1.0).abs() < 0.03, "{width} {half_cm}");
    // The mean of a zone is surer than what one probe would read.
    let error_cm = map.standard_error_cm.unwrap();
    let least = error_cm.values.iter().copied().filter(|cm| !cm.is_nan()).fold(1e9, f64::min);
    assert!(width / 1.96 < least);
}

#[test]
fn profiles_are_counted_once_each_in_the_zone_they_lie_in() {
    let piece = |name: &str| root().join("demo-data/slough-piece").join(name);
    let (_, all) = read_survey(&piece("profiles.geojson"), &ReadSettings::default()).unwrap();
    let first = all.insertions.iter().filter_map(|insertion| insertion.date).min().unwrap();
    let survey =
        checked(&piece("profiles.geojson"), &piece("boundary.geojson"), Some(&first.to_string()));
    let map = map_survey(&survey, &settings()).unwrap();
    let profiles = || map.zones.iter().filter_map(|zone| zone.evidence.profiles);
    let is_profile = |kept: &&survey::Insertion| matches!(kept.measured, Measured::Profile(_));
    let count = survey.kept().iter().filter(is_profile).count();
    assert!(count > 50, "{count}");
    assert_eq!(profiles().map(|found| found.above_300_psi.probes).sum::<usize>(), count);
    for found in profiles() {
        let shares = found.above_300_psi;
        assert!(shares.probes_above <= shares.probes && shares.points_above <= shares.points);
        if let Some(bottom) = found.bottom {
            assert!(bottom.not_reached <= bottom.count && bottom.count <= shares.probes);
        }
    }
    assert!(profiles().any(|found| found.bottom.is_some()));
}

fn in_stratum<'a>(map: &'a DepthMap, name: &str) -> Vec<&'a Zone> {
    map.zones.iter().filter(|zone| zone.stratum.as_deref() == Some(name)).collect()
}

#[test]
fn readings_of_one_stratum_say_nothing_of_another() {
    let survey = demo_survey();
    let map = map_survey(&survey, &demo_strata()).unwrap();
    let headland = in_stratum(&map, "headland");
    assert!(!headland.is_empty() && headland.len() < map.zones.len());
    let probes: usize = headland.iter().map(|zone| zone.probes).sum();
    assert_eq!(probes, map.strata[0].probed.spots);
    assert_eq!(probes + map.probed.spots, survey.spots().len());
    let greatest = |zones: &[&Zone]| zones.iter().map(|z| z.depth.max.cm()).fold(0.0, f64::max);
    // No probe of the headlands is deeper than 9 in, though the field beside them reaches 18.
    assert!(greatest(&headland) < 22.87, "{}", greatest(&headland));
    let ground: f64 = headland.iter().map(|zone| zone.ground_area_m2).sum();
    assert!(ground <= map.strata[0].ground_area_m2 * 1.000_1, "{ground}");
    // Each layer estimates its own spots alone.
    let own = |method: &mapping::Method| -> BTreeSet<usize> {
        method.validation.pairs.iter().map(|pair| pair.index).collect()
    };
    let (main, headland) = (own(&map.method), own(map.strata[0].method.as_ref().unwrap()));
    assert!(main.is_disjoint(&headland));
    for &spot in &headland {
        let reading = survey.spots()[spot].reading.at_least().cm();
        let pairs = &map.strata[0].method.as_ref().unwrap().validation.pairs;
        let pair = pairs.iter().find(|pair| pair.index == spot).unwrap();
        assert_eq!(pair.observed, reading);
    }
}

#[test]
fn zones_of_all_strata_and_the_unmapped_ground_make_up_the_field() {
    let map = map_survey(&demo_survey(), &demo_strata()).unwrap();
    let zones: f64 = map.zones.iter().map(|zone| zone.ground_area_m2).sum();
    let whole = zones + map.unmapped.ground_area_m2;
    assert!((whole / map.field_area_m2 - 1.0).abs() < 1e-6);
    // Scraps between a hand-drawn stratum and the field's outline are no zones of their own.
    assert!(map.zones.iter().all(|zone| zone.ground_area_m2 > 500.0));
}

#[test]
fn strata_are_told_in_the_terminal_the_summary_and_the_zone_file() {
    let folder = tempfile::tempdir().unwrap();
    let strata = demo("strata.geojson");
    let run = map_demo(folder.path(), "2025-04-14", "out", &["--strata", &strata]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    for words in ["main ground, the field without its strata", "stratum headland: "] {
        assert!(run.stdout.contains(words), "{}", run.stdout);
    }
    let text = fs::read(folder.path().join("out/summary.json")).unwrap();
    let summary: Value = serde_json::from_slice(&text).unwrap();
    assert_eq!(summary["strata"][0]["name"], "headland");
    assert!(summary["method_and_cross_validation_of"].as_str().unwrap().starts_with("main ground"));
    let inputs: Vec<&Value> =
        summary["inputs"].as_array().unwrap().iter().map(|input| &input["role"]).collect();
    assert_eq!(inputs, ["survey", "boundary", "strata"]);
    let strata: BTreeSet<String> =
        zones(folder.path(), "out").iter().map(|zone| zone["stratum"].to_string()).collect();
    assert_eq!(strata, ["\"headland\"".to_owned(), "null".to_owned()].into());
}

#[test]
fn a_stratum_without_a_reading_has_no_value_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    // Two squares, the second with no probe and within the first for a half.
    let square = |west: f64, name: &str| {
        json!({ "type": "Feature", "properties": { "name": name }, "geometry": {
            "type": "Polygon",
            "coordinates": [[[west, 41.9303], [west + 4e-4, 41.9303], [west + 4e-4, 41.9305],
                             [west, 41.9305], [west, 41.9303]]],
        }})
    };
    let file = folder.path().join("strata.geojson");
    let both = collection(&[square(-95.6195, "yard"), square(-95.6193, "lane")]);
    fs::write(&file, both).unwrap();
    let strata = file.display().to_string();
    let run = map_demo(folder.path(), "2025-04-14", "out", &["--strata", &strata]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(run.stderr.contains("stratum \"lane\" overlaps others on "), "{}", run.stderr);
    assert!(run.stderr.contains("has no reading, so its ground has no value"), "{}", run.stderr);
}

#[test]
fn what_cannot_be_with_strata_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let strata = demo("strata.geojson");
    for more in [
        &["--thinner-than", "6in"][..],
        &["--method", "kriging", "--realisations", "50"],
        &["--method", "kriging", "--seed", "3"],
    ] {
        let run = map_demo(
            folder.path(),
            "2025-04-14",
            "out",
            &[&["--strata", strata.as_str()], more].concat(),
        );
        assert_eq!(run.exit, 1, "{more:?}");
        assert!(run.stderr.contains("strata"), "{}", run.stderr);
        assert!(!folder.path().join("out").exists());
    }
    let elsewhere = folder.path().join("elsewhere.geojson");
    let text = fs::read_to_string(&strata).unwrap().replace("41.93", "41.83");
    fs::write(&elsewhere, text).unwrap();
    let elsewhere = elsewhere.display().to_string();
    let run = map_demo(folder.path(), "2025-04-14", "out", &["--strata", &elsewhere]);
    assert_eq!(run.exit, 1);
    assert!(run.stderr.contains("no stratum lies in this field"), "{}", run.stderr);
}

#[test]
fn the_same_visit_again_keeps_every_id_and_the_next_visit_most_ground() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    assert_eq!(map_demo(path, "2025-04-14", "first", &[]).exit, 0);
    let earlier = ["--earlier-zones", "first/zones.geojson"];
    let again = map_demo(path, "2025-04-14", "again", &earlier);
    assert_eq!(again.exit, 0, "{}", again.stderr);
    let zone_file = |out: &str| fs::read(path.join(out).join("zones.geojson")).unwrap();
    assert!(zone_file("first") == zone_file("again"));
    assert!(again.stdout.contains("0 new, 0 gone"), "{}", again.stdout);
    let next = map_demo(path, "2025-04-26", "next", &earlier);
    assert_eq!(next.exit, 0, "{}", next.stderr);
    let (first, second) = (ids(path, "first"), ids(path, "next"));
    assert_eq!(second.len(), zones(path, "next").len(), "ids are one of a kind");
    let number = |id: &String| id[1..].parse::<u32>().unwrap();
    let highest = first.iter().map(number).max().unwrap();
    assert!(second.intersection(&first).count() > 0);
    assert!(second.difference(&first).all(|id| number(id) > highest), "{first:?} {second:?}");
}

#[test]
fn zones_of_another_field_or_with_one_id_twice_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(map_demo(folder.path(), "2025-04-14", "first", &[]).exit, 0);
    let text = fs::read_to_string(folder.path().join("first/zones.geojson")).unwrap();
    for (name, changed, words) in [
        ("far.geojson", text.replace("41.93", "41.83"), "no earlier zone lies in this field"),
        ("twice.geojson", text.replace("\"Z2\"", "\"Z1\""), "two features have the zone_id \"Z1\""),
        ("other.geojson", text.replace("zone_id", "id"), "it has no property `zone_id`"),
        ("point.geojson", collection(&[point(0.0, 0.0, &json!({}))]), "it has no property"),
    ] {
        fs::write(folder.path().join(name), changed).unwrap();
        let run = map_demo(folder.path(), "2025-04-26", "out", &["--earlier-zones", name]);
        assert_eq!(run.exit, 1, "{name}");
        assert!(run.stderr.contains(words), "{name}: {}", run.stderr);
        assert!(!folder.path().join("out").exists());
    }
}
