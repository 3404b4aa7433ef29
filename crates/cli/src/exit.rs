//! Exit codes. The README has the same table.

use std::error::Error;
use std::process::ExitCode;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// All done, and every reading was used as it stands in the file.
    Done = 0,
    /// Nothing done: unusable input or settings, or a result that cannot be written.
    Failed = 1,
    /// A wrong argument; nearly all of them clap finds before any command runs.
    WrongArguments = 2,
    /// All done, but some readings were left out or changed: the findings say which.
    Findings = 3,
}

impl Exit {
    /// The graver of two ends of parts of a command that both succeeded.
    pub fn or(self, other: Exit) -> Exit {
        match self {
            Exit::Done => other,
            _ => self,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        ExitCode::from(exit as u8)
    }
}

/// Arguments that do not go together, or one that is missing, which clap cannot know.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct WrongArguments(pub String);

impl Exit {
    /// How a command ends that failed.
    pub fn of_error(error: &(dyn Error + 'static)) -> Exit {
        match error.is::<WrongArguments>() {
            true => Exit::WrongArguments,
            false => Exit::Failed,
        }
    }
}
