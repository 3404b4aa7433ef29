//! The command `loosedepth`: from probe readings to a map of the loose-layer depth.

mod args;
mod border_words;
mod calendar_table;
mod change_picture;
mod commands;
mod compare_table;
mod config;
mod exit;
mod field_folder;
mod inspect_text;
mod pages;
mod plan_table;
mod profile_csv;
mod profile_table;
mod profiles;
mod season_table;
mod season_words;
mod settings;
mod table;
mod terminal;
mod visits;
mod words;
mod zone_table;
mod zone_words;

use clap::Parser;

use args::{Cli, Command};
use exit::Exit;

fn main() -> std::process::ExitCode {
    let result = match Cli::parse().command {
        Command::Check(args) => commands::check::run(args),
        Command::Map(args) => commands::map::run(args),
        Command::Raster(args) => commands::raster::run(args),
        Command::Profile(args) => commands::profile::run(args),
        Command::Plan(args) => commands::plan::run(args),
        Command::Compare(args) => commands::compare::run(&args),
        Command::Clean(args) => commands::clean::run(args),
        Command::Calendar(args) => commands::calendar::run(&args),
        Command::Inspect(args) => commands::inspect::run(&args),
        Command::Season(args) => commands::season::run(&args),
    };
    let exit = result.unwrap_or_else(|error| {
        terminal::print_error(&*error);
        Exit::of_error(&*error)
    });
    exit.into()
}
