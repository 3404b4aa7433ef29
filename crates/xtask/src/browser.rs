//! What people look at, opened in a real browser.

use std::fs;

use crate::error::XtaskError;
use crate::node::{NodeScripts, entries};
use crate::venv::python_with;
use crate::workspace::{Workspace, at, run};

const SCRIPTS: NodeScripts =
    NodeScripts { scripts: "crates/xtask/browser", modules: "target/browser/node" };
/// Pictures, printed pages and saved files, for people to look at.
const OUT: &str = "target/browser";
/// Debian's browser. Nothing is downloaded in its place.
const CHROMIUM: &str = "/usr/bin/chromium";
/// The same Python as the readers': it reads what the browser prints.
const READERS: &str = "target/readers";

/// Runs all tests.
pub fn test_pages(workspace: &Workspace) -> Result<(), XtaskError> {
    test_some_pages(workspace, &[])
}

/// Runs the tests of these names, or all where there is none.
pub fn test_some_pages(workspace: &Workspace, names: &[String]) -> Result<(), XtaskError> {
    let tests = tests(workspace)?;
    let wanted: Vec<&String> =
        tests.iter().filter(|test| names.is_empty() || names.contains(test)).collect();
    if wanted.is_empty() || names.iter().any(|name| !tests.contains(name)) {
        return Err(XtaskError::NoBrowserTest { tests: tests.join(", ") });
    }
    run(&mut workspace.cargo("build --quiet --package loosedepth"))?;
    let requirements = "crates/xtask/readers/requirements.txt";
    let python = python_with(workspace, READERS, requirements)?;
    let out = workspace.path(OUT);
    fs::create_dir_all(&out).map_err(at(&out))?;
    for test in wanted {
        run(SCRIPTS
            .command(workspace, &format!("tests/{test}.mjs"))?
            .env("BROWSER_OUT", &out)
            .env("CHROMIUM", CHROMIUM)
            .env("LOOSEDEPTH", workspace.path("target/debug/loosedepth"))
            .env("PYTHON", &python)
            .env("WORKSPACE", workspace.path("")))?;
    }
    Ok(())
}

/// The names of all tests: one file for each thing tested.
fn tests(workspace: &Workspace) -> Result<Vec<String>, XtaskError> {
    let files = entries(&workspace.path(SCRIPTS.scripts).join("tests"))?;
    let names = files.iter().filter_map(|file| file.file_stem()?.to_str());
    Ok(names.map(str::to_owned).collect())
}
