//! What the program says on the terminal: results to standard output, talk to standard error.

#![expect(clippy::print_stderr, reason = "this is the one place that prints")]

use std::cell::RefCell;
use std::error::Error;
use std::io::{ErrorKind, IsTerminal, Write};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};

use survey::{Finding, Severity};

/// What a command said.
#[derive(Debug, Default)]
pub struct Said {
    /// Its results.
    pub out: String,
    /// Its talk.
    pub err: String,
}

thread_local! {
    /// Where this thread's words go, while they are kept from the terminal.
    static HEARD: RefCell<Option<Said>> = const { RefCell::new(None) };
}

/// Does some work with what it says given back instead of printed.
pub fn heard<T>(work: impl FnOnce() -> T) -> (T, Said) {
    let before = HEARD.replace(Some(Said::default()));
    let done = work();
    (done, HEARD.replace(before).unwrap_or_default())
}

/// A line of talk.
fn say(line: &str) {
    let is_heard = HEARD.with_borrow_mut(|heard| {
        heard.as_mut().map(|said| said.err += &format!("{line}\n")).is_some()
    });
    if !is_heard {
        wipe_progress();
        eprintln!("{line}");
    }
}

/// An error and what caused it, in words, the outermost first, each text as `named` makes it.
pub fn error_lines(error: &dyn Error, named: impl Fn(&str) -> String) -> Vec<String> {
    let mut lines = vec![shown(&named(&error.to_string()))];
    let mut cause = error.source();
    while let Some(error) = cause {
        lines.push(shown(&named(&error.to_string())));
        cause = error.source();
    }
    lines
}

/// Prints an error and what caused it, each text as `named` makes it.
pub fn print_error(error: &dyn Error, named: impl Fn(&str) -> String) {
    let mut start = "error: ";
    for line in error_lines(error, named) {
        say(&format!("{start}{line}"));
        start = "  because: ";
    }
}

/// The environment variable that has progress told in lines for a program, not for a person.
pub const PROGRESS: &str = "LOOSEDEPTH_PROGRESS";

/// Whether a line of progress stands on the terminal.
static HAS_PROGRESS: AtomicBool = AtomicBool::new(false);

/// Says which of how many steps is being done: on a terminal in one line that goes again, to a program that
/// asked for it as `progress 3 12 map of 2025-05-09`, else not at all.
pub fn print_progress(step: usize, of: usize, doing: &str) {
    let doing = one_line(doing);
    if HEARD.with_borrow(Option::is_some) {
        return;
    }
    if std::env::var_os(PROGRESS).is_some() {
        eprintln!("progress {step} {of} {doing}");
    } else if std::io::stderr().is_terminal() {
        HAS_PROGRESS.store(true, Ordering::Relaxed);
        let line: String = format!("{step} of {of}: {doing}").chars().take(78).collect();
        eprint!("\r\x1b[K{line}");
    }
}

/// Takes the line of progress off the terminal.
fn wipe_progress() {
    if HAS_PROGRESS.swap(false, Ordering::Relaxed) {
        eprint!("\r\x1b[K");
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
            say(&format!("{word}: {}", one_line(&format!("{start}{finding}"))));
        }
    }
}

/// Prints what a map has to say of itself.
pub fn print_notes(notes: &[String]) {
    for note in notes {
        say(&format!("note: {}", one_line(note)));
    }
}

/// Says which results of another run are still in a folder, beside those of this map or plan.
pub fn print_left_over(folder: &Path, this: &str, names: &[String]) {
    if !names.is_empty() {
        let (folder, names) = (folder.display(), names.join(", "));
        let note =
            format!("{folder} still holds results of another run, not of this {this}: {names}");
        say(&format!("note: {}", one_line(&note)));
    }
}

/// Prints a result. A reader that has gone away, as `head` does, is no error.
///
/// # Errors
/// When standard output cannot be written, on a full disk for instance.
pub fn print(text: &str) -> std::io::Result<()> {
    let is_heard = HEARD.with_borrow_mut(|heard| {
        heard.as_mut().map(|said| said.out += &format!("{}\n", shown(text))).is_some()
    });
    if is_heard {
        return Ok(());
    }
    wipe_progress();
    match writeln!(std::io::stdout(), "{}", shown(text)) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(error),
        _ => Ok(()),
    }
}

/// A text of our own lines, and in them names that others gave: only what stands for itself reaches the
/// terminal, nothing that controls it or turns the direction of text (Unicode Standard Annex 9, section 2).
pub fn shown(text: &str) -> String {
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
    fn what_is_heard_is_not_printed_and_stays_with_its_thread() {
        let ((), said) = heard(|| {
            print("one").unwrap();
            print_notes(&["two".into()]);
            let ((), within) = heard(|| print_notes(&["three".into()]));
            assert_eq!(within.err, "note: three\n");
        });
        assert_eq!((said.out.as_str(), said.err.as_str()), ("one\n", "note: two\n"));
    }

    #[test]
    fn names_of_others_do_not_control_the_terminal() {
        let hostile = "P\u{1b}[31m1\u{202e}\u{2066}\u{9b}2\tA\u{7}\u{200f}";
        assert_eq!(shown(&format!("{hostile}\nnext")), "P[31m12 A\nnext");
        assert_eq!(one_line("P1\nerror: all\r\nlost\u{2028}so"), "P1 error: all  lost so");
        assert_eq!(shown("≥ 12 in – Åker"), "≥ 12 in – Åker");
    }
}
