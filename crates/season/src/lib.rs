//! Several visits of one field: what changed between two, how the season went, when to go again, and
//! whether a treatment worked.
//!
//! Visits of one field lie on one grid, which depends on the boundary alone. A change is later minus
//! earlier: below 0 the loose layer became thinner. Bulk values are centimetres, areas true areas on the
//! ground; nothing here knows of files or pictures. Water moves cone index more than density does, so no
//! change is told without the moisture of both visits: see [`MoistureMatch`].

mod change;
mod error;
mod kriged_change;
#[cfg(test)]
mod made_up;
mod moisture;
mod moisture_fit;
mod pairs;
mod transitions;
mod trial;
mod trial_censoring;
mod trial_contrast;
mod trial_ground;
mod trial_moisture;
mod trial_power;
mod trial_randomisation;
mod trial_spatial;
mod trial_strips;
mod trial_verdict;
mod trial_words;
mod visit;

pub use change::{ChangeBasis, ChangeMap, change_map};
pub use error::SeasonError;

pub use moisture::{MoistureMatch, USUAL_MOISTURE_WITHIN_PCT};
pub use moisture_fit::{
    AdjustedChange, LEAST_MOISTURE_RANGE_PCT, LEAST_VISITS_FOR_MOISTURE, MoistureFit,
    MoistureVisit, moisture_fit,
};
pub use pairs::{
    MatchedBy, NAMED_WITHIN_SPACINGS, PLACED_WITHIN_M, Pair, PairChange, Pairs, PairsWithin,
    pair_spots,
};
pub use transitions::{Transitions, spot_transitions, transitions};
pub use trial::{Trial, TrialSettings, trial};
pub use trial_censoring::TrialCensoring;
pub use trial_contrast::{Contrast, Spread, StripValue, Treatment, contrast};
pub use trial_ground::{TrialArea, TrialGround, TrialGroups};
pub use trial_moisture::TrialMoisture;
pub use trial_power::{POWER, strips_needed};
pub use trial_randomisation::{Randomisation, randomisation_test};
pub use trial_spatial::{LEAST_FOR_VARIOGRAM, OverProbes, TrialMoran, TrialSpatial};
pub use trial_strips::{TrialProbe, TrialStrip};
pub use trial_verdict::{Doubt, Verdict};
pub use visit::Visit;
