//! Several visits of one field: what changed between two, how the season went, when to go again, and
//! whether a treatment worked.
//!
//! Visits of one field lie on one grid, which depends on the boundary alone. A change is later minus
//! earlier: below 0 the loose layer became thinner. Bulk values are centimetres, areas true areas on the
//! ground; nothing here knows of files or pictures. Water moves cone index more than density does, so no
//! change is told without the moisture of both visits: see [`MoistureMatch`].

mod moisture;
mod visit;

pub use moisture::{MoistureMatch, USUAL_MOISTURE_WITHIN_PCT};
pub use visit::Visit;
