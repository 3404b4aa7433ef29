//! Several visits of one field: what changed between two, how the season went, when to go again, and
//! whether a treatment worked.
//!
//! Visits of one field lie on one grid, which depends on the boundary alone. A change is later minus
//! earlier: below 0 the loose layer became thinner. Bulk values are centimetres, areas true areas on the
//! ground; nothing here knows of files or pictures. Water moves cone index more than density does, so no
//! change is told without the moisture of both visits: see [`MoistureMatch`].

mod falls;
mod moisture;
mod reading_change;
#[cfg(test)]
mod test_visits;
mod trend;
mod trend_median;
mod trend_rank;
mod trend_shares;
#[cfg(test)]
mod trend_tests;
mod visit;
mod visit_dates;

pub use falls::{Falls, SpotChange, SpotHistory, SpotSeries};
pub use moisture::{MoistureMatch, USUAL_MOISTURE_WITHIN_PCT};
pub use reading_change::ReadingChange;
pub use trend::{
    ClassGround, LogRankTest, MedianChange, Trend, TrendSettings, VisitFigures, trend,
};
pub use trend_median::{MedianInterval, median_interval};
pub use trend_rank::{FEWEST_VISITS_OF_RANKS, RankCorrelations, RankedVisit, rank_correlations};
pub use trend_shares::ShareShallower;
pub use visit::Visit;
pub use visit_dates::{Gap, USUAL_DAYS_BETWEEN, gaps, next_due};
