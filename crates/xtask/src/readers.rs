//! The maps, opened with readers that are not ours.

use crate::error::XtaskError;
use crate::venv::python_with;
use crate::workspace::{Workspace, run};

/// Checks the files in `maps/` with GDAL, GEOS, PROJ and others, through Python.
pub fn read_maps(workspace: &Workspace) -> Result<(), XtaskError> {
    let requirements = "crates/xtask/readers/requirements.txt";
    let python = python_with(workspace, "target/readers", requirements)?;
    run(workspace.program(python).args([
        "crates/xtask/readers/read_maps.py",
        "maps",
        "demo-data/north-bench/boundary.geojson",
    ]))
}
