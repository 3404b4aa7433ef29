//! The maps that are kept in `maps/`, made from `demo-data/`.

use std::fs;
use std::path::{Path, PathBuf};

use crate::compare::{Difference, differences};
use crate::error::XtaskError;
use crate::workspace::{Workspace, at, run_accepting};

/// Exit codes of the program with which a map was made: done, and done with findings.
pub const MAP_IS_MADE: [i32; 2] = [0, 3];

/// A kept map and what it is made from.
struct KeptMap {
    /// Name of its folder.
    folder: &'static str,
    survey: &'static str,
    boundary: &'static str,
}

const KEPT_MAPS: [KeptMap; 2] = [
    KeptMap {
        folder: "north-bench-2025-04-14",
        survey: "demo-data/north-bench/visits/2025-04-14.geojson",
        boundary: "demo-data/north-bench/boundary.geojson",
    },
    KeptMap {
        folder: "north-bench-2025-08-24",
        survey: "demo-data/north-bench/visits/2025-08-24.geojson",
        boundary: "demo-data/north-bench/boundary.geojson",
    },
];

/// Makes the maps and brings `maps/` to the same state.
pub fn rebuild(workspace: &Workspace) -> Result<(), XtaskError> {
    let made = make(workspace)?;
    let kept = workspace.path("maps");
    fs::create_dir_all(&kept).map_err(at(&kept))?;
    for difference in differences(&made, &kept)? {
        eprintln!("maps/{difference}");
        let target = kept.join(difference.file());
        match &difference {
            Difference::Extra(_) => remove(&target)?,
            Difference::Missing(file) | Difference::Differs(file) => {
                copy(&made.join(file), &target)?;
            }
        }
    }
    Ok(())
}

/// Makes the maps and names each file in which `maps/` differs.
pub fn check(workspace: &Workspace) -> Result<(), XtaskError> {
    let made = make(workspace)?;
    let found = differences(&made, &workspace.path("maps"))?;
    for difference in &found {
        eprintln!("maps/{difference}");
    }
    match found.len() {
        0 => Ok(()),
        count => Err(XtaskError::MapsDiffer { count }),
    }
}

/// Makes all maps in a fresh folder. The build is that of the tests, so nothing is built twice;
/// the bytes do not depend on it.
fn make(workspace: &Workspace) -> Result<PathBuf, XtaskError> {
    let made = workspace.path("target/maps");
    if made.exists() {
        fs::remove_dir_all(&made).map_err(at(&made))?;
    }
    for map in &KEPT_MAPS {
        eprintln!("making {}", map.folder);
        let mut command =
            workspace.cargo("run --quiet --package loosedepth --bin loosedepth -- map");
        command.args([map.survey, "--boundary", map.boundary, "--out"]);
        command.arg(made.join(map.folder));
        run_accepting(&mut command, &MAP_IS_MADE)?;
    }
    Ok(made)
}

/// Removes a file, and its folder when that was the last.
fn remove(file: &Path) -> Result<(), XtaskError> {
    fs::remove_file(file).map_err(at(file))?;
    if let Some(folder) = file.parent() {
        // Refused while the folder holds anything, which is what is wanted.
        let _ = fs::remove_dir(folder);
    }
    Ok(())
}

fn copy(from: &Path, to: &Path) -> Result<(), XtaskError> {
    let folder = to.parent().unwrap_or(to);
    fs::create_dir_all(folder).map_err(at(folder))?;
    fs::copy(from, to).map(|_| ()).map_err(at(to))
}
