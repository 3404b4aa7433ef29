//! Visits of one field, each checked and mapped on the one grid.

use std::error::Error;
use std::path::{Path, PathBuf};

use formats::{InputFile, read_strata};
use mapping::{DepthClasses, MapSettings, map_survey};
use season::Visit;
use survey::{CheckedSurvey, Date, UnitSystem};

use crate::args::{
    CheckOptions, InterpolationArgs, ReadArgs, ReadOptions, SurveyArgs, VisitPairArgs,
};
use crate::commands::{self, Source};
use crate::config::Config;
use crate::exit::{Exit, WrongArguments};
use crate::progress::Progress;
use crate::{field_folder, settings};

/// Visits of one field.
#[derive(Debug)]
pub struct Loaded {
    /// The field's name.
    pub field_name: String,
    /// The files they came from, each once, with the part it plays.
    pub files: Vec<(&'static str, InputFile)>,
    /// What the field's settings file says.
    pub config: Config,
    /// The visits, by date.
    pub visits: Vec<Visit>,
    /// What was read and how the maps were made, one for each visit.
    pub sources: Vec<MappedSource>,
    /// Whether a reading of any visit was left out or changed.
    pub exit: Exit,
    /// How far the command is.
    pub progress: Progress,
}

/// Steps of a command that come after its visits are mapped.
#[derive(Debug, Clone, Copy)]
pub struct Ahead {
    /// For each visit.
    pub each: usize,
    /// For all of them together.
    pub once: usize,
}

impl Ahead {
    /// One step for all visits together.
    pub const ONE: Ahead = Ahead { each: 0, once: 1 };
}

/// What a visit was read from.
#[derive(Debug)]
pub struct MappedSource {
    /// Its arguments.
    pub args: SurveyArgs,
    /// What was read.
    pub source: Source,
}

/// Changes settings of a map that follow from the interpolation and the classes.
pub type MoreSettings<'a> = &'a dyn Fn(&mut MapSettings) -> Result<(), Box<dyn Error>>;

/// Limits between the depth classes of a map.
#[derive(Clone, Copy)]
enum Classes<'a> {
    /// Those given, else those of the settings file, else the usual ones.
    Shown(Option<&'a [f64]>),
    /// None are shown.
    Unused,
}

/// Two visits, the earlier first.
///
/// # Errors
/// When the arguments are not two visits, one cannot be read, checked or mapped, the later is not
/// later, or they have no boundary, threshold and grid in common.
pub fn pair(
    args: &VisitPairArgs,
    interpolation: &InterpolationArgs,
    classes: Option<&[f64]>,
) -> Result<Loaded, Box<dyn Error>> {
    pair_with(args, interpolation, Classes::Shown(classes))
}

/// As [`pair`], where no class is shown.
///
/// # Errors
/// As [`pair`].
pub fn pair_without_classes(
    args: &VisitPairArgs,
    interpolation: &InterpolationArgs,
) -> Result<Loaded, Box<dyn Error>> {
    pair_with(args, interpolation, Classes::Unused)
}

fn pair_with(
    args: &VisitPairArgs,
    interpolation: &InterpolationArgs,
    classes: Classes,
) -> Result<Loaded, Box<dyn Error>> {
    let (mut config, visits) = match args.visits.as_slice() {
        [earlier, later] => two_files(args, [earlier, later])?,
        [folder, days @ ..] if folder.is_dir() => two_days(args, folder, days)?,
        [first, ..] => {
            return Err(WrongArguments(format!(
                "three arguments are a field's folder and two days, and {} is no folder",
                first.display()
            ))
            .into());
        }
        [] => unreachable!("clap asks for two"),
    };
    config.strata = args.strata.clone().or(config.strata);
    refuse_no_boundary(&visits)?;
    let loaded = load(config, visits, interpolation, classes, Ahead::ONE, &|_| Ok(()))?;
    refuse_wrong_order(&loaded.visits)?;
    Ok(loaded)
}

/// All visits of a field folder, by date, with the strata of a flag over those of the settings file.
///
/// # Errors
/// As [`pair`]; all visits are tried, and the first that fails is told.
pub fn all(
    folder: &Path,
    read: &ReadOptions,
    check: &CheckOptions,
    strata: Option<&Path>,
    interpolation: &InterpolationArgs,
    classes: Option<&[f64]>,
) -> Result<Loaded, Box<dyn Error>> {
    all_with(folder, read, check, strata, interpolation, (classes, Ahead::ONE))
}

/// The same for a command that has more to do than one step afterwards.
///
/// # Errors
/// As [`all`].
pub fn all_with(
    folder: &Path,
    read: &ReadOptions,
    check: &CheckOptions,
    strata: Option<&Path>,
    interpolation: &InterpolationArgs,
    (classes, ahead): (Option<&[f64]>, Ahead),
) -> Result<Loaded, Box<dyn Error>> {
    let (mut config, visits) = field_folder::every_visit(folder, read, check)?;
    config.strata = strata.map(Path::to_path_buf).or(config.strata);
    let visits: Vec<ToRead> = visits.into_iter().map(|visit| (visit, config.clone())).collect();
    refuse_no_boundary(&visits)?;
    load(config, visits, interpolation, Classes::Shown(classes), ahead, &|_| Ok(()))
}

/// Visits of one field by date, by the settings that `config` and flags make and `more` changes. One visit alone may
/// lack a boundary.
///
/// # Errors
/// As [`pair`].
pub fn given(
    config: Config,
    visits: Vec<SurveyArgs>,
    interpolation: &InterpolationArgs,
    classes: Option<&[f64]>,
    more: MoreSettings,
) -> Result<Loaded, Box<dyn Error>> {
    let visits: Vec<ToRead> = visits.into_iter().map(|visit| (visit, config.clone())).collect();
    if visits.len() > 1 {
        refuse_no_boundary(&visits)?;
    }
    let loaded = load(config, visits, interpolation, Classes::Shown(classes), Ahead::ONE, more)?;
    refuse_wrong_order(&loaded.visits)?;
    Ok(loaded)
}

/// A visit to be read, and the settings file it is read by.
type ToRead = (SurveyArgs, Config);

/// Two files of surveys, each read by the settings file beside it. What is said of the field is that of the
/// earlier, or of the later where that alone has one; but ground of the later visit is not taken for that of both.
fn two_files(
    args: &VisitPairArgs,
    files: [&PathBuf; 2],
) -> Result<(Config, Vec<ToRead>), Box<dyn Error>> {
    if let Some(folder) = files.iter().find(|file| file.is_dir()) {
        let problem = "a folder needs the days of two visits after it";
        return Err(WrongArguments(format!("{}: {problem}", folder.display())).into());
    }
    let mut visits: Vec<ToRead> = Vec::new();
    for file in files {
        let read = ReadArgs { survey: file.clone(), visit: None, options: args.read.clone() };
        let mut survey = SurveyArgs { read, check: args.check.clone() };
        let completed = field_folder::complete(&mut survey)?;
        visits.push((survey, completed.config));
    }
    let [(first, earlier), (_, later)] = &mut visits[..] else {
        unreachable!("two files are read")
    };
    if earlier.file.is_some() {
        let config = earlier.clone();
        return Ok((config, visits));
    }
    first.read.options.units = first.read.options.units.or(later.units);
    let config = Config { strata: None, ..later.clone() };
    Ok((config, visits))
}

/// Two visits of a field folder.
fn two_days(
    args: &VisitPairArgs,
    folder: &Path,
    days: &[PathBuf],
) -> Result<(Config, Vec<ToRead>), Box<dyn Error>> {
    let (config, visits) = field_folder::every_visit(folder, &args.read, &args.check)?;
    let chosen = days.iter().map(|text| {
        let days_of_all = &visits[0].read.options.days_of_all;
        let visit = &visits[field_folder::visit_of(folder, days_of_all, day(text)?)?];
        Ok((visit.clone(), config.clone()))
    });
    let chosen = chosen.collect::<Result<Vec<_>, Box<dyn Error>>>()?;
    Ok((config, chosen))
}

/// A day that an argument names.
///
/// # Errors
/// When it is none.
pub fn day(text: &Path) -> Result<Date, WrongArguments> {
    let text = text.to_string_lossy();
    text.parse().map_err(|_| WrongArguments(format!("{text:?} is not a day like 2025-07-08")))
}

/// Reads, checks and maps visits.
fn load(
    config: Config,
    visits: Vec<ToRead>,
    interpolation: &InterpolationArgs,
    classes: Classes,
    ahead: Ahead,
    more: MoreSettings,
) -> Result<Loaded, Box<dyn Error>> {
    let units =
        visits.first().map_or(UnitSystem::Us, |(first, _)| settings::units(&first.read.options));
    let mut map_settings = settings::interpolation_settings(interpolation, units)?;
    let limits = match classes {
        Classes::Shown(given) => settings::class_limits(given, &config, units)?,
        Classes::Unused => None,
    };
    if let Some(limits) = limits {
        map_settings.classes = DepthClasses::new(limits, units)?;
    }
    let mut files = Vec::new();
    if let Some(path) = &config.strata {
        let (file, strata) = read_strata(path)?;
        files.push(("strata", file));
        map_settings.strata = strata;
    }
    more(&mut map_settings)?;
    let mut loaded = Loaded {
        field_name: String::new(),
        files,
        config,
        visits: Vec::new(),
        sources: Vec::new(),
        exit: Exit::Done,
        progress: Progress::of(visits.len() * (1 + ahead.each) + ahead.once),
    };
    for (args, config) in visits {
        add(&mut loaded, args, &config, &map_settings)?;
    }
    Ok(loaded)
}

/// Reads, checks and maps one more visit.
fn add(
    loaded: &mut Loaded,
    args: SurveyArgs,
    config: &Config,
    settings: &MapSettings,
) -> Result<(), Box<dyn Error>> {
    let source = commands::source(&args, config)?;
    let threshold = match args.read.options.threshold.as_slice() {
        [] => None,
        [one] => Some(one),
        _ => return Err(WrongArguments("visits are compared at one --threshold".into()).into()),
    };
    let survey = commands::checked_visit(&args, &source, threshold)?;
    refuse_other_threshold(loaded.visits.first(), &survey, &args)?;
    let day = survey.dates().map(|(first, _)| first.to_string());
    loaded.progress.next(&format!("map of {}", day.as_deref().unwrap_or("a visit")));
    let map = map_survey(&survey, settings)?;
    let name = day.unwrap_or_else(|| commands::stem(&args.read));
    loaded.exit = loaded.exit.or(commands::exit(&survey));
    for (part, file) in &source.readings.files {
        if !loaded.files.iter().any(|(_, known)| known == file) {
            loaded.files.push((part, file.clone()));
        }
    }
    if loaded.field_name.is_empty() {
        loaded.field_name.clone_from(&source.field_name);
    }
    loaded.visits.push(Visit { name, survey, map });
    loaded.sources.push(MappedSource { args, source });
    Ok(())
}

/// Visits share the ground of one field.
fn refuse_no_boundary(visits: &[ToRead]) -> Result<(), WrongArguments> {
    match visits.iter().all(|(args, _)| args.check.boundary.is_some()) {
        true => Ok(()),
        false => Err(WrongArguments(
            "visits are compared on the ground of one field: give its outline with --boundary \
             FIELD.geojson"
                .into(),
        )),
    }
}

/// Depths of two thresholds are not to be compared.
fn refuse_other_threshold(
    first: Option<&Visit>,
    survey: &CheckedSurvey,
    args: &SurveyArgs,
) -> Result<(), String> {
    let Some(first) = first else { return Ok(()) };
    let (known, new) = (first.survey.threshold(), survey.threshold());
    match known.pressure().is_same_threshold(new.pressure()) {
        true => Ok(()),
        false => Err(format!(
            "{}: its depths were read at {new}, those of {} at {known}; they cannot be compared",
            args.read.survey.display(),
            first.name
        )),
    }
}

/// A change is later minus earlier.
fn refuse_wrong_order(visits: &[Visit]) -> Result<(), WrongArguments> {
    let [earlier, later] = visits else { return Ok(()) };
    match (earlier.day(), later.day()) {
        (Some(first), Some(second)) if second < first => Err(WrongArguments(format!(
            "the first visit is of {first}, the second of {second}; give the earlier first"
        ))),
        _ => Ok(()),
    }
}
