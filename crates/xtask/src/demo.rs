//! The main job on the demo data.

use crate::error::XtaskError;
use crate::maps::MAP_IS_MADE;
use crate::setup;
use crate::workspace::{Workspace, run_accepting, shown};

const MAP: &str = "run --bin loosedepth -- \
    map demo-data/north-bench/visits/2025-04-14.geojson \
    --boundary demo-data/north-bench/boundary.geojson \
    --swath 30ft --heading 90 --most-zones 7 \
    --out target/demo/north-bench-2025-04-14 --replace";
const PLAN: &str = "run --quiet --bin loosedepth -- \
    plan target/demo/north-bench-2025-04-14/zones.geojson \
    --rates demo-data/north-bench/rates.toml --check-strips 3 \
    --out target/demo/north-bench-2025-04-14-plan --replace";
const SEASON: &str = "run --quiet --bin loosedepth -- \
    season demo-data/north-bench --out target/demo/north-bench-season --replace";
const REPORT: &str = "run --quiet --bin loosedepth -- \
    report demo-data/north-bench --out target/demo/north-bench-report --replace";
const SPOTS: &str = "run --quiet --bin loosedepth -- \
    spots demo-data/north-bench --grid 180ft --precision 10 --visit 2025-04-14 \
    --out target/demo/north-bench-spots --replace";

/// Sets up what is missing, then maps the demo field, plans its treatment, follows its season, writes the report of it
/// and plans where to probe next. With a development build,
/// which the tests use too: so PROJ is built once for both.
pub fn demo(workspace: &Workspace) -> Result<(), XtaskError> {
    setup::install_missing(workspace)?;
    eprintln!("(the first build compiles PROJ from source, which takes some minutes)");
    for command in [MAP, PLAN, SEASON, REPORT, SPOTS] {
        let mut command = workspace.cargo(command);
        eprintln!("{}", shown(&command));
        run_accepting(&mut command, &MAP_IS_MADE)?;
    }
    Ok(())
}
