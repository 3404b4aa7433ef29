//! `loosedepth season`: every visit of a field mapped, and the season in tables and pictures.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

use formats::{
    InputFile, Output, SeasonSummary, SummaryStage, classes_csv, refuse_existing, season_json,
    season_readings_csv, spots_csv, visits_csv,
};
use mapping::MapSettings;
use rayon::prelude::*;
use season::{Trend, TrendSettings, Visit, trend};
use survey::{Depth, UnitSystem};

use super::map::{MapFiles, Unwritten, left_over, map_files, possible_files};
use super::season_archive::{self, ARCHIVE};
use super::season_pages;
use super::season_stage::{ReproductiveStage, reproductive_stage};
use crate::args::SeasonArgs;
use crate::exit::{Exit, WrongArguments};
use crate::visits::{self, Ahead, Loaded, MappedSource};
use crate::writing::write_files;
use crate::{field_folder, season_table, settings, terminal};

const SUMMARY: &str = "season.json";
const VISITS: &str = "visits.csv";
const READINGS: &str = "readings.csv";
const SPOTS: &str = "spots.csv";
const CLASSES: &str = "classes.csv";
const COURSE: &str = "season.png";
/// The maps of all visits; further pages have numbers from 2.
const MAPS: &str = "visits.png";
/// What the season has beside the maps of its visits.
const FILES: [&str; 8] = [SUMMARY, VISITS, READINGS, SPOTS, CLASSES, COURSE, MAPS, ARCHIVE];

/// Maps every visit and sums the season up. Nothing is written before all is made.
pub fn run(args: &SeasonArgs) -> Result<Exit, Box<dyn Error>> {
    let out = folder_for(args)?;
    refuse_existing(&out, &FILES, args.result.replace)?;
    let ahead = Ahead { each: usize::from(!args.no_maps), once: 1 };
    let loaded = visits::all_with(
        &args.field,
        &args.read,
        &args.check,
        None,
        &args.interpolation,
        (args.classes.as_deref(), ahead),
    )?;
    let mapped = loaded.visits.iter().zip(&loaded.sources).filter(|_| !args.no_maps);
    let folders: Vec<String> = mapped.map(folder_of).collect();
    refuse_mapped(&out, &folders, &loaded, args.result.replace)?;
    let trend = trend(&loaded.visits, &trend_settings(args, &loaded)?);
    let stage = reproductive_stage(&loaded.config, &loaded.visits)?;
    let maps = within(&folders, if args.no_maps { Vec::new() } else { maps(&loaded)? });
    loaded.progress.next("pictures and tables of the season");
    let mut files: Vec<Output> = maps.chain(pictures(&loaded, &trend, stage.as_ref())?).collect();
    files.extend(tables(&loaded, &trend));
    let archive = season_archive::archive(args, &loaded, &trend, units(&loaded), &files)?;
    let no_archive = archive.map(|archive| files.push(archive)).err();
    files.push(summary(&loaded, &trend, stage.as_ref(), &files));
    write_files(&out, &files, args.result.replace)?;
    terminal::print_notes(
        &no_archive.map(|why| format!("no {ARCHIVE}: {why}")).into_iter().collect::<Vec<_>>(),
    );
    let findings = stage.as_ref().map_or(&[][..], |stage| &stage.findings);
    terminal::print_findings(findings);
    let table = season_table::season(&loaded.field_name, &trend, stage.as_ref(), units(&loaded));
    terminal::print(&table)?;
    told_of_folders(&out, &folders, &files)?;
    Ok(loaded.exit.or(if findings.is_empty() { Exit::Done } else { Exit::Findings }))
}

/// Where the results go: the folder given, or that of the field's results.
fn folder_for(args: &SeasonArgs) -> Result<PathBuf, Box<dyn Error>> {
    if !args.field.is_dir() {
        let problem = "not the folder of a field; a season is all visits in one folder with its \
            loosedepth.toml";
        return Err(WrongArguments(format!("{}: {problem}", args.field.display())).into());
    }
    let config = field_folder::config_of(&args.field, args.read.config.as_deref())?;
    let of_field = || field_folder::results_folder(&args.field, &config);
    let out = args.result.out.clone().unwrap_or_else(of_field);
    field_folder::refuse_among_visits(&args.field, &config, &out)?;
    Ok(out)
}

/// The folder of a visit's map: the same that `map` gives it.
fn folder_of((visit, source): (&Visit, &MappedSource)) -> String {
    let days = source.args.read.options.days;
    days.map_or(visit.name.clone(), |days| days.first().to_string())
}

/// Makes sure that no map of a visit is replaced unasked.
fn refuse_mapped(
    out: &Path,
    folders: &[String],
    loaded: &Loaded,
    replace: bool,
) -> Result<(), Box<dyn Error>> {
    let names = possible_files(map_settings(loaded));
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    for folder in folders {
        refuse_existing(&out.join(folder), &names, replace)?;
    }
    Ok(())
}

fn map_settings(loaded: &Loaded) -> &MapSettings {
    &loaded.visits[0].map.settings
}

fn units(loaded: &Loaded) -> UnitSystem {
    loaded.visits[0].map.classes.units()
}

fn trend_settings(args: &SeasonArgs, loaded: &Loaded) -> Result<TrendSettings, Box<dyn Error>> {
    let usual = TrendSettings::default();
    let units = units(loaded);
    Ok(TrendSettings {
        marks: match &args.marks {
            Some(marks) => sound_marks(marks, units)?,
            None => usual_marks(units),
        },
        moisture_within_pct: loaded.config.moisture_within.unwrap_or(usual.moisture_within_pct),
        rhythm: args.visits_every,
        falls_from: falls_from(args, &loaded.visits)?,
        ..usual
    })
}

/// The depths that shares are told of unless others are given: common practice.
pub fn usual_marks(units: UnitSystem) -> Vec<Depth> {
    let marks = match units {
        UnitSystem::Us => [6.0, 12.0],
        UnitSystem::Si => [15.0, 30.0],
    };
    marks.map(|mark| units.depth_from(mark)).into()
}

/// Marks that a share can be told of: increasing depths.
fn sound_marks(marks: &[f64], units: UnitSystem) -> Result<Vec<Depth>, WrongArguments> {
    let increasing = marks.windows(2).all(|pair| pair[0] < pair[1]);
    match increasing && marks.iter().all(|mark| (0.01..=1_000.0).contains(mark)) {
        true => Ok(marks.iter().map(|&mark| units.depth_from(mark)).collect()),
        false => {
            let problem =
                "--marks must be depths from 0.01 to 1000, each greater than the one before";
            Err(WrongArguments(problem.into()))
        }
    }
}

/// The visit that falls are told from.
fn falls_from(args: &SeasonArgs, visits: &[Visit]) -> Result<usize, WrongArguments> {
    let Some(day) = args.since else { return Ok(0) };
    let is_of = |visit: &Visit| {
        visit.survey.dates().is_some_and(|(first, last)| (first..=last).contains(&day))
    };
    match visits.iter().position(is_of) {
        Some(index) if index + 1 < visits.len() => Ok(index),
        Some(_) => Err(WrongArguments(format!(
            "--since {day}: that is the last visit, and falls are told from an earlier one to it"
        ))),
        None => {
            let names: Vec<&str> = visits.iter().map(|visit| visit.name.as_str()).collect();
            let there = names.join(", ");
            Err(WrongArguments(format!("--since {day}: there is no such visit; there are {there}")))
        }
    }
}

/// The files of each visit's map. The visits share the processors; each has its own files whatever the
/// order they are made in.
fn maps(loaded: &Loaded) -> Result<Vec<Vec<Output>>, Box<dyn Error>> {
    let visits = loaded.visits.par_iter().zip(&loaded.sources);
    let made: Vec<Result<Vec<Output>, Unwritten>> =
        visits.map(|(visit, source)| files_of_visit(loaded, visit, source)).collect();
    // The first failure in the order of the visits, not of the clock.
    let made: Result<Vec<Vec<Output>>, Unwritten> = made.into_iter().collect();
    made.map_err(|error| -> Box<dyn Error> { error })
}

fn files_of_visit(
    loaded: &Loaded,
    visit: &Visit,
    MappedSource { args, source }: &MappedSource,
) -> Result<Vec<Output>, Unwritten> {
    loaded.progress.next(&format!("files of {}", visit.name));
    let asked = args.read.options.threshold.first().cloned();
    let check = settings::check_settings(args, asked)?;
    let strata = loaded.files.iter().filter(|(part, _)| *part == "strata");
    let inputs: Vec<(&'static str, InputFile)> =
        source.readings.files.iter().chain(strata).cloned().collect();
    map_files(&MapFiles {
        field_name: &source.field_name,
        inputs: &inputs,
        check: &check,
        survey: &visit.survey,
        map: &visit.map,
    })
}

/// The files of visits, each in the folder of its visit.
fn within(folders: &[String], maps: Vec<Vec<Output>>) -> impl Iterator<Item = Output> {
    folders.iter().zip(maps).flat_map(|(folder, files)| {
        files
            .into_iter()
            .map(move |Output { name, bytes }| Output { name: format!("{folder}/{name}"), bytes })
    })
}

fn file(name: &str, text: String) -> Output {
    Output { name: name.into(), bytes: text.into() }
}

/// The tables of the season.
fn tables(loaded: &Loaded, trend: &Trend) -> [Output; 4] {
    let units = units(loaded);
    let utm = loaded.visits[0].survey.field().utm();
    [
        file(VISITS, visits_csv(trend, units)),
        file(READINGS, season_readings_csv(trend, utm, units)),
        file(SPOTS, spots_csv(trend, utm, units)),
        file(CLASSES, classes_csv(trend, units)),
    ]
}

/// The pictures of the season.
fn pictures(
    loaded: &Loaded,
    trend: &Trend,
    stage: Option<&ReproductiveStage>,
) -> Result<Vec<Output>, Box<dyn Error>> {
    let course = season_pages::season_page(loaded, trend, stage)?;
    let mut files = vec![Output { name: COURSE.into(), bytes: course }];
    for (page, bytes) in (1..).zip(season_pages::visits_pages(loaded, trend)?) {
        let name = if page == 1 { MAPS.into() } else { format!("visits_{page}.png") };
        files.push(Output { name, bytes });
    }
    Ok(files)
}

/// The summary, which names the other files of the season.
fn summary(
    loaded: &Loaded,
    trend: &Trend,
    stage: Option<&ReproductiveStage>,
    others: &[Output],
) -> Output {
    let names: Vec<String> = others.iter().map(|file| file.name.clone()).collect();
    let weather = stage.and_then(|stage| stage.weather.clone()).map(|file| ("weather", file));
    let inputs: Vec<(&'static str, InputFile)> =
        loaded.files.iter().cloned().chain(weather).collect();
    let stage = stage.map(|stage| SummaryStage {
        name: &stage.name,
        days: stage.days,
        sentence: &stage.sentence,
    });
    let summary = season_json(&SeasonSummary {
        version: env!("CARGO_PKG_VERSION"),
        field_name: &loaded.field_name,
        crop: loaded.config.crop.as_deref(),
        stage,
        inputs: &inputs,
        files: &names,
        units: units(loaded),
        trend,
    });
    file(SUMMARY, summary)
}

/// Says what was written, and what of another run lies beside it.
fn told_of_folders(out: &Path, folders: &[String], files: &[Output]) -> Result<(), Box<dyn Error>> {
    let of_season: Vec<&str> =
        files.iter().map(|file| file.name.as_str()).filter(|name| !name.contains('/')).collect();
    let maps = match folders.len() {
        0 => String::new(),
        count => format!(" and {count} folders of maps"),
    };
    terminal::print(&format!("wrote {}{maps} into {}", of_season.join(", "), out.display()))?;
    terminal::print_left_over(out, "season", &left_over_of_season(out, &of_season));
    for folder in folders {
        let start = format!("{folder}/");
        let names: Vec<&str> =
            files.iter().filter_map(|file| file.name.strip_prefix(start.as_str())).collect();
        let at = out.join(folder);
        terminal::print_left_over(&at, "map", &left_over(&at, &names));
    }
    Ok(())
}

/// Pages and archive of another run that are still in the folder, beside a season that has fewer.
fn left_over_of_season(out: &Path, written: &[&str]) -> Vec<String> {
    let is_page = |name: &str| {
        let number = name.strip_prefix("visits_").and_then(|rest| rest.strip_suffix(".png"));
        number.is_some_and(|number| number.parse::<usize>().is_ok())
    };
    let entries = fs::read_dir(out).into_iter().flatten().flatten();
    let mut names: Vec<String> = entries
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter(|name| is_page(name) || name == ARCHIVE)
        .filter(|name| !written.contains(&name.as_str()))
        .collect();
    names.sort();
    names
}
