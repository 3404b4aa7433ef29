//! The programs that a build and the checks need, installed where they are missing.
//!
//! PROJ is built from source with cmake, a C++ compiler and make; it puts its data base together
//! with the program `sqlite3`. Python and Node.js run the readers that are not ours,
//! Chromium opens what people look at.

use std::path::Path;
use std::process::Command;

use crate::error::XtaskError;
use crate::workspace::{Workspace, run};

/// A program and the Debian package that brings it.
struct Needed {
    program: &'static str,
    package: &'static str,
}

const NEEDED: [Needed; 9] = [
    Needed { program: "cmake", package: "cmake" },
    Needed { program: "c++", package: "g++" },
    Needed { program: "make", package: "make" },
    Needed { program: "pkg-config", package: "pkg-config" },
    Needed { program: "sqlite3", package: "sqlite3" },
    Needed { program: "python3", package: "python3" },
    Needed { program: "node", package: "nodejs" },
    Needed { program: "npm", package: "npm" },
    Needed { program: "chromium", package: "chromium" },
];

/// Installs what is missing; says nothing when nothing is.
pub fn install_missing(workspace: &Workspace) -> Result<(), XtaskError> {
    let packages = missing_packages(is_there, python_makes_venvs());
    install(workspace, &packages)
}

/// Installs GDAL's programs and R's gstat where they are missing.
pub fn install_peers(workspace: &Workspace) -> Result<(), XtaskError> {
    let peers = [("gdal-bin", is_there("gdal_grid")), ("r-cran-gstat", has_gstat())];
    let missing = peers.into_iter().filter(|(_, is_there)| !is_there);
    let packages: Vec<&str> = missing.map(|(package, _)| package).collect();
    install(workspace, &packages)
}

fn missing_packages(is_there: impl Fn(&str) -> bool, venv: bool) -> Vec<&'static str> {
    let programs = NEEDED.iter().filter(|needed| !is_there(needed.program));
    let venv = (!venv).then_some("python3-venv");
    programs.map(|needed| needed.package).chain(venv).collect()
}

fn install(workspace: &Workspace, packages: &[&str]) -> Result<(), XtaskError> {
    if packages.is_empty() {
        return Ok(());
    }
    let can_install = is_there("apt-get") && (is_root() || is_there("sudo"));
    if !can_install {
        let packages = packages.join(" ");
        return Err(XtaskError::Missing { packages });
    }
    eprintln!("installing {}", packages.join(" "));
    run(apt_get(workspace).arg("update"))?;
    run(apt_get(workspace).args(["install", "-y", "--no-install-recommends"]).args(packages))
}

/// apt-get with the rights it needs, asking nothing.
fn apt_get(workspace: &Workspace) -> Command {
    let mut command = workspace.program(if is_root() { "env" } else { "sudo" });
    if !is_root() {
        command.arg("env");
    }
    command.args(["DEBIAN_FRONTEND=noninteractive", "apt-get", "--quiet"]);
    command
}

fn is_root() -> bool {
    let id = Command::new("id").arg("-u").output();
    id.is_ok_and(|output| output.stdout.trim_ascii() == b"0")
}

fn has_gstat() -> bool {
    let load = Command::new("Rscript").args(["--vanilla", "-e", "library(gstat)"]).output();
    load.is_ok_and(|output| output.status.success())
}

fn python_makes_venvs() -> bool {
    let import = Command::new("python3").args(["-c", "import venv, ensurepip"]).output();
    import.is_ok_and(|output| output.status.success())
}

/// Whether a program is on the search path.
fn is_there(program: &str) -> bool {
    let folders = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&folders).any(|folder| is_program(&folder.join(program)))
}

fn is_program(file: &Path) -> bool {
    use std::os::unix::fs::PermissionsExt;
    let data = std::fs::metadata(file);
    data.is_ok_and(|data| data.is_file() && data.permissions().mode() & 0o111 != 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_missing_is_installed() {
        assert!(missing_packages(|_| true, true).is_empty());
        let bare = missing_packages(|program| program == "make" || program == "python3", false);
        let expected =
            ["cmake", "g++", "pkg-config", "sqlite3", "nodejs", "npm", "chromium", "python3-venv"];
        assert_eq!(bare, expected);
    }

    #[test]
    fn a_program_is_found_on_the_search_path() {
        assert!(is_there("sh"));
        assert!(!is_there("no-such-program-anywhere"));
    }
}
