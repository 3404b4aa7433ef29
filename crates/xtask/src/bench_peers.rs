//! Our gridding beside that of others, on the same points and grid.

use crate::error::XtaskError;
use crate::setup;
use crate::venv::python_with;
use crate::workspace::{Workspace, run};

/// Prints seconds, peak memory and the largest difference of GDAL, `SciPy`, gstat and others beside
/// geostat's; `--only idw`, `--only kriging` or `--only memory` is a part of it.
pub fn compare(workspace: &Workspace, arguments: &[String]) -> Result<(), XtaskError> {
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let part = match arguments.as_slice() {
        [] => None,
        ["--only", part @ ("idw" | "kriging" | "memory")] => Some(part),
        _ => return Err(XtaskError::Arguments { wanted: "--only idw, kriging or memory" }),
    };
    setup::install_missing(workspace)?;
    setup::install_peers(workspace)?;
    let requirements = "crates/xtask/bench/requirements.txt";
    let python = python_with(workspace, "target/bench", requirements)?;
    run(&mut workspace.cargo("build --release --package geostat --examples"))?;
    for (name, processor) in [("any", "x86-64"), ("native", "native")] {
        let out = format!("target/bench/machine_limits_{name}");
        run(workspace.program("rustc").args(["--edition", "2024", "-O", "-C"]).args([
            format!("target-cpu={processor}").as_str(),
            "crates/geostat/examples/machine_limits.rs",
            "-o",
            &out,
        ]))?;
    }
    run(workspace
        .program(python)
        // No compiled files beside the sources.
        .arg("-B")
        .args(["crates/xtask/bench/bench_peers.py", "target/release/examples", "target/bench"])
        .arg("target/bench")
        .args(part))
}
