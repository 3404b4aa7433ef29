//! What the page shows before anything is asked: the field, its visits, its results, its jobs.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::time::SystemTime;

use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use survey::UnitSystem;

use super::App;
use super::answer::Refused;
use super::choices::{self, Choices};
use super::command_line;
use super::downloads::{self, ResultFile};
use super::field::Field;
use super::toml_json;
use crate::args::{ReadOptions, Units};
use crate::config::Config;
use crate::field_folder::{self, VisitFile};
use crate::settings::unit_system;

/// What tells files from what they were.
pub type Stamps = BTreeMap<PathBuf, Stamp>;

/// The SHA-256 of a file: its size and time stay the same where a copy keeps them. Of a large file, size and time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Stamp {
    /// Of its content.
    Content([u8; 32]),
    /// Of what is told without reading.
    About(u64, Option<SystemTime>),
}

/// The largest file that is read to tell whether it changed.
const MOST_READ: u64 = 32 << 20;

/// Ends of the names of files that are read with another of the same name.
const BESIDE: [&str; 5] = ["shp", "dbf", "shx", "prj", "cpg"];

/// Stamps a file, with those that are read with it.
pub fn stamp_with_parts(stamps: &mut Stamps, path: &Path) {
    stamp(stamps, path);
    for end in BESIDE {
        stamp(stamps, &path.with_extension(end));
        stamp(stamps, &path.with_extension(end.to_uppercase()));
    }
}

fn stamp(stamps: &mut Stamps, path: &Path) {
    let Ok(about) = fs::metadata(path) else { return };
    if !about.is_file() || stamps.contains_key(path) {
        return;
    }
    let read = (about.len() <= MOST_READ).then(|| fs::read(path).ok()).flatten();
    let stamp = match read {
        Some(bytes) => Stamp::Content(Sha256::digest(bytes).into()),
        None => Stamp::About(about.len(), about.modified().ok()),
    };
    stamps.insert(path.to_path_buf(), stamp);
}

/// The visits that were seen, for as long as no file changes.
#[derive(Default)]
pub struct SeenVisits(Mutex<Option<Seen>>);

/// Visits, or why they cannot be read, of files as they then were.
struct Seen {
    then: Stamps,
    visits: Result<Vec<VisitFile>, Refused>,
}

/// The files that a field is made of: those in its folder and in the folder of its visits, and those its settings
/// name.
pub fn stamps(field: &Field, config: &Config) -> Stamps {
    let mut stamps = Stamps::new();
    let is_ours = |path: &PathBuf| *path == field.page_file();
    for folder in [field.typed().to_path_buf(), field_folder::visits_folder(field.typed(), config)]
    {
        let entries = fs::read_dir(folder).into_iter().flatten().flatten();
        let paths = entries.map(|entry| entry.path()).filter(|path| !is_ours(path));
        paths.for_each(|path| stamp(&mut stamps, &path));
    }
    for (_, path) in config.clone().paths() {
        stamp_with_parts(&mut stamps, path);
    }
    stamps
}

impl SeenVisits {
    fn of(&self, field: &Field, config: &Config) -> Result<Vec<VisitFile>, Refused> {
        let now = stamps(field, config);
        let mut seen = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(seen) = seen.as_ref().filter(|seen| seen.then == now) {
            return seen.visits.clone();
        }
        let visits = read_visits(field, config);
        *seen = Some(Seen { then: now, visits: visits.clone() });
        visits
    }
}

/// The visits of a field as its settings say they are read.
///
/// # Errors
/// When one cannot be read, or two are one.
pub fn read_visits(field: &Field, config: &Config) -> Result<Vec<VisitFile>, Refused> {
    let mut options = ReadOptions::default();
    field_folder::complete_options(&mut options, config);
    Ok(field_folder::visits(field.typed(), config, &options)?)
}

/// What is known of the field.
struct Known {
    config: Config,
    needs: Vec<&'static str>,
    problem: Option<Refused>,
    visits: Vec<VisitFile>,
}

impl Known {
    fn of(app: &App) -> Self {
        let config = match app.field.config() {
            Ok(config) => config,
            Err(error) => {
                let (needs, visits) = (Vec::new(), Vec::new());
                let problem = Some(Refused::from(error));
                return Known { config: Config::default(), needs, problem, visits };
            }
        };
        let has_boundary = config.boundary.as_ref().is_some_and(|path| path.is_file());
        let has_visits = field_folder::has_surveys(app.field.typed(), &config);
        let needs = [("boundary", has_boundary), ("visit", has_visits)];
        let needs = needs.into_iter().filter(|(_, is_there)| !is_there);
        let needs: Vec<&str> = needs.map(|(what, _)| what).collect();
        let visits = match has_visits {
            true => app.visits.of(&app.field, &config),
            false => Ok(Vec::new()),
        };
        let (visits, mut problem) = match visits {
            Ok(visits) => (visits, None),
            Err(refused) => (Vec::new(), Some(refused)),
        };
        if has_boundary
            && problem.is_none()
            && let Some(Err(error)) = config.boundary.as_deref().map(formats::read_boundary)
        {
            problem = Some(error.into());
        }
        Known { config, needs, problem, visits }
    }

    fn days(&self) -> Vec<String> {
        self.visits.iter().map(VisitFile::name).collect()
    }
}

/// Choices with days that are there.
pub fn with_days(app: &App, choices: Choices) -> Choices {
    choices.with_days(&Known::of(app).days())
}

/// The arguments of a command that the page asks for.
///
/// # Errors
/// When a choice is odd or missing, or the settings file is wrong.
pub fn arguments(
    app: &App,
    command: &str,
    choices: Choices,
    replace: bool,
) -> Result<Vec<String>, Refused> {
    choices.refuse_odd()?;
    let known = Known::of(app);
    if let Some(problem) = known.problem {
        return Err(problem);
    }
    let choices = choices.with_days(&known.days());
    command_line::arguments(command, &choices, &app.field, &known.config, replace)
}

/// The state as the page reads it.
pub fn json(app: &App) -> Value {
    let field = &app.field;
    let known = Known::of(app);
    let config = &known.config;
    let results = field.results(config);
    let units = unit_system(config.units.unwrap_or(Units::Us));
    let (kept, notes, choices_problem) = choices::current(app);
    let choices_problem = choices_problem.map(|refused| refused.json());
    let choices = kept.with_days(&known.days());
    let is_ready = known.needs.is_empty() && known.problem.is_none();
    let visits: Vec<Value> =
        known.visits.iter().map(|it| visit(it, field, &results, units)).collect();
    let files = downloads::files(app, config).unwrap_or_default();
    let files: Vec<Value> = files.iter().map(ResultFile::json).collect();
    json!({
        "folder": field.absolute().display().to_string(),
        "folder_name": field.name(),
        "type_in": field.parent().display().to_string(),
        "field_name": field_folder::field_name(field.typed(), config, outline(config).as_ref()),
        "units": if config.units == Some(Units::Si) { "si" } else { "us" },
        "ready": is_ready,
        "needs": known.needs,
        "problem": known.problem.map(|problem| problem.json()),
        "visits": visits,
        "choices": choices.json(),
        "choices_problem": choices_problem,
        "notes": notes,
        "commands": choices.commands(field, config),
        "settings": settings(field),
        "offered": offered(field, &results),
        "results": files,
        "jobs": app.jobs.json(),
    })
}

fn outline(config: &Config) -> Option<survey::Boundary> {
    let (_, boundary) = formats::read_boundary(config.boundary.as_deref()?).ok()?;
    Some(boundary)
}

fn visit(visit: &VisitFile, field: &Field, results: &Path, units: UnitSystem) -> Value {
    let file = visit.path.strip_prefix(field.typed()).unwrap_or(&visit.path);
    json!({
        "day": visit.name(),
        "label": report::day(visit.days.first(), units),
        "last_day": visit.days.last().to_string(),
        "file": slashed(file),
        "mapped": results.join(visit.name()).join(field_folder::ZONES).is_file(),
    })
}

/// The settings file as it stands there; nothing where it is missing or no TOML.
fn settings(field: &Field) -> Value {
    let text = fs::read_to_string(field.settings_file()).unwrap_or_default();
    let table = text.parse::<toml::Table>().unwrap_or_default();
    toml_json::json(&toml::Value::Table(table))
}

/// Files of the folder that a flag may name: zones of visits, and ground that was treated.
fn offered(field: &Field, results: &Path) -> Value {
    let below = |path: PathBuf| path.strip_prefix(field.typed()).ok().map(slashed);
    let mut days: Vec<PathBuf> =
        fs::read_dir(results).into_iter().flatten().flatten().map(|it| it.path()).collect();
    days.sort();
    let of_days = |name: &str| -> Vec<PathBuf> {
        days.iter().map(|day| day.join(name)).filter(|path| path.is_file()).collect()
    };
    let zones: Vec<String> = of_days(field_folder::ZONES).into_iter().filter_map(below).collect();
    let mut areas = of_days("plan/plan.geojson");
    let own = field.join(super::kinds::TRIAL);
    areas.extend(own.is_file().then_some(own));
    let areas: Vec<String> = areas.into_iter().filter_map(below).collect();
    json!({ "map": { "earlier-zones": zones }, "trial": { "areas": areas } })
}

/// A path with `/` between its parts on every system.
pub fn slashed(path: &Path) -> String {
    let parts: Vec<String> =
        path.components().map(|part| part.as_os_str().to_string_lossy().into_owned()).collect();
    parts.join("/")
}
