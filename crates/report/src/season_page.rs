//! The page of a season: how deep the loose layer was at each visit, how moist, and when to go again.

use survey::{Date, Field, Moisture, UnitSystem};

use crate::estimate::Between;
use crate::notice::Notice;

/// What a page of a season shows.
#[derive(Debug, Clone, Copy)]
pub struct SeasonPage<'a> {
    /// Headline, the field's name for instance. Shortened where it does not fit.
    pub title: &'a str,
    /// The field.
    pub field: &'a Field,
    /// Units of the page.
    pub units: UnitSystem,
    /// Whether the soil was equally moist over the season: the first line.
    pub moisture: Notice<'a>,
    /// The visits by day. None may be without a day.
    pub visits: &'a [SeasonVisit],
    /// Depth classes with their units, the shallowest first: `3–6 in`.
    pub class_names: &'a [String],
    /// What the shares of each visit are, with their units: `below 6 in`. No more than six are drawn.
    pub share_names: &'a [String],
    /// What the shares are of: `ground`, `probes`.
    pub shares_of: &'a str,
    /// Days that matter, shaded, with their words: the reproductive stage.
    pub window: Option<SeasonWindow<'a>>,
    /// When the crop was planted.
    pub planted: Option<Date>,
    /// A visit that is more days after the one before is late: 14.
    pub visit_within_days: u32,
    /// First and last day on which the next visit is due.
    pub next_due: Option<(Date, Date)>,
    /// What the table of spots is headed with: `Fell furthest since Apr 14, 2025`.
    pub falls_title: &'a str,
    /// Spots that fell furthest, the furthest first.
    pub falls: &'a [SpotFall],
    /// What it comes to, one sentence; may be empty.
    pub verdict: &'a str,
    /// Further sentences. The most important first.
    pub notes: &'a [String],
}

/// One visit of a season.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonVisit {
    /// Its first day.
    pub day: Date,
    /// How many spots have a reading.
    pub probes: usize,
    /// Lower quartile, median and upper quartile of the depths.
    pub quartiles: [SeasonDepth; 3],
    /// Soil moisture, `None` where it was not recorded.
    pub moisture: Option<Moisture>,
    /// A share from 0 to 1 for each of [`SeasonPage::share_names`]; NaN where it is not known.
    pub shares: Vec<f64>,
    /// True area on the ground of each depth class, square metres.
    pub class_areas_m2: Vec<f64>,
    /// True area on the ground without a value, square metres.
    pub unmapped_m2: f64,
    /// Days since the visit before, where they are more than [`SeasonPage::visit_within_days`].
    pub late_gap_days: Option<u32>,
}

/// A depth, or that it is deeper than so much.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeasonDepth {
    /// The depth, centimetres.
    pub depth_cm: f64,
    /// Whether it is no more than a lower bound: the threshold was not reached.
    pub is_at_least: bool,
}

/// Some days of a season.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SeasonWindow<'a> {
    /// First day.
    pub first: Date,
    /// Last day.
    pub last: Date,
    /// What they are.
    pub words: &'a str,
}

/// A spot whose loose layer became thinner.
#[derive(Debug, Clone, PartialEq)]
pub struct SpotFall {
    /// Its id.
    pub id: String,
    /// Its depth at the first visit that read it.
    pub first: SeasonDepth,
    /// Its depth at the last.
    pub last: SeasonDepth,
    /// Last minus first.
    pub change: Between,
}
