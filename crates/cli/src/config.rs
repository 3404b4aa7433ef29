//! The settings file `loosedepth.toml`: what is so for every visit of a field.
//!
//! Flags count over it, and it over the defaults. Paths in it are relative to its own folder.

use std::error::Error;
use std::fmt::Display;
use std::path::{Component, Path, PathBuf};
use std::str::FromStr;

use formats::{Columns, InputFile};
use serde::{Deserialize, Deserializer, de};
use survey::{Date, Depth, Threshold};

use crate::args::Units;

/// The name a settings file has in the folder of a field, or beside a survey.
pub const NAME: &str = "loosedepth.toml";

/// Key of the folder for results.
const RESULTS: &str = "results";

/// What a settings file says. Unknown words are refused: a typing error must not be lost.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Config {
    /// Name of the field.
    pub name: Option<String>,
    /// What grows on it.
    pub crop: Option<String>,
    /// Units of what is printed and of `classes`.
    pub units: Option<Units>,
    /// Outline of the field.
    pub boundary: Option<PathBuf>,
    /// Ground that is probed and judged apart.
    pub strata: Option<PathBuf>,
    /// Pressure that ends the loose layer.
    #[serde(deserialize_with = "parsed")]
    pub threshold: Option<Threshold>,
    /// Length that a profile must stay at or above the threshold.
    #[serde(deserialize_with = "parsed")]
    pub sustained: Option<Depth>,
    /// Length of the rod.
    #[serde(deserialize_with = "parsed")]
    pub rod: Option<Depth>,
    /// Limits between depth classes, in `units`.
    pub classes: Option<Vec<f64>>,
    /// Where the visits lie: a folder of survey files, or the files.
    pub visits: Option<Visits>,
    /// Kept list of corrections.
    pub edits: Option<PathBuf>,
    /// What to do in which zones.
    pub rates: Option<PathBuf>,
    /// Folder for results.
    pub results: Option<PathBuf>,
    /// Day of planting.
    #[serde(deserialize_with = "parsed")]
    pub planted: Option<Date>,
    /// Daily weather.
    pub weather: Option<PathBuf>,
    /// Moistures that differ by no more count as equal, percentage points.
    pub moisture_within: Option<f64>,
    /// Stages of the crop that were seen.
    pub stages: Vec<SeenStage>,
    /// Which column says what.
    pub columns: Columns,
    /// The file it was read from.
    #[serde(skip)]
    pub file: Option<InputFile>,
}

/// Where visits lie.
#[derive(Debug, Clone, Deserialize)]
#[serde(untagged)]
pub enum Visits {
    /// A folder of survey files.
    Folder(PathBuf),
    /// The files.
    Files(Vec<PathBuf>),
}

/// A stage of the crop that was seen in the field.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SeenStage {
    /// The day.
    #[serde(deserialize_with = "required")]
    pub date: Date,
    /// The stage, as its usual name: R1, silking.
    pub stage: String,
}

impl Config {
    /// Reads a settings file.
    ///
    /// # Errors
    /// When it cannot be read or says what is not understood.
    pub fn read(path: &Path) -> Result<Config, Box<dyn Error>> {
        let (mut config, text) = Config::as_written(path)?;
        if let Some(points) = config.moisture_within.filter(|it| !(it.is_finite() && *it >= 0.0)) {
            let problem = "percentage points, 0 or more";
            return Err(
                format!("{}: moisture_within is {points}, not {problem}", path.display()).into()
            );
        }
        config.file = Some(InputFile::of(path, text.as_bytes()));
        let folder = path.parent().unwrap_or(Path::new(""));
        for (_, path) in config.paths() {
            *path = folder.join(&*path);
        }
        Ok(config)
    }

    /// What the file says, its paths as they stand there.
    fn as_written(path: &Path) -> Result<(Config, String), Box<dyn Error>> {
        let shown = path.display();
        let text = std::fs::read_to_string(path)
            .map_err(|error| format!("{shown}: cannot be read ({error})"))?;
        let config = toml::from_str(&text)
            .map_err(|error| format!("{shown}: {error}").trim_end().to_owned())?;
        Ok((config, text))
    }

    /// What is wrong with a settings file that is to go with its folder, which other machines unpack: the first
    /// path that may lead out of the folder. That for results is not asked, since nothing is read there.
    ///
    /// # Errors
    /// As [`Config::read`].
    pub fn leads_out(path: &Path) -> Result<Option<String>, Box<dyn Error>> {
        let (mut config, _) = Config::as_written(path)?;
        let stays = |path: &Path| {
            path.components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir))
        };
        let leading =
            config.paths().into_iter().find(|(key, path)| *key != RESULTS && !stays(path));
        Ok(leading.map(|(key, path)| {
            format!(
                "{key} = {:?} in {NAME} leads out of the field's folder; write it relative to the folder, \
                 without ..",
                path.to_string_lossy()
            )
        }))
    }

    /// Its paths, each with its key.
    pub fn paths(&mut self) -> Vec<(&'static str, &mut PathBuf)> {
        let visits = match &mut self.visits {
            Some(Visits::Folder(path)) => std::slice::from_mut(path),
            Some(Visits::Files(files)) => files.as_mut_slice(),
            None => &mut [],
        };
        let single = [
            ("boundary", &mut self.boundary),
            ("strata", &mut self.strata),
            ("edits", &mut self.edits),
            ("rates", &mut self.rates),
            (RESULTS, &mut self.results),
            ("weather", &mut self.weather),
        ];
        let single = single.into_iter().filter_map(|(key, path)| Some((key, path.as_mut()?)));
        single.chain(visits.iter_mut().map(|path| ("visits", path))).collect()
    }
}

/// A value that is written as a text, `"200psi"`, or as a date.
fn parsed<'de, D, T>(input: D) -> Result<Option<T>, D::Error>
where
    D: Deserializer<'de>,
    T: FromStr<Err: Display>,
{
    required(input).map(Some)
}

/// The same where it must be there.
fn required<'de, D, T>(input: D) -> Result<T, D::Error>
where
    D: Deserializer<'de>,
    T: FromStr<Err: Display>,
{
    let text = match toml::Value::deserialize(input)? {
        toml::Value::String(text) => text,
        toml::Value::Datetime(date) => date.to_string(),
        other => {
            let problem = format!("needs a text in quotation marks, not {other}");
            return Err(de::Error::custom(problem));
        }
    };
    text.trim().parse().map_err(|error: T::Err| de::Error::custom(error))
}
