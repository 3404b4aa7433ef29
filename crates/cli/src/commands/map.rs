//! `loosedepth map`: from a survey to raster, zones, picture and summary.

use std::error::Error;

use formats::{
    Output, Summary, ZoneFile, depth_geotiff, refuse_existing, summary_json, write_files,
    zones_geojson,
};
use mapping::{DepthMap, map_survey};
use report::{MapPage, map_png};

use super::Input;
use crate::args::MapArgs;
use crate::exit::Exit;
use crate::{settings, table, terminal};

const RASTER: &str = "depth.tif";
const ZONES: &str = "zones.geojson";
const PICTURE: &str = "map.png";
const SUMMARY: &str = "summary.json";
const FILES: [&str; 4] = [RASTER, ZONES, PICTURE, SUMMARY];

pub fn run(args: &MapArgs) -> Result<Exit, Box<dyn Error>> {
    let map_settings = settings::map_settings(args)?;
    refuse_existing(&args.out, &FILES, args.replace)?;
    let mut input = super::read(&args.survey)?;
    if let Some(title) = args.title.as_ref().filter(|title| !title.trim().is_empty()) {
        input.field_name.clone_from(title);
    }
    terminal::print_findings(input.survey.findings());
    let map = map_survey(&input.survey, &map_settings)?;
    write_files(&args.out, &files(&input, &map)?, args.replace)?;
    let units = map.classes.units();
    terminal::print(&table::survey(&input.field_name, &input.survey, units))?;
    terminal::print(&table::map(&input.survey, &map))?;
    terminal::print(&format!("wrote {} into {}", FILES.join(", "), args.out.display()))?;
    Ok(super::exit(&input.survey))
}

fn files(input: &Input, map: &DepthMap) -> Result<Vec<Output>, Box<dyn Error>> {
    let survey = &input.survey;
    let zones = zones_geojson(&ZoneFile {
        field_name: &input.field_name,
        survey_file: &input.survey_file.name(),
        survey,
        map,
    })?;
    let summary = summary_json(&Summary {
        version: env!("CARGO_PKG_VERSION"),
        field_name: &input.field_name,
        survey_file: &input.survey_file,
        boundary_file: input.boundary_file.as_ref(),
        check: &input.check,
        survey,
        map,
        files: &FILES,
    });
    let picture = map_png(&MapPage { title: &input.field_name, survey, map })?;
    Ok(vec![
        Output { name: RASTER, bytes: depth_geotiff(&map.depth_cm, survey.field().utm()) },
        Output { name: ZONES, bytes: zones.into() },
        Output { name: PICTURE, bytes: picture },
        Output { name: SUMMARY, bytes: summary.into() },
    ])
}
