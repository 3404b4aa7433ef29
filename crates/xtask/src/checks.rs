//! What continuous integration runs, in this order, up to the first check that fails.

use crate::error::XtaskError;
use crate::workspace::{Workspace, run};
use crate::{browser, examples, fuzz, maps, readers, setup};

/// One check.
struct Check {
    name: &'static str,
    /// What to type to run it alone.
    repeat: &'static str,
    run: Run,
}

/// How a check is run.
enum Run {
    /// As `repeat` says, through cargo.
    Cargo(&'static str),
    /// From here.
    Here(fn(&Workspace) -> Result<(), XtaskError>),
}

const CHECKS: [Check; 10] = [
    Check { name: "setup", repeat: "cargo xtask setup", run: Run::Here(setup::install_missing) },
    Check {
        name: "format",
        repeat: "cargo fmt --all --check",
        run: Run::Cargo("fmt --all --check"),
    },
    Check {
        name: "lints",
        repeat: "cargo clippy --workspace --all-targets -- -D warnings",
        run: Run::Cargo("clippy --workspace --all-targets -- -D warnings"),
    },
    Check { name: "tests", repeat: "cargo test --workspace", run: Run::Cargo("test --workspace") },
    Check { name: "fuzz", repeat: "cargo xtask fuzz", run: Run::Here(fuzz::feed_readers) },
    Check {
        name: "documentation",
        repeat: "RUSTDOCFLAGS='-D warnings' cargo doc --workspace --no-deps",
        run: Run::Here(document),
    },
    Check {
        name: "examples",
        repeat: "cargo run --package loosedepth --example NAME, with the last NAME above",
        run: Run::Here(examples::run_all),
    },
    Check { name: "kept maps", repeat: "cargo xtask maps --check", run: Run::Here(maps::check) },
    Check {
        name: "independent readers",
        repeat: "cargo xtask readers",
        run: Run::Here(readers::read_results),
    },
    Check { name: "browser", repeat: "cargo xtask browser", run: Run::Here(browser::test_pages) },
];

/// Runs all checks.
pub fn check_everything(workspace: &Workspace) -> Result<(), XtaskError> {
    for check in &CHECKS {
        eprintln!("== {}: {}", check.name, check.repeat);
        let result = match check.run {
            Run::Cargo(arguments) => run(&mut workspace.cargo(arguments)),
            Run::Here(check) => check(workspace),
        };
        result.map_err(|source| XtaskError::Check {
            name: check.name.into(),
            repeat: check.repeat.into(),
            source: Box::new(source),
        })?;
    }
    eprintln!("== all {} checks passed", CHECKS.len());
    Ok(())
}

fn document(workspace: &Workspace) -> Result<(), XtaskError> {
    let mut command = workspace.cargo("doc --workspace --no-deps");
    run(command.env("RUSTDOCFLAGS", "-D warnings"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_check_is_repeated_as_it_was_run() {
        for check in &CHECKS {
            if let Run::Cargo(arguments) = check.run {
                assert_eq!(check.repeat, format!("cargo {arguments}"));
            }
        }
    }
}
