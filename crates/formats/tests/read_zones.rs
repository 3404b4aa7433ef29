//! A zone file read back: every property, and one clear message for what is no zone file.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use formats::{FormatError, read_zones};
use plan::ZoneMap;
use serde_json::{Value, json};
use survey::{Depth, UnitSystem};

fn square(west: f64, south: f64, side: f64) -> Value {
    let (east, north) = (west + side, south + side);
    json!([[west, south], [east, south], [east, north], [west, north], [west, south]])
}

fn zone(id: &str, west: f64) -> Value {
    json!({"type": "Feature", "id": id, "properties": {
        "zone_id": id, "class_no": 2, "class_name": "3–6 in", "mean_depth_in": 4.5, "area_ha": 1.0,
        "probes": 7, "not_reached": 1, "few_probes": false, "field": "North Bench",
        "visit_date": "2025-04-14", "threshold_psi": 200.0, "stratum": null,
        "estimate_in": 4.4, "estimate_low_in": 3.9, "estimate_high_in": 4.9,
        "estimate_by": "block kriging", "class_confidence_pct": 97.5,
        "bottom_in": 14.5, "bottom_profiles": 5, "bottom_not_passed": 2
    }, "geometry": {"type": "Polygon", "coordinates": [square(west, 41.93, 0.001)]}})
}

fn read(content: &[u8]) -> Result<ZoneMap, FormatError> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("zones.geojson");
    std::fs::write(&path, content).unwrap();
    read_zones(&path).map(|(_, map)| map)
}

fn read_features(features: &[Value]) -> Result<ZoneMap, String> {
    let file = json!({"type": "FeatureCollection", "name": "x zones", "features": features});
    read(file.to_string().as_bytes()).map_err(|error| error.to_string())
}

#[test]
fn every_property_is_read() {
    let hole = square(-95.6195, 41.9303, 0.0002);
    let mut second = zone("Z2", -95.619);
    let coordinates = json!([[square(-95.619, 41.93, 0.001)], [square(-95.615, 41.93, 0.001)]]);
    second["geometry"] = json!({"type": "MultiPolygon", "coordinates": coordinates});
    let said = second["properties"].as_object_mut().unwrap();
    for name in ["estimate_in", "class_confidence_pct", "bottom_profiles", "bottom_in"] {
        said.insert(name.into(), Value::Null);
    }
    said.insert("stratum".into(), "terrace".into());
    let mut first = zone("Z1", -95.62);
    first["geometry"]["coordinates"].as_array_mut().unwrap().push(hole);
    let map = read_features(&[first, second]).unwrap();
    assert_eq!((map.field_name.as_str(), map.source.as_str()), ("North Bench", "zones.geojson"));
    assert_eq!((map.units, map.utm.epsg()), (UnitSystem::Us, 32615));
    assert_eq!(map.visit.unwrap().to_string(), "2025-04-14");
    assert_eq!(map.threshold.unwrap().to_string(), "200 psi");
    let [one, two] = &map.zones[..] else { panic!("{:?}", map.zones) };
    assert_eq!((one.id.as_str(), one.class_no, one.class_name.as_str()), ("Z1", 2, "3–6 in"));
    assert_eq!((one.probes, one.not_reached, one.few_probes), (7, 1, false));
    let mean = one.mean.as_ref().unwrap();
    let inches = [one.mean_depth, mean.mean, mean.low, mean.high].map(Depth::inches);
    assert!(inches.iter().zip([4.5, 4.4, 3.9, 4.9]).all(|(a, b)| (a - b).abs() < 1e-9));
    assert_eq!((mean.method.as_str(), one.class_confidence), ("block kriging", Some(0.975)));
    let bottom = one.bottom.unwrap();
    assert_eq!((bottom.profiles, bottom.not_passed), (5, 2));
    assert!((bottom.median.unwrap().inches() - 14.5).abs() < 1e-9);
    // 0.001° squared at 41.93°: 82.9 m by 111.1 m, of which a twenty-fifth is the hole.
    assert!((one.ground_area_m2 / 9206.0 / 0.96 - 1.0).abs() < 2e-3, "{}", one.ground_area_m2);
    assert_eq!((one.polygons.0.len(), one.polygons.0[0].interiors().len()), (1, 1));
    assert_eq!((two.polygons.0.len(), two.stratum.as_deref()), (2, Some("terrace")));
    assert_eq!((&two.mean, two.class_confidence, two.bottom), (&None, None, None));
}

#[test]
fn zones_in_centimetres_say_so() {
    let mut feature = zone("Z1", -95.62);
    let said = feature["properties"].as_object_mut().unwrap();
    said.remove("mean_depth_in");
    said.remove("threshold_psi");
    said.insert("mean_depth_cm".into(), 12.0.into());
    said.insert("threshold_kpa".into(), 1500.into());
    let map = read_features(&[feature]).unwrap();
    assert_eq!(
        (map.units, map.threshold.unwrap().to_string()),
        (UnitSystem::Si, "1500 kPa".into())
    );
    assert!((map.zones[0].mean_depth.cm() - 12.0).abs() < 1e-9);
    // Inches are of no file in centimetres.
    assert_eq!(map.zones[0].mean, None);
}

#[test]
fn what_is_wrong_is_named_with_feature_and_field() {
    let with = |name: &str, value: Value| {
        let mut feature = zone("Z1", -95.62);
        feature["properties"][name] = value;
        feature
    };
    let shaped = |coordinates: Value| {
        let mut feature = zone("Z1", -95.62);
        feature["geometry"]["coordinates"] = coordinates;
        feature
    };
    let bow_tie = json!([[[0, 50], [0.001, 50.001], [0.001, 50], [0, 50.001], [0, 50]]]);
    let open = json!([[[0, 50], [0.001, 50.001], [0.001, 50], [0, 50.001]]]);
    let point = json!({"type": "Feature", "properties": {"depth_in": 5},
        "geometry": {"type": "Point", "coordinates": [0, 50]}});
    for (features, expected) in [
        (vec![with("zone_id", Value::Null)], "feature 1: zone_id is null"),
        (vec![with("zone_id", 3.into())], "feature 1: zone_id is the number 3"),
        (vec![zone("Z1", -95.62), zone("Z1", -95.61)], "zone_id is that of feature 1 too"),
        (
            vec![with("zone_id", "Z\u{1b}[31m1".into())],
            "zone_id holds a line break, a tab or another",
        ),
        (vec![with("field", "North\nBench".into())], "field holds a line break, a tab or another"),
        (vec![with("class_no", "two".into())], "class_no is the text \"two\", not a count"),
        (vec![with("class_no", 0.into())], "class_no is 0"),
        (vec![with("class_no", Value::Null)], "class_no is missing"),
        (vec![with("mean_depth_in", Value::Null)], "mean_depth_in or mean_depth_cm is missing"),
        (vec![with("mean_depth_in", (-4).into())], "mean_depth_in is -4, which is no depth"),
        (vec![with("estimate_low_in", 5.into())], "estimate_low is more than estimate_high"),
        (vec![with("class_confidence_pct", 101.into())], "not between 0 and 100"),
        (vec![with("bottom_not_passed", 9.into())], "more than bottom_profiles"),
        (vec![with("visit_date", "14.4.2025".into())], "visit_date is \"14.4.2025\""),
        (
            vec![shaped(bow_tie)],
            "ring 1 crosses itself near longitude 0.000500, latitude 50.000500",
        ),
        (vec![shaped(open)], "ring 1 is not closed"),
        (vec![shaped(json!([]))], "a polygon is an empty list"),
        (vec![shaped(json!([[[0, "5"]]]))], "position 1 of ring 1 is not two numbers"),
        (vec![zone("Z1", -95.62), zone("Z2", 10.0)], "lies too far from the middle"),
        (
            vec![zone("Z1", -95.62), zone("Z2", -95.6195)],
            "feature 2 (\"Z2\") lies over feature 1 (\"Z1\") on 1.14 ac; mend the zones",
        ),
        (vec![point], "feature 1 is a Point"),
        (vec![], "has no features"),
    ] {
        let problem = read_features(&features).unwrap_err();
        assert!(problem.contains("zones.geojson: "), "{problem}");
        assert!(problem.contains(expected), "{problem} lacks {expected}");
    }
}

#[test]
fn other_files_get_help() {
    for (content, expected) in [
        (&b"\x89PNG\r\n\x1a\n"[..], "is a picture; give the zones.geojson"),
        (b"II*\0....", "is a raster; give the zones.geojson"),
        (b"latitude,longitude\n1,2\n", "is no GeoJSON"),
        (b"{\"cells\": 12}", "it has no \"type\", not a FeatureCollection of zones"),
        (b"", "the file is empty"),
        (b"{\"type\":", "not JSON"),
    ] {
        let problem = read(content).unwrap_err().to_string();
        assert!(problem.contains(expected), "{problem}");
    }
    let folder = tempfile::tempdir().unwrap();
    let told = || read_zones(folder.path()).unwrap_err().to_string();
    assert!(told().contains("is a folder; give the zones.geojson that"), "{}", told());
    std::fs::write(folder.path().join("zones.geojson"), "").unwrap();
    assert!(
        told().ends_with("zones.geojson") && told().contains("is a folder; give "),
        "{}",
        told()
    );
}

/// Teeth as long as the field and a few centimetres wide: every row of every raster of a plan would meet
/// all of them, and a small file would fill the memory.
#[test]
fn a_comb_of_a_zone_is_refused() {
    let comb = |teeth: usize| {
        let mut ring = vec![json!([-95.62, 41.9299])];
        for tooth in 0..teeth {
            let at = |part: f64| -95.62 + 0.01 * (tooth as f64 + part) / teeth as f64;
            let corners = [(0.1, 41.93), (0.1, 41.94), (0.6, 41.94), (0.6, 41.93)];
            ring.extend(corners.map(|(part, north)| json!([at(part), north])));
        }
        ring.extend([json!([-95.61, 41.9299]), json!([-95.62, 41.9299])]);
        let mut comb = zone("Z1", -95.62);
        comb["geometry"]["coordinates"] = json!([ring]);
        read_features(&[comb])
    };
    let problem = comb(1_500).unwrap_err();
    assert!(problem.contains("lines on average, more than 2000; draw fewer"), "{problem}");
    assert!(comb(500).is_ok());
}

/// Two squares half over each other would be treated twice there; two that share an edge would not.
#[test]
fn zones_over_each_other_are_refused_and_neighbours_are_not() {
    let problem = read_features(&[zone("Z1", -95.62), zone("Z2", -95.6195)]).unwrap_err();
    assert!(problem.contains("Z1") && problem.contains("Z2"), "{problem}");
    assert!(problem.contains("lies over feature 1"), "{problem}");
    assert_eq!(read_features(&[zone("Z1", -95.62), zone("Z2", -95.619)]).unwrap().zones.len(), 2);
}
