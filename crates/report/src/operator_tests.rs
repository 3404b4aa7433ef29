//! The operator's sheet of made-up plans.

use geo::{Coord, LineString, MultiPolygon, Polygon};
use plan::{Dose, MassRate, Operation, OperationKind, Part, Plan};
use survey::{Depth, LonLat, UnitSystem, Utm};

use crate::operator_sheet::{operator_pdf, operator_png, operator_svg};
use crate::testing;

const WEST_M: f64 = 450_000.0;
const SOUTH_M: f64 = 4_640_000.0;

fn rectangle(west: f64, south: f64, east: f64, north: f64) -> MultiPolygon {
    let ring: LineString = [(west, south), (east, south), (east, north), (west, north)]
        .map(|(x, y)| Coord { x: WEST_M + x, y: SOUTH_M + y })
        .to_vec()
        .into();
    MultiPolygon(vec![Polygon::new(ring, Vec::new())])
}

fn part(id: &str, polygons: MultiPolygon, doses: Vec<Option<Dose>>) -> Part {
    use geo::Area;
    Part {
        id: id.into(),
        zone_id: id.split(' ').next().unwrap().into(),
        class_no: 2,
        class_name: "3–6 in".into(),
        check_strip: id.contains("check").then_some(1),
        action: "leave".into(),
        ground_area_m2: polygons.unsigned_area(),
        polygons,
        doses,
        few_probes: id.ends_with('4'),
    }
}

fn operation(slug: &str, name: &str, kind: OperationKind, none: Dose) -> Operation {
    Operation {
        slug: slug.into(),
        name: name.into(),
        kind,
        basis: None,
        treated_m2: 120_000.0,
        total: Some(40_000.0),
        hopper: None,
        fills: Some(8),
        cost: None,
        out_of_field: none,
        signal_lost: none,
    }
}

/// Two operations, a check strip across the field, a zone that is left alone.
pub(crate) fn plan(units: UnitSystem) -> Plan {
    let depth = |inches| Some(Dose::Depth(Depth::from_in(inches)));
    let mass = |kg_per_ha| Some(Dose::Mass(MassRate::from_kg_per_ha(kg_per_ha)));
    let gypsum = OperationKind::AmendMass { product: "gypsum".into() };
    Plan {
        name: "Autumn 2025".into(),
        field_name: "North Bench".into(),
        farm: Some("Demo Farm".into()),
        grower: None,
        utm: Utm::for_place(LonLat { lon_deg: -95.6, lat_deg: 41.9 }).unwrap(),
        units,
        visit: "2025-04-14".parse().ok(),
        operations: vec![
            operation("loosen", "Loosen", OperationKind::Loosen, Dose::Depth(Depth::from_in(0.0))),
            operation("gypsum", "Gypsum", gypsum, Dose::Mass(MassRate::from_kg_per_ha(0.0))),
        ],
        parts: vec![
            part("Z1", rectangle(0.0, 0.0, 300.0, 190.0), vec![depth(14.0), mass(3_362.55)]),
            part("Z2", rectangle(300.0, 0.0, 640.0, 190.0), vec![depth(12.0), None]),
            part("Z3", rectangle(0.0, 210.0, 500.0, 400.0), vec![None, None]),
            part("Z4", rectangle(500.0, 210.0, 640.0, 400.0), vec![None, mass(2_000.0)]),
            part("Z1 check 1", rectangle(0.0, 190.0, 640.0, 210.0), vec![None, None]),
        ],
        swath_m: Some(9.144),
        heading_deg: Some(90.0),
        stamps: vec!["RATES NOT BACKED BY A SOIL TEST".into()],
        warnings: vec!["Z4 has fewer than 5 probes.".into()],
        stop_rules: vec!["The soil smears on the shank: too wet.".into()],
        hazards: vec!["Drain tile at 3 to 4 ft along the waterway.".into()],
        workings: Vec::new(),
        cautions: vec!["Have buried lines marked: call 811.".into()],
        check_strips: None,
    }
}

fn words(svg: &str) -> Vec<String> {
    testing::texts(svg).into_iter().map(|(words, _)| words).collect()
}

#[test]
fn the_sheet_says_what_to_set_where_and_how_much_it_takes() {
    let svg = operator_svg(&plan(UnitSystem::Us));
    let words = words(&svg);
    for said in [
        "North Bench",
        "RATES NOT BACKED BY A SOIL TEST",
        "Loosen 14 in",
        "Gypsum 1.5 ton/ac",
        "Check strip: leave untreated",
        "Leave",
        "14 in",
        "1.5 ton/ac",
        "Z4*",
        "14.1 ac: Z1; on the terminal 3000 lb/ac",
        "1784 lb/ac",
        "passes 30 ft wide",
        "Gypsum: 29.7 ac, 44.09 ton in all, 8 hopper loads",
    ] {
        assert!(words.iter().any(|line| line == said), "{said}: {words:?}");
    }
    testing::assert_text_is_apart(&svg);
}

#[test]
fn deeper_ground_stands_first_and_check_strips_last() {
    let words = words(&operator_svg(&plan(UnitSystem::Us)));
    let at = |said: &str| words.iter().position(|line| line == said).unwrap();
    let order = ["Loosen 14 in", "Loosen 12 in", "Gypsum 1784 lb/ac", "Leave"].map(at);
    assert!(order.is_sorted() && at("Check strip: leave untreated") > order[3], "{words:?}");
}

#[test]
fn si_sheets_are_in_centimetres_hectares_and_kilograms() {
    let words = words(&operator_svg(&plan(UnitSystem::Si)));
    for said in ["Loosen 35.6 cm", "Gypsum 3.36 t/ha", "passes 9.1 m wide"] {
        assert!(words.iter().any(|line| line == said), "{said}: {words:?}");
    }
    let inches = |line: &String| [" in", " ac", " ft"].iter().any(|unit| line.ends_with(unit));
    assert!(!words.iter().any(inches), "{words:?}");
}

#[test]
fn a_sheet_with_many_zones_and_long_names_keeps_its_text_apart() {
    let mut plan = plan(UnitSystem::Us);
    plan.field_name = "A field with a very long name that no one would paint on a gate ".repeat(3);
    plan.stop_rules = vec!["A rule that goes on for a while, as rules do.".into(); 9];
    plan.parts = (0..24)
        .map(|k| {
            let (west, south) = (f64::from(k % 6) * 100.0, f64::from(k / 6) * 100.0);
            let polygons = rectangle(west, south, west + 100.0, south + 100.0);
            let dose = Dose::Depth(Depth::from_in(8.0 + f64::from(k) / 2.0));
            part(&format!("Z{}", k + 1), polygons, vec![Some(dose), None])
        })
        .collect();
    let svg = operator_svg(&plan);
    testing::assert_text_is_apart(&svg);
    assert!(words(&svg).iter().any(|line| line.ends_with("more: see the map")));
}

#[test]
fn pdf_and_picture_hold_the_same_page_and_the_same_bytes() {
    let plan = plan(UnitSystem::Us);
    let pdf = operator_pdf(&plan).unwrap();
    assert!(pdf.starts_with(b"%PDF-"));
    assert!(pdf == operator_pdf(&plan).unwrap());
    let media = b"/MediaBox[0 0 792 612]";
    assert!(pdf.windows(media.len()).any(|bytes| bytes == media));
    let picture = image::load_from_memory(&operator_png(&plan).unwrap()).unwrap();
    assert_eq!((picture.width(), picture.height()), (2200, 1700));
}
