//! TASKDATA of other makers, old, odd or damaged: described with notes, or refused, never a hang or a panic.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

#[path = "../examples/support/sample_plan.rs"]
mod sample_plan;

use std::fs;
use std::io::{Cursor, Write};
use std::path::Path;

use formats::{
    Inspected, Output, TaskdataSettings, Version, Zones, inspect_taskdata, taskdata, taskdata_zip,
    write_files,
};
use sample_plan::sample_plan;
use tempfile::TempDir;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

fn root(version: &str, inner: &str) -> String {
    format!(
        r#"<?xml version="1.0"?><ISO11783_TaskData VersionMajor="{version}" VersionMinor="0"
        ManagementSoftwareManufacturer="m" ManagementSoftwareVersion="1" DataTransferOrigin="1">
        {inner}</ISO11783_TaskData>"#
    )
}

fn folder(text: &str, files: &[(&str, &[u8])]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("TASKDATA.XML"), text).unwrap();
    for (name, bytes) in files {
        fs::write(folder.path().join(name), bytes).unwrap();
    }
    folder
}

fn inspected(text: &str, files: &[(&str, &[u8])]) -> Inspected {
    inspect_taskdata(folder(text, files).path()).unwrap()
}

fn refused(path: &Path) -> String {
    let error = inspect_taskdata(path).unwrap_err();
    error.to_string().replace(&path.display().to_string(), "FILE")
}

fn assert_note(found: &Inspected, part: &str) {
    assert!(found.notes.iter().any(|note| note.contains(part)), "{part:?} in {:#?}", found.notes);
}

/// Two cells of 0.001 degrees with codes 1 and 9, of which only 1 is a zone.
const GRID: &str = r#"<GRD A="41" B="-95" C="0.001" D="1e-3" E="2" F="1" G="GRD00001" I="1"/>"#;

#[test]
fn an_odd_file_is_described_with_notes() {
    let zones = r#"<TZN A="1"><PDV A="03E7" B="12"/></TZN><TZN A="1" B="again"/><TZN A="7" B="idle"/>
        <TZN A="255" B="none"/>"#;
    let text = root(
        "3",
        &format!(
            r#"<PFD A="PFD-1" C="Field" D="1"><PLN A="1" E="PLN1"><LSG A="1">
            <PNT A="2" C="41" D="-95"/><PNT A="2" C="41.001" D="-95"/><PNT A="2" C="41.001" D="-94.999"/>
            </LSG></PLN></PFD><PFD C="no id"><PLN A="1"/></PFD>
            <TSK A="TSK-1" B="Old" E="PFD-1" G="4" J="50">{zones}{GRID}</TSK>"#
        ),
    );
    let found = inspected(&text, &[("GRD00001.BIN", &[1, 9])]);
    assert_eq!(found.format, "ISO 11783-10 TASKDATA, version 3.0");
    assert_eq!(found.field.as_deref(), Some("Field"));
    let [west, south, east, north] = found.extent_deg.unwrap();
    assert!((west, south) == (-95.0, 41.0) && (east + 94.998).abs() < 1e-9 && north == 41.001);
    let layer = &found.layers[0];
    assert_eq!(layer.quantities, ["data entry 999 in steps of an unknown unit"]);
    assert_eq!(layer.zones.len(), 1);
    assert_eq!(layer.zones[0].name, "zone 1");
    assert_eq!(layer.zones[0].values, ["12 of data entry 999"]);
    // A degree is 111 049 m north and 84 131 m east at 41° (ellipsoid.rs).
    assert!((layer.zones[0].area_m2.unwrap() - 9_342.0).abs() < 5.0, "{:?}", layer.zones);
    let said = [
        "by default: not said; the terminal decides",
        "with the position lost: not said; the terminal decides",
        "outside the field: zone 50, which is not defined",
    ];
    assert_eq!(layer.defaults, said);
    for note in [
        "no grower or no farm",
        "not known to version 3, which the file says it is: attribute E of PLN",
        "left out: a PFD has no attribute A",
        "task Old: its status is not planned",
        "task Old: code 255 is none that the standard has",
        "task Old: code 1 is defined more than once",
        "task Old: data entries that are not known here: 999",
        "task Old: codes in the grid that no zone defines: 9 (1 cells)",
        "task Old: its file is called \"GRD00001.BIN\", not GRD00001.bin",
        "task Old: without ground: again, idle, none",
    ] {
        assert_note(&found, note);
    }
}

/// Readers disagree on what `006` and `+033` are.
#[test]
fn a_number_of_the_dictionary_has_four_digits() {
    for ddi in ["006", "+033", "00006", "0X06", ""] {
        let task = format!(r#"<TSK A="TSK1" G="1"><TZN A="4"><PDV A="{ddi}" B="1"/></TZN></TSK>"#);
        let found = inspected(&root("3", &task), &[]);
        assert_note(&found, "of a PDV is no number of the dictionary in four digits");
    }
}

#[test]
fn a_grid_that_is_of_no_use_is_told() {
    let task = |grid: &str| {
        root(
            "4",
            &format!(r#"<TSK A="TSK1" G="1"><TZN A="1"><PDV A="0006" B="100"/></TZN>{grid}</TSK>"#),
        )
    };
    let note = |grid: &str, files: &[(&str, &[u8])], part: &str| {
        assert_note(&inspected(&task(grid), files), part);
    };
    note(GRID, &[], "its file GRD00001.bin is missing");
    note(GRID, &[("GRD00001.bin", &[1])], "it has 1 bytes, and 2 columns and 1 rows need 1");
    note(GRID, &[("GRD00001.bin", &[1; 3])], "it has 3 bytes, and 2 columns and 1 rows need 1");
    note(&GRID.replace("GRD00001", "../../x"), &[], "is not GRD and five digits");
    note(&GRID.replace(r#"I="1""#, r#"I="3""#), &[("GRD00001.bin", &[1])], "neither 1 nor 2");
    note(
        &GRID.replace("E=\"2\"", "E=\"4294967295\""),
        &[("GRD00001.bin", &[1])],
        "need 1 for each",
    );
    note(&GRID.replace(r#"A="41""#, r#"A="NaN""#), &[], "beyond 90 degrees");
    note(&GRID.replace(r#"C="0.001""#, r#"C="0""#), &[], "have no size");
    let doses = GRID.replace(r#"I="1""#, r#"I="2""#);
    note(&doses, &[("GRD00001.bin", &[0; 8])], "does not say which zone");
    let doses = doses.replace("/>", r#" J="1"/>"#);
    note(&doses, &[("GRD00001.bin", &[0; 7])], "need 4 for each cell");
    note(&doses, &[("GRD00001.bin", &[0; 8])], "not every terminal reads it");
    note("", &[], "nothing says where");
    note("", &[], "older terminals read only version 3");
}

#[test]
fn many_doses_are_told_as_a_range() {
    let grid = GRID.replace("E=\"2\"", "E=\"100\"").replace("I=\"1\"", "I=\"2\" J=\"1\"");
    let text = root(
        "3",
        &format!(r#"<TSK A="TSK1" G="1"><TZN A="1"><PDV A="0006" B="0"/></TZN>{grid}</TSK>"#),
    );
    let bytes: Vec<u8> = (0..100_i32).flat_map(|k| (k * 100).to_le_bytes()).collect();
    let found = inspected(&text, &[("GRD00001.bin", &bytes)]);
    assert_eq!(found.layers[0].zones[0].name, "100 cells of many doses");
    assert_eq!(found.layers[0].zones[0].values, ["0 kg/ha to 99 kg/ha"]);
}

#[test]
fn several_outer_rings_of_version_3_are_one_zone() {
    let square = |north: f64, kind: u8, size: f64| {
        let corner = |(n, e): (f64, f64)| {
            format!(r#"<PNT A="2" C="{}" D="{}"/>"#, north + n * size, 10.0 + e * size)
        };
        let corners = [(0.0, 0.0), (0.0, 1.0), (1.0, 1.0), (1.0, 0.0)].map(corner).concat();
        format!(r#"<LSG A="{kind}">{corners}</LSG>"#)
    };
    let rings = [square(0.0, 1, 0.002), square(0.0005, 2, 0.001), square(1.0, 1, 0.001)].concat();
    let text = root(
        "3",
        &format!(
            r#"<TSK A="TSK1" G="1"><TZN A="0"><PLN A="2">{rings}</PLN><PDV A="0033" B="1"/></TZN></TSK>"#
        ),
    );
    let found = inspected(&text, &[]);
    let zone = &found.layers[0].zones[0];
    assert_eq!(zone.holes, 1);
    // 0.001° squares at the equator are 12 309 m²: four, less one, and one more.
    assert!((zone.area_m2.unwrap() / (4.0 * 12_309.0) - 1.0).abs() < 1e-3, "{zone:?}");
    assert_note(&found, "zones as polygons only");
}

#[test]
fn further_files_of_elements_are_read() {
    let text = root("4", r#"<XFR A="TSK00001" B="1"/><XFR A="../etc" B="1"/>"#);
    let more = br#"<XFC><TSK A="TSK1" B="Elsewhere" G="1"/></XFC>"#;
    let found = inspected(&text, &[("TSK00001.XML", more)]);
    assert_eq!(found.layers[0].name, "Elsewhere");
    assert_note(&found, "the further file \"../etc\" is missing");
}

#[test]
fn what_is_no_taskdata_is_refused() {
    let one = |text: &str| {
        let folder = folder(text, &[]);
        refused(folder.path())
    };
    assert_eq!(
        one("<gpx/>"),
        "FILE: not sound TASKDATA: its root is \"gpx\", not ISO11783_TaskData"
    );
    assert_eq!(one(""), "FILE: the file is empty");
    assert!(one("<ISO11783_TaskData>").contains("it ends within an element"));
    assert!(one(&root("3", &"<A>".repeat(100_000))).contains("more than 32 deep"));
    assert!(one(&root("3", &"<TZN/>".repeat(1_000_001))).contains("more than 1000000 elements"));
    assert!(one("{}").contains("FILE"));
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("x.zip");
    fs::write(&file, b"PK\x03\x04 and nothing more").unwrap();
    assert!(refused(&file).contains("not a sound zip archive"));
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    archive.start_file("else/TASKDATA.XML", SimpleFileOptions::default()).unwrap();
    fs::write(&file, archive.finish().unwrap().into_inner()).unwrap();
    assert!(refused(&file).contains("no TASKDATA.XML in it"));
}

/// 80 MB of blanks in an archive of 0.1 MB.
#[test]
fn an_archive_that_swells_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("swelling.zip");
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    archive.start_file("TASKDATA/TASKDATA.XML", SimpleFileOptions::default()).unwrap();
    let blanks = vec![b' '; 1 << 20];
    (0..80).for_each(|_| archive.write_all(&blanks).unwrap());
    let bytes = archive.finish().unwrap().into_inner();
    assert!(bytes.len() < 1 << 20);
    fs::write(&file, bytes).unwrap();
    assert!(refused(&file).contains("larger than the 64 MB"));
}

/// Knuth's linear congruential generator (The Art of Computer Programming, volume 2, 3.3.4, table 1,
/// line 26): the same damage on every run.
struct Draw(u64);

impl Draw {
    fn below(&mut self, limit: usize) -> usize {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % limit.max(1)
    }
}

#[test]
fn damage_does_no_harm() {
    let plan = sample_plan().unwrap();
    let mut draw = Draw(1);
    let mut described = 0;
    for zones in [Zones::GridType1, Zones::GridType2, Zones::Polygons] {
        let settings = TaskdataSettings { zones, version: Version::V4, cell_m: Some(20.0) };
        let made = taskdata(&plan, &settings, "0").unwrap().files;
        for copy in 0..60 {
            let folder = tempfile::tempdir().unwrap();
            let mut files: Vec<Output> = made
                .iter()
                .map(|file| Output { name: file.name.clone(), bytes: file.bytes.clone() })
                .collect();
            let which = if copy % 3 == 0 { draw.below(files.len()) } else { 0 };
            damage(&mut files[which].bytes, &mut draw);
            let path = match copy % 5 {
                0 => {
                    let mut archive = taskdata_zip(&files);
                    damage(&mut archive, &mut draw);
                    let path = folder.path().join("damaged.zip");
                    fs::write(&path, archive).unwrap();
                    path
                }
                _ => {
                    write_files(folder.path(), &files, false).unwrap();
                    folder.path().to_path_buf()
                }
            };
            described += usize::from(inspect_taskdata(&path).is_ok());
        }
    }
    assert!(described > 60, "most damage leaves something to describe: {described}");
}

/// Cuts bytes, changes them, or repeats or drops some.
fn damage(bytes: &mut Vec<u8>, draw: &mut Draw) {
    const ODD: &[u8] = b"\0\xff\"'<>&/=-+.eE09 ABZ";
    for _ in 0..=draw.below(3) {
        let at = draw.below(bytes.len());
        let to = (at + draw.below(60)).min(bytes.len());
        match draw.below(10) {
            0 => bytes.truncate(at),
            1 => drop(bytes.drain(at..to)),
            2 => {
                let part = bytes[at..to].to_vec();
                bytes.splice(at..at, part);
            }
            _ if at < bytes.len() => bytes[at] = ODD[draw.below(ODD.len())],
            _ => {}
        }
    }
}
