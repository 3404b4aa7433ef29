//! From a survey as read to a checked survey in the field's plane.
//!
//! One file per kind of check below; this one holds their order. What makes a reading unusable is
//! a fault and leaves it out; what is odd is a doubt and leaves it in; what is missing is a note.

mod believable;
mod completeness;
mod dial;
mod marks;
mod outliers;
mod place;
mod spots;
mod threshold;
mod visit;
mod walk;

use std::collections::BTreeMap;
use std::fmt;

use jiff::civil::Date;

use crate::boundary::{Boundary, Field};
use crate::checked::{CheckedSurvey, NoReading};
use crate::crs::Utm;
use crate::date_range::DateRange;
use crate::error::SurveyError;
use crate::finding::{Finding, RecordKind, Severity};
use crate::insertion::{Insertion, Survey};
use crate::position::EastNorth;
use crate::spacing::typical_spacing_m;
use crate::threshold::Threshold;
use crate::units::Depth;

/// The threshold of a survey that records none: about where roots begin to be hindered (Penn
/// State and Cornell extension publications on penetrometer use).
pub const DEFAULT_THRESHOLD_PSI: f64 = 200.0;

/// The fewest readings that a map is made from; fewer do not span any ground.
const FEWEST_READINGS: usize = 3;

/// How a survey is checked.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckSettings {
    /// Map readings of this threshold; `None` takes what the file says, 200 psi if it is silent.
    pub threshold: Option<Threshold>,
    /// Map readings of these days; `None` takes the file's only day.
    pub dates: Option<DateRange>,
    /// A reading so far outside the boundary still belongs to the field, metres: receivers and
    /// drawn boundaries are off by a few metres.
    pub edge_tolerance_m: f64,
    /// Insertions so close together are at one spot, metres.
    pub same_spot_m: f64,
    /// A profile reaches the threshold where it stays at or above it for at least this length, so
    /// that one stone does not count; zero takes the first crossing.
    pub sustained: Depth,
    /// Length of the rod: nothing can be read deeper. `None` where it is not known.
    pub rod: Option<Depth>,
}

impl Default for CheckSettings {
    fn default() -> Self {
        CheckSettings {
            threshold: None,
            dates: None,
            edge_tolerance_m: 5.0,
            same_spot_m: 0.5,
            sustained: Depth::from_m(0.0),
            rod: None,
        }
    }
}

/// Checks a survey and brings it into the field's plane.
///
/// Without a boundary the field is the convex hull of the readings, widened by half their typical
/// spacing. Several insertions at one spot become their Kaplan–Meier median. A fault in one record
/// becomes a [`Finding`] and the record is left out; the findings say so.
///
/// # Errors
/// When no map can be made: an unusable boundary, a survey elsewhere, several thresholds or dates
/// with none chosen, or fewer than three usable readings.
pub fn check(
    survey: &Survey,
    boundary: Option<&Boundary>,
    settings: &CheckSettings,
) -> Result<CheckedSurvey, SurveyError> {
    let mut checking = Checking { survey, findings: survey.findings.clone() };
    let believable = checking.believable(settings.rod);
    let of_visit = checking.of_visit(believable, settings.dates)?;
    let (chosen, threshold) = checking.of_threshold(of_visit, settings.threshold.as_ref())?;
    let given = boundary.map(Field::inside).transpose();
    let given = given.map_err(|error| SurveyError::Boundary(Box::new(error)))?;
    let utm = match &given {
        Some(field) => field.utm(),
        None => Utm::for_place(place::middle(&chosen))?,
    };
    let projected = checking.projected(utm, chosen);
    let placed = match &given {
        Some(field) => checking.inside(field, projected, settings.edge_tolerance_m)?,
        None => checking.together(projected),
    };
    let (spots, without_reading) = checking.spots(&placed, threshold.pressure(), settings);
    if spots.len() < FEWEST_READINGS {
        return Err(checking.too_few(spots.len(), &without_reading));
    }
    let positions: Vec<EastNorth> = spots.iter().map(|spot| spot.position).collect();
    let spacing_m = typical_spacing_m(&positions);
    let field = match given {
        Some(field) => field,
        None => checking.hull(utm, &positions, spacing_m)?,
    };
    let insertions: Vec<&Insertion> = placed.iter().map(|(insertion, _)| *insertion).collect();
    checking.doubt_marks(&insertions);
    checking.doubt_outliers(&spots, &insertions);
    checking.doubt_walk(&placed);
    checking.doubt_dial(&insertions);
    let moisture = checking.completeness(&insertions, &spots, spacing_m, &field);
    checking.findings.sort_by(|a, b| a.subject.cmp(&b.subject));
    Ok(CheckedSurvey {
        name: survey.name.clone(),
        field,
        spots,
        without_reading,
        spacing_m,
        threshold,
        sustained: settings.sustained,
        dates: first_and_last(&insertions),
        moisture,
        kept: insertions.into_iter().cloned().collect(),
        features: survey.features,
        findings: checking.findings,
    })
}

/// An insertion and its place in the plane.
type Placed<'a> = (&'a Insertion, EastNorth);

/// Checks in progress: the survey and what was found so far.
struct Checking<'a> {
    survey: &'a Survey,
    findings: Vec<Finding>,
}

impl Checking<'_> {
    fn about(
        &mut self,
        severity: Severity,
        insertion: &Insertion,
        problem: String,
        done: impl Into<String>,
    ) {
        let record = (self.survey.kind, insertion.number);
        let fault = Finding::fault(record, insertion.id.as_deref(), problem, done);
        self.findings.push(Finding { severity, ..fault });
    }

    fn leave_out(&mut self, insertion: &Insertion, problem: String) {
        self.about(Severity::Fault, insertion, problem, "left out");
    }

    /// Something odd about a record that stays in.
    fn doubt(&mut self, insertion: &Insertion, problem: String) {
        self.about(Severity::Doubt, insertion, problem, "used as it is; look again");
    }

    fn too_few(&self, usable: usize, without: &[(EastNorth, NoReading)]) -> SurveyError {
        let count = |why| without.iter().filter(|(_, reason)| *reason == why).count();
        let faults: Vec<&Finding> =
            self.findings.iter().filter(|f| f.severity == Severity::Fault).collect();
        SurveyError::TooFewReadings {
            usable,
            features: self.survey.features,
            refused: count(NoReading::Refused),
            skipped: count(NoReading::Skipped),
            left_out: faults.len(),
            first_finding: faults.first().map(ToString::to_string),
        }
    }
}

fn first_and_last(insertions: &[&Insertion]) -> Option<(Date, Date)> {
    let dates = || insertions.iter().filter_map(|insertion| insertion.date);
    Some((dates().min()?, dates().max()?))
}

fn name(kind: RecordKind, insertion: &Insertion) -> String {
    match &insertion.id {
        Some(id) => format!("point {id}"),
        None => format!("{} {}", kind.name(), insertion.number),
    }
}

fn list<T: fmt::Display>(counts: &BTreeMap<T, usize>) -> String {
    const SHOWN: usize = 6;
    let mut parts: Vec<String> =
        counts.iter().take(SHOWN).map(|(what, count)| format!("{count} of {what}")).collect();
    if counts.len() > SHOWN {
        parts.push(format!("and {} more", counts.len() - SHOWN));
    }
    parts.join(", ")
}
