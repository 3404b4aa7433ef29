//! Results held against those of other programs.

use std::path::PathBuf;

use crate::error::XtaskError;
use crate::workspace::{Workspace, run};

/// Where the reference results lie, beside the project.
const FOLDER: &str = "../shared/reference";

/// Checks geostat against the results in a folder; without it, against the copies of the tests.
pub fn check(workspace: &Workspace, arguments: &[String]) -> Result<(), XtaskError> {
    let folder = match arguments {
        [] => workspace.path(FOLDER),
        [folder] => PathBuf::from(folder),
        _ => return Err(XtaskError::Arguments { wanted: "a folder" }),
    };
    let mut check = workspace.cargo("run --quiet --release --package geostat --example reference");
    run(check.arg("--").arg(folder))
}
