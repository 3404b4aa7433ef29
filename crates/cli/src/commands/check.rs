//! `loosedepth check`: what is in a survey.

use std::error::Error;

use crate::args::CheckArgs;
use crate::exit::Exit;
use crate::{field_folder, settings, table, terminal};

pub fn run(mut args: CheckArgs) -> Result<Exit, Box<dyn Error>> {
    let config = field_folder::complete(&mut args.survey)?.config;
    let source = super::source(&args.survey, &config)?;
    let units = settings::units(&args.survey.read.options);
    let mut exit = Exit::Done;
    for threshold in super::thresholds(&args.survey.read) {
        let (_, checked) = super::checked(&args.survey, &source, threshold)?;
        terminal::print(&table::survey(&source.field_name, &checked, units))?;
        exit = exit.or(super::exit(&checked));
    }
    Ok(exit)
}
