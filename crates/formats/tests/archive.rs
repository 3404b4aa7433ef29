//! A season written as one file and read back, and archives that somebody made to do harm.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use std::fs;
use std::path::{Path, PathBuf};

use formats::{
    Archive, ArchivedFile, ArchivedVisit, FormatError, SeasonArchive, inspect, is_archive,
    read_archive, season_geopackage, unpack,
};
use proptest::prelude::*;
use rusqlite::Connection;
use survey::{
    Boundary, CheckSettings, CheckedSurvey, ConeIndex, Depth, DepthUnit, Edit, Insertion, LonLat,
    Measured, Outcome, Pressure, Profile, Survey, apply_edits, check,
};

/// SHA-256 of "abc" (FIPS 180-4; NIST's examples with intermediate values).
const ABC: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

fn file(part: &str, name: &str, bytes: impl Into<Vec<u8>>) -> ArchivedFile {
    ArchivedFile { part: part.into(), name: name.into(), bytes: bytes.into() }
}

fn files() -> Vec<ArchivedFile> {
    vec![
        file("visit", "visits/2025-04-14.csv", "abc"),
        file("settings", "loosedepth.toml", "name = \"North Bench\"\n"),
        file("weather", "weather/station.bin", [0, 255, 10, 13, 0]),
        file("stages", "empty.csv", ""),
    ]
}

/// Five places on a line, of which one is off the Earth; one reading is corrected.
fn survey() -> Survey {
    let at = |number: usize, measured| Insertion {
        id: Some(format!("P{number}")),
        date: Some("2025-04-14".parse().unwrap()),
        ..Insertion::at(
            number,
            LonLat { lon_deg: -95.62 + number as f64 * 0.001, lat_deg: 41.93 },
            measured,
        )
    };
    let once = |number, outcome, unit| Insertion {
        depth_unit: Some(unit),
        ..at(number, Measured::Once(outcome))
    };
    let push = |cm, kpa| ConeIndex { depth: Depth::from_cm(cm), pressure: Pressure::from_kpa(kpa) };
    let profile = Profile::new(vec![push(10.0, 500.0), push(20.0, 2500.0)]).unwrap();
    let deep = Outcome::NotReached { probed_to: Depth::from_cm(45.0) };
    let mut stray = once(5, Outcome::Reached(Depth::from_in(6.0)), DepthUnit::Inches);
    stray.place.lat_deg = 95.0;
    Survey {
        features: 6,
        insertions: vec![
            Insertion {
                threshold: Some(Pressure::from_kpa(1379.0)),
                moisture_pct: Some(20.5),
                note: Some("wet\0 end".into()),
                ..once(1, Outcome::Reached(Depth::from_in(7.0)), DepthUnit::Inches)
            },
            once(2, deep, DepthUnit::Centimetres),
            at(3, Measured::Profile(profile)),
            once(4, Outcome::Refused, DepthUnit::Inches),
            stray,
            once(6, Outcome::Reached(Depth::from_in(9.0)), DepthUnit::Inches),
        ],
        ..Survey::default()
    }
}

fn edits() -> Vec<Edit> {
    let text = str::to_owned;
    vec![Edit {
        line: 2,
        visit: Some("2025-04-14".parse().unwrap()),
        point: text("P6"),
        field: text("depth_in"),
        old: text("9"),
        new: text("8"),
        who: text("J. Doe"),
        why: text("typing error"),
    }]
}

fn checked(survey: &Survey) -> CheckedSurvey {
    let edited = apply_edits(survey, &edits()).unwrap();
    check(&edited, None, &CheckSettings::default()).unwrap()
}

fn boundary() -> Boundary {
    let square = geo::Rect::new((-95.63, 41.92), (-95.60, 41.94)).to_polygon();
    Boundary { name: None, polygons: square.into() }
}

fn archive_of(files: &[ArchivedFile]) -> Result<Vec<u8>, FormatError> {
    let survey = survey();
    let checked = checked(&survey);
    let visit = ArchivedVisit {
        name: "2025-04-14",
        file: "visits/2025-04-14.csv",
        survey: &survey,
        checked: &checked,
    };
    let pair = |name: &str, value: &str| (name.to_owned(), value.to_owned());
    season_geopackage(&SeasonArchive {
        version: "1.2.3",
        field_name: "North Bench",
        created: None,
        files,
        visits: &[visit],
        boundary: Some(&boundary()),
        settings: &[pair("threshold", "200 psi")],
        edits: &edits(),
        results: &[pair("season.json", ABC)],
    })
}

fn opened(bytes: &[u8]) -> Connection {
    let mut db = Connection::open_in_memory().unwrap();
    db.deserialize_read_exact("main", bytes, bytes.len(), false).unwrap();
    db
}

/// The text of each row of a statement, its columns joined by `|`.
fn rows(bytes: &[u8], sql: &str) -> Vec<String> {
    let db = opened(bytes);
    let mut statement = db.prepare(sql).unwrap();
    let columns = statement.column_count();
    let text = |row: &rusqlite::Row| {
        let value = |k| {
            row.get::<_, rusqlite::types::Value>(k).map(|value| match value {
                rusqlite::types::Value::Null => "-".to_owned(),
                rusqlite::types::Value::Integer(number) => number.to_string(),
                rusqlite::types::Value::Real(number) => number.to_string(),
                rusqlite::types::Value::Text(text) => text,
                rusqlite::types::Value::Blob(bytes) => format!("{bytes:?}"),
            })
        };
        (0..columns).map(value).collect::<rusqlite::Result<Vec<_>>>().map(|row| row.join("|"))
    };
    statement.query_map([], text).unwrap().collect::<rusqlite::Result<_>>().unwrap()
}

/// A folder with the archive in it.
fn kept(bytes: &[u8]) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("season.gpkg");
    fs::write(&path, bytes).unwrap();
    (folder, path)
}

fn read(bytes: &[u8]) -> Result<Archive, String> {
    let (_folder, path) = kept(bytes);
    read_archive(&path).map_err(|error| error.to_string())
}

/// The problem of an archive after some SQL was done to it.
fn problem_after(sql: &str) -> String {
    let db = opened(&archive_of(&files()).unwrap());
    db.execute_batch(sql).unwrap_or_else(|error| panic!("{sql}: {error}"));
    read(&db.serialize("main").unwrap()).unwrap_err()
}

#[test]
fn a_season_is_the_same_bytes_and_in_any_order_of_its_files() {
    let bytes = archive_of(&files()).unwrap();
    let mut turned = files();
    turned.reverse();
    assert!(bytes == archive_of(&turned).unwrap(), "two runs differ");
    assert_eq!(&bytes[68..72], b"GPKG");
    // SQLite's file format, section 1.3: no free pages.
    assert_eq!(bytes[36..40], [0; 4]);
    assert_eq!(rows(&bytes, "PRAGMA integrity_check"), ["ok"]);
}

#[test]
fn every_push_is_a_row_that_says_how_it_ended() {
    let bytes = archive_of(&files()).unwrap();
    let sql = "SELECT point_id, measured, outcome, depth_cm, probed_to_cm, depth_as_read, \
               probed_to_as_read, unit_as_read, threshold_from, used, corrected FROM readings";
    // The profile is 500 kPa at 10 cm and 2500 kPa at 20 cm: the file's 1379 kPa lies at
    // 10 + 10 × 879 / 2000 cm.
    let expected = [
        "P1|single depth|reached|17.78|-|7|-|in|file|1|0",
        "P2|single depth|not reached|-|45|-|45|cm|check|1|0",
        "P3|profile|reached|14.395|20|-|20|cm|check|1|0",
        "P4|single depth|refused|-|-|-|-|-|check|1|0",
        "P5|single depth|reached|15.24|-|6|-|in|check|0|0",
        "P6|single depth|reached|22.86|-|9|-|in|check|1|1",
    ];
    assert_eq!(rows(&bytes, sql), expected);
    let first =
        "SELECT visit, file, record, date, moisture_pct, threshold_kpa, note FROM readings LIMIT 1";
    assert_eq!(
        rows(&bytes, first),
        ["2025-04-14|visits/2025-04-14.csv|1|2025-04-14|20.5|1379|wet end"]
    );
    let profile = "SELECT point_id, p.depth_cm, cone_index_kpa FROM profile_readings p \
                   JOIN readings r ON r.fid = p.reading";
    assert_eq!(rows(&bytes, profile), ["P3|10|500", "P3|20|2500"]);
}

#[test]
fn the_season_stands_beside_its_readings() {
    let bytes = archive_of(&files()).unwrap();
    // Of 7 in, 14.4 cm, 8 in and not reached above 45 cm, two are at or below 7 in: the median lies in the
    // middle of 7 in and 8 in.
    let visit = "SELECT name, insertions, probes, not_reached, refused, median_cm, median_is_at_least, \
                 moisture_mean_pct FROM visits";
    assert_eq!(rows(&bytes, visit), ["2025-04-14|6|4|1|1|19.05|0|20.5"]);
    assert_eq!(rows(&bytes, "SELECT key, value FROM settings"), ["threshold|200 psi"]);
    let edit = "SELECT line, visit, point, field, old, new, who, why FROM edits";
    assert_eq!(rows(&bytes, edit), ["2|2025-04-14|P6|depth_in|9|8|J. Doe|typing error"]);
    assert_eq!(rows(&bytes, "SELECT name, sha256 FROM results"), [format!("season.json|{ABC}")]);
    let abc = format!("SELECT name, part, bytes FROM files WHERE sha256 = '{ABC}'");
    assert_eq!(rows(&bytes, &abc), ["visits/2025-04-14.csv|visit|3"]);
    let fault = "SELECT text FROM findings WHERE severity = 'fault'";
    assert!(rows(&bytes, fault)[0].contains("P5"), "{:?}", rows(&bytes, fault));
    // pyproj 3.7.2: Geod(ellps="WGS84").polygon_area_perimeter of its corners gives 5 527 483 m².
    let area_ha: f64 = rows(&bytes, "SELECT area_ha FROM field")[0].parse().unwrap();
    assert!((area_ha - 552.75).abs() < 0.06, "{area_ha}");
    let day = "SELECT DISTINCT last_change FROM gpkg_contents";
    assert_eq!(rows(&bytes, day), ["2025-04-14T00:00:00.000Z"]);
}

#[test]
fn each_table_and_column_is_explained() {
    let bytes = archive_of(&files()).unwrap();
    let columns = "SELECT m.name || '.' || i.name FROM sqlite_master m, pragma_table_info(m.name) i \
                   WHERE m.type = 'table' AND m.name NOT LIKE 'gpkg%' AND m.name NOT LIKE 'sqlite%' \
                   AND i.name <> 'fid' AND m.name <> 'about' ORDER BY 1";
    let explained = "SELECT table_name || '.' || column_name FROM about \
                     WHERE column_name IS NOT NULL AND table_name <> 'about' ORDER BY 1";
    assert_eq!(rows(&bytes, columns), rows(&bytes, explained));
    assert!(rows(&bytes, columns).len() > 60);
    let tables = "SELECT table_name FROM gpkg_contents EXCEPT \
                  SELECT table_name FROM about WHERE column_name IS NULL AND length(meaning) > 20";
    assert_eq!(rows(&bytes, tables), [""; 0]);
    let units = "SELECT column_name FROM about WHERE unit IS NULL AND \
                 (column_name LIKE '%_cm' OR column_name LIKE '%_kpa' OR column_name LIKE '%_pct')";
    assert_eq!(rows(&bytes, units), [""; 0]);
}

#[test]
fn visits_in_one_file_share_its_readings_by_day() {
    let mut survey = survey();
    let later = survey.insertions.clone().into_iter().map(|insertion| Insertion {
        number: insertion.number + 6,
        date: Some("2025-05-02".parse().unwrap()),
        ..insertion
    });
    survey.insertions.extend(later.collect::<Vec<_>>());
    survey.insertions[3].date = None;
    let checked = ["2025-04-14", "2025-05-02"].map(|day| {
        let dates = Some(day.parse().unwrap());
        check(&survey, None, &CheckSettings { dates, ..CheckSettings::default() }).unwrap()
    });
    let visit = |name, k: usize| ArchivedVisit {
        name,
        file: "all.csv",
        survey: &survey,
        checked: &checked[k],
    };
    let bytes = season_geopackage(&SeasonArchive {
        version: "1",
        field_name: "N",
        created: Some("2026-01-31".parse().unwrap()),
        files: &files(),
        visits: &[visit("first", 0), visit("second", 1)],
        boundary: None,
        settings: &[],
        edits: &[],
        results: &[],
    })
    .unwrap();
    let sql = "SELECT visit, count(*), count(date), min(record) FROM readings GROUP BY visit";
    assert_eq!(rows(&bytes, sql), ["first|6|5|1", "second|6|6|7"]);
    assert_eq!(rows(&bytes, "SELECT insertions FROM visits"), ["6", "6"]);
    let created = "SELECT DISTINCT last_change FROM gpkg_contents";
    assert_eq!(rows(&bytes, created), ["2026-01-31T00:00:00.000Z"]);
    assert_eq!(rows(&bytes, "SELECT name FROM sqlite_master WHERE name = 'field'"), [""; 0]);
}

#[test]
fn an_archive_is_told_by_its_content() {
    let folder = tempfile::tempdir().unwrap();
    let is = |name: &str, bytes: &[u8]| {
        let path = folder.path().join(name);
        fs::write(&path, bytes).unwrap();
        is_archive(&path)
    };
    let bytes = archive_of(&files()).unwrap();
    assert!(is("season.csv", &bytes));
    assert!(is("cut.gpkg", &bytes[..20_000]), "what is wrong is said by the reader");
    assert!(!is("empty.gpkg", b""));
    assert!(!is("text.gpkg", b"SQLite format 3, they say"));
    assert!(!is_archive(folder.path()));
    assert!(!is_archive(&folder.path().join("none.gpkg")));
    let db = opened(&bytes);
    db.execute_batch("DROP TABLE files; CREATE TABLE files (name, part)").unwrap();
    assert!(!is("other.gpkg", &db.serialize("main").unwrap()));
}

#[test]
fn an_archive_is_inspected() {
    let (_folder, path) = kept(&archive_of(&files()).unwrap());
    let found = inspect(&path).unwrap();
    assert_eq!(found.format, "GeoPackage, the archive of a season, written by loosedepth 1.2.3");
    assert_eq!(found.field.as_deref(), Some("North Bench"));
    assert_eq!(found.extent_deg, Some([-95.63, 41.92, -95.60, 41.94]));
    let [visits, files] = &found.layers[..] else { panic!("{:?}", found.layers) };
    assert_eq!(visits.zones[0].name, "2025-04-14");
    assert_eq!(visits.zones[0].values, ["4 probes", "19.1 cm", "20.5 %"]);
    let listed: Vec<_> = files
        .zones
        .iter()
        .map(|file| format!("{}: {}", file.name, file.values.join(", ")))
        .collect();
    assert_eq!(listed[3], "weather/station.bin: weather, 5 bytes");
    assert_eq!(listed.len(), 4);
    assert!(found.notes.contains(&"each of its files is the one that was archived".into()));
    assert!(found.notes.iter().any(|note| note.contains("readings has 6 readings")));
    let db = opened(&archive_of(&self::files()).unwrap());
    db.execute_batch("UPDATE files SET content = x'616264' WHERE bytes = 3").unwrap();
    let (_folder, path) = kept(&db.serialize("main").unwrap());
    let notes = inspect(&path).unwrap().notes.join("\n");
    assert!(notes.contains("visits/2025-04-14.csv is not the one that was archived"), "{notes}");
    assert!(!notes.contains("each of its files"), "{notes}");
}

#[test]
fn archives_that_would_do_harm_are_refused_with_one_message() {
    for (sql, expected) in [
        ("UPDATE files SET name = '../x' WHERE fid = 2", "\"../x\" leads out of its folder"),
        ("UPDATE files SET name = '/etc/x' WHERE fid = 2", "begins at the root of the disk"),
        ("UPDATE files SET name = 'C:\\x' WHERE fid = 2", "has a backslash"),
        ("UPDATE files SET name = 'C:x' WHERE fid = 2", "has a colon"),
        ("UPDATE files SET name = 'a' || char(10) WHERE fid = 2", "has a control character"),
        ("UPDATE files SET name = '' WHERE fid = 2", "is empty"),
        ("UPDATE files SET name = 'EMPTY.csv' WHERE fid = 2", "differ only in case"),
        ("UPDATE files SET name = 'empty.csv' WHERE fid = 2", "stands there twice"),
        ("UPDATE files SET name = 'empty.csv/x' WHERE fid = 2", "a file and a folder"),
        ("UPDATE files SET name = x'FF' WHERE fid = 2", "the name of file 2 is not a text"),
        ("UPDATE files SET name = CAST(x'FF' AS TEXT) WHERE fid = 2", "is not UTF-8 text"),
        ("UPDATE files SET content = NULL WHERE fid = 2", "\"loosedepth.toml\" has no content"),
        ("UPDATE files SET sha256 = NULL WHERE fid = 2", "the SHA-256 of file 2 is not a text"),
        (
            "UPDATE files SET content = x'00' WHERE fid = 2",
            "file \"loosedepth.toml\" is not the one that was archived",
        ),
        ("DELETE FROM files", "its table `files` is empty"),
        ("DROP TABLE files", "it has no table `files`"),
        ("DROP TABLE files; CREATE TABLE files (name)", "no such column"),
        (
            "DROP TABLE files; CREATE VIEW files AS WITH RECURSIVE n(name) AS (SELECT 'x' UNION ALL \
             SELECT name FROM n) SELECT name, '' AS part, '' AS sha256, x'' AS content FROM n",
            "no plain table",
        ),
        (
            "DROP TABLE files; CREATE TABLE files (name, part, sha256, content AS (zeroblob(900000000)))",
            "no plain table",
        ),
        ("PRAGMA foreign_keys = OFF; DROP TABLE gpkg_contents", "it has no table gpkg_contents"),
        (
            "WITH RECURSIVE n(k) AS (SELECT 1 UNION ALL SELECT k + 1 FROM n WHERE k < 10001) \
             INSERT INTO files (name, part, sha256, bytes, content) SELECT 'f' || k, '', \
             'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855', 0, x'' FROM n",
            "holds more than 10000 files",
        ),
    ] {
        let problem = problem_after(sql);
        assert!(problem.contains(expected), "{sql}\n{problem}");
        assert!(problem.contains("season.gpkg: "), "{problem}");
        assert_eq!(problem.lines().count(), 1, "{problem}");
    }
}

/// Triggers and views beside the table of files are not run.
#[test]
fn other_things_in_an_archive_do_not_matter() {
    let db = opened(&archive_of(&files()).unwrap());
    db.execute_batch(
        "CREATE TRIGGER t AFTER INSERT ON files BEGIN DELETE FROM files; END;
         CREATE VIEW v AS SELECT load_extension('x') FROM files;
         DROP TABLE run_info; CREATE VIEW run_info AS WITH RECURSIVE n(name) AS (SELECT 'x' UNION ALL \
         SELECT name FROM n) SELECT name, '' AS value FROM n;",
    )
    .unwrap();
    let archive = read(&db.serialize("main").unwrap()).unwrap();
    assert_eq!((archive.files().len(), archive.field_name()), (4, None));
}

/// A GIS that opened the archive may leave it so; what stands only in the log is of the GIS.
#[test]
fn an_archive_that_asks_for_a_log_is_read_without_one() {
    let mut bytes = archive_of(&files()).unwrap();
    // SQLite's file format, section 1.3.
    bytes[18..20].fill(2);
    let (folder, path) = kept(&bytes);
    assert_eq!(read_archive(&path).unwrap().files().len(), 4);
    assert!(inspect(&path).unwrap().notes[0].contains("write-ahead log"));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn what_is_no_archive_is_refused() {
    let sound = archive_of(&files()).unwrap();
    for (bytes, expected) in [
        (&b""[..], "the file is empty"),
        (b"lon,lat\n", "is no GeoPackage, so no archive of a season"),
        (&sound[..16], "is no sound GeoPackage"),
        (&sound[..4096], "is no sound GeoPackage"),
        (&sound[..sound.len() - 4096], "is no sound GeoPackage"),
    ] {
        let problem = read(bytes).unwrap_err();
        assert!(problem.contains(expected), "{problem}");
    }
}

#[test]
fn damaged_archives_do_no_harm() {
    let sound = archive_of(&files()).unwrap();
    // Knuth's linear congruential generator, as in hostile.rs.
    let mut state = 3_u64;
    let mut below = |limit: usize| {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % limit
    };
    let (folder, path) = kept(&sound);
    let mut refused = 0;
    for _ in 0..400 {
        let mut bytes = sound.clone();
        for _ in 0..=below(30) {
            let at = below(bytes.len());
            bytes[at] = below(256) as u8;
        }
        fs::write(&path, &bytes).unwrap();
        // What is still read is what was archived.
        match read_archive(&path) {
            Ok(archive) => assert!(archive.files().iter().all(|file| files().contains(file))),
            Err(_) => refused += 1,
        }
        let _ = (inspect(&path), is_archive(&path));
    }
    assert!(refused > 20, "most damage is to other pages: {refused}");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is made beside it");
}

#[test]
fn files_come_back_into_an_empty_folder_only() {
    let archive = read(&archive_of(&files()).unwrap()).unwrap();
    assert_eq!(archive.field_name(), Some("North Bench"));
    let folder = tempfile::tempdir().unwrap();
    let target = folder.path().join("field");
    unpack(&archive, &target).unwrap();
    for file in files() {
        assert_eq!(fs::read(target.join(&file.name)).unwrap(), file.bytes, "{}", file.name);
    }
    let again = unpack(&archive, &target).unwrap_err().to_string();
    assert!(again.contains("is not empty"), "{again}");
    fs::create_dir(folder.path().join("made")).unwrap();
    unpack(&archive, &folder.path().join("made")).unwrap();
    let blocked = target.join("loosedepth.toml");
    assert!(unpack(&archive, &blocked).unwrap_err().to_string().contains("is a file"));
}

#[test]
fn names_that_cannot_come_back_are_not_archived() {
    for (name, expected) in [
        ("../boundary.geojson", "leads out of its folder"),
        ("visits/9:30.csv", "has a colon"),
        ("Visits/2025-04-14.CSV", "differ only in case"),
    ] {
        let mut files = files();
        files.push(file("visit", name, "x"));
        let problem = archive_of(&files).unwrap_err().to_string();
        assert!(problem.starts_with("the archive cannot be made: "), "{problem}");
        assert!(problem.contains(expected), "{problem}");
    }
}

#[test]
fn files_of_a_folder_are_named_below_it() {
    let folder = tempfile::tempdir().unwrap();
    let field = folder.path().join("field");
    fs::create_dir_all(field.join("visits")).unwrap();
    for name in ["boundary.geojson", "visits/a.shp", "visits/a.DBF", "visits/a.prj", "visits/b.dbf"]
    {
        fs::write(field.join(name), name).unwrap();
    }
    fs::write(folder.path().join("outside.csv"), "x").unwrap();
    let named = |path: &str| {
        let files = ArchivedFile::read(&field, &field.join(path), "visit");
        files.map(|files| files.into_iter().map(|file| file.name).collect::<Vec<_>>())
    };
    assert_eq!(named("boundary.geojson").unwrap(), ["boundary.geojson"]);
    assert_eq!(named("visits/../boundary.geojson").unwrap(), ["boundary.geojson"]);
    assert_eq!(named("visits/a.shp").unwrap(), ["visits/a.shp", "visits/a.DBF", "visits/a.prj"]);
    let outside = named("../outside.csv").unwrap_err().to_string();
    assert!(outside.contains("lies outside of the field's folder"), "{outside}");
    assert!(matches!(named("none").unwrap_err(), FormatError::Unreadable { .. }));
    let here = ArchivedFile::read(Path::new("."), Path::new("./Cargo.toml"), "settings").unwrap();
    assert_eq!(here[0].name, "Cargo.toml");
}

/// Files of any bytes, with names that differ.
fn any_files() -> impl Strategy<Value = Vec<ArchivedFile>> {
    let name =
        prop::collection::vec("[a-zå土 ]{0,6}[a-z0-9]", 1..4).prop_map(|parts| parts.join("/"));
    let bytes = prop::collection::vec(any::<u8>(), 0..6_000);
    let file = ("\\PC{0,12}", bytes);
    prop::collection::btree_map(name, file, 1..8).prop_map(|files| {
        let of = |(name, (part, bytes)): (String, (String, Vec<u8>))| file_of(&part, &name, bytes);
        files.into_iter().map(of).collect()
    })
}

fn file_of(part: &str, name: &str, bytes: Vec<u8>) -> ArchivedFile {
    file(part, name, bytes)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_files_come_back_as_they_were(files in any_files()) {
        // A name that is a folder of another is refused.
        let Ok(bytes) = archive_of(&files) else { return Ok(()) };
        let archive = read(&bytes).unwrap();
        prop_assert_eq!(archive.files(), &files[..]);
        prop_assert!(bytes == archive_of(archive.files()).unwrap());
        let folder = tempfile::tempdir().unwrap();
        unpack(&archive, folder.path()).unwrap();
        for file in &files {
            prop_assert_eq!(&fs::read(folder.path().join(&file.name)).unwrap(), &file.bytes);
        }
    }
}
