//! Several visits of one field: what changed between two, how the season went, when to go again, and
//! whether a treatment worked.
//!
//! Visits of one field lie on one grid, which depends on the boundary alone. A change is later minus
//! earlier: below 0 the loose layer became thinner. Bulk values are centimetres, areas true areas on the
//! ground; nothing here knows of files or pictures. Water moves cone index more than density does, so no
//! change is told without the moisture of both visits: see [`MoistureMatch`].

mod calendar;
pub mod calendar_words;
mod change;
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
mod visit;
mod visit_dates;
mod weather;

pub use calendar::{
    CalendarSettings, DAYS_WITHOUT_STAGE, DayReason, MOST_DAYS_AHEAD, MadeVisit, PlanEnd,
    PlannedVisit, SeasonSoFar, USUAL_SOAKING_RAIN_MM, VisitCalendar, plan_visits,
};
pub use change::{ChangeBasis, ChangeMap, change_map};
pub use crop_stage::{CORN, Crop, ObservedStage, Stage, StageDegrees};
pub use error::SeasonError;
pub use falls::{Falls, KnownAgain, SpotChange, SpotHistory, SpotSeries};
pub use growing_degrees::{
    DAYS_OF_MEAN, DegreeSource, DegreeSum, Gap, GrowingDegrees, MOST_FILLED_DAYS, NoDegrees,
    fahrenheit, growing_degrees,
};
pub use moisture::{MoistureMatch, USUAL_MOISTURE_WITHIN_PCT};
pub use moisture_fit::{
    AdjustedChange, LEAST_MOISTURE_RANGE_PCT, LEAST_VISITS_FOR_MOISTURE, MoistureFit,
    MoistureVisit, moisture_fit,
};
pub use pairs::{
    MatchedBy, NAMED_WITHIN_SPACINGS, PLACED_WITHIN_M, Pair, PairChange, Pairs, PairsWithin,
    pair_spots,
};
pub use rhythm::Rhythm;
pub use stage_date::{NoStageDate, StageDate, stage_date};
pub use transitions::{Transitions, spot_transitions, transitions};
pub use trend::{
    ClassGround, LogRankTest, MedianChange, Trend, TrendSettings, VisitFigures, trend,
};
pub use trend_median::{MedianInterval, median_interval};
pub use trend_rank::{FEWEST_VISITS_OF_RANKS, RankCorrelations, RankedVisit, rank_correlations};
pub use trend_shares::ShareShallower;
pub use visit::Visit;
pub use visit_dates::{VisitGap, gaps, next_due};
pub use weather::{Weather, WeatherDay};
