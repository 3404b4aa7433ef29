//! Our gridding beside that of others, on the same points and grid.

use crate::error::XtaskError;
use crate::setup;
use crate::venv::python_with;
use crate::workspace::{Workspace, run};

/// Prints CPU seconds, peak memory and the largest difference of GDAL's gridder, `SciPy` and
/// geostat.
pub fn compare(workspace: &Workspace) -> Result<(), XtaskError> {
    setup::install_missing(workspace)?;
    setup::install_gdal(workspace)?;
    let requirements = "crates/xtask/readers/requirements-bench.txt";
    let python = python_with(workspace, "target/bench", requirements)?;
    run(&mut workspace.cargo("build --release --package geostat --example grid_points"))?;
    run(workspace.program(python).args([
        "crates/xtask/readers/bench_peers.py",
        "target/release/examples/grid_points",
        "target/bench",
    ]))
}
