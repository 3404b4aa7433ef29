//! Holds results against those of other programs and prints how far they are apart.
//!
//! ```text
//! reference FOLDER
//! ```
//!
//! FOLDER has `vendorable/` and `local-only/` with tables and results in JSON. Where it is missing, the
//! copies in `tests/reference` are taken. Ends with 1 when a result is too far off.

#![expect(clippy::print_stdout, reason = "an example prints its result")]
#![expect(clippy::unwrap_used, reason = "a damaged reference file may stop it")]

#[path = "../../tests/agreement/mod.rs"]
mod agreement;
mod gdal_grid;

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use agreement::{Check, Set, checks};

/// The tests' own copies.
const COPIES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference");

/// Files that have nothing to do with interpolation, or with no results of their own.
const NOT_HERE: [(&str, &str); 7] = [
    ("class_breaks", "classes are not interpolation"),
    ("crosscheck", "a summary of the other files"),
    ("demo_field_a", "the whole program: tests of the command line"),
    ("projection", "tests of the crate survey"),
    ("season_", "seasons are not interpolation"),
    ("variogram_fit_optimum", "read together with the file of each set"),
    ("zoning_", "zones are not interpolation"),
];

fn main() -> ExitCode {
    let folder = std::env::args().nth(1).map(PathBuf::from);
    let folders: Vec<PathBuf> = match folder.filter(|folder| folder.is_dir()) {
        Some(folder) => ["vendorable", "local-only"].map(|part| folder.join(part)).to_vec(),
        None => {
            println!("no folder of reference results: only the tests' copies are checked");
            vec![PathBuf::from(COPIES)]
        }
    };
    let folders: Vec<PathBuf> = folders.into_iter().filter(|folder| folder.is_dir()).collect();
    println!(
        "{:26}{:46}{:>9}{:>7}{:>10}{:>8}",
        "file", "results", "compared", "tied", "apart", "limit"
    );
    let files: Vec<PathBuf> = folders.iter().flat_map(|folder| json_files(folder)).collect();
    let failed: usize = files.iter().map(|file| check_file(file)).sum();
    match failed {
        0 => println!("everything agrees"),
        count => println!("{count} results too far off"),
    }
    ExitCode::from(u8::from(failed > 0 || files.is_empty()))
}

fn json_files(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let mut files: Vec<PathBuf> =
        entries.filter(|path| path.extension() == Some(OsStr::new("json"))).collect();
    files.sort();
    files
}

/// Prints a line for each kind of result, and says how many are too far off.
fn check_file(file: &Path) -> usize {
    let name = file.file_name().unwrap().to_str().unwrap();
    let checks = match (name.strip_suffix(".gstat.json"), name) {
        (Some(_), _) => checks(&Set::read(file)),
        (_, "gdal_grid.json") => gdal_grid::checks(file),
        _ => {
            let reason = NOT_HERE.iter().find(|(start, _)| name.starts_with(start));
            println!("{name:26}not checked here: {}", reason.map_or("unknown", |(_, why)| why));
            return 0;
        }
    };
    checks.iter().filter(|check| !print(name, check)).count()
}

fn print(name: &str, check: &Check) -> bool {
    let name = name.strip_suffix(".json").unwrap_or(name);
    let name = name.strip_suffix(".gstat").unwrap_or(name);
    println!(
        "{name:26}{:46}{:9}{:7}{:10.1e}{:8.0e} {}",
        check.what,
        check.compared,
        check.tied,
        check.largest,
        check.limit,
        if check.passes() { "agrees" } else { "FAILS" }
    );
    if !check.passes() {
        println!("    {}", check.at);
    }
    check.passes()
}
