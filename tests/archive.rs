//! The archive of a season in the place of a field's folder.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

mod support;

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use formats::{ArchivedFile, SeasonArchive, season_geopackage};
use support::{Run, loosedepth, root};

const DAY: &str = "2025-07-08";

/// Some files of the demo field as an archive.
fn archive(at: &Path, names: &[(&str, &str)]) {
    archive_of(&root().join("demo-data/north-bench"), at, names);
}

/// Some files of a field as an archive.
fn archive_of(field: &Path, at: &Path, names: &[(&str, &str)]) {
    let read = |(part, name): &(&str, &str)| ArchivedFile::read(field, &field.join(name), part);
    let files: Vec<ArchivedFile> = names.iter().flat_map(|name| read(name).unwrap()).collect();
    let season = SeasonArchive {
        version: "test",
        field_name: "North Bench",
        created: None,
        files: &files,
        visits: &[],
        boundary: None,
        settings: &[],
        edits: &[],
        results: &[],
    };
    fs::write(at, season_geopackage(&season).unwrap()).unwrap();
}

const FILES: [(&str, &str); 7] = [
    ("settings", "loosedepth.toml"),
    ("boundary", "boundary.geojson"),
    ("strata", "strata.geojson"),
    ("weather", "weather.csv"),
    ("rates", "rates.toml"),
    ("visit", "visits/2025-06-25.geojson"),
    ("visit", "visits/2025-07-08.geojson"),
];

#[test]
fn an_archive_gives_the_same_bytes_as_its_folder() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    archive(&at.join("season.gpkg"), &FILES);
    let field = root().join("demo-data/north-bench").display().to_string();
    for (from, out) in [("season.gpkg", "a"), (field.as_str(), "b")] {
        let run = loosedepth(at, &["map", from, "--visit", DAY, "--out", out]);
        assert_eq!(run.exit, 0, "{}", run.stderr);
    }
    let names = |of: &str| {
        let entries = fs::read_dir(at.join(of)).unwrap();
        let mut names: Vec<_> = entries.map(|entry| entry.unwrap().file_name()).collect();
        names.sort();
        names
    };
    assert!(names("a").len() > 3);
    assert_eq!(names("a"), names("b"));
    for name in names("a") {
        let bytes = |of: &str| fs::read(at.join(of).join(&name)).unwrap();
        assert!(bytes("a") == bytes("b"), "{}", name.display());
    }
}

#[test]
fn a_season_out_of_its_own_archive_is_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    archive(&at.join("season.gpkg"), &FILES);
    for (from, out) in [("season.gpkg", "a"), ("a/season.gpkg", "b")] {
        let run = loosedepth(at, &["season", from, "--out", out]);
        assert_eq!(run.exit, 0, "{}", run.stderr);
    }
    for name in ["season.gpkg", "season.json", "readings.csv", "2025-07-08/summary.json"] {
        let bytes = |of: &str| fs::read(at.join(of).join(name)).unwrap();
        assert!(bytes("a") == bytes("b"), "{name}");
    }
}

#[test]
fn messages_name_the_archive() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    archive(&at.join("season.gpkg"), &FILES);
    archive(&at.join("bare.gpkg"), &FILES[5..]);
    archive(&at.join("lost.gpkg"), &FILES[..4]);
    let sound = fs::read(at.join("season.gpkg")).unwrap();
    fs::write(at.join("cut.gpkg"), &sound[..sound.len() / 2]).unwrap();
    for (args, exit, expected) in [
        (&["check", "season.gpkg"][..], 1, "season.gpkg: say which visit with --visit DATE"),
        (&["check", "season.gpkg", "--visit", "2025-01-01"], 1, "season.gpkg: there is no visit"),
        (
            &["check", "bare.gpkg", "--visit", DAY],
            1,
            "error: bare.gpkg: there is no loosedepth.toml",
        ),
        (&["check", "lost.gpkg", "--visit", DAY], 1, "error: lost.gpkg/visits: "),
        (&["check", "cut.gpkg", "--visit", DAY], 1, "cut.gpkg: is no sound GeoPackage"),
        (
            &["map", "season.gpkg", "--visit", DAY],
            2,
            "season.gpkg: an archive has no folder for results",
        ),
        (&["plan", "season.gpkg", "--visit", DAY], 2, "season.gpkg: an archive holds no maps"),
        (&["season", "season.gpkg"], 2, "season.gpkg: an archive has no folder for results"),
        (
            &["compare", "season.gpkg", "2025-06-25", DAY],
            2,
            "season.gpkg: an archive has no folder",
        ),
        (&["calendar", "season.gpkg", "--until", "2025-07-31"], 0, ""),
        (&["check", "season.gpkg", "--visit", DAY], 0, ""),
    ] {
        let Run { exit: found, stderr, .. } = loosedepth(at, args);
        assert_eq!(found, exit, "{args:?}: {stderr}");
        assert!(
            stderr.contains(expected) && !stderr.contains("/loosedepth-"),
            "{args:?}: {stderr}"
        );
    }
}

/// An archive of the demo field with settings of a stranger.
fn archive_with_settings(at: &Path, settings: &str) {
    let field = tempfile::tempdir().unwrap();
    field_with_settings(field.path(), settings);
    archive_of(field.path(), at, &FILES);
}

#[test]
fn settings_out_of_an_archive_name_no_file_outside() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let outside = at.join("mine.geojson").display().to_string();
    fs::copy(root().join("demo-data/north-bench/boundary.geojson"), &outside).unwrap();
    let mut lines: Vec<(&str, String)> = Vec::new();
    for key in ["boundary", "visits", "edits", "weather", "strata", "rates"] {
        for path in [outside.as_str(), "../mine.geojson", "visits/../../mine.geojson"] {
            lines.push((key, format!("{key} = {path:?}\n")));
        }
    }
    lines
        .push(("visits", "visits = [\"visits/2025-07-08.geojson\", \"../mine.geojson\"]\n".into()));
    for (key, line) in lines {
        archive_with_settings(&at.join("strange.gpkg"), &line);
        for args in [
            &["check", "strange.gpkg", "--visit", DAY][..],
            &["season", "strange.gpkg", "--out", "out"],
            &["calendar", "strange.gpkg", "--until", "2025-07-31"],
        ] {
            let run = loosedepth(at, args);
            let told = format!("error: strange.gpkg: {key} = ");
            assert_eq!(run.exit, 1, "{line} {}", run.stderr);
            assert!(run.stderr.starts_with(&told), "{line} {}", run.stderr);
            assert!(run.stderr.contains("leads out of the field's folder"), "{}", run.stderr);
        }
    }
    // Results are not read out of an archive.
    archive_with_settings(
        &at.join("sound.gpkg"),
        "boundary = \"./boundary.geojson\"\nresults = \"../out\"\n",
    );
    let run = loosedepth(at, &["check", "sound.gpkg", "--visit", DAY]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
}

/// The demo field of two visits in a folder, with these settings.
fn field_with_settings(field: &Path, settings: &str) {
    fs::create_dir_all(field.join("visits")).unwrap();
    let demo = root().join("demo-data/north-bench");
    for (_, name) in &FILES[1..] {
        fs::copy(demo.join(name), field.join(name)).unwrap();
    }
    fs::write(field.join("loosedepth.toml"), settings).unwrap();
}

#[test]
fn a_season_that_its_folder_does_not_give_has_no_archive() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let field = at.join("field");
    let whole = "boundary = \"boundary.geojson\"\n";
    field_with_settings(&field, whole);
    fs::copy(field.join("loosedepth.toml"), field.join("other.toml")).unwrap();
    fs::write(at.join("edits.csv"), "visit,point,field,old,new,who,why\n").unwrap();
    let season = |settings: &str, flags: &[&str]| {
        fs::write(field.join("loosedepth.toml"), settings).unwrap();
        let start = ["season", "field", "--out", "out", "--no-maps", "--replace"];
        loosedepth(at, &[&start[..], flags].concat())
    };
    for flags in [
        &["--config", "field/other.toml"][..],
        &["--boundary", "field/boundary.geojson"],
        &["--edits", "edits.csv"],
        &["--units", "si"],
        &["--threshold", "200psi"],
        &["--sustained", "1in"],
        &["--rod", "36in"],
        &["--classes", "4,8"],
        &["--column", "note=Remark"],
        &["--depth-field", "depth_in", "--depth-unit", "in"],
        &["--group", "operator"],
        &["--crs", "EPSG:4326"],
        &["--edge-tolerance", "6"],
    ] {
        let run = season(whole, flags);
        assert!([0, 3].contains(&run.exit), "{flags:?} {}", run.stderr);
        let told = format!("note: no season.gpkg: this season was made with {}", flags[0]);
        let told = told.replace("with --config", "with the settings of --config");
        assert!(run.stderr.contains(&told), "{flags:?} {}", run.stderr);
        assert!(!at.join("out/season.gpkg").exists(), "{flags:?}");
    }
    let inside = field.join("boundary.geojson").display().to_string();
    for path in [inside.as_str(), "visits/../boundary.geojson"] {
        let run = season(&format!("boundary = {path:?}\n"), &[]);
        assert!(run.stderr.contains("note: no season.gpkg: boundary = "), "{}", run.stderr);
    }
    // How a map is drawn is no matter of the folder, and naming its own settings changes nothing.
    for flags in [&[][..], &["--config", "field/loosedepth.toml", "--cell", "10"]] {
        let run = season(whole, flags);
        assert!(at.join("out/season.gpkg").exists(), "{flags:?} {}", run.stderr);
        fs::remove_file(at.join("out/season.gpkg")).unwrap();
    }
}

#[test]
fn the_unpacked_folder_goes_with_the_program() {
    let folder = tempfile::tempdir().unwrap();
    let (at, temporary) = (folder.path(), folder.path().join("temporary"));
    fs::create_dir(&temporary).unwrap();
    archive(&at.join("season.gpkg"), &FILES);
    let check = |day: &str| -> Output {
        Command::new(env!("CARGO_BIN_EXE_loosedepth"))
            .args(["check", "season.gpkg", "--visit", day])
            .current_dir(at)
            .envs(["TMPDIR", "TMP", "TEMP"].map(|name| (name, &temporary)))
            .output()
            .unwrap()
    };
    for day in [DAY, "2025-01-01"] {
        let run = check(day);
        assert_eq!(run.status.success(), day == DAY);
        assert_eq!(fs::read_dir(&temporary).unwrap().count(), 0, "{day}");
    }
    // It is there while the program runs: without a place for it nothing is read.
    fs::remove_dir(&temporary).unwrap();
    let told = String::from_utf8(check(DAY).stderr).unwrap();
    assert!(told.contains("no folder to unpack season.gpkg in"), "{told}");
}

/// A pipe is read once: who looks whether it is an archive takes the beginning of the survey away.
#[cfg(unix)]
#[test]
fn a_survey_may_come_out_of_a_pipe() {
    let path = root().join("demo-data/north-bench/visits").join(format!("{DAY}.geojson"));
    let mut run = Command::new(env!("CARGO_BIN_EXE_loosedepth"))
        .args(["check", "/dev/stdin"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    run.stdin.take().unwrap().write_all(&fs::read(path).unwrap()).unwrap();
    let run = run.wait_with_output().unwrap();
    let told = String::from_utf8_lossy(&run.stderr);
    assert_eq!(run.status.code(), Some(0), "{told}");
}

#[test]
fn an_archive_is_inspected_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    archive(&folder.path().join("season.gpkg"), &FILES);
    let run = loosedepth(folder.path(), &["inspect", "season.gpkg"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let start = "season.gpkg: GeoPackage, the archive of a season, written by loosedepth test\n\
                 field: North Bench\n";
    assert!(run.stdout.starts_with(start), "{}", run.stdout);
    assert!(run.stdout.contains("visits/2025-07-08.geojson"), "{}", run.stdout);
    assert!(
        run.stdout.contains("each of its files is the one that was archived"),
        "{}",
        run.stdout
    );
}
