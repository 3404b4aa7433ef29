//! What can go wrong.

use std::path::PathBuf;

use thiserror::Error;

/// Why a command stopped.
#[derive(Debug, Error)]
pub enum XtaskError {
    /// Not run by cargo.
    #[error("no workspace found; start this with `cargo xtask`")]
    NoWorkspace,
    /// Arguments that mean nothing.
    #[error("arguments not understood; there may be: {wanted}")]
    Arguments {
        /// What may be typed.
        wanted: &'static str,
    },
    /// One of the checks failed.
    #[error("check `{name}` failed; to repeat it: {repeat}")]
    Check {
        /// Its name.
        name: String,
        /// What to type.
        repeat: String,
        /// Why.
        source: Box<XtaskError>,
    },
    /// A program cannot be started.
    #[error("cannot start {command}")]
    NotStarted {
        /// The program with its arguments.
        command: String,
        /// Why.
        source: std::io::Error,
    },
    /// A program ended badly.
    #[error("{command} ended with {status}")]
    Ended {
        /// The program with its arguments.
        command: String,
        /// Its exit code or signal.
        status: std::process::ExitStatus,
    },
    /// A file cannot be read or written.
    #[error("{path}", path = .path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// Programs are missing and cannot be installed from here.
    #[error("missing programs; install {packages} (names of Debian's packages) and try again")]
    Missing {
        /// The packages.
        packages: String,
    },
    /// No test of the browser has this name.
    #[error("no such test; there are: {tests}")]
    NoBrowserTest {
        /// All there are.
        tests: String,
    },
    /// The kept maps are not those the program makes.
    #[error(
        "{count} files of maps/ are not what the program makes; if that is meant: cargo xtask maps"
    )]
    MapsDiffer {
        /// How many.
        count: usize,
    },
}
