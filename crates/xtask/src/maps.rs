//! The maps that are kept in `maps/`, made from `demo-data/`.

use std::fs;
use std::path::{Path, PathBuf};

use crate::compare::{Difference, differences};
use crate::error::XtaskError;
use crate::workspace::{Workspace, at, run_accepting};

/// Exit codes of the program with which a map was made: done, and done with findings.
pub const MAP_IS_MADE: [i32; 2] = [0, 3];

/// A folder of kept results and the commands they come from, without `--out` and the folder. `{made}` is
/// where the results before it have just been made.
struct KeptMap {
    folder: &'static str,
    commands: &'static [&'static str],
}

const KEPT_MAPS: [KeptMap; 11] = [
    KeptMap {
        folder: "north-bench-2025-04-14",
        commands: &["map demo-data/north-bench/visits/2025-04-14.geojson \
            --boundary demo-data/north-bench/boundary.geojson \
            --swath 30ft --heading 90 --most-zones 7"],
    },
    KeptMap {
        folder: "north-bench-2025-04-14-kriging",
        commands: &["map demo-data/north-bench/visits/2025-04-14.geojson --method kriging \
            --thinner-than 12in --boundary demo-data/north-bench/boundary.geojson"],
    },
    KeptMap {
        folder: "north-bench-2025-04-14-plan",
        commands: &["plan {made}/north-bench-2025-04-14/zones.geojson \
            --rates demo-data/north-bench/rates.toml --check-strips 3"],
    },
    KeptMap {
        folder: "north-bench-2025-08-24",
        commands: &["map demo-data/north-bench/visits/2025-08-24.geojson \
            --boundary demo-data/north-bench/boundary.geojson \
            --strata demo-data/north-bench/strata.geojson \
            --earlier-zones {made}/north-bench-2025-04-14/zones.geojson"],
    },
    KeptMap {
        folder: "north-bench-2025-calendar",
        // A day within the season, so that there are visits to come.
        commands: &["calendar demo-data/north-bench --today 2025-06-15"],
    },
    KeptMap {
        folder: "north-bench-2025-change",
        commands: &["compare demo-data/north-bench 2025-04-14 2025-08-24"],
    },
    KeptMap { folder: "north-bench-2025-report", commands: &["report demo-data/north-bench"] },
    KeptMap {
        folder: "north-bench-2025-season",
        commands: &["season demo-data/north-bench --no-maps"],
    },
    KeptMap {
        folder: "north-bench-2025-trial",
        commands: &["trial demo-data/north-bench 2025-04-14 2025-08-24 \
            --areas demo-data/north-bench/trial.geojson"],
    },
    KeptMap {
        folder: "north-bench-spots",
        commands: &["spots demo-data/north-bench --grid 180ft --precision 10 --visit 2025-04-14"],
    },
    KeptMap {
        folder: "slough-piece-2025-06-14",
        commands: &[
            "map demo-data/slough-piece/profiles.geojson --date 2025-06-14 --sustained 2in \
                --boundary demo-data/slough-piece/boundary.geojson",
            "profile demo-data/slough-piece/profiles.geojson --date 2025-06-14 --sustained 2in \
                --threshold 200psi --threshold 300psi",
        ],
    },
];

/// Where results are made before they are compared.
const MADE: &str = "target/maps";

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
    let made = workspace.path(MADE);
    if made.exists() {
        fs::remove_dir_all(&made).map_err(at(&made))?;
    }
    for map in &KEPT_MAPS {
        eprintln!("making {}", map.folder);
        for command in map.commands {
            let program = "run --quiet --package loosedepth --bin loosedepth --";
            let command = command.replace("{made}", MADE);
            let mut command = workspace.cargo(&format!("{program} {command} --out"));
            command.arg(made.join(map.folder));
            run_accepting(&mut command, &MAP_IS_MADE)?;
        }
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
