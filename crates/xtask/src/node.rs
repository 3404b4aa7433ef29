//! Node.js packages with pinned versions.

use std::fs;

use crate::error::XtaskError;
use crate::workspace::{Workspace, at, read_text, run};

const READERS: &str = "crates/xtask/readers";
const MODULES: &str = "target/readers/node";
/// What the scripts share.
const SHARED: &str = "checks.mjs";

/// Runs a script of the folder of readers with Node.js, beside exactly the packages of the lock file
/// there. They are installed below `target/`, anew when the lock file has changed.
pub fn run_node(workspace: &Workspace, script: &str, arguments: &[&str]) -> Result<(), XtaskError> {
    install(workspace)?;
    // Node.js looks for packages beside the script, so it runs a copy, beside what all scripts share.
    let modules = workspace.path(MODULES);
    for name in [SHARED, script] {
        let original = workspace.path(READERS).join(name);
        fs::copy(&original, modules.join(name)).map_err(at(&original))?;
    }
    run(workspace.program("node").arg(modules.join(script)).args(arguments))
}

fn install(workspace: &Workspace) -> Result<(), XtaskError> {
    let modules = workspace.path(MODULES);
    let wanted = read_text(&workspace.path(READERS).join("package-lock.json"))?;
    // Written last, so that an interrupted installation is not taken for a whole one.
    let installed = modules.join("installed.json");
    if fs::read_to_string(&installed).is_ok_and(|text| text == wanted) {
        return Ok(());
    }
    eprintln!("installing Node.js packages into {}", modules.display());
    fs::create_dir_all(&modules).map_err(at(&modules))?;
    for name in ["package.json", "package-lock.json"] {
        let original = workspace.path(READERS).join(name);
        fs::copy(&original, modules.join(name)).map_err(at(&original))?;
    }
    // No package's own scripts run: none of them needs any.
    run(workspace
        .program("npm")
        .args(["ci", "--silent", "--no-audit", "--no-fund", "--ignore-scripts", "--prefix"])
        .arg(&modules))?;
    fs::write(&installed, wanted).map_err(at(&installed))
}
