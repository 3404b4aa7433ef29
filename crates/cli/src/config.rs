//! The settings file `loosedepth.toml`.

use std::error::Error;
use std::path::PathBuf;

use formats::{Columns, InputFile};
use serde::Deserialize;

use crate::args::ReadArgs;

/// The name a settings file has beside a survey.
const NAME: &str = "loosedepth.toml";

/// What a settings file says. Unknown words are refused: a typing error must not be lost.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Config {
    /// Which column says what.
    pub columns: Columns,
    /// The file it was read from.
    #[serde(skip)]
    pub file: Option<InputFile>,
}

impl Config {
    /// Reads the file named, or the one beside the survey; without one nothing is set.
    pub fn read(args: &ReadArgs) -> Result<Config, Box<dyn Error>> {
        let beside = || Some(args.survey.parent()?.join(NAME)).filter(|path| path.is_file());
        let Some(path): Option<PathBuf> = args.config.clone().or_else(beside) else {
            return Ok(Config::default());
        };
        let shown = path.display();
        let text = std::fs::read_to_string(&path)
            .map_err(|error| format!("{shown}: cannot be read ({error})"))?;
        let mut config: Config = toml::from_str(&text)
            .map_err(|error| format!("{shown}: {error}").trim_end().to_owned())?;
        config.file = Some(InputFile::of(&path, text.as_bytes()));
        Ok(config)
    }
}
