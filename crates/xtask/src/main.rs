//! Commands for developers: `cargo xtask <command>`.

#![expect(clippy::print_stderr, reason = "a command for the terminal says what it does")]

mod bench_peers;
mod checks;
mod compare;
mod demo;
mod error;
mod examples;
mod fuzz;
mod maps;
mod readers;
mod setup;
mod venv;
mod workspace;

use std::process::ExitCode;

use error::XtaskError;
use workspace::Workspace;

/// One command.
struct Task {
    /// What is typed, without `cargo xtask`.
    typed: &'static str,
    /// What it does.
    does: &'static str,
    run: fn(&Workspace) -> Result<(), XtaskError>,
}

const TASKS: [Task; 8] = [
    Task { typed: "demo", does: "map the demo field into target/demo", run: demo::demo },
    Task {
        typed: "test",
        does: "everything continuous integration runs",
        run: checks::check_everything,
    },
    Task { typed: "maps", does: "make maps/ anew from demo-data/", run: maps::rebuild },
    Task {
        typed: "maps --check",
        does: "make the maps in target/ and compare them with maps/, byte for byte",
        run: maps::check,
    },
    Task {
        typed: "readers",
        does: "open maps/ and a survey with readers that are not ours",
        run: readers::read_results,
    },
    Task {
        typed: "fuzz",
        does: "feed the readers with damaged files for half a minute",
        run: fuzz::feed_readers,
    },
    Task {
        typed: "bench-peers",
        does: "grid the same points with GDAL, SciPy and geostat",
        run: bench_peers::compare,
    },
    Task {
        typed: "setup",
        does: "install the programs that a build and the checks need",
        run: setup::install_missing,
    },
];

fn main() -> ExitCode {
    let typed = std::env::args().skip(1).collect::<Vec<_>>().join(" ");
    let Some(task) = TASKS.iter().find(|task| task.typed == typed) else {
        print_usage();
        return ExitCode::from(2);
    };
    match Workspace::find().and_then(|workspace| (task.run)(&workspace)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            print_error(&error);
            ExitCode::FAILURE
        }
    }
}

fn print_usage() {
    eprintln!("usage: cargo xtask <command>\n");
    for task in &TASKS {
        eprintln!("  {:<14}{}", task.typed, task.does);
    }
}

fn print_error(error: &dyn std::error::Error) {
    eprintln!("error: {error}");
    let mut cause = error.source();
    while let Some(error) = cause {
        eprintln!("  because: {error}");
        cause = error.source();
    }
}
