//! `loosedepth inspect`: what is in a file, as a machine's terminal or a GIS will see it.

use std::error::Error;

use crate::args::InspectArgs;
use crate::exit::Exit;
use crate::{inspect_text, settings, terminal};

pub fn run(args: &InspectArgs) -> Result<Exit, Box<dyn Error>> {
    let found = formats::inspect(&args.file)?;
    let units = settings::unit_system(args.units);
    terminal::print(&inspect_text::inspected(&args.file, &found, units))?;
    Ok(Exit::Done)
}
