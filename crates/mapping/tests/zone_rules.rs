//! Maps with every rule for zones: whatever the rules, zones are valid, share their borders and make up the
//! field, and what is refused is told.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use std::collections::BTreeMap;

use geo::{Coord, LineString, MultiPolygon, Polygon, Validation};
use mapping::{
    DepthClasses, DepthMap, MapSettings, MappingError, StratumPart, ZoneSettings, map_survey,
};
use proptest::prelude::*;
use survey::{
    Boundary, CheckSettings, CheckedSurvey, Depth, EastNorth, Insertion, LonLat, Measured, Outcome,
    Survey, UnitSystem, Utm, check,
};

fn place(east_m: f64, north_m: f64) -> LonLat {
    let utm = Utm::for_place(LonLat { lon_deg: -95.4, lat_deg: 41.5 }).unwrap();
    utm.unproject(EastNorth { easting_m: 300_000.0 + east_m, northing_m: 4_600_000.0 + north_m })
}

/// A field with corners at some distances from its middle, and readings every 10 m.
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
    check(&survey, Some(&Boundary { name: None, polygons }), &CheckSettings::default()).unwrap()
}

fn settings(zones: ZoneSettings) -> MapSettings {
    MapSettings {
        classes: DepthClasses::new(&[3.0, 6.0, 12.0], UnitSystem::Us).unwrap(),
        power: Some(3.0),
        cell_m: Some(1.0),
        zones,
        reach_m: Some(25.0),
        ..MapSettings::new(UnitSystem::Us)
    }
}

fn two_halves() -> CheckedSurvey {
    checked(&[50.0; 4], &[0, 0, 5, 5, 0, 0, 5, 5, 0, 0, 5, 5, 0, 0, 5, 5])
}

fn map(zones: ZoneSettings) -> DepthMap {
    map_survey(&two_halves(), &settings(zones)).unwrap()
}

fn outlines(map: &DepthMap) -> Vec<&MultiPolygon> {
    map.zones.iter().map(|zone| &zone.polygons).chain([&map.unmapped.polygons]).collect()
}

/// Valid, with every border edge in both its zones, and areas that make up the field.
fn fits_together(map: &DepthMap) {
    let key = |c: Coord| (c.x.to_bits(), c.y.to_bits());
    let mut edges: BTreeMap<_, i32> = BTreeMap::new();
    for polygon in outlines(map).into_iter().flatten() {
        polygon.check_validation().unwrap_or_else(|e| panic!("{e}: {polygon:?}"));
        for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
            for line in ring.lines() {
                let (a, b) = (key(line.start), key(line.end));
                *edges.entry((a.min(b), a.max(b))).or_default() += if a < b { 1 } else { -1 };
            }
        }
    }
    assert!(edges.values().all(|balance| balance.abs() <= 1), "an edge twice the same way");
    let zones: f64 = map.zones.iter().map(|zone| zone.ground_area_m2).sum();
    let whole = zones + map.unmapped.ground_area_m2;
    assert!((whole / map.field_area_m2 - 1.0).abs() < 1e-6, "{whole} {}", map.field_area_m2);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(80))]

    #[test]
    fn zones_by_any_rules_fit_together(
        corners in prop::collection::vec(30.0..59.0_f64, 4..12),
        depths in prop::collection::vec(0..7_u8, 16),
        narrowest_m in prop::option::of(1.0..20.0_f64),
        heading_deg in prop::option::of(prop_oneof![Just(90.0), 0.0..360.0_f64]),
        cells_m in prop::option::of(0.5..20.0_f64),
        most in prop::option::of(1..8_usize),
    ) {
        let survey = checked(&corners, &depths);
        let zones = ZoneSettings {
            smallest_m2: Some(20.0), narrowest_m, heading_deg, cells_m, most, ..ZoneSettings::default()
        };
        let map = map_survey(&survey, &settings(zones)).unwrap();
        fits_together(&map);
        let few = most.is_none_or(|most| map.zones.len() <= most);
        prop_assert_eq!(few, map.zones_made.is_within_most);
        prop_assert_eq!(map.zones.iter().map(|zone| zone.probes).sum::<usize>(), survey.spots().len());
        let cm = |zone: &mapping::Zone| [zone.depth.min, zone.depth.mean, zone.depth.max].map(Depth::cm);
        for [min, mean, max] in map.zones.iter().map(cm) {
            prop_assert!(min <= mean && mean <= max, "{} {} {}", min, mean, max);
        }
        for join in &map.zones_made.joins {
            prop_assert!(map.zones.iter().any(|zone| zone.id == join.into_zone), "{:?}", join);
            prop_assert!(join.area_m2 > 0.0);
        }
    }
}

#[test]
fn a_heading_north_changes_nothing() {
    let plain = map(ZoneSettings::default());
    for heading_deg in [0.0, 180.0, 360.0] {
        let turned =
            map(ZoneSettings { heading_deg: Some(heading_deg), ..ZoneSettings::default() });
        assert_eq!(outlines(&turned), outlines(&plain));
    }
    let border_tolerance_m = Some(1.0);
    let cells =
        map(ZoneSettings { cells_m: Some(1.0), border_tolerance_m, ..ZoneSettings::default() });
    assert_eq!(outlines(&cells), outlines(&plain));
}

#[test]
fn a_pass_runs_both_ways() {
    let zones = |heading_deg| {
        map(ZoneSettings {
            narrowest_m: Some(8.0),
            heading_deg: Some(heading_deg),
            ..ZoneSettings::default()
        })
    };
    assert_eq!(outlines(&zones(10.0)), outlines(&zones(190.0)));
    assert_ne!(outlines(&zones(10.0)), outlines(&zones(20.0)));
}

/// Borders between squares in line with the passes run along or across them.
#[test]
fn borders_of_squares_run_along_the_passes() {
    let map = map(ZoneSettings {
        heading_deg: Some(30.0),
        cells_m: Some(6.0),
        ..ZoneSettings::default()
    });
    let mut edges: BTreeMap<[u64; 4], usize> = BTreeMap::new();
    let bits = |a: Coord, b: Coord| [a.x, a.y, b.x, b.y].map(f64::to_bits);
    let lines = || map.zones.iter().flat_map(|z| &z.polygons).flat_map(|p| p.exterior().lines());
    lines().for_each(|line| *edges.entry(bits(line.start, line.end)).or_default() += 1);
    let borders: Vec<_> =
        lines().filter(|line| edges.contains_key(&bits(line.end, line.start))).collect();
    assert!(!borders.is_empty());
    let (sin, cos) = (0.5, 3_f64.sqrt() / 2.0);
    for line in borders {
        let (run, rise) = (line.dx(), line.dy());
        let (along, across) = (sin * run + cos * rise, cos * run - sin * rise);
        // A border that ends at the field's outline is cut off there, rounded to a micrometre.
        assert!(along.abs().min(across.abs()) < 1e-5, "{line:?}");
    }
}

/// Two swaths are the narrowest unless it is given; 0 leaves the rule out.
#[test]
fn two_swaths_are_the_narrowest() {
    let narrowest = |swath_m, narrowest_m| {
        map(ZoneSettings { swath_m, narrowest_m, ..ZoneSettings::default() }).zones_made.narrowest_m
    };
    assert_eq!(narrowest(Some(4.0), None), Some(8.0));
    assert_eq!(narrowest(Some(4.0), Some(5.0)), Some(5.0));
    assert_eq!(narrowest(Some(4.0), Some(0.0)), None);
    assert_eq!(narrowest(None, None), None);
}

/// All joined to one zone: each step is told, and the larger keeps its class.
#[test]
fn joins_are_told_in_order() {
    let map = map(ZoneSettings { most: Some(1), ..ZoneSettings::default() });
    assert_eq!(map.zones.len(), 1);
    assert!(map.zones_made.is_within_most && !map.zones_made.joins.is_empty());
    assert!(map.zones_made.joins.iter().all(|join| join.into_zone == "Z1"));
    let joined: f64 = map.zones_made.joins.iter().map(|join| join.area_m2).sum();
    assert!(joined > 0.0 && map.zones_made.other_class_m2 > 0.0);
    assert!(map.zones_made.other_class_m2 < map.field_area_m2);
}

#[test]
fn rules_that_mean_nothing_are_refused() {
    let refusal = |zones| map_survey(&two_halves(), &settings(zones)).unwrap_err().to_string();
    let default = ZoneSettings::default;
    for (zones, text) in [
        (ZoneSettings { swath_m: Some(0.0), ..default() }, "above zero"),
        (ZoneSettings { swath_m: Some(f64::NAN), ..default() }, "above zero"),
        (ZoneSettings { narrowest_m: Some(-1.0), ..default() }, "must be a width"),
        (ZoneSettings { narrowest_m: Some(f64::INFINITY), ..default() }, "must be a width"),
        (ZoneSettings { narrowest_m: Some(500.0), ..default() }, "in a field that is"),
        (ZoneSettings { heading_deg: Some(f64::NAN), ..default() }, "from 0 to 360"),
        (ZoneSettings { heading_deg: Some(361.0), ..default() }, "from 0 to 360"),
        (ZoneSettings { cells_m: Some(0.0), ..default() }, "as wide as the map"),
        (ZoneSettings { cells_m: Some(1e9), ..default() }, "up to the field"),
        (ZoneSettings { most: Some(0), ..default() }, "at least one zone"),
    ] {
        let told = refusal(zones.clone());
        assert!(told.contains(text), "{zones:?}: {told}");
    }
    let problem = map_survey(&two_halves(), &settings(ZoneSettings { most: Some(0), ..default() }));
    assert!(matches!(problem, Err(MappingError::NoZones)));
}

/// A stratum whose border runs through the squares of zones, and 30 cm beside probes: depths of the two
/// grounds are never averaged, and a probe counts for a zone of its own ground.
#[test]
fn squares_across_a_stratum_border_mix_neither_depths_nor_probes() {
    let corners = [(64.7, 0.0), (130.0, 0.0), (130.0, 130.0), (64.7, 130.0)];
    let ring: LineString =
        corners.map(|(east, north)| Coord::from(place(east, north))).to_vec().into();
    let polygons = MultiPolygon::from(Polygon::new(ring, Vec::new()));
    let strata = vec![StratumPart { name: "lane".into(), polygons }];
    for heading_deg in [None, Some(30.0)] {
        let zones = ZoneSettings {
            cells_m: Some(9.0),
            smallest_m2: Some(0.0),
            heading_deg,
            ..ZoneSettings::default()
        };
        let settings = MapSettings { strata: strata.clone(), ..settings(zones) };
        let map = map_survey(&two_halves(), &settings).unwrap();
        // Each ground's readings are all alike: 0 in, and 15 in.
        for zone in &map.zones {
            let class = if zone.stratum.is_some() { 3 } else { 0 };
            assert_eq!(zone.class, class, "{:?} {heading_deg:?}", zone.stratum);
        }
        let probes = |stratum: Option<&str>| -> usize {
            let of = map.zones.iter().filter(|zone| zone.stratum.as_deref() == stratum);
            of.map(|zone| zone.probes).sum()
        };
        assert_eq!([probes(None), probes(Some("lane"))], [8, 8], "{heading_deg:?}");
    }
}
