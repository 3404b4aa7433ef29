//! A survey that has been checked and lies in the field's plane: what a map is made from.

use jiff::civil::Date;

use crate::boundary::Field;
use crate::censored::Combined;
use crate::finding::{Finding, Severity};
use crate::insertion::Insertion;
use crate::position::EastNorth;
use crate::threshold::Threshold;
use crate::units::Depth;

/// A checked survey. Only [`check`](crate::check) makes one: every spot is in or at the edge of
/// the field, no two spots are at one place, and all readings are of one threshold and one visit.
#[derive(Debug, Clone)]
pub struct CheckedSurvey {
    pub(crate) name: Option<String>,
    pub(crate) field: Field,
    pub(crate) spots: Vec<Spot>,
    pub(crate) without_reading: Vec<(EastNorth, NoReading)>,
    pub(crate) spacing_m: f64,
    pub(crate) threshold: Threshold,
    pub(crate) sustained: Depth,
    pub(crate) dates: Option<(Date, Date)>,
    pub(crate) moisture: Option<Moisture>,
    pub(crate) kept: Vec<Insertion>,
    pub(crate) features: usize,
    pub(crate) findings: Vec<Finding>,
}

/// One place in the field with its reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Spot {
    /// The probe point's name in the file, or its record's number.
    pub id: String,
    /// The record's place in the file, of several the first.
    pub number: usize,
    /// Where it is.
    pub position: EastNorth,
    /// What was read there; the median where the rod went in more than once.
    pub reading: Reading,
    /// The insertions that the reading stands for: how many, and their spread.
    pub combined: Combined,
}

/// A reading of the loose-layer depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reading {
    /// The threshold was first reached at this depth.
    Reached(Depth),
    /// The threshold was not reached down to this depth; the loose layer is at least as deep.
    NotReached {
        /// How deep the rod went.
        probed_to: Depth,
    },
}

impl Reading {
    /// Whether the threshold was not reached.
    pub fn is_not_reached(self) -> bool {
        matches!(self, Reading::NotReached { .. })
    }

    /// The depth that is certain: the depth read, or the depth probed where the threshold was not
    /// reached. The one place where a censored reading becomes a number.
    pub fn at_least(self) -> Depth {
        match self {
            Reading::Reached(depth) | Reading::NotReached { probed_to: depth } => depth,
        }
    }
}

/// Why a probe point has no reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoReading {
    /// A stone or root stopped the rod.
    Refused,
    /// The spot was passed over.
    Skipped,
}

/// Soil moisture of a visit, percent as the file gives it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moisture {
    /// Mean over the spots that record it.
    pub mean_pct: f64,
    /// Lowest.
    pub min_pct: f64,
    /// Highest.
    pub max_pct: f64,
    /// How many insertions record it.
    pub insertions: usize,
}

impl CheckedSurvey {
    /// The name the survey file gives itself.
    pub fn name(&self) -> Option<&str> {
        self.name.as_deref()
    }

    /// The field.
    pub fn field(&self) -> &Field {
        &self.field
    }

    /// The spots with a reading, in file order; at least three.
    pub fn spots(&self) -> &[Spot] {
        &self.spots
    }

    /// Places without a reading, in file order.
    pub fn without_reading(&self) -> &[(EastNorth, NoReading)] {
        &self.without_reading
    }

    /// How many places are without a reading for one reason.
    pub fn count_without(&self, why: NoReading) -> usize {
        self.without_reading.iter().filter(|(_, reason)| *reason == why).count()
    }

    /// How many spots did not reach the threshold.
    pub fn not_reached(&self) -> usize {
        self.spots.iter().filter(|spot| spot.reading.is_not_reached()).count()
    }

    /// Mean of the readings, "not reached" as its lower bound.
    pub fn mean_at_least(&self) -> Depth {
        let sum_m: f64 = self.spots.iter().map(|spot| spot.reading.at_least().m()).sum();
        Depth::from_m(sum_m / self.spots.len() as f64)
    }

    /// Typical spacing of the spots, metres: see
    /// [`typical_spacing_m`](crate::spacing::typical_spacing_m).
    pub fn spacing_m(&self) -> f64 {
        self.spacing_m
    }

    /// The threshold all depths were read at.
    pub fn threshold(&self) -> &Threshold {
        &self.threshold
    }

    /// Length that a profile must stay at or above the threshold for, to have reached it.
    pub fn sustained(&self) -> Depth {
        self.sustained
    }

    /// First and last day of the visit, where the file says them.
    pub fn dates(&self) -> Option<(Date, Date)> {
        self.dates
    }

    /// Soil moisture, where the file says it.
    pub fn moisture(&self) -> Option<Moisture> {
        self.moisture
    }

    /// The insertions that the spots and the places without a reading come from, in file order.
    pub fn kept(&self) -> &[Insertion] {
        &self.kept
    }

    /// How many records the survey file has.
    pub fn features(&self) -> usize {
        self.features
    }

    /// Everything found, faults and notes, by feature.
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// Whether a reading was left out or changed.
    pub fn has_faults(&self) -> bool {
        self.count_findings(Severity::Fault) > 0
    }

    /// How many findings are at least so grave.
    pub fn count_findings(&self, at_least: Severity) -> usize {
        self.findings.iter().filter(|finding| finding.severity >= at_least).count()
    }
}
