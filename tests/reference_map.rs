//! The whole way from a survey file to zone areas, against an independent computation: see
//! `tests/reference/README.md`.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use std::path::{Path, PathBuf};

use formats::{ReadSettings, read_boundary, read_survey};
use geo::Area;
use mapping::{DepthClasses, DepthMap, MapSettings, ZoneSettings, map_survey};
use serde_json::Value;
use survey::{CheckSettings, CheckedSurvey, Depth, UnitSystem, check};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn reference() -> Value {
    let path = root().join("tests/reference/north_bench.json");
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn survey_of(date: &str) -> CheckedSurvey {
    let folder = root().join("demo-data/north-bench");
    let (_, survey) =
        read_survey(&folder.join(format!("visits/{date}.geojson")), &ReadSettings::default())
            .unwrap();
    let (file, boundary) = read_boundary(&folder.join("boundary.geojson")).unwrap();
    let expected = reference()["input_sha256"]["field_a_boundary.geojson"].clone();
    assert_eq!(Value::from(file.sha256), expected);
    check(&survey, Some(&boundary), &CheckSettings::default()).unwrap()
}

fn map(survey: &CheckedSurvey, surface: &Value) -> DepthMap {
    let limits = [3.0, 6.0, 9.0, 12.0, 15.0];
    let settings = MapSettings {
        classes: DepthClasses::new(&limits, UnitSystem::Us).unwrap(),
        power: surface["power"].as_f64(),
        neighbours: surface["nmax"].as_u64().map(|count| count as usize),
        reach_m: Some(1e6),
        cell_m: Some(10.0),
        // The reference's areas are those of whole cells.
        zones: ZoneSettings {
            smallest_m2: Some(0.0),
            border_tolerance_m: Some(0.0),
            ..ZoneSettings::default()
        },
        ..MapSettings::new(UnitSystem::Us)
    };
    map_survey(survey, &settings).unwrap()
}

#[test]
fn rasters_errors_and_class_areas_agree() {
    let reference = reference();
    let surfaces = reference["surfaces"].as_array().unwrap();
    for surface in surfaces {
        let survey = survey_of(surface["date"].as_str().unwrap());
        assert_eq!(Some(survey.spots().len() as u64), surface["n"].as_u64());
        let map = map(&survey, surface);
        raster_agrees(&map, surface);
        // Positions are kept to 0.1 mm, which moves an estimate by far less than a millionth inch.
        let rmse = Depth::from_cm(map.method.validation.rmse).inches();
        assert!((rmse - surface["loo_rmse"].as_f64().unwrap()).abs() < 1e-5);
        let me = Depth::from_cm(map.method.validation.me).inches();
        assert!(
            (me - surface["loo_me"].as_f64().unwrap()).abs() < 1e-5,
            "{me} {}",
            surface["loo_me"]
        );
        class_areas_agree(&survey, &map, surface);
    }
    assert_eq!(surfaces.len(), 6);
}

fn raster_agrees(map: &DepthMap, surface: &Value) {
    let expected = surface["values"].as_array().unwrap();
    let values = &map.depth_cm.values;
    assert_eq!(values.len(), expected.len(), "82 by 43 cells from the same corner");
    let compared = values.iter().zip(expected).filter(|(ours, _)| ours.is_finite()).map(
        |(&ours, expected)| {
            let off = Depth::from_cm(ours).inches() - expected.as_f64().unwrap();
            assert!(off.abs() < 1e-4, "{ours} cm, {expected} in");
        },
    );
    assert!(compared.count() > 3_004, "every cell with its middle inside, and those at the edge");
}

fn class_areas_agree(survey: &CheckedSurvey, map: &DepthMap, surface: &Value) {
    let expected = surface["class_area_m2_exact_clip"].as_object().unwrap();
    for class in 0..map.classes.len() {
        let zones = map.zones.iter().filter(|zone| zone.class == class);
        let plane_m2: f64 = zones.map(|zone| zone.polygons.unsigned_area()).sum();
        let theirs = expected.get(&class.to_string()).map_or(0.0, |area| area.as_f64().unwrap());
        // A border of some kilometres, each place rounded to a micrometre.
        assert!((plane_m2 - theirs).abs() < 0.01, "class {class}: {plane_m2} {theirs}");
    }
    let ground_m2: f64 = map.zones.iter().map(|zone| zone.ground_area_m2).sum();
    let field_m2 = reference()["boundary"]["geodesic_area_m2"].as_f64().unwrap();
    assert!((ground_m2 / field_m2 - 1.0).abs() < 1e-6, "{ground_m2} {field_m2}");
    assert!((survey.field().ground_area_m2() / field_m2 - 1.0).abs() < 1e-9);
}
