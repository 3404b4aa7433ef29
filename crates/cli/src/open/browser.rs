//! Shows an address in the user's browser.

use std::process::{Command, Stdio};

/// The program of this system that shows an address, and what it takes before it.
const OPENER: (&str, &[&str]) = if cfg!(target_os = "macos") {
    ("open", &[])
} else if cfg!(windows) {
    ("rundll32", &["url.dll,FileProtocolHandler"])
} else {
    ("xdg-open", &[])
};

/// Opens the browser.
///
/// # Errors
/// When there is no program for it; the text says what to do.
pub fn show(address: &str) -> Result<(), String> {
    let (program, before) = OPENER;
    let mut command = Command::new(program);
    command.args(before).arg(address);
    command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    let mut child = command
        .spawn()
        .map_err(|_| "no browser could be opened; open the address above in one".to_owned())?;
    // Taken off the system's list when it ends.
    std::thread::spawn(move || child.wait());
    Ok(())
}
