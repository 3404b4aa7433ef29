//! Results onto the disk, and the end of a command that another program may ask for: never while results are
//! being written, so that they are there whole or not at all.

use std::io::Read;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use formats::{FormatError, Output};

use crate::exit::Exit;
use crate::terminal;

/// Held while results are written.
static WRITING: Mutex<()> = Mutex::new(());

/// Writes files into a folder, as [`formats::write_files`] does; the program does not end meanwhile unless it is
/// killed.
///
/// # Errors
/// As that.
pub fn write_files(folder: &Path, files: &[Output], replace: bool) -> Result<(), FormatError> {
    let _held = WRITING.lock().unwrap_or_else(PoisonError::into_inner);
    formats::write_files(folder, files, replace)
}

/// Ends the program as soon as its standard input does, where another program follows its progress: so it
/// stops when it is asked to, and also when that other program is gone.
pub fn end_with_input() {
    if std::env::var_os(terminal::PROGRESS).is_none() {
        return;
    }
    std::thread::spawn(|| {
        let mut rest = [0; 64];
        let mut input = std::io::stdin();
        while input.read(&mut rest).is_ok_and(|count| count > 0) {}
        let _held = WRITING.lock().unwrap_or_else(PoisonError::into_inner);
        std::process::exit(Exit::Failed as i32);
    });
}
