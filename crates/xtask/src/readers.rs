//! The maps and a survey's files, opened with readers that are not ours.

use crate::error::XtaskError;
use crate::venv::python_with;
use crate::workspace::{Workspace, run};

const SURVEY_FILES: &str = "target/readers/survey";

/// Checks the files in `maps/`, and a survey that an example writes, with GDAL, GEOS, PROJ and others,
/// through Python.
pub fn read_results(workspace: &Workspace) -> Result<(), XtaskError> {
    let requirements = "crates/xtask/readers/requirements.txt";
    let python = python_with(workspace, "target/readers", requirements)?;
    run(workspace.program(&python).args([
        "crates/xtask/readers/read_maps.py",
        "maps",
        "demo-data",
    ]))?;
    let write = format!("run --quiet --package formats --example write_survey -- {SURVEY_FILES}");
    run(&mut workspace.cargo(&write))?;
    run(workspace
        .program(&python)
        .args(["crates/xtask/readers/read_survey_files.py", SURVEY_FILES]))
}
