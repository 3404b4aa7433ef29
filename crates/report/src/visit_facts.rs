//! What is said of a visit wherever a figure of it stands: when, how many probes, how moist.

use survey::{CheckedSurvey, Date, Moisture};

/// A visit as a page names it.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitFacts {
    /// What it is called where its days are not known: its file for instance. Shortened where it does
    /// not fit.
    pub name: String,
    /// Its first and last day.
    pub days: Option<(Date, Date)>,
    /// How many spots have a reading.
    pub probes: usize,
    /// Soil moisture, `None` where it was not recorded.
    pub moisture: Option<Moisture>,
}

impl VisitFacts {
    /// Of a survey.
    pub fn of(name: &str, survey: &CheckedSurvey) -> Self {
        VisitFacts {
            name: name.into(),
            days: survey.dates(),
            probes: survey.spots().len(),
            moisture: survey.moisture(),
        }
    }
}
