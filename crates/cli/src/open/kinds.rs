//! What a dropped file is, told by its content with the readers of the commands.

use std::error::Error;
use std::path::{Path, PathBuf};

use formats::{
    FormatError, TrialWords, is_archive, read_archive, read_boundary, read_edits, read_rates,
    read_strata, read_survey, read_trial_areas, read_weather,
};
use survey::{Boundary, DateRange, Field};

use super::rates;
use crate::config::{Config, NAME};
use crate::{field_folder, settings};

/// Name of the areas of a trial.
pub const TRIAL: &str = "trial.geojson";

/// What a file of a field's folder is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Outline of the field.
    Boundary,
    /// Readings.
    Visit,
    /// Ground that is judged apart.
    Strata,
    /// Treated and check ground.
    Trial,
    /// What to do where.
    Rates,
    /// Daily weather.
    Weather,
    /// Corrections.
    Edits,
    /// The settings file.
    Settings,
    /// A season in one file.
    Archive,
}

impl Kind {
    const ALL: [Kind; 9] = [
        Kind::Boundary,
        Kind::Visit,
        Kind::Strata,
        Kind::Trial,
        Kind::Rates,
        Kind::Weather,
        Kind::Edits,
        Kind::Settings,
        Kind::Archive,
    ];

    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Boundary => "boundary",
            Kind::Visit => "visit",
            Kind::Strata => "strata",
            Kind::Trial => "trial",
            Kind::Rates => "rates",
            Kind::Weather => "weather",
            Kind::Edits => "edits",
            Kind::Settings => "settings",
            Kind::Archive => "archive",
        }
    }

    /// The kind of a word.
    pub fn of(word: &str) -> Option<Self> {
        Kind::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// The name that a file of this kind gets, where it does not keep its own.
    pub fn file_name(self) -> Option<&'static str> {
        match self {
            Kind::Boundary => Some("boundary.geojson"),
            Kind::Strata => Some("strata.geojson"),
            Kind::Trial => Some(TRIAL),
            Kind::Rates => Some(rates::NAME),
            Kind::Weather => Some("weather.csv"),
            Kind::Edits => Some("edits.csv"),
            Kind::Settings => Some(NAME),
            Kind::Visit | Kind::Archive => None,
        }
    }

    /// The key of the settings file that names it, and the file it names.
    pub fn setting(self, config: &Config) -> Option<(&'static str, Option<&PathBuf>)> {
        match self {
            Kind::Boundary => Some(("boundary", config.boundary.as_ref())),
            Kind::Strata => Some(("strata", config.strata.as_ref())),
            Kind::Rates => Some(("rates", config.rates.as_ref())),
            Kind::Weather => Some(("weather", config.weather.as_ref())),
            Kind::Edits => Some(("edits", config.edits.as_ref())),
            Kind::Visit | Kind::Trial | Kind::Settings | Kind::Archive => None,
        }
    }
}

/// What a file is, in a word and in words.
#[derive(Debug)]
pub struct Recognised {
    /// The kind.
    pub kind: Kind,
    /// What is in it.
    pub words: String,
    /// Days of its visits.
    pub days: Vec<DateRange>,
}

/// Tells what a file is: what the user says, else the first kind whose reader takes it.
///
/// # Errors
/// When no reader takes it; the text is that of the reader of readings, or of outlines where it has no points.
pub fn recognise(
    path: &Path,
    config: &Config,
    said: Option<Kind>,
) -> Result<Recognised, Box<dyn Error>> {
    if let Some(kind) = said {
        return read(path, config, kind);
    }
    let name = path.file_name().unwrap_or_default();
    if is_archive(path) {
        return read(path, config, Kind::Archive);
    }
    if name == NAME {
        return read(path, config, Kind::Settings);
    }
    if path.extension().is_some_and(|end| end.eq_ignore_ascii_case("toml")) {
        return read(path, config, Kind::Rates);
    }
    let no_survey = match read(path, config, Kind::Visit) {
        Ok(survey) => return Ok(survey),
        Err(error) => error,
    };
    let mut no_boundary = None;
    for kind in [Kind::Boundary, Kind::Trial, Kind::Strata, Kind::Weather, Kind::Edits] {
        match read(path, config, kind) {
            Ok(recognised) => return Ok(recognised),
            Err(error) if kind == Kind::Boundary => no_boundary = Some(error),
            Err(_) => {}
        }
    }
    let is_ground = matches!(no_survey.downcast_ref(), Some(FormatError::NoPoints { .. }));
    Err(no_boundary.filter(|_| is_ground).unwrap_or(no_survey))
}

/// Reads a file as one kind.
fn read(path: &Path, config: &Config, kind: Kind) -> Result<Recognised, Box<dyn Error>> {
    let units = settings::unit_system(config.units.unwrap_or(crate::args::Units::Us));
    let mut days = Vec::new();
    let words = match kind {
        Kind::Boundary => {
            let (_, boundary) = read_boundary(path)?;
            let area_m2 = outlined(path, &boundary)?;
            format!("outline of {:.2} {}", units.area(area_m2), units.area_unit())
        }
        Kind::Visit => {
            let read = settings::read_settings(&options(config), config)?;
            let (_, survey) = read_survey(path, &read)?;
            days = field_folder::days_of_visits(&survey);
            if days.is_empty() {
                return Err(field_folder::no_day(path).into());
            }
            let first: Vec<String> = days.iter().map(|days| days.first().to_string()).collect();
            format!("{} readings of {}", survey.insertions.len(), first.join(", "))
        }
        Kind::Strata => {
            let mut names: Vec<String> =
                read_strata(path)?.1.into_iter().map(|part| part.name).collect();
            names.dedup();
            format!("ground judged apart: {}", names.join(", "))
        }
        Kind::Trial => {
            read_trial_areas(path, &TrialWords::default())?;
            "treated and check ground of a trial".into()
        }
        Kind::Rates => match read_rates(path)?.1.actions.len() {
            1 => "1 action in the rates".into(),
            count => format!("{count} actions in the rates"),
        },
        Kind::Weather => {
            let (_, file) = read_weather(path)?;
            format!("weather of {} days", file.weather.days().len())
        }
        Kind::Edits => match read_edits(path)?.1.len() {
            1 => "1 correction".into(),
            count => format!("{count} corrections"),
        },
        Kind::Settings => {
            if let Some(problem) = Config::leads_out(path)? {
                return Err(format!("{}: {problem}", path.display()).into());
            }
            Config::read(path)?;
            "settings of the field".into()
        }
        Kind::Archive => {
            let archive = read_archive(path)?;
            let count = archive.files().len();
            match archive.field_name() {
                Some(name) => format!("season of {name}, {count} files"),
                None => format!("a season, {count} files"),
            }
        }
    };
    Ok(Recognised { kind, words, days })
}

/// How visits of the field are read.
fn options(config: &Config) -> crate::args::ReadOptions {
    let mut options = crate::args::ReadOptions::default();
    field_folder::complete_options(&mut options, config);
    options
}

/// Ground within an outline, square metres.
fn outlined(path: &Path, boundary: &Boundary) -> Result<f64, String> {
    let field = Field::inside(boundary).map_err(|error| format!("{}: {error}", path.display()))?;
    Ok(field.ground_area_m2())
}
