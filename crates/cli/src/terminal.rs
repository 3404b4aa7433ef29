//! What the program says on the terminal: results to standard output, talk to standard error.

#![expect(clippy::print_stderr, reason = "this is the one place that prints")]

use std::error::Error;
use std::io::{ErrorKind, Write};
use std::path::Path;

use survey::{Finding, Severity};

/// Prints an error and what caused it, each text as `named` makes it.
pub fn print_error(error: &dyn Error, named: impl Fn(&str) -> String) {
    eprintln!("error: {}", shown(&named(&error.to_string())));
    let mut cause = error.source();
    while let Some(error) = cause {
        eprintln!("  because: {}", shown(&named(&error.to_string())));
        cause = error.source();
    }
}

/// Prints findings, the graver after the lighter, so that what matters more stands last.
pub fn print_findings(findings: &[Finding]) {
    print_findings_after("", findings);
}

/// The same where several files have findings: each says which file it is of.
pub fn print_findings_of(file: &str, findings: &[Finding]) {
    print_findings_after(&format!("{file}: "), findings);
}

fn print_findings_after(start: &str, findings: &[Finding]) {
    for (severity, word) in
        [(Severity::Note, "note"), (Severity::Doubt, "doubt"), (Severity::Fault, "fault")]
    {
        for finding in findings.iter().filter(|finding| finding.severity == severity) {
            eprintln!("{word}: {}", one_line(&format!("{start}{finding}")));
        }
    }
}

/// Prints what a map has to say of itself.
pub fn print_notes(notes: &[String]) {
    for note in notes {
        eprintln!("note: {}", one_line(note));
    }
}

/// Says which results of another run are still in a folder, beside those of this map or plan.
pub fn print_left_over(folder: &Path, this: &str, names: &[String]) {
    if !names.is_empty() {
        let (folder, names) = (folder.display(), names.join(", "));
        let note =
            format!("{folder} still holds results of another run, not of this {this}: {names}");
        eprintln!("note: {}", one_line(&note));
    }
}

/// Prints a result. A reader that has gone away, as `head` does, is no error.
///
/// # Errors
/// When standard output cannot be written, on a full disk for instance.
pub fn print(text: &str) -> std::io::Result<()> {
    match writeln!(std::io::stdout(), "{}", shown(text)) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(error),
        _ => Ok(()),
    }
}

/// A text of our own lines, and in them names that others gave: only what stands for itself reaches the
/// terminal, nothing that controls it or turns the direction of text (Unicode Standard Annex 9, section 2).
fn shown(text: &str) -> String {
    let turns = |c| matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let stays = |&c: &char| c == '\n' || !(c.is_control() || turns(c));
    text.chars().map(|c| if c == '\t' { ' ' } else { c }).filter(stays).collect()
}

/// A name or a finding: one line, so that no name looks like a line of ours.
pub fn one_line(text: &str) -> String {
    let blank =
        |c| if matches!(c, '\n' | '\r' | '\u{85}' | '\u{2028}' | '\u{2029}') { ' ' } else { c };
    shown(&text.chars().map(blank).collect::<String>())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_others_do_not_control_the_terminal() {
        let hostile = "P\u{1b}[31m1\u{202e}\u{2066}\u{9b}2\tA\u{7}\u{200f}";
        assert_eq!(shown(&format!("{hostile}\nnext")), "P[31m12 A\nnext");
        assert_eq!(one_line("P1\nerror: all\r\nlost\u{2028}so"), "P1 error: all  lost so");
        assert_eq!(shown("≥ 12 in – Åker"), "≥ 12 in – Åker");
    }
}
