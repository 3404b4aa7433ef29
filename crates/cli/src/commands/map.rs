//! `loosedepth map`: from a survey to raster, zones, picture and summary.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

use formats::{
    InputFile, Output, Quantity, Summary, ZoneFile, geotiff, refuse_existing, summary_json,
    zones_geojson,
};
use mapping::{DepthMap, MapSettings, MethodChoice, map_survey};
use report::{MapPage, map_png};
use survey::units::tidy;
use survey::{CheckSettings, CheckedSurvey, Threshold};

use super::asked_map::Asked;
use crate::args::MapArgs;
use crate::exit::Exit;
use crate::progress::Progress;
use crate::writing::write_files;
use crate::{pages, table, terminal};

const RASTER: &str = "depth.tif";
const ZONES: &str = "zones.geojson";
const PICTURE: &str = "map.png";
const SUMMARY: &str = "summary.json";
const FILES: [&str; 4] = [RASTER, ZONES, PICTURE, SUMMARY];
/// What a kriged map has besides.
const ERROR_RASTER: &str = "standard_error.tif";
const ERROR_PICTURE: &str = "standard_error.png";
const VARIOGRAM: &str = "variogram.png";
const KRIGING_FILES: [&str; 3] = [ERROR_RASTER, ERROR_PICTURE, VARIOGRAM];

/// Maps the survey at each threshold asked for. Several thresholds have a folder each, and nothing
/// is written before all are mapped.
pub fn run(args: MapArgs) -> Result<Exit, Box<dyn Error>> {
    let mut asked = Asked::of(args)?;
    let out = asked.completed.folder_for(&asked.args.result)?;
    let read = asked.args.survey.read.clone();
    let thresholds = super::thresholds(&read);
    let folders: Vec<PathBuf> =
        thresholds.iter().map(|threshold| folder(&out, *threshold, thresholds.len())).collect();
    if let Some(twice) =
        folders.iter().enumerate().find_map(|(k, f)| folders[..k].iter().find(|g| *g == f))
    {
        return Err(format!("two thresholds would be written into {}", twice.display()).into());
    }
    let names = possible_files(&asked.settings);
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    for folder in &folders {
        refuse_existing(folder, &names, asked.args.result.replace)?;
    }
    let source = asked.read()?;
    let Asked { args, settings, .. } = asked;
    if folders.len() > 1 {
        super::refuse_silent_depths(&source)?;
    }
    let progress = Progress::of(2 * folders.len());
    let mut maps = Vec::new();
    for (threshold, folder) in thresholds.into_iter().zip(folders) {
        progress.next("map");
        let (check, survey) = super::checked(&args.survey, &source, threshold)?;
        let map = map_survey(&survey, &settings)?;
        progress.next("pictures and files");
        let of = MapFiles {
            field_name: &source.field_name,
            inputs: &source.readings.files,
            check: &check,
            survey: &survey,
            map: &map,
        };
        let files = map_files(&of).map_err(|error| -> Box<dyn Error> { error })?;
        maps.push((folder, files, survey, map));
    }
    let mut exit = Exit::Done;
    for (folder, files, survey, map) in maps {
        write_files(&folder, &files, args.result.replace)?;
        let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
        terminal::print(&table::survey(&source.field_name, &survey, map.classes.units()))?;
        terminal::print_notes(&map.notes);
        terminal::print(&table::map(&survey, &map))?;
        terminal::print(&format!("wrote {} into {}", names.join(", "), folder.display()))?;
        terminal::print_left_over(&folder, "map", &left_over(&folder, &names));
        exit = exit.or(super::exit(&survey));
    }
    Ok(exit)
}

/// Where the results of a threshold go.
fn folder(out: &Path, threshold: Option<&Threshold>, thresholds: usize) -> PathBuf {
    match threshold {
        Some(threshold) if thresholds > 1 => out.join(threshold.in_a_name()),
        _ => out.to_path_buf(),
    }
}

/// Name of the files of a chance, with the depth in the user's unit: `thinner_than_6in`.
fn chance_stem(settings: &MapSettings) -> Option<String> {
    let units = settings.classes.units();
    let limit = tidy(units.depth(settings.thinner_than?), 3);
    Some(format!("thinner_than_{limit}{}", units.depth_unit()))
}

/// Every file that settings may lead to.
pub fn possible_files(settings: &MapSettings) -> Vec<String> {
    let may_krige = matches!(settings.method, MethodChoice::Kriging | MethodChoice::Auto);
    let kriging = KRIGING_FILES.iter().filter(|_| may_krige);
    let mut names: Vec<String> = FILES.iter().chain(kriging).map(ToString::to_string).collect();
    if let Some(stem) = chance_stem(settings) {
        names.extend([format!("{stem}.tif"), format!("{stem}.png")]);
    }
    names
}

/// Results of another run that are still in the folder: nothing but what is written anew is replaced, and
/// beside this map they would be taken for its own.
pub fn left_over(folder: &Path, written: &[&str]) -> Vec<String> {
    let is_result = |name: &str| {
        let is_chance = name.starts_with("thinner_than_")
            && [".tif", ".png"].iter().any(|end| name.ends_with(end));
        is_chance || KRIGING_FILES.contains(&name)
    };
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let names = entries.filter_map(|entry| entry.file_name().into_string().ok());
    let mut all: Vec<String> =
        names.filter(|name| is_result(name) && !written.contains(&name.as_str())).collect();
    all.sort();
    all
}

/// The rasters and pictures beside the map, as far as there are any.
fn more_files(
    title: &str,
    survey: &CheckedSurvey,
    map: &DepthMap,
) -> Result<Vec<Output>, Unwritten> {
    let utm = survey.field().utm();
    let mut files = Vec::new();
    let mut add = |name: String, bytes: Vec<u8>| files.push(Output { name, bytes });
    if let Some(error_cm) = &map.standard_error_cm {
        add(ERROR_RASTER.into(), geotiff(error_cm, utm, Quantity::standard_error()));
        add(ERROR_PICTURE.into(), pages::standard_error(title, survey, map, error_cm)?);
    }
    if let Some(fitted) = map.method.variogram() {
        add(VARIOGRAM.into(), pages::variogram(title, survey, map, fitted)?);
    }
    if let (Some(probability), Some(stem)) = (&map.probability, chance_stem(&map.settings)) {
        let quantity = Quantity::thinner_than(probability.limit, map.classes.units());
        add(format!("{stem}.tif"), geotiff(&probability.raster, utm, quantity));
        add(format!("{stem}.png"), pages::chance(title, survey, map, probability)?);
    }
    Ok(files)
}

/// Why a file of a map could not be made; it may be told by another thread than the one that met it.
pub type Unwritten = Box<dyn Error + Send + Sync>;

/// What the files of a map are made from.
pub struct MapFiles<'a> {
    /// The field's name.
    pub field_name: &'a str,
    /// The files it was made from, each with the part it plays, the survey's first.
    pub inputs: &'a [(&'static str, InputFile)],
    /// How the survey was checked.
    pub check: &'a CheckSettings,
    /// The survey.
    pub survey: &'a CheckedSurvey,
    /// Its map.
    pub map: &'a DepthMap,
}

/// The files of a map.
///
/// # Errors
/// When one cannot be drawn or written.
pub fn map_files(of: &MapFiles) -> Result<Vec<Output>, Unwritten> {
    let MapFiles { field_name, inputs, check, survey, map } = *of;
    let zones =
        zones_geojson(&ZoneFile { field_name, survey_file: &inputs[0].1.name(), survey, map })?;
    let more = more_files(field_name, survey, map)?;
    let names: Vec<&str> =
        FILES.into_iter().chain(more.iter().map(|file| file.name.as_str())).collect();
    let summary = summary_json(&Summary {
        version: env!("CARGO_PKG_VERSION"),
        field_name,
        inputs,
        check,
        survey,
        map,
        files: &names,
    });
    let picture = map_png(&MapPage { title: field_name, survey, map })?;
    let raster = geotiff(&map.depth_cm, survey.field().utm(), Quantity::depth());
    let mut files = vec![
        Output { name: RASTER.into(), bytes: raster },
        Output { name: ZONES.into(), bytes: zones.into() },
        Output { name: PICTURE.into(), bytes: picture },
        Output { name: SUMMARY.into(), bytes: summary.into() },
    ];
    files.extend(more);
    Ok(files)
}
