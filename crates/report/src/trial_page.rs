//! The page of a trial: whether treated strips changed more than strips left alone.

use geo::MultiPolygon;
use survey::{Field, UnitSystem};

use crate::estimate::{Estimate, PairedSpot};
use crate::notice::Notice;
use crate::visit_facts::VisitFacts;

/// What a page of a trial shows.
#[derive(Debug, Clone, Copy)]
pub struct TrialPage<'a> {
    /// Headline, the field's name for instance. Shortened where it does not fit.
    pub title: &'a str,
    /// The field.
    pub field: &'a Field,
    /// Units of the page.
    pub units: UnitSystem,
    /// The visit before the treatment and the one after.
    pub visits: [&'a VisitFacts; 2],
    /// Whether the soil was equally moist; a warning is stamped over the verdict.
    pub moisture: Notice<'a>,
    /// What was done on the treated strips: `subsoiled`.
    pub treatment: &'a str,
    /// The strips.
    pub strips: &'a [TrialStrip<'a>],
    /// Spots that both visits read, in strips and elsewhere.
    pub pairs: &'a [PairedSpot],
    /// Change on treated ground minus change on checks.
    pub effect: Option<Estimate>,
    /// An effect that is smaller is not worth it, centimetres, where someone has said.
    pub matters_cm: Option<f64>,
    /// What it comes to, one sentence.
    pub verdict: &'a str,
    /// What would settle it: more strips, more probes, equal moisture. May be empty.
    pub to_settle: &'a [String],
    /// Further sentences: tests, how it was made. The most important first.
    pub notes: &'a [String],
}

/// One strip of a trial.
#[derive(Debug, Clone, Copy)]
pub struct TrialStrip<'a> {
    /// Its name on the map: `T1`, `C2`.
    pub name: &'a str,
    /// Whether it was left alone.
    pub is_check: bool,
    /// Its outline in the field's plane.
    pub polygons: &'a MultiPolygon,
    /// Mean of its probes' changes, centimetres, later minus earlier; NaN without any.
    pub mean_change_cm: f64,
    /// The changes themselves, centimetres; may be empty.
    pub changes_cm: &'a [f64],
    /// How many probes it has.
    pub probes: usize,
}
