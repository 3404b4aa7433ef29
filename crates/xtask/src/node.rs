//! Node.js packages with pinned versions.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::error::XtaskError;
use crate::workspace::{Workspace, at, read_text, run};

const READERS: NodeScripts =
    NodeScripts { scripts: "crates/xtask/readers", modules: "target/readers/node" };

/// Scripts for Node.js with the lock file of the packages they use.
pub struct NodeScripts {
    /// Their folder in the workspace, with `package.json` and `package-lock.json`.
    pub scripts: &'static str,
    /// The folder below `target/` that they are run in.
    pub modules: &'static str,
}

/// Runs a reader with Node.js.
pub fn run_node(workspace: &Workspace, script: &str, arguments: &[&str]) -> Result<(), XtaskError> {
    run(READERS.command(workspace, script)?.args(arguments))
}

impl NodeScripts {
    /// A script to be run beside exactly the packages of the lock file. They are installed below
    /// `target/`, anew when the lock file has changed.
    pub fn command(&self, workspace: &Workspace, script: &str) -> Result<Command, XtaskError> {
        self.install(workspace)?;
        // Node.js looks for packages beside the script, so it runs a copy, beside copies of the others.
        let modules = workspace.path(self.modules);
        copy_scripts(&workspace.path(self.scripts), &modules)?;
        let mut command = workspace.program("node");
        command.arg(modules.join(script));
        Ok(command)
    }

    fn install(&self, workspace: &Workspace) -> Result<(), XtaskError> {
        let modules = workspace.path(self.modules);
        let wanted = read_text(&workspace.path(self.scripts).join("package-lock.json"))?;
        // Written last, so that an interrupted installation is not taken for a whole one.
        let installed = modules.join("installed.json");
        if fs::read_to_string(&installed).is_ok_and(|text| text == wanted) {
            return Ok(());
        }
        eprintln!("installing Node.js packages into {}", modules.display());
        fs::create_dir_all(&modules).map_err(at(&modules))?;
        for name in ["package.json", "package-lock.json"] {
            let original = workspace.path(self.scripts).join(name);
            fs::copy(&original, modules.join(name)).map_err(at(&original))?;
        }
        // No package's own scripts run: none of them needs any.
        run(workspace
            .program("npm")
            .args(["ci", "--silent", "--no-audit", "--no-fund", "--ignore-scripts", "--prefix"])
            .arg(&modules))?;
        fs::write(&installed, wanted).map_err(at(&installed))
    }
}

/// Copies the scripts of a folder and of the folders in it.
fn copy_scripts(from: &Path, to: &Path) -> Result<(), XtaskError> {
    fs::create_dir_all(to).map_err(at(to))?;
    for original in entries(from)? {
        let copy = to.join(original.file_name().unwrap_or_default());
        match original.extension().and_then(OsStr::to_str) {
            _ if original.is_dir() => copy_scripts(&original, &copy)?,
            Some("mjs") => drop(fs::copy(&original, copy).map_err(at(&original))?),
            _ => {}
        }
    }
    Ok(())
}

/// What a folder holds, by name.
pub fn entries(folder: &Path) -> Result<Vec<PathBuf>, XtaskError> {
    let found = fs::read_dir(folder).map_err(at(folder))?;
    let paths: Result<Vec<PathBuf>, _> =
        found.map(|entry| entry.map(|entry| entry.path())).collect();
    let mut paths = paths.map_err(at(folder))?;
    paths.sort();
    Ok(paths)
}
