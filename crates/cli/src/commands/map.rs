//! `loosedepth map`: from a survey to raster, zones, picture and summary.

use std::error::Error;
use std::path::PathBuf;

use formats::{
    Output, Summary, ZoneFile, depth_geotiff, refuse_existing, summary_json, write_files,
    zones_geojson,
};
use mapping::{DepthMap, map_survey};
use report::{MapPage, map_png};
use survey::{CheckSettings, CheckedSurvey, Threshold};

use super::Source;
use crate::args::MapArgs;
use crate::exit::Exit;
use crate::{settings, table, terminal};

const RASTER: &str = "depth.tif";
const ZONES: &str = "zones.geojson";
const PICTURE: &str = "map.png";
const SUMMARY: &str = "summary.json";
const FILES: [&str; 4] = [RASTER, ZONES, PICTURE, SUMMARY];

/// Maps the survey at each threshold asked for. Several thresholds have a folder each, and nothing
/// is written before all are mapped.
pub fn run(args: &MapArgs) -> Result<Exit, Box<dyn Error>> {
    let map_settings = settings::map_settings(args)?;
    let thresholds = super::thresholds(&args.survey.read);
    let folders: Vec<PathBuf> =
        thresholds.iter().map(|threshold| folder(args, *threshold, thresholds.len())).collect();
    if let Some(twice) =
        folders.iter().enumerate().find_map(|(k, f)| folders[..k].iter().find(|g| *g == f))
    {
        return Err(format!("two thresholds would be written into {}", twice.display()).into());
    }
    for folder in &folders {
        refuse_existing(folder, &FILES, args.result.replace)?;
    }
    let mut source = super::source(&args.survey)?;
    if folders.len() > 1 {
        super::refuse_silent_depths(&source)?;
    }
    if let Some(title) = args.title.as_ref().filter(|title| !title.trim().is_empty()) {
        source.field_name.clone_from(title);
    }
    let mut maps = Vec::new();
    for (threshold, folder) in thresholds.into_iter().zip(folders) {
        let (check, survey) = super::checked(&args.survey, &source, threshold)?;
        let map = map_survey(&survey, &map_settings)?;
        let files = files(&source, &check, &survey, &map)?;
        maps.push((folder, files, survey, map));
    }
    let mut exit = Exit::Done;
    for (folder, files, survey, map) in maps {
        write_files(&folder, &files, args.result.replace)?;
        terminal::print(&table::survey(&source.field_name, &survey, map.classes.units()))?;
        terminal::print(&table::map(&survey, &map))?;
        terminal::print(&format!("wrote {} into {}", FILES.join(", "), folder.display()))?;
        exit = exit.or(super::exit(&survey));
    }
    Ok(exit)
}

/// Where the results of a threshold go.
fn folder(args: &MapArgs, threshold: Option<&Threshold>, thresholds: usize) -> PathBuf {
    match threshold {
        Some(threshold) if thresholds > 1 => args.result.out.join(threshold.in_a_name()),
        _ => args.result.out.clone(),
    }
}

fn files(
    source: &Source,
    check: &CheckSettings,
    survey: &CheckedSurvey,
    map: &DepthMap,
) -> Result<Vec<Output>, Box<dyn Error>> {
    let inputs = &source.readings.files;
    let zones = zones_geojson(&ZoneFile {
        field_name: &source.field_name,
        survey_file: &inputs[0].1.name(),
        survey,
        map,
    })?;
    let summary = summary_json(&Summary {
        version: env!("CARGO_PKG_VERSION"),
        field_name: &source.field_name,
        inputs,
        check,
        survey,
        map,
        files: &FILES,
    });
    let picture = map_png(&MapPage { title: &source.field_name, survey, map })?;
    Ok(vec![
        Output { name: RASTER, bytes: depth_geotiff(&map.depth_cm, survey.field().utm()) },
        Output { name: ZONES, bytes: zones.into() },
        Output { name: PICTURE, bytes: picture },
        Output { name: SUMMARY, bytes: summary.into() },
    ])
}
