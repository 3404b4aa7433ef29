//! Several visits of one field: what changed between two, how the season went, when to go again, and
//! whether a treatment worked.
//!
//! Visits of one field lie on one grid, which depends on the boundary alone. A change is later minus
//! earlier: below 0 the loose layer became thinner. Bulk values are centimetres, areas true areas on the
//! ground; nothing here knows of files or pictures. Water moves cone index more than density does, so no
//! change is told without the moisture of both visits: see [`MoistureMatch`].

mod agreement;
mod calendar;
pub mod calendar_words;
mod change;
#[cfg(test)]
mod change_coverage_tests;
mod compare;
mod crop_stage;
mod days;
mod error;
mod falls;
mod growing_degrees;
mod kriged_change;
#[cfg(test)]
mod made_up;
mod moisture;
mod moisture_fit;
pub mod number_words;
mod paired;
mod pairs;
mod reading_change;
mod rhythm;
mod stage_date;
#[cfg(test)]
mod test_visits;
mod transitions;
mod trend;
mod trend_median;
mod trend_rank;
mod trend_shares;
#[cfg(test)]
mod trend_tests;
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
mod visit_dates;
mod weather;

pub use agreement::{ClassAgreement, class_agreement};
pub use calendar::{
    CalendarSettings, DAYS_WITHOUT_STAGE, DayReason, MOST_DAYS_AHEAD, MadeVisit, PlanEnd,
    PlannedVisit, SeasonSoFar, USUAL_SOAKING_RAIN_MM, VisitCalendar, plan_visits,
};
pub use change::{ChangeBasis, ChangeMap, change_map};
pub use compare::{CompareSettings, Comparison, change_text, compare};
pub use crop_stage::{CORN, Crop, ObservedStage, Stage, StageDegrees};
pub use error::SeasonError;
pub use falls::{Falls, KnownAgain, SpotChange, SpotHistory, SpotSeries};
pub use growing_degrees::{
    DAYS_OF_MEAN, DegreeSource, DegreeSum, Gap, GrowingDegrees, MOST_FILLED_DAYS, NoDegrees,
    fahrenheit, growing_degrees,
};
pub use moisture::{MoistureMatch, USUAL_MOISTURE_WITHIN_PCT};
pub use moisture_fit::{
    ADJUSTMENT_CAUTION, AdjustedChange, LEAST_MOISTURE_RANGE_PCT, LEAST_VISITS_FOR_MOISTURE,
    MoistureFit, MoistureVisit, moisture_fit,
};
pub use paired::{ChangeCounts, EffectiveMean, Groups, PairedChange, paired_change};
pub use pairs::{
    MatchedBy, NAMED_WITHIN_SPACINGS, PLACED_WITHIN_M, Pair, Pairs, PairsWithin, pair_spots,
};
pub use reading_change::ReadingChange;
pub use rhythm::Rhythm;
pub use stage_date::{NoStageDate, StageDate, stage_date};
pub use transitions::{Transitions, spot_transitions, transitions};
pub use trend::{
    ClassGround, LogRankTest, MedianChange, Trend, TrendSettings, VisitFigures, trend,
};
pub use trend_median::{MedianInterval, median_interval};
pub use trend_rank::{FEWEST_VISITS_OF_RANKS, RankCorrelations, RankedVisit, rank_correlations};
pub use trend_shares::ShareShallower;
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
pub use visit_dates::{VisitGap, gaps, next_due};
pub use weather::{Weather, WeatherDay};
