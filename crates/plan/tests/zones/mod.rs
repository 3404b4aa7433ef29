//! Zones made by hand.

#![allow(dead_code, reason = "each test uses some of it")]

use geo::{Coord, LineString, MultiPolygon, Polygon};
use plan::{BottomFound, MappedZone, Plan, PlanError, PlanSettings, RatesFile, ZoneMap, make_plan};
use survey::{Depth, LonLat, UnitSystem, Utm};

/// Corner of the made-up field in zone 15 N, metres.
const WEST_M: f64 = 300_000.0;
const SOUTH_M: f64 = 4_600_000.0;

/// A ring through places in metres from the field's corner.
pub fn ring(corners: &[(f64, f64)]) -> LineString {
    let mut ring: LineString =
        corners.iter().map(|&(x, y)| Coord { x: WEST_M + x, y: SOUTH_M + y }).collect();
    ring.close();
    ring
}

pub fn rectangle([west, south, east, north]: [f64; 4]) -> MultiPolygon {
    let corners = [(west, south), (east, south), (east, north), (west, north)];
    MultiPolygon::from(Polygon::new(ring(&corners), Vec::new()))
}

/// A zone with enough probes and a mean depth of three inches a class.
pub fn zone(id: &str, class_no: usize, polygons: MultiPolygon, ground_area_m2: f64) -> MappedZone {
    MappedZone {
        id: id.into(),
        class_no,
        class_name: format!("{}–{} in", 3 * (class_no - 1), 3 * class_no),
        stratum: None,
        polygons,
        ground_area_m2,
        mean_depth: Depth::from_in(3.0 * class_no as f64 - 1.0),
        probes: 20,
        not_reached: 0,
        few_probes: false,
        mean: None,
        class_confidence: None,
        bottom: None,
    }
}

pub fn map_of(zones: Vec<MappedZone>) -> ZoneMap {
    ZoneMap {
        field_name: "Home".into(),
        source: "zones.geojson".into(),
        utm: Utm::for_place(LonLat { lon_deg: -95.4, lat_deg: 41.5 }).expect("a place in Iowa"),
        units: UnitSystem::Us,
        visit: Some("2025-04-14".parse().expect("a day")),
        threshold: Some("200psi".parse().expect("a pressure")),
        unmapped_m2: None,
        zones,
    }
}

/// Three zones side by side, 300 m from south to north: of 6 ha, 6 ha and 3 ha by decree. The middle one
/// has its bottom measured by profiles at 12 in.
pub fn map() -> ZoneMap {
    let mut middle = zone("Z2", 2, rectangle([200.0, 0.0, 400.0, 300.0]), 60_000.0);
    middle.bottom =
        Some(BottomFound { median: Some(Depth::from_in(12.0)), profiles: 6, not_passed: 0 });
    map_of(vec![
        zone("Z1", 1, rectangle([0.0, 0.0, 200.0, 300.0]), 60_000.0),
        middle,
        zone("Z3", 3, rectangle([400.0, 0.0, 500.0, 300.0]), 30_000.0),
    ])
}

pub fn plan_of(map: &ZoneMap, rates: &str) -> Result<Plan, PlanError> {
    planned(map, rates, PlanSettings::default())
}

pub fn planned(map: &ZoneMap, rates: &str, settings: PlanSettings) -> Result<Plan, PlanError> {
    make_plan(map, &RatesFile::parse("rates.toml", rates)?, settings)
}
