//! The archive of a season in the place of a field's folder: unpacked for as long as the program runs, so
//! that everything behind sees a folder.

use std::error::Error;
use std::ffi::OsString;
use std::path::{Path, PathBuf};

use formats::{Archive, is_archive, read_archive, unpack};
use tempfile::TempDir;

use crate::args::Command;
use crate::config::{Config, NAME};
use crate::exit::WrongArguments;

/// The folder an archive is unpacked in begins so.
const PREFIX: &str = "loosedepth-";

/// Bytes of the longest name that a folder gets from a field.
const LONGEST_NAME: usize = 100;

/// The archive among the arguments, where there is one.
#[derive(Debug)]
pub struct Unpacked(Option<Field>);

/// A field out of an archive.
#[derive(Debug)]
struct Field {
    archive: PathBuf,
    folder: PathBuf,
    /// Removes the folder in the end.
    _kept: TempDir,
}

impl Unpacked {
    /// Unpacks the archive that a command is given, and gives it the folder.
    ///
    /// # Errors
    /// When it cannot be read or unpacked, or the command has nowhere to write to.
    pub fn of(command: &mut Command) -> Result<Self, Box<dyn Error>> {
        let Fields { path, has_results } = fields(command);
        let Some(path) = path.filter(|path| is_archive(path)) else {
            return Ok(Unpacked(None));
        };
        if let Some(problem) = has_results.problem() {
            return Err(WrongArguments(format!("{}: {problem}", path.display())).into());
        }
        let field = Field::of(path)?;
        path.clone_from(&field.folder);
        Ok(Unpacked(Some(field)))
    }

    /// A message in which the archive stands under its own name.
    pub fn named(&self, text: &str) -> String {
        let shown = |path: &Path| path.display().to_string();
        match &self.0 {
            Some(field) => text.replace(&shown(&field.folder), &shown(&field.archive)),
            None => text.to_owned(),
        }
    }
}

impl Field {
    fn of(archive: &Path) -> Result<Self, Box<dyn Error>> {
        let failed = |error| format!("no folder to unpack {} in ({error})", archive.display());
        let kept = tempfile::Builder::new().prefix(PREFIX).tempdir().map_err(failed)?;
        let read = read_archive(archive)?;
        let folder = kept.path().join(folder_name(&read, archive));
        unpack_trusting_nothing(&read, archive, &folder)?;
        Ok(Field { archive: archive.to_path_buf(), folder, _kept: kept })
    }
}

/// Unpacks an archive into a folder of its own.
///
/// # Errors
/// When it cannot be unpacked, or its settings lead out of the folder.
pub fn unpack_trusting_nothing(
    read: &Archive,
    archive: &Path,
    folder: &Path,
) -> Result<(), Box<dyn Error>> {
    unpack(read, folder)?;
    let settings = folder.join(NAME);
    // Who made the archive must not choose which other files of this machine are read.
    let leads_out = settings.is_file().then(|| Config::leads_out(&settings)).transpose();
    match leads_out.ok().flatten().flatten() {
        Some(problem) => Err(format!("{}: {problem}", archive.display()).into()),
        None => Ok(()),
    }
}

/// A field whose settings and boundary have no name is called as its folder is: that of the archive is called as
/// the field was, where that can be the name of a folder.
fn folder_name(read: &Archive, archive: &Path) -> OsString {
    let is_name = |name: &&str| {
        let plain =
            name.chars().all(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_' | '\''));
        plain && name.len() <= LONGEST_NAME && name.trim() == *name
    };
    match read.field_name().filter(is_name) {
        Some(name) => name.into(),
        None => archive.file_stem().unwrap_or_default().into(),
    }
}

/// The argument of a command that may be a field's folder, and where its results go.
struct Fields<'a> {
    path: Option<&'a mut PathBuf>,
    has_results: Results,
}

/// What a command on an archive does with results.
#[derive(Clone, Copy)]
enum Results {
    /// It has none, or a place for them.
    Placed,
    /// They would go into the field's folder, which is gone when the program ends.
    Homeless,
    /// It needs those that lie in the field's folder, which are not archived.
    Wanted,
}

impl Results {
    fn of(out: Option<&PathBuf>) -> Self {
        if out.is_some() { Results::Placed } else { Results::Homeless }
    }

    fn problem(self) -> Option<&'static str> {
        match self {
            Results::Placed => None,
            Results::Homeless => {
                Some("an archive has no folder for results; give one with --out FOLDER")
            }
            Results::Wanted => {
                Some("an archive holds no maps; give the zones.geojson of a mapped visit")
            }
        }
    }
}

fn fields(command: &mut Command) -> Fields<'_> {
    let (path, has_results) = match command {
        Command::Check(args) => (Some(&mut args.survey.read.survey), Results::Placed),
        Command::Map(args) => {
            let out = Results::of(args.result.out.as_ref());
            (Some(&mut args.survey.read.survey), out)
        }
        Command::Raster(args) => (Some(&mut args.survey.read.survey), Results::Placed),
        Command::Profile(args) => (Some(&mut args.read.survey), Results::Placed),
        Command::Plan(args) => (Some(&mut args.zones), Results::Wanted),
        Command::Clean(args) => {
            let out = Results::of(args.result.out.as_ref());
            (Some(&mut args.survey.read.survey), out)
        }
        Command::Compare(args) => {
            let out = Results::of(args.result.out.as_ref());
            (args.visits.visits.first_mut(), out)
        }
        Command::Report(args) => {
            let out = Results::of(args.result.out.as_ref());
            (args.visits.first_mut(), out)
        }
        Command::Season(args) => (Some(&mut args.field), Results::of(args.result.out.as_ref())),
        Command::Spots(args) => {
            let out = Results::of(args.out.as_ref());
            (Some(&mut args.field), out)
        }
        // Without a folder for their files they print.
        Command::Trial(args) => (args.visits.visits.first_mut(), Results::Placed),
        Command::Calendar(args) => (args.field.as_mut(), Results::Placed),
        // One says itself what an archive holds, the other works in a folder and takes an archive into it.
        Command::Inspect(_) | Command::Open(_) => (None, Results::Placed),
    };
    Fields { path, has_results }
}
