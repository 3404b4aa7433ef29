//! The folder of a field, or a survey with its settings file: what they say becomes arguments, and nothing
//! behind knows of folders.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

use formats::read_survey;
use survey::{Boundary, Date, DateRange, Survey};

use crate::args::{CheckOptions, MapArgs, PlanArgs, ReadArgs, ReadOptions, ResultArgs, SurveyArgs};
use crate::config::{Config, NAME, Visits};
use crate::exit::WrongArguments;
use crate::{settings, terminal};

/// Readings so many days apart, or fewer, are one visit: a large field takes some days (common practice).
const DAYS_IN_A_VISIT: i32 = 3;

/// Where results go, unless the settings file says otherwise.
const RESULTS: &str = "results";
/// Where visits lie, unless the settings file says otherwise.
pub const VISITS: &str = "visits";

/// Zones of a mapped visit.
pub const ZONES: &str = "zones.geojson";
/// Folder of a visit's plan, in that of its map.
const PLAN: &str = "plan";

/// Ends of the names of files that may be surveys.
const SURVEYS: [&str; 6] = ["geojson", "json", "csv", "txt", "gpx", "shp"];

/// Those of them that are as often something else.
const MAYBE_SURVEYS: [&str; 3] = ["json", "csv", "txt"];

/// One visit of a field, in a file.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitFile {
    /// The file.
    pub path: PathBuf,
    /// Its days.
    pub days: DateRange,
    /// Whether the file holds other visits besides.
    pub shares_file: bool,
}

impl VisitFile {
    /// The visit's name: its first day.
    pub fn name(&self) -> String {
        self.days.first().to_string()
    }
}

/// A settings file, and what a field folder is.
#[derive(Debug, Clone)]
pub struct Completed {
    /// What the settings file says.
    pub config: Config,
    /// Where the results of the visit go, of a field folder.
    results: Option<PathBuf>,
    /// The field folder.
    field: Option<PathBuf>,
}

impl Completed {
    /// The folder for results: the one given, or that of the visit in the field's folder.
    ///
    /// # Errors
    /// When there is neither, or it is the folder of the visits.
    pub fn folder_for(&self, result: &ResultArgs) -> Result<PathBuf, WrongArguments> {
        let given = result.out.clone().or(self.results.clone());
        if let (Some(field), Some(out)) = (&self.field, &given) {
            refuse_among_visits(field, &self.config, out)?;
        }
        given.ok_or_else(no_folder)
    }
}

/// There is no folder for results.
pub fn no_folder() -> WrongArguments {
    let problem =
        "give a folder for the results with --out FOLDER; only a field folder has its own";
    WrongArguments(problem.into())
}

/// Fills in what a settings file says and flags do not, and finds the visit where a folder was given.
///
/// # Errors
/// When the folder has no settings file, the file is wrong, or the visit is not there.
pub fn complete(args: &mut SurveyArgs) -> Result<Completed, Box<dyn Error>> {
    let completed = complete_read(&mut args.read)?;
    complete_check(&mut args.check, &completed.config);
    Ok(completed)
}

/// The same for readings that need no field.
///
/// # Errors
/// As [`complete`].
pub fn complete_read(args: &mut ReadArgs) -> Result<Completed, Box<dyn Error>> {
    let folder = args.survey.clone();
    let config = config_of(&folder, args.options.config.as_deref())?;
    complete_options(&mut args.options, &config);
    if !folder.is_dir() {
        return match args.visit {
            Some(_) => Err(visit_of_file().into()),
            None => Ok(Completed { config, results: None, field: None }),
        };
    }
    let visits = visits(&folder, &config, &args.options)?;
    let visit = match args.visit {
        Some(day) => &visits[visit_of(&folder, &days_of(&visits), day)?],
        None => only_visit(&folder, &visits)?,
    };
    take_visit(args, visit, &visits);
    let results = Some(results_folder(&folder, &config).join(visit.name()));
    Ok(Completed { config, results, field: Some(folder) })
}

/// Makes a visit, one of all, the survey.
fn take_visit(args: &mut ReadArgs, visit: &VisitFile, all: &[VisitFile]) {
    args.options.field = Some(args.survey.clone());
    args.options.days_of_all = days_of(all);
    args.survey.clone_from(&visit.path);
    args.options.days = Some(visit.days);
    if visit.shares_file {
        args.options.date = args.options.date.or(Some(visit.days));
    }
}

/// Fills in the settings of a map as well.
///
/// # Errors
/// As [`complete`].
pub fn complete_map(args: &mut MapArgs) -> Result<Completed, Box<dyn Error>> {
    let completed = complete(&mut args.survey)?;
    complete_classes(args, &completed)?;
    Ok(completed)
}

/// Fills in classes and strata alone.
///
/// # Errors
/// When the classes of the settings file are in other units than those asked for.
pub fn complete_classes(args: &mut MapArgs, completed: &Completed) -> Result<(), WrongArguments> {
    let units = settings::units(&args.survey.read.options);
    let limits = settings::class_limits(args.classes.as_deref(), &completed.config, units)?;
    args.classes = limits.map(<[f64]>::to_vec);
    if args.zones.strata.is_none() {
        args.zones.strata.clone_from(&completed.config.strata);
    }
    Ok(())
}

/// Zones, rates and folder of a plan, where the zones are those of a visit of a field folder.
///
/// # Errors
/// As [`complete`]; when the visit is not mapped yet or the field has no rates.
pub fn complete_plan(args: &mut PlanArgs) -> Result<(), Box<dyn Error>> {
    let folder = args.zones.clone();
    let Some(day) = args.visit else { return Ok(()) };
    if !folder.is_dir() {
        return Err(visit_of_file().into());
    }
    let config = config_of(&folder, None)?;
    let visits = visits(&folder, &config, &ReadOptions::default())?;
    let visit = &visits[visit_of(&folder, &days_of(&visits), day)?];
    let results = results_folder(&folder, &config).join(visit.name());
    args.zones = results.join(ZONES);
    if !args.zones.is_file() {
        return Err(format!(
            "{}: this visit is not mapped yet; loosedepth map {} --visit {day} does it",
            args.zones.display(),
            folder.display()
        )
        .into());
    }
    if args.rates.is_none() {
        args.rates.clone_from(&config.rates);
    }
    args.result.out.get_or_insert(results.join(PLAN));
    Ok(())
}

fn visit_of_file() -> WrongArguments {
    WrongArguments("--visit is for the folder of a field; a file's days have --date".into())
}

/// The arguments of each visit of a field folder, by date, and its settings.
///
/// # Errors
/// As [`complete`]; when a day is chosen, which is for files.
pub fn every_visit(
    folder: &Path,
    options: &ReadOptions,
    check: &CheckOptions,
) -> Result<(Config, Vec<SurveyArgs>), Box<dyn Error>> {
    if options.date.is_some() {
        let problem =
            "--date is for a survey's file; the visits of a field folder have their own days";
        return Err(WrongArguments(problem.into()).into());
    }
    let (mut options, mut check) = (options.clone(), check.clone());
    let config = config_of(folder, options.config.as_deref())?;
    complete_options(&mut options, &config);
    complete_check(&mut check, &config);
    let visits = visits(folder, &config, &options)?;
    let of_visit = |visit: &VisitFile| {
        let survey = folder.to_path_buf();
        let mut read = ReadArgs { survey, visit: None, options: options.clone() };
        take_visit(&mut read, visit, &visits);
        SurveyArgs { read, check: check.clone() }
    };
    let args = visits.iter().map(of_visit).collect();
    Ok((config, args))
}

/// The name of a field: that of its settings, else of its boundary, else of its folder. A survey's own name is
/// that of a visit.
pub fn field_name(folder: &Path, config: &Config, boundary: Option<&Boundary>) -> String {
    let of_boundary = || boundary?.name.clone();
    let of_folder = || {
        let folder = folder.canonicalize().ok()?;
        Some(folder.file_name()?.to_string_lossy().into_owned())
    };
    let name = config.name.clone().or_else(of_boundary).or_else(of_folder);
    terminal::one_line(&name.unwrap_or_else(|| "field".into()))
}

/// Where the results of a field go.
pub fn results_folder(folder: &Path, config: &Config) -> PathBuf {
    config.results.clone().unwrap_or_else(|| folder.join(RESULTS))
}

/// What the settings file of a survey or a folder says; nothing where there is none beside a survey.
///
/// # Errors
/// When a folder has none, or it is wrong.
pub fn config_of(survey: &Path, given: Option<&Path>) -> Result<Config, Box<dyn Error>> {
    if let Some(path) = given {
        return Config::read(path);
    }
    let is_folder = survey.is_dir();
    let folder = if is_folder { Some(survey) } else { survey.parent() };
    match folder.map(|folder| folder.join(NAME)).filter(|path| path.is_file()) {
        Some(path) => Config::read(&path),
        None if is_folder => Err(format!(
            "{}: there is no {NAME} in this folder; give a survey's file, or write one that says \
             boundary = \"boundary.geojson\" and visits = \"visits\"",
            survey.display()
        )
        .into()),
        None => Ok(Config::default()),
    }
}

/// Fills in how readings are read.
pub fn complete_options(options: &mut ReadOptions, config: &Config) {
    options.units = options.units.or(config.units);
    options.sustained = options.sustained.or(config.sustained);
    if options.threshold.is_empty() {
        options.threshold.extend(config.threshold.clone());
    }
    if options.edits.is_none() {
        options.edits.clone_from(&config.edits);
    }
    if let Some(file) = &config.file {
        options.config = Some(file.path.clone());
    }
}

/// Fills in how they are checked.
pub fn complete_check(check: &mut CheckOptions, config: &Config) {
    if check.boundary.is_none() {
        check.boundary.clone_from(&config.boundary);
    }
    check.rod = check.rod.or(config.rod);
}

/// The visits of a field by date.
///
/// # Errors
/// When there is none, a file cannot be read or does not say its days, or two files hold one visit.
pub fn visits(
    folder: &Path,
    config: &Config,
    options: &ReadOptions,
) -> Result<Vec<VisitFile>, Box<dyn Error>> {
    let mut visits = Vec::new();
    let is_listed = matches!(config.visits, Some(Visits::Files(_)));
    for path in survey_files(folder, config)? {
        let found = visits_in(&path, config, options);
        visits.extend(if is_listed {
            found?
        } else {
            found.map_err(|error| no_survey(&path, error))?
        });
    }
    visits.sort_by_key(|visit| visit.days.first());
    for pair in visits.windows(2) {
        if pair[1].days.first() <= pair[0].days.last() {
            return Err(format!(
                "{} and {} both hold the visit of {}; one visit is one file",
                pair[0].path.display(),
                pair[1].path.display(),
                pair[1].days.first()
            )
            .into());
        }
    }
    Ok(visits)
}

/// The folder that visits are looked for in, where they are not listed.
pub fn visits_folder(folder: &Path, config: &Config) -> PathBuf {
    match &config.visits {
        Some(Visits::Folder(within)) => within.clone(),
        _ => folder.join(VISITS),
    }
}

/// Makes sure that results do not go among the visits, where the next run would take them for surveys.
///
/// # Errors
/// When they would.
pub fn refuse_among_visits(
    folder: &Path,
    config: &Config,
    out: &Path,
) -> Result<(), WrongArguments> {
    let within = visits_folder(folder, config);
    let is_listed = matches!(config.visits, Some(Visits::Files(_)));
    let same = within.canonicalize().ok().zip(out.canonicalize().ok());
    match same.is_some_and(|(within, out)| within == out) && !is_listed {
        true => Err(WrongArguments(format!(
            "{}: the visits lie in this folder, and results among them would be taken for surveys; give \
             another with --out FOLDER",
            out.display()
        ))),
        false => Ok(()),
    }
}

/// The files of the visits: those of the folder by name, or those listed.
fn survey_files(folder: &Path, config: &Config) -> Result<Vec<PathBuf>, Box<dyn Error>> {
    let within = match &config.visits {
        Some(Visits::Files(files)) => return Ok(files.clone()),
        _ => visits_folder(folder, config),
    };
    let shown = within.display();
    let entries = fs::read_dir(&within)
        .map_err(|error| format!("{shown}: visits are looked for here, but {error}"))?;
    let is_survey = |path: &PathBuf| may_be_survey(path) && path.is_file();
    let mut files: Vec<PathBuf> =
        entries.flatten().map(|entry| entry.path()).filter(is_survey).collect();
    files.sort();
    match files.is_empty() {
        true => Err(format!("{shown}: there is no survey in this folder of visits").into()),
        false => Ok(files),
    }
}

/// Whether a file of the folder of visits counts as a survey, by its name.
pub fn may_be_survey(path: &Path) -> bool {
    let end = path.extension().unwrap_or_default().to_string_lossy().to_lowercase();
    let is_hidden = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
    SURVEYS.contains(&end.as_str()) && !is_hidden
}

/// Whether a field has files of visits, of whatever kind.
pub fn has_surveys(folder: &Path, config: &Config) -> bool {
    survey_files(folder, config).is_ok_and(|files| !files.is_empty())
}

/// A file in the folder of visits may be something else.
fn no_survey(path: &Path, error: Box<dyn Error>) -> Box<dyn Error> {
    let end = path.extension().unwrap_or_default().to_string_lossy().to_lowercase();
    if !MAYBE_SURVEYS.contains(&end.as_str()) {
        return error;
    }
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    format!(
        "{error}; if {name} is no survey, list those that are in {NAME}: visits = [\"FILE\", …]"
    )
    .into()
}

/// The visits that one file holds: its days, parted where no reading was taken for some days.
fn visits_in(
    path: &Path,
    config: &Config,
    options: &ReadOptions,
) -> Result<Vec<VisitFile>, Box<dyn Error>> {
    let read = settings::read_settings(options, config)?;
    let (_, survey) = read_survey(path, &read)?;
    let groups = days_of_visits(&survey);
    if groups.is_empty() {
        return Err(no_day(path).into());
    }
    let shares_file = groups.len() > 1 || groups[0].first() != groups[0].last();
    let visit = |days| VisitFile { path: path.to_path_buf(), days, shares_file };
    Ok(groups.into_iter().map(visit).collect())
}

/// A visit's file does not say its day.
pub fn no_day(path: &Path) -> String {
    let problem = "no reading says its day, and a visit of a field folder needs one";
    format!("{}: {problem}; add a column `date`", path.display())
}

/// The days of a survey, parted where no reading was taken for some days.
pub fn days_of_visits(survey: &Survey) -> Vec<DateRange> {
    let mut days: Vec<Date> = survey.insertions.iter().filter_map(|it| it.date).collect();
    days.sort();
    let close = |a: &Date, b: &Date| (*b - *a).get_days() <= DAYS_IN_A_VISIT;
    let range = |days: &[Date]| DateRange::new(days[0], days[days.len() - 1]).ok();
    days.chunk_by(close).filter_map(range).collect()
}

/// The place of the visit that a day belongs to, among the days of all visits.
///
/// # Errors
/// When there is none; the message names those there are.
pub fn visit_of(folder: &Path, visits: &[DateRange], day: Date) -> Result<usize, String> {
    visits.iter().position(|days| days.contains(day)).ok_or_else(|| {
        format!("{}: there is no visit of {day}; there are {}", folder.display(), names(visits))
    })
}

fn only_visit<'a>(folder: &Path, visits: &'a [VisitFile]) -> Result<&'a VisitFile, String> {
    match visits {
        [visit] => Ok(visit),
        _ => Err(format!(
            "{}: say which visit with --visit DATE; there are {}",
            folder.display(),
            names(&days_of(visits))
        )),
    }
}

fn days_of(visits: &[VisitFile]) -> Vec<DateRange> {
    visits.iter().map(|visit| visit.days).collect()
}

fn names(visits: &[DateRange]) -> String {
    visits.iter().map(|days| days.first().to_string()).collect::<Vec<_>>().join(", ")
}
