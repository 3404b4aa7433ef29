//! Plans made by hand.

use geo::{Coord, LineString, MultiPolygon, Polygon};
use plan::{Basis, CheckStrips, Dose, MassRate, Operation, OperationKind, Part, Plan, VolumeRate};
use survey::{Depth, LonLat, UnitSystem, Utm};

/// Corner of the made-up field in zone 15 N, metres.
const WEST_M: f64 = 300_000.0;
const SOUTH_M: f64 = 4_600_000.0;

/// A ring around a rectangle, counter-clockwise; metres from the field's corner.
pub fn rectangle([west, south, east, north]: [f64; 4]) -> LineString {
    let corners = [(west, south), (east, south), (east, north), (west, north), (west, south)];
    corners.map(|(x, y)| Coord { x: WEST_M + x, y: SOUTH_M + y }).into_iter().collect()
}

/// A rectangle with holes, clockwise.
pub fn holed(outer: [f64; 4], holes: &[[f64; 4]]) -> Polygon {
    let clockwise =
        |&hole: &[f64; 4]| LineString::new(rectangle(hole).0.into_iter().rev().collect());
    Polygon::new(rectangle(outer), holes.iter().map(clockwise).collect())
}

pub fn utm() -> Utm {
    Utm::for_place(LonLat { lon_deg: -95.4, lat_deg: 41.5 }).expect("a place in Iowa")
}

/// A part of a zone with its doses.
pub fn part(id: &str, class_no: usize, polygons: Vec<Polygon>, doses: Vec<Option<Dose>>) -> Part {
    let polygons = MultiPolygon::new(polygons);
    Part {
        id: id.into(),
        zone_id: id.split(' ').next().unwrap_or(id).into(),
        class_no,
        class_name: ["0–3 in", "3–6 in", "6–12 in"][class_no - 1].into(),
        check_strip: id.contains("check").then_some(1),
        action: action(&doses),
        ground_area_m2: utm().ground_area_m2(&polygons),
        polygons,
        doses,
        few_probes: class_no == 3,
    }
}

fn action(doses: &[Option<Dose>]) -> String {
    let done: Vec<String> = doses.iter().flatten().map(|dose| dose.text(UnitSystem::Us)).collect();
    if done.is_empty() { "leave".into() } else { done.join(", ") }
}

/// An operation without totals.
pub fn operation(slug: &str, kind: OperationKind) -> Operation {
    let nothing = match kind {
        OperationKind::Loosen => Dose::Depth(Depth::from_m(0.0)),
        OperationKind::AmendMass { .. } => Dose::Mass(MassRate::from_kg_per_ha(0.0)),
        OperationKind::AmendVolume { .. } => Dose::Volume(VolumeRate::from_l_per_ha(0.0)),
    };
    Operation {
        slug: slug.into(),
        name: slug.to_uppercase(),
        kind,
        basis: None,
        treated_m2: 0.0,
        total: None,
        hopper: None,
        fills: None,
        cost: None,
        out_of_field: nothing,
        signal_lost: nothing,
    }
}

/// A field of 400 m by 300 m: a zone with a hole, a zone in the hole with a part elsewhere, a zone cut
/// by a check strip; three operations. Its names are hostile.
pub fn sample() -> Plan {
    let loosen = |inches: f64| Some(Dose::Depth(Depth::from_in(inches)));
    let gypsum = |kg: f64| Some(Dose::Mass(MassRate::from_kg_per_ha(kg)));
    let liquid = |litres: f64| Some(Dose::Volume(VolumeRate::from_l_per_ha(litres)));
    let outer = holed([0.0, 0.0, 200.0, 300.0], &[[50.0, 100.0, 110.0, 160.0]]);
    let inner = holed([50.0, 100.0, 110.0, 160.0], &[]);
    let apart = holed([300.0, 200.0, 400.0, 300.0], &[]);
    let west = holed([200.0, 0.0, 260.0, 200.0], &[]);
    let strip = holed([260.0, 0.0, 278.0, 200.0], &[]);
    let east = holed(
        [278.0, 0.0, 400.0, 200.0],
        &[[300.0, 20.0, 320.0, 60.0], [340.0, 20.0, 360.0, 60.0]],
    );
    let mut gypsum_operation =
        operation("gypsum", OperationKind::AmendMass { product: "=Gips <\"fein\"> & 土".into() });
    gypsum_operation.total = Some(12_345.678);
    gypsum_operation.cost = Some((1_234.5, "USD".into()));
    gypsum_operation.basis = Some(Basis {
        lab: "Labor \"Süd\"".into(),
        date: jiff::civil::date(2025, 3, 1),
        method: "exchangeable Na".into(),
        recommended_by: "A. Adviser".into(),
    });
    Plan {
        name: "Höhe \"North\", <Bench> & 'Sons' ]]>\u{7}".into(),
        field_name: "=Höhe\n2".into(),
        farm: Some("O’Neill".into()),
        grower: None,
        utm: utm(),
        units: UnitSystem::Us,
        visit: Some(jiff::civil::date(2025, 4, 14)),
        operations: vec![
            operation("loosen", OperationKind::Loosen),
            gypsum_operation,
            operation("humic", OperationKind::AmendVolume { product: "humic acid".into() }),
        ],
        parts: vec![
            part("Z1", 1, vec![outer], vec![loosen(14.0), gypsum(3_362.553), None]),
            part("Z2", 2, vec![inner, apart], vec![None, gypsum(1_500.25), liquid(187.079_2)]),
            part("Z3", 3, vec![west, east], vec![loosen(10.5), None, liquid(93.5)]),
            part("Z3 check 1", 3, vec![strip], vec![None, None, None]),
        ],
        swath_m: Some(6.0),
        heading_deg: Some(0.0),
        stamps: vec!["RATES NOT BACKED BY A SOIL TEST".into()],
        warnings: vec!["Zone Z3 has \"few\" probes".into()],
        stop_rules: Vec::new(),
        hazards: vec!["power line".into()],
        workings: vec!["3362.553 kg/ha = 1.5 short ton/ac".into()],
        cautions: vec!["A plan is advice.".into()],
        check_strips: Some(CheckStrips { count: 1, passes: 3, seed: 7 }),
    }
}
