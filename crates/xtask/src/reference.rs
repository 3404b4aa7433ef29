//! Results held against those of other programs.

use std::path::PathBuf;

use crate::error::XtaskError;
use crate::workspace::{Workspace, run};

/// Where the reference results lie, beside the project.
const FOLDER: &str = "../shared/reference";

/// The crates whose example `reference` holds their results against those in a folder.
const CRATES: [&str; 2] = ["geostat", "statistics"];

/// Checks results against those in a folder; without it, against the copies of the tests.
pub fn check(workspace: &Workspace, arguments: &[String]) -> Result<(), XtaskError> {
    let folder = match arguments {
        [] => workspace.path(FOLDER),
        [folder] => PathBuf::from(folder),
        _ => return Err(XtaskError::Arguments { wanted: "a folder" }),
    };
    for name in CRATES {
        let command = format!("run --quiet --release --package {name} --example reference");
        run(workspace.cargo(&command).arg("--").arg(&folder))?;
    }
    Ok(())
}
