//! `loosedepth raster`: the depth raster alone, written band by band, so of any size.

use std::error::Error;

use formats::{GeotiffFile, refuse_existing_file};
use mapping::{DepthSurface, Probed};

use crate::args::RasterArgs;
use crate::exit::Exit;
use crate::{field_folder, settings, table, terminal};

pub fn run(mut args: RasterArgs) -> Result<Exit, Box<dyn Error>> {
    let config = field_folder::complete(&mut args.survey)?.config;
    refuse_existing_file(&args.out, args.replace)?;
    let source = super::source(&args.survey, &config)?;
    let [threshold] = super::thresholds(&args.survey.read)[..] else {
        return Err("raster takes one --threshold, since it writes one file".into());
    };
    let (_, survey) = super::checked(&args.survey, &source, threshold)?;
    let units = settings::units(&args.survey.read.options);
    let settings = settings::interpolation_settings(&args.interpolation, units)?;
    let surface = DepthSurface::new(&survey, &settings)?;
    let grid = surface.grid();
    let mut file = GeotiffFile::create(&args.out, grid, survey.field().utm(), args.replace)?;
    surface.stream(|depth_cm| Ok::<_, Box<dyn Error>>(file.push(depth_cm)?))?;
    file.finish()?;
    terminal::print(&table::survey(&source.field_name, &survey, units))?;
    let probed = Probed::of(survey.spots().iter());
    terminal::print(&table::surface(&survey, &probed, surface.method(), grid.cell_m(), units))?;
    terminal::print(&format!(
        "wrote {}: {} × {} cells",
        args.out.display(),
        grid.columns(),
        grid.rows()
    ))?;
    Ok(super::exit(&survey))
}
