//! The maps of all visits of a season beside one another.

use mapping::DepthMap;
use survey::{CheckedSurvey, UnitSystem};

use crate::notice::Notice;
use crate::season_page::SeasonDepth;
use crate::visit_facts::VisitFacts;

/// What the pages of all visits show.
#[derive(Debug, Clone, Copy)]
pub struct VisitsPage<'a> {
    /// Headline, the field's name for instance. Shortened where it does not fit.
    pub title: &'a str,
    /// Units of the page.
    pub units: UnitSystem,
    /// Whether the soil was equally moist over the season: the first line.
    pub moisture: Notice<'a>,
    /// The visits by day: one field, one grid and the same depth classes. At least one.
    pub visits: &'a [VisitMap<'a>],
}

/// One visit with its map.
#[derive(Debug, Clone, Copy)]
pub struct VisitMap<'a> {
    /// When, how many probes, how moist.
    pub facts: &'a VisitFacts,
    /// The readings.
    pub survey: &'a CheckedSurvey,
    /// Their map.
    pub map: &'a DepthMap,
    /// Median of the depths.
    pub median: Option<SeasonDepth>,
}
