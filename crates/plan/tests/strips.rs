//! Check strips: whole passes, valid pieces that share their corners and add up to the zones.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

mod zones;

use std::collections::BTreeMap;

use geo::{
    Area, BooleanOps, Coord, Distance, Euclidean, Length, Line, LineString, MultiPolygon, Point,
    Polygon, Validation, Winding,
};
use plan::{CheckStrips, MappedZone, Part, Plan, PlanSettings, ZoneMap};
use proptest::prelude::*;
use zones::{map, map_of, planned, ring, zone};

const AMEND: &str =
    "[[action]]\nclasses = [1, 2]\ndo = \"amend\"\nproduct = \"gypsum\"\nrate = \"2 t/ha\"\n";

fn settings(swath_m: f64, heading_deg: f64, count: usize, seed: u64) -> PlanSettings {
    PlanSettings {
        swath_m: Some(swath_m),
        heading_deg: Some(heading_deg),
        check_strips: Some(CheckStrips { count, passes: 1, seed }),
    }
}

fn strips(plan: &Plan) -> Vec<&Part> {
    plan.parts.iter().filter(|part| part.check_strip.is_some()).collect()
}

/// How often each edge runs one way more than the other: 0 where two parts share it.
fn balance<'a>(all: impl Iterator<Item = &'a MultiPolygon>) -> BTreeMap<[(u64, u64); 2], i32> {
    let key = |corner: Coord| (corner.x.to_bits(), corner.y.to_bits());
    let mut balance = BTreeMap::new();
    for polygon in all.flat_map(MultiPolygon::iter) {
        for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
            for line in ring.lines() {
                let (a, b) = (key(line.start), key(line.end));
                *balance.entry([a.min(b), a.max(b)]).or_default() += if a < b { 1 } else { -1 };
            }
        }
    }
    balance
}

fn perimeter_m(polygon: &Polygon) -> f64 {
    let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
    rings.map(|ring| Euclidean.length(ring)).sum()
}

/// What must be true of any plan with check strips.
fn check(map: &ZoneMap, plan: &Plan, settings: PlanSettings) -> Result<(), TestCaseError> {
    let mut outlines = BTreeMap::new();
    for part in &plan.parts {
        prop_assert!(!part.polygons.0.is_empty());
        prop_assert!(part.polygons.check_validation().is_ok(), "{}: {:?}", part.id, part.polygons);
        for polygon in &part.polygons {
            prop_assert!(polygon.exterior().is_ccw());
            prop_assert!(polygon.interiors().iter().all(Winding::is_cw));
        }
        prop_assert!(outlines.insert(&part.id, &part.polygons).is_none(), "{} twice", part.id);
        prop_assert_eq!(part.check_strip.is_some(), part.id.contains(" check "));
        let nothing = part.doses.iter().all(Option::is_none);
        prop_assert!(part.check_strip.is_none() || nothing, "{} is treated", part.id);
    }
    for zone in &map.zones {
        let parts = || plan.parts.iter().filter(|part| part.zone_id == zone.id);
        let plane: f64 = parts().map(|part| part.polygons.unsigned_area()).sum();
        // New corners on a straight border are rounded to 0.1 mm, so the border moves by half of that at
        // most; between two zones it moves for both.
        let whole = zone.polygons.unsigned_area();
        let border_m: f64 = zone.polygons.iter().map(perimeter_m).sum();
        prop_assert!(
            (plane - whole).abs() <= 1e-6 * whole + 0.5e-4 * border_m,
            "{plane} of {whole}"
        );
        let ground: f64 = parts().map(|part| part.ground_area_m2).sum();
        prop_assert!((ground / zone.ground_area_m2 - 1.0).abs() < 1e-9);
    }
    let all = |polygons: &mut dyn Iterator<Item = &MultiPolygon>| -> f64 {
        polygons.map(Area::unsigned_area).sum()
    };
    let plane = all(&mut plan.parts.iter().map(|part| &part.polygons));
    let whole = all(&mut map.zones.iter().map(|zone| &zone.polygons));
    prop_assert!((plane / whole - 1.0).abs() < 1e-6, "{plane} of {whole} in all");
    // Edges inside the field are shared by two parts corner by corner: one that is not lies on the outline.
    let edges = balance(plan.parts.iter().map(|part| &part.polygons));
    prop_assert!(edges.values().all(|count| count.abs() <= 1));
    let alone = |all: BTreeMap<[(u64, u64); 2], i32>| -> Vec<Line> {
        let place = |(x, y)| Coord { x: f64::from_bits(x), y: f64::from_bits(y) };
        let alone = all.into_iter().filter(|(_, count)| *count != 0);
        alone.map(|([a, b], _)| Line::new(place(a), place(b))).collect()
    };
    let outline = alone(balance(map.zones.iter().map(|zone| &zone.polygons)));
    for edge in alone(edges) {
        let middle = Point::from((edge.start + edge.end) / 2.0);
        let near = outline.iter().any(|line| Euclidean.distance(&middle, line) < 1e-3);
        prop_assert!(near, "{:?} has no neighbour and is not on the outline", edge);
    }
    whole_passes(map, plan, settings)
}

/// Each strip is all the ground between two lines along the heading, a pass apart, and lies a whole number
/// of passes from the field's edge.
fn whole_passes(map: &ZoneMap, plan: &Plan, settings: PlanSettings) -> Result<(), TestCaseError> {
    let strip_settings = settings.check_strips.unwrap();
    let width_m = settings.swath_m.unwrap() * strip_settings.passes as f64;
    let (sin, cos) = settings.heading_deg.unwrap().to_radians().sin_cos();
    let across = |place: Coord| (place.x - 300_000.0) * cos - (place.y - 4_600_000.0) * sin;
    let ends = |polygons: &MultiPolygon| {
        let exteriors = polygons.iter().flat_map(|polygon| polygon.exterior().coords());
        exteriors.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &corner| {
            (low.min(across(corner)), high.max(across(corner)))
        })
    };
    let left_m = map.zones.iter().map(|zone| ends(&zone.polygons).0).fold(f64::INFINITY, f64::min);
    for number in 1..=strip_settings.count {
        let parts: Vec<&Part> =
            plan.parts.iter().filter(|part| part.check_strip == Some(number)).collect();
        prop_assert!(!parts.is_empty());
        let middle =
            parts[0].polygons.iter().flat_map(|p| p.exterior().coords()).map(|&c| across(c));
        let (sum, count) = middle.fold((0.0, 0.0), |(sum, count), m| (sum + m, count + 1.0));
        let run = ((sum / count - left_m) / width_m).floor();
        let (from, to) = (left_m + run * width_m, left_m + (run + 1.0) * width_m);
        for part in &parts {
            let (low, high) = ends(&part.polygons);
            prop_assert!(
                low > from - 0.011 && high < to + 0.011,
                "{} {low} {high} in {from} {to}",
                part.id
            );
        }
        // And nothing of another part lies between the lines.
        let far = 2_000.0;
        let corner = |m: f64, along: f64| Coord {
            x: 300_000.0 + m * cos + along * sin,
            y: 4_600_000.0 - m * sin + along * cos,
        };
        let inner = [(from + 0.02, -far), (to - 0.02, -far), (to - 0.02, far), (from + 0.02, far)];
        let band: LineString = inner.iter().map(|&(m, along)| corner(m, along)).collect();
        let band = Polygon::new(band, Vec::new());
        for part in plan.parts.iter().filter(|part| part.check_strip != Some(number)) {
            let inside = part.polygons.intersection(&band).unsigned_area();
            prop_assert!(inside < 1e-3, "{inside} m² of {} in strip {number}", part.id);
        }
    }
    Ok(())
}

#[test]
fn a_field_of_rectangles_gets_two_whole_passes() {
    let settings = settings(10.0, 0.0, 2, 7);
    let plan = planned(&map(), AMEND, settings).unwrap();
    check(&map(), &plan, settings).unwrap();
    let strips = strips(&plan);
    // Passes run north; the treated ground is the western 400 m: one strip in each half.
    let at: Vec<(&str, f64)> =
        strips.iter().map(|part| (part.zone_id.as_str(), part.polygons.unsigned_area())).collect();
    assert_eq!(at.len(), 2);
    assert_eq!((at[0].0, at[1].0), ("Z1", "Z2"));
    assert!(at.iter().all(|(_, area)| (area - 3_000.0).abs() < 1e-6), "{at:?}");
    assert_eq!(strips[0].id, "Z1 check 1");
    assert_eq!(strips[0].action, "leave, check strip 1");
    // 12 ha less two strips of 300 m by 10 m, at 2 t/ha; the ground of Z1 and Z2 is theirs by decree.
    let operation = &plan.operations[0];
    assert!((operation.treated_m2 - 114_000.0).abs() < 0.1, "{}", operation.treated_m2);
    assert!((operation.total.unwrap() - 22_800.0).abs() < 0.1);
    assert!(plan.workings.iter().any(|text| text.contains("of 50 passes of 32.8 ft")
        && text.contains("heading 0°")
        && text.contains("5 % of the ground to be treated")));
    assert!(plan.workings.iter().any(|text| text.contains("difference of differences")));
    assert!(plan.stop_rules.iter().any(|text| text.starts_with("Leave check strips untreated")));
    assert!(!plan.warnings.iter().any(|text| text.contains("check strip")), "{:?}", plan.warnings);
}

#[test]
fn the_same_seed_draws_the_same_strips_and_another_draws_others() {
    let plan = |seed| planned(&map(), AMEND, settings(10.0, 30.0, 3, seed)).unwrap();
    assert_eq!(plan(1), plan(1));
    let outlines = |plan: &Plan| -> Vec<MultiPolygon> {
        strips(plan).iter().map(|part| part.polygons.clone()).collect()
    };
    assert!((2..6).any(|seed| outlines(&plan(seed)) != outlines(&plan(1))));
}

#[test]
fn strips_may_be_several_passes_wide() {
    let mut wide = settings(10.0, 90.0, 2, 1);
    wide.check_strips = Some(CheckStrips { count: 2, passes: 3, seed: 1 });
    let plan = planned(&map(), AMEND, wide).unwrap();
    check(&map(), &plan, wide).unwrap();
    // East: a strip of 30 m crosses both treated zones, and the one that is left alone.
    assert_eq!(strips(&plan).len(), 6);
    assert!(plan.workings.iter().any(|text| text.contains("runs of 3 passes, 98.4 ft wide")));
}

#[test]
fn what_strips_need_and_cannot_do_is_said() {
    let error = |settings| planned(&map(), AMEND, settings).unwrap_err().to_string();
    let whole = settings(10.0, 0.0, 2, 1);
    assert_eq!(
        error(PlanSettings { swath_m: None, ..whole }),
        "check strips need the width of a pass; give --swath or swath in [plan] of rates.toml"
    );
    assert_eq!(
        error(PlanSettings { heading_deg: None, ..whole }),
        "check strips need the heading of the passes; give --heading or heading in [plan] of rates.toml"
    );
    let many = error(settings(10.0, 0.0, 21, 1));
    assert!(
        many.contains("--check-strips 21: the treated ground has 40 runs of 32.8 ft"),
        "{many}"
    );
    assert!(many.ends_with("ask for 20 at most"), "{many}");
    assert!(error(settings(100.0, 90.0, 5, 1)).ends_with("ask for 1 at most"));
    let mut huge = map();
    huge.zones[2].polygons = zones::rectangle([400.0, 0.0, 100_000.0, 300.0]);
    let error = planned(&huge, AMEND, settings(0.5, 0.0, 1, 1)).unwrap_err().to_string();
    assert!(error.contains("more than 10000 passes"), "{error}");
}

#[test]
fn a_treated_zone_without_a_strip_is_named() {
    let mut small = map();
    small.zones[2].class_no = 2;
    small.zones[2].polygons = zones::rectangle([400.0, 0.0, 412.0, 300.0]);
    let plan = planned(&small, AMEND, settings(10.0, 0.0, 1, 1)).unwrap();
    let warned = plan.warnings.iter().find(|text| text.contains("no check strip crosses"));
    assert!(warned.is_some_and(|text| text.contains("Z3")), "{:?}", plan.warnings);
}

#[test]
fn a_zone_that_strips_swallow_is_named() {
    let mut small = map();
    // Runs of 100 m: whichever run is drawn in the west covers one of two zones there.
    let west = |from: f64| zones::rectangle([from, 0.0, from + 100.0, 300.0]);
    small.zones[0].polygons = west(0.0);
    small.zones.push(zone("Z4", 1, west(100.0), 30_000.0));
    let plan = planned(&small, AMEND, settings(100.0, 0.0, 2, 1)).unwrap();
    let warned = plan.warnings.iter().find(|text| text.starts_with("check strips cover all of Z"));
    assert!(warned.is_some(), "{:?}", plan.warnings);
    check(&small, &plan, settings(100.0, 0.0, 2, 1)).unwrap();
}

/// Zones that are the cells of a grid turned by some angle, of three classes, with corners rounded as a zone
/// file's are; in each cell of class 3 lies a zone of class 1. Neighbours share their corners, and there is
/// a hole in the field.
fn field(cells: &[u8], turn_deg: f64, side_m: f64, jitter_m: &[f64]) -> ZoneMap {
    let columns = 6;
    let (sin, cos) = turn_deg.to_radians().sin_cos();
    let rounded = |m: f64| (m * 1e3).round() / 1e3;
    let turned = |x: f64, y: f64| (rounded(x * cos + y * sin), rounded(y * cos - x * sin));
    let corner = |column: usize, row: usize| {
        let k = (row * (columns + 1) + column) * 2;
        let jitter = |k: usize| jitter_m[k % jitter_m.len()];
        turned(column as f64 * side_m + jitter(k), row as f64 * side_m + jitter(k + 1))
    };
    let mut zones: Vec<MappedZone> = Vec::new();
    let mut add = |class_no: usize, polygon: Polygon| {
        let polygons = MultiPolygon::from(polygon);
        let ground_m2 = polygons.unsigned_area() * 1.0007;
        zones.push(zone(&format!("Z{}", zones.len() + 1), class_no, polygons, ground_m2));
    };
    for (k, class) in cells.iter().enumerate() {
        let (column, row) = (k % columns, k / columns);
        if (column, row) == (2, 2) {
            continue;
        }
        let corners = [(0, 0), (1, 0), (1, 1), (0, 1)].map(|(c, r)| corner(column + c, row + r));
        let mut holes = Vec::new();
        if *class == 3 {
            let (x, y) = ((column as f64 + 0.5) * side_m, (row as f64 + 0.5) * side_m);
            let inner = [(-5.0, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0)];
            let inner = inner.map(|(dx, dy)| turned(x + dx, y + dy));
            let outline = ring(&inner);
            holes.push(LineString::new(outline.0.iter().rev().copied().collect()));
            add(1, Polygon::new(outline, Vec::new()));
        }
        add(usize::from(*class), Polygon::new(ring(&corners), holes));
    }
    map_of(zones)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn strips_of_any_field_are_whole_passes_and_the_parts_add_up(
        cells in prop::collection::vec(1..4_u8, 24),
        turn_deg in prop_oneof![Just(0.0), Just(90.0), 0.0..360.0_f64],
        heading_off in prop_oneof![Just(0.0), Just(90.0), -0.01..0.01_f64, 0.0..180.0_f64],
        side_m in prop_oneof![Just(30.0), 20.0..60.0_f64],
        jitter_m in prop_oneof![Just(vec![0.0]), prop::collection::vec(-0.002..0.002_f64, 70),
            prop::collection::vec(-5.0..5.0_f64, 70)],
        swath_m in prop_oneof![Just(6.0), Just(10.0), 5.0..15.0_f64],
        count in 1..4_usize,
        seed in 0..1_000_u64,
    ) {
        let map = field(&cells, turn_deg, side_m, &jitter_m);
        prop_assume!(map.zones.iter().any(|zone| zone.class_no == 1));
        let heading_deg: f64 = turn_deg + heading_off;
        let settings = settings(swath_m, heading_deg.rem_euclid(360.0), count, seed);
        match planned(&map, AMEND_ONE, settings) {
            Ok(plan) => {
                check(&map, &plan, settings)?;
                prop_assert_eq!(&plan, &planned(&map, AMEND_ONE, settings).unwrap());
            }
            // Too few passes for so many strips is an answer; a zone that cannot be cut is not.
            Err(error) => prop_assert!(error.to_string().starts_with("--check-strips"), "{}", error),
        }
    }
}

const AMEND_ONE: &str =
    "[[action]]\nzones = [\"Z1\"]\ndo = \"amend\"\nproduct = \"gypsum\"\nrate = \"2 t/ha\"\n";
