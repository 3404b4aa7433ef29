//! The page of a change: where the loose layer became thinner or deeper between two visits, and where
//! that is more than chance.

use geostat::Raster;
use survey::{Field, UnitSystem};

use crate::estimate::{Estimate, PairedSpot};
use crate::notice::Notice;
use crate::visit_facts::VisitFacts;

/// What a page of change shows. A change is later minus earlier: negative is thinner.
#[derive(Debug, Clone, Copy)]
pub struct ChangePage<'a> {
    /// Headline, the field's name for instance. Shortened where it does not fit.
    pub title: &'a str,
    /// The field of both visits.
    pub field: &'a Field,
    /// Units of the page.
    pub units: UnitSystem,
    /// The earlier and the later visit.
    pub visits: [&'a VisitFacts; 2],
    /// Whether the soil was equally moist: the first line.
    pub moisture: Notice<'a>,
    /// Later minus earlier depth, centimetres, NaN where one of them has no value.
    pub change_cm: &'a Raster,
    /// Half the width of the change's interval, centimetres, on the same grid: a smaller change is hatched
    /// and not coloured, one without a half-width too. `None` where nothing is known of it; then
    /// all of the change is coloured.
    pub half_width_cm: Option<&'a Raster>,
    /// How sure that interval is, 0 to 1: 0.95.
    pub confidence: f64,
    /// Limits between classes of change, centimetres, rising and the same on both sides of 0. A limit
    /// belongs to the class above.
    pub limits_cm: &'a [f64],
    /// True area on the ground of each class, one more than limits, without what lies within its
    /// uncertainty, square metres.
    pub class_areas_m2: &'a [f64],
    /// True area on the ground where the change lies within its uncertainty, square metres.
    pub within_m2: f64,
    /// True area on the ground without a change, square metres.
    pub unmapped_m2: f64,
    /// True area that surely became thinner and that surely became deeper, square metres.
    pub thinner_m2: f64,
    /// See [`ChangePage::thinner_m2`].
    pub deeper_m2: f64,
    /// Spots that both visits read.
    pub pairs: &'a [PairedSpot],
    /// Mean change of the pairs.
    pub paired: Option<Estimate>,
    /// From which depth class to which.
    pub transitions: Option<TransitionTable<'a>>,
    /// What it comes to, one sentence; may be empty.
    pub verdict: &'a str,
    /// Further sentences: tests, how it was made, what was left out. The most important first.
    pub notes: &'a [String],
}

/// Ground by the depth class that it had and the one it has.
#[derive(Debug, Clone, Copy)]
pub struct TransitionTable<'a> {
    /// The classes with their units, the shallowest first: `3–6 in`.
    pub class_names: &'a [String],
    /// True area on the ground, square metres: for each class of the earlier visit, those of the later.
    pub areas_m2: &'a [Vec<f64>],
}
