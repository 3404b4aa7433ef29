//! The main job on the demo data.

use crate::error::XtaskError;
use crate::maps::MAP_IS_MADE;
use crate::setup;
use crate::workspace::{Workspace, run_accepting, shown};

const DEMO: &str = "run --bin loosedepth -- \
    map demo-data/north-bench/visits/2025-04-14.geojson \
    --boundary demo-data/north-bench/boundary.geojson \
    --out target/demo/north-bench-2025-04-14 --replace";

/// Sets up what is missing, then maps the demo field. With a development build, which the tests use
/// too: so PROJ is built once for both.
pub fn demo(workspace: &Workspace) -> Result<(), XtaskError> {
    setup::install_missing(workspace)?;
    let mut demo = workspace.cargo(DEMO);
    eprintln!("{}", shown(&demo));
    eprintln!("(the first build compiles PROJ from source, which takes some minutes)");
    run_accepting(&mut demo, &MAP_IS_MADE)
}
