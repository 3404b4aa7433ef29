//! A map as it is asked for: arguments, what the settings file says, and the settings they are.

use std::error::Error;

use formats::{read_earlier_zones, read_strata};
use mapping::MapSettings;

use super::Source;
use crate::args::MapArgs;
use crate::field_folder::{self, Completed};
use crate::settings;

/// What a map is asked for with: arguments with what the settings file says, and the settings they are.
#[derive(Clone)]
pub struct Asked {
    /// The arguments.
    pub args: MapArgs,
    /// What the settings file says.
    pub completed: Completed,
    /// How the map is made; what is read from files comes with [`Asked::read`].
    pub settings: MapSettings,
}

impl Asked {
    /// Fills in what the settings file says.
    ///
    /// # Errors
    /// When the settings file is wrong, the visit is not there, or a flag makes no sense.
    pub fn of(mut args: MapArgs) -> Result<Self, Box<dyn Error>> {
        let completed = field_folder::complete_map(&mut args)?;
        let settings = settings::map_settings(&args)?;
        Ok(Asked { args, completed, settings })
    }

    /// The same with other classes and rules of zones, where all else is as it was.
    ///
    /// # Errors
    /// When a flag makes no sense.
    pub fn with_zones_of(&self, mut args: MapArgs) -> Result<Self, Box<dyn Error>> {
        args.survey = self.args.survey.clone();
        field_folder::complete_classes(&mut args, &self.completed)?;
        let mut settings = settings::map_settings(&args)?;
        settings.strata.clone_from(&self.settings.strata);
        settings.zones.earlier.clone_from(&self.settings.zones.earlier);
        Ok(Asked { args, completed: self.completed.clone(), settings })
    }

    /// Reads the survey and the ground it lies on.
    ///
    /// # Errors
    /// When a file cannot be read.
    pub fn read(&mut self) -> Result<Source, Box<dyn Error>> {
        let mut source = super::source(&self.args.survey, &self.completed.config)?;
        read_ground(&self.args, &mut source, &mut self.settings)?;
        if let Some(title) = self.args.title.as_ref().filter(|title| !title.trim().is_empty()) {
            source.field_name.clone_from(title);
        }
        Ok(source)
    }
}

/// Reads the strata and the earlier zones, where they are given.
fn read_ground(
    args: &MapArgs,
    source: &mut Source,
    settings: &mut MapSettings,
) -> Result<(), Box<dyn Error>> {
    if let Some(path) = &args.zones.strata {
        let (file, strata) = read_strata(path)?;
        source.readings.files.push(("strata", file));
        settings.strata = strata;
    }
    if let Some(path) = &args.zones.earlier_zones {
        let (file, earlier) = read_earlier_zones(path)?;
        source.readings.files.push(("earlier zones", file));
        settings.zones.earlier = earlier;
    }
    Ok(())
}
