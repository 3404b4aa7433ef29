//! The zone file of any field: valid polygons in degrees that share their borders, areas that add up.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use std::collections::BTreeMap;

use formats::{ZoneFile, read_zones, zones_geojson};
use geo::{Coord, LineString, MultiPolygon, Polygon, Validation, Winding};
use mapping::{DepthClasses, DepthMap, MapSettings, ZoneSettings, map_survey};
use proptest::prelude::*;
use serde_json::Value;
use survey::{
    Boundary, CheckSettings, CheckedSurvey, Depth, EastNorth, Insertion, LonLat, Measured, Outcome,
    Survey, UnitSystem, Utm, check,
};

fn place(east_m: f64, north_m: f64) -> LonLat {
    let utm = Utm::for_place(LonLat { lon_deg: -95.4, lat_deg: 41.5 }).unwrap();
    utm.unproject(EastNorth { easting_m: 300_000.0 + east_m, northing_m: 4_600_000.0 + north_m })
}

fn checked(corners: &[f64], depths: &[u8]) -> CheckedSurvey {
    let corner = |(k, radius): (usize, &f64)| {
        let angle = std::f64::consts::TAU * k as f64 / corners.len() as f64;
        Coord::from(place(60.0 + radius * angle.cos(), 60.0 + radius * angle.sin()))
    };
    let ring: LineString = corners.iter().enumerate().map(corner).collect();
    let polygons = MultiPolygon::from(Polygon::new(ring, Vec::new()));
    let insertion = |(k, &depth): (usize, &u8)| {
        let there = place(45.0 + 10.0 * (k % 4) as f64, 45.0 + 10.0 * (k / 4) as f64);
        let outcome = Outcome::Reached(Depth::from_in(f64::from(depth) * 3.0));
        Insertion::at(k + 1, there, Measured::Once(outcome))
    };
    let insertions: Vec<Insertion> = depths.iter().enumerate().map(insertion).collect();
    let survey = Survey { features: insertions.len(), insertions, ..Survey::default() };
    let boundary = Boundary { name: None, polygons };
    check(&survey, Some(&boundary), &CheckSettings::default()).unwrap()
}

/// The file's features with their polygons.
fn read(survey: &CheckedSurvey, map: &DepthMap) -> Vec<(Value, MultiPolygon)> {
    let file = ZoneFile { field_name: "a \"field\"", survey_file: "s", survey, map };
    let collection: Value = serde_json::from_str(&zones_geojson(&file).unwrap()).unwrap();
    assert_eq!(collection["name"], "a \"field\" zones");
    let features = collection["features"].as_array().unwrap().clone();
    features
        .into_iter()
        .map(|feature| {
            let geometry: geojson::Geometry =
                serde_json::from_value(feature["geometry"].clone()).unwrap();
            let polygons = match geo::Geometry::<f64>::try_from(&geometry).unwrap() {
                geo::Geometry::Polygon(polygon) => MultiPolygon::from(polygon),
                geo::Geometry::MultiPolygon(polygons) => polygons,
                other => panic!("{other:?}"),
            };
            (feature, polygons)
        })
        .collect()
}

/// The zones as our own reader gives them.
fn read_back(survey: &CheckedSurvey, map: &DepthMap) -> plan::ZoneMap {
    let file = ZoneFile { field_name: "f", survey_file: "s", survey, map };
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("zones.geojson");
    std::fs::write(&path, zones_geojson(&file).unwrap()).unwrap();
    read_zones(&path).unwrap().1
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn zones_in_degrees_are_valid_and_share_their_borders(
        corners in prop::collection::vec(30.0..59.0_f64, 4..12),
        depths in prop::collection::vec(0..7_u8, 16),
        cell_mm in 500..6000_u32,
        smallest_zone_m2 in prop_oneof![Just(0.0), 1.0..300.0],
        tolerance_cells in prop_oneof![Just(Some(0.0)), Just(None), (0.0..20.0).prop_map(Some)],
    ) {
        let survey = checked(&corners, &depths);
        let settings = MapSettings {
            classes: DepthClasses::new(&[3.0, 6.0, 12.0], UnitSystem::Us).unwrap(),
            power: Some(3.0),
            cell_m: Some(f64::from(cell_mm) / 1e3),
            zones: ZoneSettings {
                smallest_m2: Some(smallest_zone_m2),
                border_tolerance_m: tolerance_cells.map(|cells: f64| cells * f64::from(cell_mm) / 1e3),
                ..ZoneSettings::default()
            },
            reach_m: Some(14.0),
            ..MapSettings::new(UnitSystem::Us)
        };
        let map = map_survey(&survey, &settings).unwrap();
        let zones = read(&survey, &map);
        prop_assert_eq!(zones.len(), map.zones.len());
        let read_back = read_back(&survey, &map);
        for (zone, written) in read_back.zones.iter().zip(&map.zones) {
            prop_assert_eq!(&zone.id, &written.id);
            prop_assert!((zone.ground_area_m2 - written.ground_area_m2).abs() < 0.5);
            prop_assert!((zone.mean_depth.m() - written.depth.mean.m()).abs() < 2e-4);
        }
        prop_assert_eq!(read_back.zones.len(), map.zones.len());
        let key = |c: Coord| (c.x.to_bits(), c.y.to_bits());
        let mut edges: BTreeMap<_, i32> = BTreeMap::new();
        for (feature, polygons) in &zones {
            prop_assert!(polygons.check_validation().is_ok(), "{:?}", polygons);
            prop_assert_eq!(&feature["id"], &feature["properties"]["zone_id"]);
            for polygon in polygons {
                prop_assert!(polygon.exterior().is_ccw());
                prop_assert!(polygon.interiors().iter().all(Winding::is_cw));
                for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
                    for line in ring.lines() {
                        let (a, b) = (key(line.start), key(line.end));
                        *edges.entry((a.min(b), a.max(b))).or_default() += if a < b { 1 } else { -1 };
                    }
                }
            }
        }
        // An edge twice in the same direction would be an overlap.
        prop_assert!(edges.values().all(|balance| balance.abs() <= 1));
        let sum: f64 = map.zones.iter().map(|zone| zone.ground_area_m2).sum();
        let whole = sum + map.unmapped.ground_area_m2;
        prop_assert!((whole / map.field_area_m2 - 1.0).abs() < 1e-6, "{} {}", whole, map.field_area_m2);
    }
}
