//! The rates file on the page: shown, edited as a text or by its values, and never saved where it could not be
//! read.

use std::path::PathBuf;

use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use super::answer::Refused;
use super::settings_edit::{self, Change, Step};
use super::{App, toml_json};
use crate::args::Units;
use crate::{field_folder, settings};
use mapping::DepthClasses;

/// The name a rates file gets.
pub const NAME: &str = "rates.toml";

/// Where the rates are: the file that the settings name, else that of the usual name.
///
/// # Errors
/// When the settings file is wrong, or names a file outside of the field's folder.
pub fn path(app: &App) -> Result<PathBuf, Refused> {
    let config = app.field.config()?;
    let path = config.rates.unwrap_or_else(|| app.field.join(NAME));
    app.field.inside(&path, "edit the rates by hand, or move them into the folder")?;
    Ok(path)
}

/// Its text.
///
/// # Errors
/// When there is none, or it cannot be read.
pub fn text(app: &App) -> Result<String, Refused> {
    let path = path(app)?;
    let missing = || Refused::unusable(&format!("{}: there is no such file yet", path.display()));
    settings_edit::read(&path)?.ok_or_else(missing)
}

/// The rates as the page reads them.
///
/// # Errors
/// When the settings file is wrong, or the rates are no text.
pub fn json(app: &App) -> Result<Value, Refused> {
    let path = path(app)?;
    let text = settings_edit::read(&path)?.unwrap_or_default();
    let values = text.parse::<toml::Table>().ok().filter(|_| !text.is_empty());
    let values = values.map(|table| toml_json::json(&toml::Value::Table(table)));
    let problem = match text.is_empty() {
        true => None,
        false => formats::read_rates(&path).err().map(|error| Refused::from(error).json()),
    };
    Ok(json!({ "text": text, "values": values, "problem": problem, "base": base(&text) }))
}

/// What tells a text from another: its SHA-256; nothing of no text.
fn base(text: &str) -> String {
    if text.is_empty() {
        return String::new();
    }
    Sha256::digest(text).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Saves a text that the user wrote, who began from the text that `begun` tells.
///
/// # Errors
/// When it cannot be read as rates, or the file is another by now; the file is then as it was.
pub fn save(app: &App, text: &str, begun: Option<&str>) -> Result<(), Refused> {
    let _held = app.changing();
    if let Some(begun) = begun {
        let path = path(app)?;
        let there = settings_edit::read(&path)?.unwrap_or_default();
        if base(&there) != begun && there != text {
            return Err(Refused::changed(&format!(
                "{}: changed since this text was begun; read the file again, then change it there",
                path.display()
            )));
        }
    }
    write(app, text)
}

/// Saves a text, where the folder is already held.
///
/// # Errors
/// As [`save`].
pub fn write(app: &App, text: &str) -> Result<(), Refused> {
    let path = path(app)?;
    settings_edit::write_checked(&path, text, |trial| {
        formats::read_rates(trial)?;
        Ok(())
    })?;
    name_in_settings(app)
}

/// Names the rates in the settings file, where it does not yet.
pub fn name_in_settings(app: &App) -> Result<(), Refused> {
    match app.field.config()?.rates {
        Some(_) => Ok(()),
        None => {
            let at = vec![Step::Key("rates".into())];
            settings_edit::set(app, &[Change { at, to: json!(NAME) }])
        }
    }
}

/// Writes a first rates file, which leaves all ground alone.
///
/// # Errors
/// When there is one.
pub fn begin(app: &App) -> Result<(), Refused> {
    let _held = app.changing();
    let path = path(app)?;
    if path.exists() {
        return Err(Refused::exists(&format!("{} is there already", path.display())));
    }
    let config = app.field.config()?;
    let units = settings::unit_system(config.units.unwrap_or(Units::Us));
    let classes = match &config.classes {
        Some(limits) => DepthClasses::new(limits, units).map_err(|error| error.to_string())?,
        None => DepthClasses::rod_marks(units),
    };
    let all: Vec<String> = (1..=classes.len()).map(|class| class.to_string()).collect();
    let name = toml_edit::Value::from(field_folder::field_name(app.field.typed(), &config, None));
    let text = format!(
        "# What to do in the zones, for `loosedepth plan`. So far: nothing, anywhere.\n\
         [plan]\nname = {name}\n\n[[action]]\nclasses = [{}]\ndo = \"leave\"\n",
        all.join(", ")
    );
    write(app, &text)
}
