//! A plan written in every format and inspected again: the same zones, doses, areas and holes.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use std::path::Path;

use formats::{
    FormatError, Inspected, InspectedZone, Output, PlanFileSettings, inspect, plan_files,
    write_files,
};
use plan::{Dose, OperationKind, Plan};
use proptest::prelude::*;
use survey::units::tidy;
use survey::{Depth, UnitSystem};

mod plans;

fn written(plan: &Plan) -> Vec<Output> {
    plan_files(plan, &PlanFileSettings::default()).unwrap()
}

/// What is found in a file of a plan.
fn found(folder: &Path, name: &str) -> Inspected {
    inspect(&folder.join(name)).unwrap()
}

fn in_folder(plan: &Plan) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    write_files(folder.path(), &written(plan), false).unwrap();
    folder
}

/// A dose of each operation as every format says it, in the metric unit.
fn metric(plan: &Plan, part: usize) -> Vec<String> {
    let text = |dose: Option<Dose>, kind: &OperationKind| match (dose, kind) {
        (Some(Dose::Depth(depth)), _) => format!("{} cm", tidy(depth.cm(), 3)),
        (Some(Dose::Mass(rate)), _) => format!("{} kg/ha", tidy(rate.kg_per_ha(), 3)),
        (Some(Dose::Volume(rate)), _) => format!("{} L/ha", tidy(rate.l_per_ha(), 3)),
        (None, OperationKind::Loosen) => "0 cm".into(),
        (None, OperationKind::AmendMass { .. }) => "0 kg/ha".into(),
        (None, OperationKind::AmendVolume { .. }) => "0 L/ha".into(),
    };
    let operations = plan.operations.iter().map(|operation| &operation.kind);
    plan.parts[part].doses.iter().zip(operations).map(|(dose, kind)| text(*dose, kind)).collect()
}

fn assert_zone(plan: &Plan, part: usize, zone: &InspectedZone, doses: &[String], file: &str) {
    let expected = &plan.parts[part];
    assert_eq!(zone.name, expected.id, "{file}");
    for dose in doses {
        assert!(zone.values.contains(dose), "{file}: {dose} is not in {:?}", zone.values);
    }
    if let Some(area_m2) = zone.area_m2 {
        // Positions are rounded to a millimetre.
        let tolerance_m2 = 0.002 * expected.ground_area_m2.sqrt() * 8.0;
        assert!((area_m2 - expected.ground_area_m2).abs() < tolerance_m2, "{file}: {area_m2}");
        let holes: usize = expected.polygons.iter().map(|p| p.interiors().len()).sum();
        assert_eq!(zone.holes, holes, "{file}");
    }
}

fn assert_says_the_plan(plan: &Plan, folder: &Path) {
    for name in ["plan.geojson", "plan.gpkg", "plan.kml", "centres.csv"] {
        let found = found(folder, name);
        let [layer] = &found.layers[..] else { panic!("{name}: {found:?}") };
        assert_eq!(layer.zones.len(), plan.parts.len(), "{name}");
        assert_eq!(layer.zones[0].area_m2.is_none(), name == "centres.csv", "{name}");
        for (part, zone) in layer.zones.iter().enumerate() {
            assert_zone(plan, part, zone, &metric(plan, part), name);
        }
    }
    for (k, operation) in plan.operations.iter().enumerate() {
        let name = format!("{}.shp", operation.slug);
        let found = found(folder, &name);
        assert!(found.notes.is_empty(), "{:?}", found.notes);
        for (part, zone) in found.layers[0].zones.iter().enumerate() {
            // The table of depths has two decimals.
            let dose = metric(plan, part)[k].clone();
            assert_zone(plan, part, zone, &[dose], &name);
        }
    }
    let names: Vec<String> =
        found(folder, "centres.gpx").layers[0].zones.iter().map(|zone| zone.name.clone()).collect();
    assert_eq!(names, plan.parts.iter().map(|part| part.id.clone()).collect::<Vec<_>>());
}

#[test]
fn every_format_says_the_plan() {
    let plan = plans::sample();
    let folder = in_folder(&plan);
    assert_says_the_plan(&plan, folder.path());
    let geojson = found(folder.path(), "plan.geojson");
    assert_eq!(geojson.field.as_deref(), Some("=Höhe 2"));
    assert_eq!(geojson.notes, ["it is stamped: RATES NOT BACKED BY A SOIL TEST"]);
    assert_eq!(
        geojson.layers[0].quantities[..3],
        ["loosen in cm", "loosen in inches", "gypsum in kg/ha"]
    );
    let shapefile = found(folder.path(), "gypsum.dbf");
    assert_eq!(shapefile.layers[0].quantities, ["rate in lb/ac", "rate in kg/ha"]);
    assert_eq!(shapefile.layers[0].zones[0].values, ["3000 lb/ac", "3362.553 kg/ha"]);
}

/// The order of KML 2.2's schema, which readers that check it ask for: OGC 07-147r2, `FeatureType` and
/// `PlacemarkType`.
#[test]
fn elements_of_a_placemark_stand_in_the_order_of_the_schema() {
    let files = written(&plans::sample());
    let kml = files.iter().find(|file| file.name == "plan.kml").unwrap();
    let text = String::from_utf8(kml.bytes.clone()).unwrap();
    let order = ["<name>", "<description>", "<styleUrl>", "<ExtendedData>", "<MultiGeometry>"];
    let placemarks: Vec<&str> = text.split("<Placemark>").skip(1).collect();
    assert!(!placemarks.is_empty());
    for placemark in placemarks {
        let places: Vec<usize> = order.iter().map(|tag| placemark.find(tag).unwrap()).collect();
        assert!(places.is_sorted(), "{placemark}");
    }
}

#[test]
fn rasters_hold_the_doses_on_their_ground() {
    let plan = plans::sample();
    let folder = in_folder(&plan);
    let loosen = found(folder.path(), "loosen.tif");
    let layer = &loosen.layers[0];
    assert_eq!(layer.quantities, ["tillage depth in cm"]);
    // Every border lies on a line between cells.
    let cells = |value: &str| {
        let zone = layer.zones.iter().find(|zone| zone.values == [value]).unwrap();
        (zone.name.as_str(), zone.area_m2.unwrap())
    };
    let (name, area_m2) = cells("35.56 cm");
    assert_eq!(name, "14100 cells");
    assert!((area_m2 / plan.parts[0].ground_area_m2 - 1.0).abs() < 1e-4, "{area_m2}");
    assert_eq!(cells("26.67 cm").0, "8700 cells");
    assert_eq!(cells("0 cm").0, "4300 cells");
    let gypsum = found(folder.path(), "gypsum.tif");
    assert_eq!(gypsum.layers[0].quantities, ["rate of =Gips <\"fein\"> & ? in kg/ha"]);
    assert!(gypsum.notes.contains(&"200 by 150 cells of 2 m by 2 m".into()), "{:?}", gypsum.notes);
    let coarse = plan_files(&plan, &PlanFileSettings { cell_m: Some(50.0) }).unwrap();
    write_files(folder.path(), &coarse, true).unwrap();
    let coarse = found(folder.path(), "loosen.tif");
    assert!(coarse.notes.contains(&"8 by 6 cells of 50 m by 50 m".into()), "{:?}", coarse.notes);
    let nonsense = plan_files(&plan, &PlanFileSettings { cell_m: Some(0.0) });
    assert!(matches!(nonsense, Err(FormatError::Plan { .. })));
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    let (one, two) = (written(&plans::sample()), written(&plans::sample()));
    let names: Vec<&str> = one.iter().map(|file| file.name.as_str()).collect();
    assert_eq!(
        names[..6],
        ["plan.geojson", "plan.gpkg", "plan.kml", "centres.gpx", "centres.csv", "loosen.shp"]
    );
    for (a, b) in one.iter().zip(&two) {
        assert!(a.name == b.name && a.bytes == b.bytes, "{}", a.name);
    }
    let dbf = one.iter().find(|file| file.name == "loosen.dbf").unwrap();
    assert_eq!(dbf.bytes[1..4], [125, 4, 14]);
    let undated = Plan { visit: None, ..plans::sample() };
    let dbf = written(&undated).into_iter().find(|file| file.name == "loosen.dbf").unwrap();
    assert_eq!(dbf.bytes[1..4], [80, 1, 1]);
}

#[test]
fn shapefiles_stay_whole_with_names_of_any_kind() {
    let mut plan = plans::sample();
    plan.parts[0].id = "Ä".repeat(60);
    plan.parts[1].action = "\u{0}ß\r\n".repeat(90);
    let folder = in_folder(&plan);
    let zones = &found(folder.path(), "loosen.shp").layers[0].zones;
    assert_eq!(zones[0].name, "A".repeat(32));
    let dbf = std::fs::read(folder.path().join("loosen.dbf")).unwrap();
    assert!(dbf[32 + 9 * 32 + 1..dbf.len() - 1].iter().all(|byte| (b' '..=b'~').contains(byte)));
}

#[test]
fn what_does_not_fit_is_refused_whole() {
    let problem = |plan: &Plan| match plan_files(plan, &PlanFileSettings::default()) {
        Err(error) => error.to_string(),
        Ok(_) => panic!("written"),
    };
    let with = |change: fn(&mut Plan)| {
        let mut plan = plans::sample();
        change(&mut plan);
        problem(&plan)
    };
    type Change = fn(&mut Plan);
    let cases: [(Change, &str); 7] = [
        (
            |plan| plan.operations[0].slug = "../x".into(),
            "\"../x\" cannot name an operation's files",
        ),
        (|plan| plan.operations[1].slug = "loosen".into(), "\"loosen\" cannot name"),
        (|plan| plan.parts[0].doses.truncate(1), "part Z1: it does not have a dose for each"),
        (|plan| plan.parts[0].doses.swap(0, 1), "its dose of loosen is of another kind"),
        (
            |plan| plan.parts[0].doses[0] = Some(Dose::Depth(Depth::from_cm(f64::NAN))),
            "its dose of loosen is not a number",
        ),
        (|plan| plan.parts.clear(), "it has no parts"),
        (|plan| plan.parts[0].ground_area_m2 = 1e13, "record 1, AREA_HA: 1000000000 does not fit"),
    ];
    for (change, expected) in cases {
        let problem = with(change);
        assert!(problem.contains(expected), "{problem}");
    }
}

/// A plan of squares side by side, each perhaps with a hole, an island in it, and a second piece.
fn squares(kinds: &[(u8, u16, u16)]) -> Plan {
    let mut plan = plans::sample();
    plan.units = UnitSystem::Si;
    plan.parts = kinds
        .iter()
        .enumerate()
        .map(|(k, &(kind, millimetres, kg))| {
            let west = 110.0 * k as f64;
            let hole = [west + 20.0, 20.0, west + 80.0, 80.0];
            let outer = [west, 0.0, west + 100.0, 100.0];
            let polygons = match kind % 4 {
                0 => vec![plans::holed(outer, &[])],
                1 => vec![plans::holed(outer, &[hole])],
                2 => vec![
                    plans::holed(outer, &[hole]),
                    plans::holed([west + 40.0, 40.0, west + 60.0, 60.0], &[]),
                ],
                _ => vec![
                    plans::holed(outer, &[]),
                    plans::holed([west, 200.0, west + 50.0, 233.3], &[]),
                ],
            };
            let depth = Depth::from_m(f64::from(millimetres) / 1e3);
            let rate = plan::MassRate::from_kg_per_ha(f64::from(kg) / 8.0);
            let doses = vec![Some(Dose::Depth(depth)), Some(Dose::Mass(rate)), None];
            plans::part(&format!("Z{}", k + 1), 1 + k % 3, polygons, doses)
        })
        .collect();
    plan
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn any_squares_are_read_back(kinds in prop::collection::vec((0..4_u8, 0..600_u16, any::<u16>()), 1..8)) {
        let plan = squares(&kinds);
        let folder = in_folder(&plan);
        assert_says_the_plan(&plan, folder.path());
    }

    #[test]
    fn any_texts_stay_within_their_fields(text in any::<String>(), other in any::<String>()) {
        let mut plan = plans::sample();
        plan.name = text.clone();
        plan.field_name = other.clone();
        plan.parts[0].action = text.clone();
        plan.parts[1].class_name = other.clone();
        plan.operations[1].kind = OperationKind::AmendMass { product: text };
        plan.stamps = vec![other];
        let folder = in_folder(&plan);
        for name in ["plan.geojson", "plan.gpkg", "plan.kml", "centres.csv", "centres.gpx", "loosen.shp"] {
            let found = found(folder.path(), name);
            prop_assert_eq!(found.layers[0].zones.len(), 4, "{}", name);
            prop_assert_eq!(&found.layers[0].zones[3].name, "Z3 check 1");
        }
    }
}

/// Whoever meets a zone with few probes, in whatever file, is told.
#[test]
fn few_probes_are_marked_in_every_file_of_shapes_and_places() {
    let mut plan = plans::sample();
    for part in &mut plan.parts {
        part.few_probes = true;
    }
    plan.parts[0].few_probes = false;
    let marked = plan.parts.len() - 1;
    for file in written(&plan).iter().filter(|file| {
        let data = [".geojson", ".gpkg", ".kml", ".gpx", ".csv", ".dbf"];
        data.iter().any(|end| file.name.ends_with(end))
    }) {
        let mark = b"(few probes)";
        let count = file.bytes.windows(mark.len()).filter(|bytes| bytes == mark).count();
        assert_eq!(count, marked, "{}", file.name);
    }
}
