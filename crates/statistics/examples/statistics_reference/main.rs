//! Holds tests and measures against those of other programs and prints how far they are apart.
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

use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use agreement::check::Check;
use agreement::{Files, checks_of};
use serde_json::Value;

/// The tests' own copies.
const COPIES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference");

/// Files of results that this crate makes.
const RESULTS: [&str; 3] = ["season_R", "season_python", "demo_field_a"];

/// Sets that have nothing to do with this crate, and results within sets that it does not make.
const NOT_HERE: [(&str, &str); 4] = [
    ("jenks71", "breaks of classes are no test"),
    ("shapiro", "the test of Shapiro and Wilk is not made"),
    ("gls_mean", "the mean with least variance is not made"),
    ("kayad/H9_H10, H8_H9", "the file has no cells of these: their tables of classes alone"),
];

fn main() -> ExitCode {
    let folder = std::env::args().nth(1).map(PathBuf::from);
    let given = folder.filter(|folder| folder.is_dir());
    if given.is_none() {
        println!("no folder of reference results: only the tests' copies are checked");
    }
    let parts =
        given.iter().flat_map(|folder| ["local-only", "vendorable"].map(|p| folder.join(p)));
    // The copies come last; they have a few tables that the folder has not.
    let files = Files { folders: parts.chain([PathBuf::from(COPIES)]).collect() };
    println!(
        "{:26}{:46}{:>9}{:>7}{:>10}{:>8}",
        "set", "results", "compared", "tied", "apart", "limit"
    );
    let failed: usize = RESULTS.iter().map(|name| check_file(name, &files)).sum();
    let columbus = format!("{COPIES}/season_python.json");
    let failed = failed + check_set("season_python", "esda_columbus", Path::new(&columbus), &files);
    for (what, why) in NOT_HERE {
        println!("{what:26}not checked here: {why}");
    }
    match failed {
        0 => println!("everything agrees"),
        count => println!("{count} results too far off"),
    }
    ExitCode::from(u8::from(failed > 0))
}

/// Checks all sets of a file, and says how many results are too far off.
fn check_file(name: &str, files: &Files) -> usize {
    let file = format!("{name}.json");
    let path = files.path(&file).expect("the tests have a copy");
    let sets: Vec<String> = read(&path).as_object().unwrap().keys().cloned().collect();
    let sets = sets.iter().filter(|set| *set != "esda_columbus");
    sets.map(|set| check_set(name, set, &path, files)).sum()
}

fn check_set(name: &str, set: &str, path: &Path, files: &Files) -> usize {
    let expected = &read(path)[set];
    match checks_of(name, set, expected, files) {
        Some(checks) => checks.iter().filter(|check| !print(set, check)).count(),
        None if is_left_out(name, set) => 0,
        None => {
            println!("{set:26}is not known: it is to be checked, or named as not checked");
            1
        }
    }
}

/// The whole program is held against the other results of the demo field, in its own tests.
fn is_left_out(name: &str, set: &str) -> bool {
    let is_about = ["versions", "note"].contains(&set);
    is_about || name == "demo_field_a" || NOT_HERE.iter().any(|(left_out, _)| *left_out == set)
}

fn read(path: &Path) -> Value {
    serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap()
}

fn print(set: &str, check: &Check) -> bool {
    println!(
        "{:26}{:46}{:9}{:7}{:10.1e}{:8.0e} {}",
        set.chars().take(25).collect::<String>(),
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
