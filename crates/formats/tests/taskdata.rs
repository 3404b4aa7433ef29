//! TASKDATA of plans: bytes worked by hand, and values that come back when it is read.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

#[path = "../examples/support/sample_plan.rs"]
mod sample_plan;

use std::path::Path;

use formats::{
    Inspected, InspectedZone, Output, Taskdata, TaskdataSettings, Version, Zones, inspect_taskdata,
    taskdata, taskdata_zip, write_files,
};
use geo::{LineString, MultiPolygon, Polygon};
use plan::{Dose, MassRate, OperationKind, Part, Plan};
use proptest::prelude::*;
use sample_plan::{NAMES, sample_plan};
use survey::{Depth, LonLat, UnitSystem, Utm};

const ALL_ZONES: [Zones; 3] = [Zones::GridType1, Zones::GridType2, Zones::Polygons];

/// A rectangle of a field at the equator on a central meridian, where the plane's axes are the globe's:
/// metres east and north from a corner.
fn rectangle(id: &str, [west, south, east, north]: [f64; 4], dose: Option<Dose>) -> Part {
    let utm = Utm::for_place(LonLat { lon_deg: -93.0, lat_deg: 0.0 }).unwrap();
    let corner = |x: f64, y: f64| (500_000.0 + x, 1_000.0 + y);
    let ring = [corner(west, south), corner(east, south), corner(east, north), corner(west, north)];
    let polygons = MultiPolygon::from(Polygon::new(LineString::from(ring.to_vec()), Vec::new()));
    Part {
        id: id.into(),
        zone_id: id.into(),
        class_no: 1,
        class_name: "3–6 in".into(),
        check_strip: None,
        action: String::new(),
        ground_area_m2: utm.ground_area_m2(&polygons),
        polygons,
        doses: vec![dose],
        few_probes: false,
    }
}

/// A plan of one operation on some parts.
fn plan(kind: OperationKind, lost: Dose, outside: Dose, parts: Vec<Part>) -> Plan {
    let sample = sample_plan().unwrap();
    let mut operation = sample.operations[0].clone();
    (operation.kind, operation.signal_lost, operation.out_of_field) = (kind, lost, outside);
    let utm = Utm::for_place(LonLat { lon_deg: -93.0, lat_deg: 0.0 }).unwrap();
    let units = UnitSystem::Si;
    Plan { operations: vec![operation], parts, utm, units, swath_m: None, ..sample }
}

fn depth(cm: f64) -> Dose {
    Dose::Depth(Depth::from_cm(cm))
}

fn written(plan: &Plan, settings: TaskdataSettings) -> Taskdata {
    taskdata(plan, &settings, "0.1.0").unwrap()
}

fn xml(taskdata: &Taskdata) -> String {
    assert_eq!(taskdata.files[0].name, "TASKDATA/TASKDATA.XML");
    String::from_utf8(taskdata.files[0].bytes.clone()).unwrap()
}

fn inspected(files: &[Output]) -> Inspected {
    let folder = tempfile::tempdir().unwrap();
    write_files(folder.path(), files, false).unwrap();
    inspect_taskdata(folder.path()).unwrap()
}

/// Six cells: A A B in the southern row, C and twice ground that is left in the northern.
fn six_cells() -> Plan {
    let parts = vec![
        rectangle("A", [0.0, 0.0, 20.0, 10.0], Some(depth(30.0))),
        rectangle("B", [20.0, 0.0, 30.0, 10.0], Some(depth(35.55))),
        rectangle("C", [0.0, 10.0, 10.0, 20.0], Some(depth(25.0))),
        rectangle("D", [10.0, 10.0, 30.0, 20.0], None),
    ];
    plan(OperationKind::Loosen, depth(20.0), depth(0.0), parts)
}

// The plane is 0.9996 times the ground there, so that 30 m of it are 30.012 m.
const CELL_M: f64 = 10.01;

#[test]
fn cells_stand_from_south_to_north_and_from_west_to_east() {
    let settings = TaskdataSettings { cell_m: Some(CELL_M), ..TaskdataSettings::default() };
    let made = written(&six_cells(), settings);
    assert_eq!(made.warnings, Vec::<String>::new());
    assert_eq!(made.files[1].name, "TASKDATA/GRD00001.bin");
    assert_eq!(made.files[1].bytes, [4, 4, 5, 6, 3, 3]);
    let xml = xml(&made);
    // 1000 m of northing are 1000/0.9996 m of 110 574.2758 m to the degree: 0.009047313°.
    let grid = xml.lines().find(|line| line.contains("<GRD")).unwrap();
    assert!(grid.contains(r#"A="0.009047313""#), "{grid}");
    assert!(grid.contains(r#"B="-93.000000000""#), "{grid}");
    assert!(grid.contains(r#"E="3" F="2" G="GRD00001" H="6" I="1"/>"#), "{grid}");
    assert!(xml.contains(r#"H="2" I="1" J="0""#), "{xml}");
    let zone = "<TZN A=\"5\" B=\"B\">\n   <PDV A=\"0033\" B=\"356\" E=\"VPN1\"/>";
    assert!(xml.contains(zone), "{xml}");
}

#[test]
fn a_grid_of_doses_holds_little_endian_integers() {
    let settings =
        TaskdataSettings { cell_m: Some(CELL_M), zones: Zones::GridType2, version: Version::V4 };
    let made = written(&six_cells(), settings);
    let expected: Vec<u8> =
        [300_i32, 300, 356, 250, 0, 0].iter().flat_map(|stored| stored.to_le_bytes()).collect();
    assert_eq!(made.files[1].bytes, expected);
    assert_eq!(&made.files[1].bytes[..4], [0x2c, 1, 0, 0]);
    assert!(xml(&made).contains(r#"H="24" I="2" J="3"/>"#));
    assert!(xml(&made).contains(r#"VersionMajor="4" VersionMinor="3""#));
}

#[test]
fn cells_outside_the_field_have_the_code_for_it() {
    let parts = vec![
        rectangle("A", [0.0, 0.0, 30.0, 10.0], Some(depth(30.0))),
        rectangle("B", [0.0, 10.0, 10.0, 20.0], Some(depth(25.0))),
    ];
    let plan = plan(OperationKind::Loosen, depth(20.0), depth(5.0), parts);
    let cell_m = Some(CELL_M);
    let bytes = |zones| {
        let settings = TaskdataSettings { cell_m, zones, ..TaskdataSettings::default() };
        written(&plan, settings).files[1].bytes.clone()
    };
    assert_eq!(bytes(Zones::GridType1), [4, 4, 4, 5, 0, 0]);
    assert_eq!(bytes(Zones::GridType2)[16..20], 50_i32.to_le_bytes());
}

#[test]
fn cells_are_as_wide_as_a_pass_unless_told() {
    let columns = |swath_m, cell_m| {
        let plan = Plan { swath_m, ..six_cells() };
        let made = written(&plan, TaskdataSettings { cell_m, ..TaskdataSettings::default() });
        let xml = xml(&made);
        let columns = xml.split(" E=\"").find_map(|rest| {
            rest.strip_suffix("").and_then(|rest| {
                let (number, rest) = rest.split_once('"')?;
                rest.starts_with(" F=\"").then(|| number.parse::<usize>().ok())?
            })
        });
        (columns.unwrap(), made.warnings.join("; "))
    };
    assert_eq!(columns(None, None).0, 4);
    assert_eq!(columns(Some(6.0), None).0, 6);
    let (count, warnings) = columns(Some(6.0), Some(3.0));
    assert_eq!(count, 11);
    assert!(warnings.contains("cells of 3 m are narrower than a pass of 6 m"), "{warnings}");
}

#[test]
fn ground_narrower_than_a_cell_is_told() {
    let mut plan = six_cells();
    plan.parts.push(rectangle("A check 1", [30.0, 0.0, 31.0, 20.0], None));
    plan.parts[4].check_strip = Some(1);
    let settings = TaskdataSettings { cell_m: Some(CELL_M), ..TaskdataSettings::default() };
    let made = written(&plan, settings);
    let told = "no middle of a 10.01 m cell lies in A check 1: the machine will not see it; choose \
                smaller cells";
    assert_eq!(made.warnings, [told]);
    let settings = TaskdataSettings { cell_m: Some(1.0), ..settings };
    assert_eq!(written(&plan, settings).warnings, Vec::<String>::new());
}

#[test]
fn what_makes_no_task_is_refused() {
    let refused = |plan: &Plan, settings: TaskdataSettings| {
        taskdata(plan, &settings, "0").map(|_| ()).unwrap_err().to_string()
    };
    let with = |dose| {
        let mut plan = six_cells();
        plan.parts[1].doses = vec![Some(dose)];
        refused(&plan, TaskdataSettings::default())
    };
    let start = "the TASKDATA could not be made: Loosen, B: the dose ";
    assert_eq!(with(depth(-1.0)), format!("{start}is below zero"));
    assert_eq!(with(depth(f64::NAN)), format!("{start}is not a number"));
    assert!(with(depth(1e12)).ends_with("is larger than the standard's 32 bits hold"));
    let mass = Dose::Mass(MassRate::from_kg_per_ha(1.0));
    assert!(with(mass).ends_with("is of another kind than the operation's"));
    let mut lost = six_cells();
    lost.operations[0].signal_lost = mass;
    assert!(refused(&lost, TaskdataSettings::default()).contains("with the signal lost"));
    let none = Plan { operations: Vec::new(), ..six_cells() };
    assert!(refused(&none, TaskdataSettings::default()).contains("no operation"));
    // 180° lies 333.978 km east of the central meridian at 177°.
    let mut across = six_cells();
    across.utm = Utm::for_place(LonLat { lon_deg: 179.9, lat_deg: 0.0 }).unwrap();
    let beside = rectangle("E", [333_900.0, 0.0, 334_100.0, 10.0], Some(depth(30.0)));
    across.parts = vec![beside];
    let crosses = refused(&across, TaskdataSettings::default());
    assert!(crosses.contains("the field crosses 180° of longitude"), "{crosses}");
    let tiny = TaskdataSettings { cell_m: Some(0.001), ..TaskdataSettings::default() };
    assert!(refused(&six_cells(), tiny).contains("give another cell size"));
    let strip = |k: usize| [k as f64, 0.0, k as f64 + 1.0, 10.0];
    let many = (0..252).map(|k| rectangle(&k.to_string(), strip(k), Some(depth(30.0)))).collect();
    let many = plan(OperationKind::Loosen, depth(20.0), depth(0.0), many);
    assert!(refused(&many, TaskdataSettings::default()).contains("252 zones"));
    let doses = TaskdataSettings { zones: Zones::GridType2, ..TaskdataSettings::default() };
    assert!(taskdata(&many, &doses, "0").is_ok());
}

#[test]
fn a_check_strip_is_left_alone_even_with_a_dose() {
    let mut plan = six_cells();
    plan.parts[1].check_strip = Some(1);
    let settings = TaskdataSettings { cell_m: Some(CELL_M), ..TaskdataSettings::default() };
    assert_eq!(written(&plan, settings).files[1].bytes, [4, 4, 3, 5, 3, 3]);
}

#[test]
fn the_sample_reads_back_as_it_was_planned() {
    let plan = sample_plan().unwrap();
    for version in [Version::V3, Version::V4] {
        for zones in ALL_ZONES {
            let settings = TaskdataSettings { version, zones, cell_m: None };
            let made = written(&plan, settings);
            let found = inspected(&made.files);
            assert_eq!(found.field.as_deref(), Some(NAMES[0].1));
            let names: Vec<&str> = found.layers.iter().map(|layer| layer.name.as_str()).collect();
            assert_eq!(names, ["Loosen", "Spread gypsum & lime", "Task"]);
            let owners = format!("grower: {}; farm: {}", NAMES[2].1, NAMES[1].1);
            assert!(found.notes.contains(&owners), "{:?}", found.notes);
            let quantities: Vec<_> = found.layers.iter().flat_map(|l| &l.quantities).collect();
            let gypsum = format!("{} in lb/ac", NAMES[3].1);
            let slurry = "Slurry <6 % dry matter> in gal/ac";
            assert_eq!(quantities, ["tillage depth in in", gypsum.as_str(), slurry]);
            let defaults: Vec<_> = found.layers.iter().flat_map(|l| &l.defaults).collect();
            assert_eq!(defaults[0], "by default: 10 in (25.4 cm)");
            assert_eq!(defaults[1], "with the position lost: 10 in (25.4 cm)");
            assert_eq!(defaults[2], "outside the field: 0 in (0 cm; tool at the surface)");
            assert_eq!(defaults[3], "by default: 0 lb/ac (0 kg/ha; off)");
            assert!(!found.notes.iter().any(|note| note.contains("left out")), "{:?}", found.notes);
        }
    }
}

#[test]
fn zones_of_the_sample_have_their_ground_and_values() {
    let plan = sample_plan().unwrap();
    let zones = |zones| {
        let settings = TaskdataSettings { zones, ..TaskdataSettings::default() };
        let found = inspected(&written(&plan, settings).files);
        found.layers.into_iter().map(|layer| layer.zones).collect::<Vec<_>>()
    };
    let outlines = zones(Zones::Polygons);
    let said = |zones: &[InspectedZone]| -> Vec<String> {
        let values = |zone: &InspectedZone| zone.values.join("; ");
        zones
            .iter()
            .map(|zone| format!("{}: {}, {} holes", zone.name, values(zone), zone.holes))
            .collect()
    };
    let expected = [
        "Leave: 0 in (0 cm), 0 holes".to_owned(),
        format!("{}: 14 in (35.6 cm), 2 holes", NAMES[4].1),
        format!("{}: 10 in (25.4 cm), 1 holes", NAMES[5].1),
        format!("{}: 11.9 in (30.1 cm), 0 holes", NAMES[7].1),
    ];
    assert_eq!(said(&outlines[0]), expected);
    // The island and the check strip are left alone.
    let ground = |parts: &[usize]| parts.iter().map(|&part| plan.parts[part].ground_area_m2).sum();
    let areas: [f64; 4] = [ground(&[2, 4]), ground(&[0]), ground(&[1]), ground(&[3])];
    for (zone, area_m2) in outlines[0].iter().zip(areas) {
        assert!((zone.area_m2.unwrap() / area_m2 - 1.0).abs() < 1e-5, "{zone:?} {area_m2}");
    }
    let gridded = zones(Zones::GridType1);
    for (zone, area_m2) in gridded[0].iter().zip(areas) {
        // 5 m cells on borders of some hundred metres: a few in a hundred.
        assert!((zone.area_m2.unwrap() / area_m2 - 1.0).abs() < 0.05, "{zone:?} {area_m2}");
    }
}

#[test]
fn the_archive_is_the_folder_and_always_the_same() {
    let plan = sample_plan().unwrap();
    let settings = TaskdataSettings::default();
    let (first, second) = (written(&plan, settings), written(&plan, settings));
    let archive = taskdata_zip(&first.files);
    assert!(archive == taskdata_zip(&second.files));
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.zip");
    std::fs::write(&path, archive).unwrap();
    let from_archive = inspect_taskdata(&path).unwrap();
    write_files(folder.path(), &first.files, false).unwrap();
    for place in [".", "TASKDATA", "TASKDATA/TASKDATA.XML"] {
        assert_eq!(inspect_taskdata(&folder.path().join(place)).unwrap(), from_archive, "{place}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// A field of strips with any doses, in every form: each zone's value comes back, every code is defined.
    #[test]
    fn any_zones_read_back(
        widths in prop::collection::vec(10.0..60.0_f64, 1..8),
        doses in prop::collection::vec(prop::option::of(0_u32..100_000_000), 8),
        lost in 0_u32..1_000_000,
        names in prop::collection::vec(any::<String>(), 8),
        version in prop_oneof![Just(Version::V3), Just(Version::V4)],
        zones in prop::sample::select(&ALL_ZONES[..]),
    ) {
        let mut west = 0.0;
        let rate = |steps: u32| Dose::Mass(MassRate::from_kg_per_ha(f64::from(steps) / 100.0));
        let parts: Vec<Part> = widths.iter().zip(&doses).zip(&names).map(|((width, dose), name)| {
            let east = west + width;
            let part = rectangle(name, [west, 0.0, east, 80.0], dose.map(rate));
            west = east;
            part
        }).collect();
        let kind = OperationKind::AmendMass { product: names[0].clone() };
        let plan = plan(kind, rate(lost), rate(0), parts);
        let settings = TaskdataSettings { version, zones, cell_m: Some(7.0) };
        let found = inspected(&written(&plan, settings).files);
        let doubts = ["that no zone defines", "without ground", "of no use", "left out"];
        for note in &found.notes {
            prop_assert!(!doubts.iter().any(|doubt| note.contains(doubt)), "{}", note);
        }
        let kilograms = |steps: u32| {
            format!("{} kg/ha", survey::units::tidy(f64::from(steps) / 100.0, 2))
        };
        let start = |value: &str| value.split(" (shown").next().map(str::to_owned);
        let default = found.layers[0].defaults[0].strip_prefix("by default: ").map(str::to_owned);
        let default = default.and_then(|text| start(&text)).map(|text| text.replace(" (off)", ""));
        prop_assert_eq!(default, Some(kilograms(lost)));
        let mut expected: Vec<String> =
            doses[..widths.len()].iter().map(|dose| kilograms(dose.unwrap_or(0))).collect();
        let mut values: Vec<String> =
            found.layers[0].zones.iter().filter_map(|zone| start(&zone.values[0])).collect();
        // Ground that is left is one zone, cells of one dose are one, and so are those outside.
        let nothing = kilograms(0);
        for texts in [&mut expected, &mut values] {
            texts.sort();
            if zones != Zones::Polygons {
                texts.retain(|text| *text != nothing);
            }
            if zones == Zones::GridType2 {
                texts.dedup();
            }
        }
        if zones == Zones::Polygons {
            let left = doses[..widths.len()].iter().filter(|dose| dose.is_none()).count();
            prop_assert_eq!(values.len(), expected.len() - left.saturating_sub(1));
            expected.dedup();
            values.dedup();
        }
        prop_assert_eq!(values, expected);
    }
}

#[test]
fn a_file_beside_the_field_is_not_there() {
    let missing = inspect_taskdata(Path::new("/nowhere/TASKDATA")).unwrap_err().to_string();
    assert_eq!(missing, "/nowhere/TASKDATA: cannot be read");
    let folder = tempfile::tempdir().unwrap();
    let empty = inspect_taskdata(folder.path()).unwrap_err().to_string();
    assert!(empty.contains("no TASKDATA.XML in it"), "{empty}");
}

#[test]
fn a_zone_with_few_probes_is_named_so_on_the_terminal() {
    let mut plan = six_cells();
    plan.parts[1].few_probes = true;
    let files = written(&plan, TaskdataSettings::default()).files;
    let names: Vec<String> =
        inspected(&files).layers[0].zones.iter().map(|zone| zone.name.clone()).collect();
    assert!(names.contains(&"B (few probes)".into()) && names.contains(&"A".into()), "{names:?}");
}
