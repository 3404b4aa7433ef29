//! The readers, fed with damaged files for a bounded time.

use crate::error::XtaskError;
use crate::workspace::{Workspace, run};

/// Half a minute over all readers together, the same damage each time.
pub fn feed_readers(workspace: &Workspace) -> Result<(), XtaskError> {
    run(&mut workspace.cargo("run --quiet --package fuzz -- --seconds 30 --seed 1"))
}
