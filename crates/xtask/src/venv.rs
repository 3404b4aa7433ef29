//! A Python environment with pinned packages.

use std::fs;
use std::path::PathBuf;

use crate::error::XtaskError;
use crate::workspace::{Workspace, at, read_text, run};

/// The Python of an environment below `target/` that holds exactly the packages of a requirements
/// file. It is made anew when the file has changed.
pub fn python_with(
    workspace: &Workspace,
    folder: &str,
    requirements: &str,
) -> Result<PathBuf, XtaskError> {
    let requirements = workspace.path(requirements);
    let wanted = read_text(&requirements)?;
    let folder = workspace.path(folder).join("venv");
    let python = folder.join("bin/python");
    // Written last, so that an interrupted installation is not taken for a whole one.
    let installed = folder.join("installed.txt");
    if python.exists() && fs::read_to_string(&installed).is_ok_and(|text| text == wanted) {
        return Ok(python);
    }
    eprintln!("installing Python packages into {}", folder.display());
    run(workspace.program("python3").args(["-m", "venv", "--clear"]).arg(&folder))?;
    run(workspace
        .program(&python)
        // The file names every package; gdal-utils asks for a GDAL that is not needed here.
        .args(["-m", "pip", "install", "--quiet", "--no-deps"])
        .args(["--disable-pip-version-check", "--requirement"])
        .arg(&requirements))?;
    fs::write(&installed, wanted).map_err(at(&installed))?;
    Ok(python)
}
