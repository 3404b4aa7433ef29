//! `loosedepth check`: what is in a survey.

use std::error::Error;

use crate::args::CheckArgs;
use crate::exit::Exit;
use crate::{settings, table, terminal};

pub fn run(args: &CheckArgs) -> Result<Exit, Box<dyn Error>> {
    let input = super::read(&args.survey)?;
    let units = settings::units(&args.survey);
    terminal::print_findings(input.survey.findings());
    terminal::print(&table::survey(&input.field_name, &input.survey, units))?;
    Ok(super::exit(&input.survey))
}
