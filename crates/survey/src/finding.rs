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
    /// One feature of the survey.
    Feature {
        /// Its place in the file, the first is 1.
        number: usize,
        /// The name the file gives it.
        id: Option<String>,
    },
    /// The boundary.
    Boundary,
}

/// How much a finding weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Severity {
    /// Worth knowing; every reading is used as it stands in the file.
    Note,
    /// A reading was left out, combined or changed.
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

    /// A fault in one feature (the first is 1).
    pub fn fault(
        number: usize,
        id: Option<&str>,
        problem: impl Into<String>,
        done: impl Into<String>,
    ) -> Self {
        Finding {
            subject: Subject::Feature { number, id: id.map(Into::into) },
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
            Subject::Feature { number, id: Some(id) } => write!(f, "point {id}, feature {number}")?,
            Subject::Feature { number, id: None } => write!(f, "feature {number}")?,
            Subject::Boundary => f.write_str("boundary")?,
        }
        write!(f, ": {}; {}", self.problem, self.done)
    }
}
