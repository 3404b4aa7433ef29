//! The folder that the page works on, and the paths in it.

use std::error::Error;
use std::fs;
use std::path::{Component, Path, PathBuf};

use super::answer::Refused;
use crate::config::{Config, NAME};
use crate::field_folder;

/// What was last chosen on the page.
const PAGE: &str = "page.toml";

/// A field's folder as it is typed from the folder it lies in, which is where the program then works: so that
/// every text is as it is where the shown command is typed.
#[derive(Debug, Clone)]
pub struct Field {
    typed: PathBuf,
    absolute: PathBuf,
}

impl Field {
    /// Takes a folder, which need not be there yet, and makes the one it lies in the current folder.
    ///
    /// # Errors
    /// When it is a file, has no name, or lies in no folder.
    pub fn enter(given: &Path) -> Result<Self, Box<dyn Error>> {
        let shown = given.display();
        if given.exists() && !given.is_dir() {
            return Err(format!("{shown} is a file; give the folder of a field").into());
        }
        let absolute = match given.canonicalize() {
            Ok(absolute) => absolute,
            Err(_) => new_folder(given)?,
        };
        let (Some(parent), Some(name)) = (absolute.parent(), absolute.file_name()) else {
            return Err(format!("{shown} cannot be the folder of a field; give another").into());
        };
        if name.to_str().is_none() {
            return Err(format!("{shown}: its name is not UTF-8; give it another").into());
        }
        std::env::set_current_dir(parent)
            .map_err(|error| format!("{}: cannot be entered ({error})", parent.display()))?;
        // A name that looks like a flag.
        let is_flag = name.to_string_lossy().starts_with('-');
        let typed = if is_flag { Path::new(".").join(name) } else { name.into() };
        Ok(Field { typed, absolute })
    }

    /// The folder as a command names it.
    pub fn typed(&self) -> &Path {
        &self.typed
    }

    /// The folder as a text of a command.
    pub fn typed_text(&self) -> String {
        self.typed.display().to_string()
    }

    /// The folder from the root.
    pub fn absolute(&self) -> &Path {
        &self.absolute
    }

    /// The folder that commands are typed in.
    pub fn parent(&self) -> &Path {
        self.absolute.parent().unwrap_or(&self.absolute)
    }

    /// The folder's own name.
    pub fn name(&self) -> String {
        self.absolute.file_name().unwrap_or_default().to_string_lossy().into_owned()
    }

    /// A file in it.
    pub fn join(&self, name: &str) -> PathBuf {
        self.typed.join(name)
    }

    /// Its settings file.
    pub fn settings_file(&self) -> PathBuf {
        self.join(NAME)
    }

    /// Where choices are kept.
    pub fn page_file(&self) -> PathBuf {
        self.join(PAGE)
    }

    /// What its settings file says; nothing where there is none yet.
    ///
    /// # Errors
    /// When the file is wrong.
    pub fn config(&self) -> Result<Config, Box<dyn Error>> {
        match self.settings_file().exists() {
            true => Config::read(&self.settings_file()),
            false => Ok(Config::default()),
        }
    }

    /// Refuses a path that leads out of the field's folder, by its words or over a link: who made the folder must
    /// not choose which other files of this machine the page reads or writes.
    ///
    /// # Errors
    /// When it does; the text is that the path lies outside, `what_next` says what to do.
    pub fn inside(&self, path: &Path, what_next: &str) -> Result<(), Refused> {
        match self.holds(path) {
            true => Ok(()),
            false => Err(Refused::unusable(&format!(
                "{}: lies outside of the field's folder; {what_next}",
                path.display()
            ))),
        }
    }

    /// Whether a path, which need not be there yet, is in the field's folder.
    fn holds(&self, path: &Path) -> bool {
        let below = path.strip_prefix(&self.typed).or_else(|_| path.strip_prefix(&self.absolute));
        let Ok(below) = below else { return false };
        if !below.components().all(|part| matches!(part, Component::Normal(_))) {
            return false;
        }
        // Of what is not there yet, the folder that is; a link counts as there, wherever it leads.
        let of_field = path.ancestors().take(below.components().count() + 1);
        let mut there = of_field.filter(|path| fs::symlink_metadata(path).is_ok());
        there.next().is_none_or(|path| {
            path.canonicalize().is_ok_and(|real| real.starts_with(&self.absolute))
        })
    }

    /// Where its results go.
    pub fn results(&self, config: &Config) -> PathBuf {
        field_folder::results_folder(&self.typed, config)
    }
}

/// A folder that is not there yet, in one that is.
fn new_folder(given: &Path) -> Result<PathBuf, String> {
    let shown = given.display();
    let parent = match given.parent() {
        Some(parent) if parent != Path::new("") => parent,
        _ => Path::new("."),
    };
    let name = given.file_name().ok_or_else(|| format!("{shown} is no name of a folder"))?;
    let parent = parent.canonicalize().map_err(|error| {
        format!("{shown}: the folder {} cannot be entered ({error})", parent.display())
    })?;
    Ok(parent.join(name))
}
