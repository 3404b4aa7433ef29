//! The maps, a survey's files and a plan's, opened with readers that are not ours.

use std::fs;
use std::path::Path;

use crate::error::XtaskError;
use crate::maps::MAP_IS_MADE;
use crate::node::run_node;
use crate::venv::python_with;
use crate::workspace::{Workspace, at, run, run_accepting};

const TASKDATA: &str = "target/readers/plan";
const PLAN_FILES: &str = "target/readers/plan_files";
const SURVEY_FILES: &str = "target/readers/survey";
const KEPT_SEASON: &str = "maps/north-bench-2025-season/season.gpkg";
const KEPT_SUMMARY: &str = "maps/north-bench-2025-season/season.json";
const SEASONS: &str = "target/readers/season";

/// A raster of some million cells, so that it has several bands of tiles.
const RASTER: &str = "target/readers/raster.tif";
const MAKE_RASTER: &str = "run --quiet --package loosedepth --bin loosedepth -- \
    raster demo-data/north-bench/visits/2025-04-14.geojson \
    --boundary demo-data/north-bench/boundary.geojson \
    --cell 0.3 --reach 50 --neighbours 12 --replace --out";

const DEMO_FIELD: &str = "demo-data/north-bench";
const CALENDAR: &str = "target/readers/calendar";
const MAKE_CALENDAR: &str = "run --quiet --package loosedepth --bin loosedepth -- calendar";

const SPOTS: &str = "maps/north-bench-spots";

const CHANGE: &str = "target/readers/change";
const VISITS: [&str; 2] = ["2025-04-14", "2025-08-24"];

/// A field without visits whose name has all that iCalendar escapes, and letters of two and three bytes.
const ODD_FIELD: &str = "target/readers/odd-field";
const ODD_CALENDAR: &str = "target/readers/odd-calendar";
const ODD_NAME: &str =
    r#"Åsa; "Höhe", 2 \ 土の畑 \n Ærø × North of the long lane by the old creamery"#;

/// Checks the files in `maps/`, a raster written band by band, and a survey and a plan that examples
/// write, with GDAL, GEOS, PROJ and others, and a calendar, through Python and Node.js.
pub fn read_results(workspace: &Workspace) -> Result<(), XtaskError> {
    let requirements = "crates/xtask/readers/requirements.txt";
    let python = python_with(workspace, "target/readers", requirements)?;
    run(workspace.program(&python).args([
        "crates/xtask/readers/read_maps.py",
        "maps",
        "demo-data",
    ]))?;
    run(workspace.program(&python).args(["crates/xtask/readers/read_sheet.py", "maps"]))?;
    run(workspace.program(&python).args([
        "crates/xtask/readers/read_report.py",
        "maps",
        DEMO_FIELD,
        KEPT_SUMMARY,
    ]))?;
    run_accepting(&mut workspace.cargo(&format!("{MAKE_RASTER} {RASTER}")), &MAP_IS_MADE)?;
    run(workspace.program(&python).args(["crates/xtask/readers/read_raster.py", RASTER]))?;
    let write = format!("run --quiet --package formats --example write_survey -- {SURVEY_FILES}");
    run(&mut workspace.cargo(&write))?;
    run(workspace
        .program(&python)
        .args(["crates/xtask/readers/read_survey_files.py", SURVEY_FILES]))?;
    let boundary = format!("{DEMO_FIELD}/boundary.geojson");
    let script = "crates/xtask/readers/read_spots.py";
    run(workspace.program(&python).args([script, SPOTS, &boundary]))?;
    read_seasons(workspace, &python)?;
    read_change(workspace, &python)?;
    read_plan(workspace, &python)?;
    read_calendar(workspace, &python)
}

/// Checks the calendar of the demo field on a day within its season, and that of a field with a name that
/// must be escaped and folded.
fn read_calendar(workspace: &Workspace, python: &Path) -> Result<(), XtaskError> {
    let field = workspace.path(ODD_FIELD);
    fs::create_dir_all(&field).map_err(at(&field))?;
    let settings = field.join("loosedepth.toml");
    let text = format!("name = '{ODD_NAME}'\nplanted = 2025-05-06\n");
    fs::write(&settings, text).map_err(at(&settings))?;
    for (arguments, out) in [
        (format!("{DEMO_FIELD} --today 2025-06-15 --remind-days 1"), CALENDAR),
        (ODD_FIELD.to_owned(), ODD_CALENDAR),
    ] {
        let command = format!("{MAKE_CALENDAR} {arguments} --replace --out {out}");
        run(&mut workspace.cargo(&command))?;
    }
    let weather = format!("{DEMO_FIELD}/weather.csv");
    let script = "crates/xtask/readers/read_calendar.py";
    let folders = [script, &weather, "2025-05-06", CALENDAR, ODD_NAME, ODD_CALENDAR];
    run(workspace.program(python).args(folders))
}

/// Checks a comparison of two visits against the maps of both.
fn read_change(workspace: &Workspace, python: &Path) -> Result<(), XtaskError> {
    let [earlier, later] = VISITS;
    let folder = |name: &str| format!("{CHANGE}/{name}");
    for (command, out) in [
        (format!("map {DEMO_FIELD} --visit {earlier}"), folder(earlier)),
        (format!("map {DEMO_FIELD} --visit {later}"), folder(later)),
        (format!("compare {DEMO_FIELD} {earlier} {later}"), folder("compared")),
    ] {
        let program = "run --quiet --package loosedepth --bin loosedepth --";
        let command = format!("{program} {command} --replace --out {out}");
        run_accepting(&mut workspace.cargo(&command), &MAP_IS_MADE)?;
    }
    let script = "crates/xtask/readers/read_change.py";
    let folders = ["compared", earlier, later].map(folder);
    run(workspace.program(python).arg(script).args(folders))
}

/// Checks archives that an example writes of the demo's fields, one of single depths, one of profiles, and that
/// of the kept season with the results beside it.
fn read_seasons(workspace: &Workspace, python: &Path) -> Result<(), XtaskError> {
    let script = "crates/xtask/readers/read_archive.py";
    for field in ["north-bench", "slough-piece"] {
        let (folder, archive) = (format!("demo-data/{field}"), format!("{SEASONS}/{field}.gpkg"));
        let write =
            format!("run --quiet --package formats --example write_season -- {folder} {archive}");
        run(&mut workspace.cargo(&write))?;
        run(workspace.program(python).args([script, &archive, &folder]))?;
    }
    run(workspace.program(python).args([script, KEPT_SEASON, DEMO_FIELD]))
}

/// Checks the files of plans that examples write: TASKDATA, and all others.
fn read_plan(workspace: &Workspace, python: &Path) -> Result<(), XtaskError> {
    for (example, folder, reader) in [
        ("write_plan", TASKDATA, "read_taskdata"),
        ("write_plan_files", PLAN_FILES, "read_plan_files"),
    ] {
        let write = format!("run --quiet --package formats --example {example} -- {folder}");
        run(&mut workspace.cargo(&write))?;
        let script = format!("crates/xtask/readers/{reader}.py");
        run(workspace.program(python).args([script.as_str(), folder]))?;
        run_node(workspace, &format!("{reader}.mjs"), &[folder])?;
    }
    Ok(())
}
