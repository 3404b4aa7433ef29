//! Findings: what is odd or wrong in the data, collected for the user, never printed by a library.

use std::fmt;

/// One thing found in a survey or a boundary, and what was done about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// What it is about.
    pub subject: Subject,
    /// Whether data were lost or changed.
    pub severity: Severity,
    /// What is wrong, lower case, no full stop.
    pub problem: String,
    /// What was done about it, lower case, no full stop.
    pub done: String,
}

/// What a finding is about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// The survey as a whole.
    Survey,
    /// One record of the survey.
    Record {
        /// What the file calls its records.
        kind: RecordKind,
        /// Its place in the file, the first is 1; of lines, the line's number.
        number: usize,
        /// The name the file gives it.
        id: Option<String>,
    },
    /// The boundary.
    Boundary,
}

/// What a file's records are called.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum RecordKind {
    /// Features of GeoJSON.
    #[default]
    Feature,
    /// Lines of a table of text.
    Line,
    /// Waypoints of GPX.
    Waypoint,
    /// Shapes of a shapefile.
    Shape,
}

impl RecordKind {
    /// The word: `feature`, `line`, `waypoint`, `shape`.
    pub fn name(self) -> &'static str {
        match self {
            RecordKind::Feature => "feature",
            RecordKind::Line => "line",
            RecordKind::Waypoint => "waypoint",
            RecordKind::Shape => "shape",
        }
    }
}

/// How much a finding weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing; every reading is used as it stands in the file.
    Note,
    /// A reading may be wrong; it is used as it stands.
    Doubt,
    /// A reading was left out or changed.
    Fault,
}

impl Finding {
    /// Something worth knowing about the whole survey.
    pub fn note(problem: impl Into<String>, done: impl Into<String>) -> Self {
        Finding {
            subject: Subject::Survey,
            severity: Severity::Note,
            problem: problem.into(),
            done: done.into(),
        }
    }

    /// Something about the whole survey that may be wrong.
    pub fn doubt(problem: impl Into<String>, done: impl Into<String>) -> Self {
        Finding { severity: Severity::Doubt, ..Finding::note(problem, done) }
    }

    /// A fault in one record.
    pub fn fault(
        (kind, number): (RecordKind, usize),
        id: Option<&str>,
        problem: impl Into<String>,
        done: impl Into<String>,
    ) -> Self {
        Finding {
            subject: Subject::Record { kind, number, id: id.map(Into::into) },
            severity: Severity::Fault,
            problem: problem.into(),
            done: done.into(),
        }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match &self.subject {
            Subject::Survey => f.write_str("survey")?,
            Subject::Record { kind, number, id: Some(id) } => {
                write!(f, "point {id}, {} {number}", kind.name())?;
            }
            Subject::Record { kind, number, id: None } => write!(f, "{} {number}", kind.name())?,
            Subject::Boundary => f.write_str("boundary")?,
        }
        write!(f, ": {}; {}", self.problem, self.done)
    }
}
