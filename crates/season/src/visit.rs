//! One visit of a field.

use mapping::DepthMap;
use survey::{CheckedSurvey, Date};

/// One visit of a field: what was read and its map. Visits that are compared share one field and grid.
#[derive(Debug, Clone)]
pub struct Visit {
    /// What it is called: its first day, or its file where the day is not known.
    pub name: String,
    /// The readings.
    pub survey: CheckedSurvey,
    /// The map of them.
    pub map: DepthMap,
}

impl Visit {
    /// Its first day, where the file says it.
    pub fn day(&self) -> Option<Date> {
        self.survey.dates().map(|(first, _)| first)
    }
}
