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
mod open;
mod own_command;
mod pages;
mod plan_table;
mod profile_csv;
mod profile_table;
mod profiles;
mod progress;
mod report_page;
mod season_table;
mod season_words;
mod settings;
mod spots_plan;
mod spots_record;
mod spots_table;
mod table;
mod terminal;
mod trial_picture;
mod trial_table;
mod unpacked;
mod visits;
mod words;
mod writing;
mod zone_table;
mod zone_words;

use std::error::Error;

use clap::Parser;

use args::{Cli, Command};
use exit::Exit;
use unpacked::Unpacked;

fn main() -> std::process::ExitCode {
    let mut command = Cli::parse().command;
    writing::end_with_input();
    let (result, named) = match Unpacked::of(&mut command) {
        Ok(unpacked) => (run(command), Some(unpacked)),
        Err(error) => (Err(error), None),
    };
    let named = |text: &str| named.as_ref().map_or(text.to_owned(), |it| it.named(text));
    let exit = result.unwrap_or_else(|error| {
        terminal::print_error(&*error, named);
        Exit::of_error(&*error)
    });
    exit.into()
}

fn run(command: Command) -> Result<Exit, Box<dyn Error>> {
    match command {
        Command::Check(args) => commands::check::run(args),
        Command::Map(args) => commands::map::run(args),
        Command::Raster(args) => commands::raster::run(args),
        Command::Profile(args) => commands::profile::run(args),
        Command::Plan(args) => commands::plan::run(args),
        Command::Trial(args) => commands::trial::run(&args),
        Command::Compare(args) => commands::compare::run(&args),
        Command::Clean(args) => commands::clean::run(args),
        Command::Calendar(args) => commands::calendar::run(&args),
        Command::Spots(args) => commands::spots::run(&args),
        Command::Inspect(args) => commands::inspect::run(&args),
        Command::Season(args) => commands::season::run(&args),
        Command::Report(args) => commands::report::run(&args),
        Command::Open(args) => commands::open::run(&args),
    }
}
