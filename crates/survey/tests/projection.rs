//! Projection and areas against PROJ 9.5.1 through pyproj 3.7.2 (`reference/projection.json`).

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use geo::{LineString, MultiPolygon, Polygon};
use serde_json::Value;
use survey::{Boundary, Field, LonLat, Utm};

fn reference() -> Value {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/projection.json");
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn list<'a>(value: &'a Value, key: &str) -> &'a Vec<Value> {
    value[key].as_array().unwrap()
}

fn place(case: &Value) -> LonLat {
    LonLat { lon_deg: case["lon"].as_f64().unwrap(), lat_deg: case["lat"].as_f64().unwrap() }
}

#[test]
fn places_project_to_a_tenth_of_a_millimetre_and_back() {
    let reference = reference();
    let cases = list(&reference, "random50").iter().chain(list(&reference, "edge_cases"));
    let mut compared = 0;
    for case in cases {
        let utm = Utm::for_place(place(case)).unwrap();
        assert_eq!(Some(u64::from(utm.epsg())), case["epsg"].as_u64(), "{case}");
        let there = utm.project(place(case)).unwrap();
        assert!((there.easting_m - case["easting"].as_f64().unwrap()).abs() < 1e-4, "{case}");
        assert!((there.northing_m - case["northing"].as_f64().unwrap()).abs() < 1e-4, "{case}");
        let back = utm.unproject(there);
        let off_deg = (back.lon_deg - place(case).lon_deg + 540.0).rem_euclid(360.0) - 180.0;
        assert!(
            off_deg.abs() < 1e-9 && (back.lat_deg - place(case).lat_deg).abs() < 1e-9,
            "{case}"
        );
        compared += 1;
    }
    assert_eq!(compared, 77);
}

#[test]
fn a_field_may_cross_the_edge_of_its_zone_but_not_leave_it() {
    for case in list(&reference(), "forced_zone") {
        let zone = case["forced_zone"].as_u64().unwrap();
        let middle = LonLat { lon_deg: zone as f64 * 6.0 - 183.0, ..place(case) };
        let utm = Utm::for_place(middle).unwrap();
        let forced_south = case["forced_south"].as_bool().unwrap();
        let place_deg = place(case);
        let shrunk = place_deg.lat_deg.to_radians().cos();
        let off_deg = (place_deg.lon_deg - middle.lon_deg).abs() * shrunk;
        match utm.project(place(case)) {
            Ok(there) if forced_south == (place(case).lat_deg < 0.0) => {
                assert!((there.easting_m - case["easting"].as_f64().unwrap()).abs() < 1e-4);
                assert!((there.northing_m - case["northing"].as_f64().unwrap()).abs() < 1e-4);
                assert!(off_deg <= 4.0);
            }
            Ok(_) => {}
            Err(_) => assert!(off_deg > 4.0, "{case}"),
        }
    }
}

#[test]
fn the_poles_and_nonsense_are_outside() {
    for case in list(&reference(), "poles_ups") {
        assert!(Utm::for_place(place(case)).is_err(), "{case}");
    }
    for (lon_deg, lat_deg) in [(0.0, 95.0), (200.0, 0.0), (f64::NAN, 0.0), (0.0, f64::INFINITY)] {
        assert!(Utm::for_place(LonLat { lon_deg, lat_deg }).is_err());
    }
}

/// The limit asked of areas is 0.01 %; geodesic areas are far closer.
#[test]
fn areas_are_those_on_the_ground() {
    for case in list(&reference(), "areas") {
        let ring = |ring: &Value| -> LineString {
            let position = |p: &Value| (p[0].as_f64().unwrap(), p[1].as_f64().unwrap());
            ring.as_array().unwrap().iter().map(position).collect()
        };
        let mut rings = list(case, "rings").iter().map(ring);
        let polygon = Polygon::new(rings.next().unwrap(), rings.collect());
        let boundary = Boundary { name: None, polygons: MultiPolygon::from(polygon) };
        let field = Field::inside(&boundary).unwrap();
        let expected = case["geodesic_area_m2"].as_f64().unwrap();
        let ours = field.ground_area_m2();
        assert!((ours - expected).abs() < 1e-7 * expected, "{}: {ours} {expected}", case["name"]);
        assert_eq!(Some(u64::from(field.utm().epsg())), case["utm_epsg"].as_u64());
        let plane = case["utm_planar_area_m2"].as_f64().unwrap();
        assert!((field.plane_area_m2() - plane).abs() < 1e-7 * plane);
    }
}
