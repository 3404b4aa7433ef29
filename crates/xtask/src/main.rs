//! Commands for developers: `cargo xtask <command>`.

#![expect(clippy::print_stderr, reason = "a command for the terminal says what it does")]

mod bench_peers;
mod browser;
mod checks;
mod compare;
mod demo;
mod error;
mod examples;
mod fuzz;
mod maps;
mod node;
mod readers;
mod reference;
mod setup;
mod venv;
mod workspace;

use std::process::ExitCode;

use Run::{Alone, With};
use error::XtaskError;
use workspace::Workspace;

/// One command.
struct Task {
    /// What is typed, without `cargo xtask`.
    typed: &'static str,
    /// What it does.
    does: &'static str,
    run: Run,
}

enum Run {
    Alone(fn(&Workspace) -> Result<(), XtaskError>),
    /// It takes arguments after its name.
    With(fn(&Workspace, &[String]) -> Result<(), XtaskError>),
}

impl Task {
    /// Does it if it is the one that was typed.
    fn run_if_typed(&self, typed: &[String]) -> Option<Result<(), XtaskError>> {
        match self.run {
            Alone(run) if self.typed == typed.join(" ") => {
                Some(Workspace::find().and_then(|workspace| run(&workspace)))
            }
            With(run) if typed.first().is_some_and(|name| name == self.typed) => {
                Some(Workspace::find().and_then(|workspace| run(&workspace, &typed[1..])))
            }
            _ => None,
        }
    }
}

const TASKS: [Task; 10] = [
    Task { typed: "demo", does: "map the demo field into target/demo", run: Alone(demo::demo) },
    Task {
        typed: "test",
        does: "everything continuous integration runs",
        run: Alone(checks::check_everything),
    },
    Task { typed: "maps", does: "make maps/ anew from demo-data/", run: Alone(maps::rebuild) },
    Task {
        typed: "maps --check",
        does: "make the maps in target/ and compare them with maps/, byte for byte",
        run: Alone(maps::check),
    },
    Task {
        typed: "readers",
        does: "open maps/ and a survey with readers that are not ours",
        run: Alone(readers::read_results),
    },
    Task {
        typed: "browser",
        does: "open what people look at in Chromium; names of tests may follow",
        run: With(browser::test_some_pages),
    },
    Task {
        typed: "fuzz",
        does: "feed the readers with damaged files for half a minute",
        run: Alone(fuzz::feed_readers),
    },
    Task {
        typed: "reference",
        does: "hold results against other programs' in ../shared/reference, or in a folder given",
        run: With(reference::check),
    },
    Task {
        typed: "bench-peers",
        does: "our speed, memory and values beside other programs' (--only idw, kriging or memory)",
        run: With(bench_peers::compare),
    },
    Task {
        typed: "setup",
        does: "install the programs that a build and the checks need",
        run: Alone(setup::install_missing),
    },
];

fn main() -> ExitCode {
    let typed: Vec<String> = std::env::args().skip(1).collect();
    let Some(result) = TASKS.iter().find_map(|task| task.run_if_typed(&typed)) else {
        print_usage();
        return ExitCode::from(2);
    };
    match result {
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
