//! The workspace's folder, and programs started in it.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::error::XtaskError;

/// The folder that everything is relative to.
pub struct Workspace {
    root: PathBuf,
}

impl Workspace {
    /// Finds it from where cargo says this crate lies.
    pub fn find() -> Result<Self, XtaskError> {
        let crate_folder = std::env::var_os("CARGO_MANIFEST_DIR").ok_or(XtaskError::NoWorkspace)?;
        let root = Path::new(&crate_folder).ancestors().nth(2);
        let root = root.ok_or(XtaskError::NoWorkspace)?.to_path_buf();
        Ok(Workspace { root })
    }

    /// A file or folder of the workspace.
    pub fn path(&self, relative: &str) -> PathBuf {
        self.root.join(relative)
    }

    /// A program, to be started in the workspace's folder.
    pub fn program(&self, name: impl AsRef<OsStr>) -> Command {
        let mut command = Command::new(name);
        command.current_dir(&self.root);
        command
    }

    /// Cargo with arguments as they are typed, separated by blanks.
    pub fn cargo(&self, arguments: &str) -> Command {
        let mut command = self.program("cargo");
        command.args(arguments.split_whitespace());
        command
    }
}

/// Runs a program to its end, its output visible.
pub fn run(command: &mut Command) -> Result<(), XtaskError> {
    run_accepting(command, &[0])
}

/// The same, where other exit codes than 0 are also fine.
pub fn run_accepting(command: &mut Command, codes: &[i32]) -> Result<(), XtaskError> {
    let shown = shown(command);
    match command.status() {
        Ok(status) if status.code().is_some_and(|code| codes.contains(&code)) => Ok(()),
        Ok(status) => Err(XtaskError::Ended { command: shown, status }),
        Err(source) => Err(XtaskError::NotStarted { command: shown, source }),
    }
}

/// A program with its arguments, as it could be typed.
pub fn shown(command: &Command) -> String {
    let words = std::iter::once(command.get_program()).chain(command.get_args());
    let shown = |word: &OsStr| {
        let word = word.to_string_lossy();
        match word.is_empty() || word.contains([' ', '"', '\'', '$', '*', ';']) {
            true => format!("'{}'", word.replace('\'', r"'\''")),
            false => word.into_owned(),
        }
    };
    words.map(shown).collect::<Vec<_>>().join(" ")
}

/// Reads a text file.
pub fn read_text(path: &Path) -> Result<String, XtaskError> {
    fs::read_to_string(path).map_err(at(path))
}

/// An error about a file.
pub fn at(path: &Path) -> impl FnOnce(std::io::Error) -> XtaskError {
    let path = path.to_path_buf();
    |source| XtaskError::File { path, source }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shown_command_can_be_typed() {
        let mut command = Command::new("cargo");
        command.args(["run", "--title", "North Bench", "it's"]);
        assert_eq!(shown(&command), r"cargo run --title 'North Bench' 'it'\''s'");
    }

    #[test]
    fn an_unwanted_exit_code_is_an_error() {
        let ends_with_3 = || {
            let mut command = Command::new("sh");
            command.args(["-c", "exit 3"]);
            command
        };
        assert!(run_accepting(&mut ends_with_3(), &[0, 3]).is_ok());
        let error = run(&mut ends_with_3()).unwrap_err();
        assert!(error.to_string().contains("'exit 3' ended with exit status: 3"));
    }
}
