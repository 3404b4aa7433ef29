//! What the program says on the terminal: results to standard output, talk to standard error.

#![expect(clippy::print_stderr, reason = "this is the one place that prints")]

use std::error::Error;
use std::io::{ErrorKind, Write};
use std::path::Path;

use survey::{Finding, Severity};

/// Prints an error and what caused it, each text as `named` makes it.
pub fn print_error(error: &dyn Error, named: impl Fn(&str) -> String) {
    eprintln!("error: {}", named(&error.to_string()));
    let mut cause = error.source();
    while let Some(error) = cause {
        eprintln!("  because: {}", named(&error.to_string()));
        cause = error.source();
    }
}

/// Prints findings, the graver after the lighter, so that what matters more stands last.
pub fn print_findings(findings: &[Finding]) {
    for (severity, word) in
        [(Severity::Note, "note"), (Severity::Doubt, "doubt"), (Severity::Fault, "fault")]
    {
        for finding in findings.iter().filter(|finding| finding.severity == severity) {
            eprintln!("{word}: {finding}");
        }
    }
}

/// Prints what a map has to say of itself.
pub fn print_notes(notes: &[String]) {
    for note in notes {
        eprintln!("note: {note}");
    }
}

/// Says which results of another run are still in a folder, beside those of this map or plan.
pub fn print_left_over(folder: &Path, this: &str, names: &[String]) {
    if !names.is_empty() {
        let (folder, names) = (folder.display(), names.join(", "));
        eprintln!("note: {folder} still holds results of another run, not of this {this}: {names}");
    }
}

/// Prints a result. A reader that has gone away, as `head` does, is no error.
///
/// # Errors
/// When standard output cannot be written, on a full disk for instance.
pub fn print(text: &str) -> std::io::Result<()> {
    match writeln!(std::io::stdout(), "{text}") {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(error),
        _ => Ok(()),
    }
}
