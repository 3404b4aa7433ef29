//! Results held against those of other programs.

use std::path::PathBuf;

use crate::error::XtaskError;
use crate::workspace::{Workspace, run};

/// Where the reference results lie, beside the project.
const FOLDER: &str = "../shared/reference";

/// The crates with an example that holds their results against those in a folder, and its name.
const EXAMPLES: [(&str, &str); 2] =
    [("geostat", "reference"), ("statistics", "statistics_reference")];

/// Checks results against those in a folder; without it, against the copies of the tests.
pub fn check(workspace: &Workspace, arguments: &[String]) -> Result<(), XtaskError> {
    let folder = match arguments {
        [] => workspace.path(FOLDER),
        [folder] => PathBuf::from(folder),
        _ => return Err(XtaskError::Arguments { wanted: "a folder" }),
    };
    for (package, example) in EXAMPLES {
        let command = format!("run --quiet --release --package {package} --example {example}");
        run(workspace.cargo(&command).arg("--").arg(&folder))?;
    }
    Ok(())
}
