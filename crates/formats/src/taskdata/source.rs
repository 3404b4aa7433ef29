//! The files of a TASKDATA folder, wherever it lies: on the disk or in a zip archive.
//!
//! What is read is bounded, so that neither a huge file nor an archive that unpacks to one fills memory.

use std::fs::{self, File};
use std::io::{Cursor, Read};
use std::path::{Path, PathBuf};

use zip::ZipArchive;

use crate::error::FormatError;

/// The largest single file and archive.
const MOST_MB: u64 = 64;
/// The most that is read of all files together.
const MOST_IN_ALL_MB: u64 = 512;
/// More files than this are no TASKDATA folder.
const MOST_FILES: usize = 10_000;
const MAIN: &str = "TASKDATA.XML";

/// A TASKDATA folder.
pub(super) struct Source {
    path: PathBuf,
    files: Files,
    left_bytes: u64,
}

enum Files {
    Folder(PathBuf),
    Zip(Box<ZipArchive<Cursor<Vec<u8>>>>),
}

/// A file that was found.
pub(super) struct Found {
    /// Its name as it is written there.
    pub name: String,
    pub bytes: Vec<u8>,
}

impl Source {
    /// Opens the folder TASKDATA, a folder that holds it, its TASKDATA.XML, or a zip archive of it.
    ///
    /// # Errors
    /// When it cannot be read or is too large.
    pub fn open(path: &Path) -> Result<Source, FormatError> {
        let unreadable = |source| FormatError::Unreadable { file: path.to_path_buf(), source };
        let is_folder = fs::metadata(path).map_err(unreadable)?.is_dir();
        let files = match is_folder {
            true => Files::Folder(inner_folder(path)),
            false => Self::opened(path)?,
        };
        Ok(Source { path: path.to_path_buf(), files, left_bytes: MOST_IN_ALL_MB << 20 })
    }

    fn opened(path: &Path) -> Result<Files, FormatError> {
        let unreadable = |source| FormatError::Unreadable { file: path.to_path_buf(), source };
        let mut start = [0; 4];
        let mut file = File::open(path).map_err(unreadable)?;
        let is_zip = file.read_exact(&mut start).is_ok() && start == *b"PK\x03\x04";
        if !is_zip {
            let folder = path.parent().filter(|folder| *folder != Path::new(""));
            return Ok(Files::Folder(folder.unwrap_or(Path::new(".")).to_path_buf()));
        }
        let file = File::open(path).map_err(unreadable)?;
        let bytes = bounded(path, file, MOST_MB << 20)?;
        let problem = |problem: String| FormatError::NotTaskdata { file: path.into(), problem };
        let archive = ZipArchive::new(Cursor::new(bytes))
            .map_err(|error| problem(format!("not a sound zip archive: {error}")))?;
        match archive.len() > MOST_FILES {
            true => Err(problem(format!("the archive holds more than {MOST_FILES} files"))),
            false => Ok(Files::Zip(Box::new(archive))),
        }
    }

    /// The main file.
    ///
    /// # Errors
    /// When there is none, or it cannot be read.
    pub fn main(&mut self) -> Result<Found, FormatError> {
        let is_file = self.path.is_file();
        if let (Files::Folder(folder), true) = (&self.files, is_file) {
            let name = self.path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            let folder = folder.clone();
            return self.read(&folder.join(&name), name);
        }
        self.file(MAIN)?.ok_or_else(|| FormatError::NotTaskdata {
            file: self.path.clone(),
            problem: format!(
                "no {MAIN} in it; give the folder TASKDATA, its {MAIN}, or a zip archive of the folder"
            ),
        })
    }

    /// A file by its name in any case; `None` where there is none.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn file(&mut self, wanted: &str) -> Result<Option<Found>, FormatError> {
        match &mut self.files {
            Files::Folder(folder) => {
                let folder = folder.clone();
                let Some(name) = name_in_folder(&folder, wanted) else { return Ok(None) };
                self.read(&folder.join(&name), name).map(Some)
            }
            Files::Zip(archive) => {
                let Some((index, name)) = name_in_archive(archive, wanted) else {
                    return Ok(None);
                };
                let problem = |error: zip::result::ZipError| FormatError::NotTaskdata {
                    file: self.path.clone(),
                    problem: format!("{name} in the archive cannot be read: {error}"),
                };
                let file = archive.by_index(index).map_err(problem)?;
                let bytes = bounded(&self.path, file, self.left_bytes.min(MOST_MB << 20))?;
                self.left_bytes -= bytes.len() as u64;
                Ok(Some(Found { name, bytes }))
            }
        }
    }

    fn read(&mut self, path: &Path, name: String) -> Result<Found, FormatError> {
        let unreadable = |source| FormatError::Unreadable { file: path.to_path_buf(), source };
        let file = File::open(path).map_err(unreadable)?;
        let bytes = bounded(path, file, self.left_bytes.min(MOST_MB << 20))?;
        self.left_bytes -= bytes.len() as u64;
        Ok(Found { name, bytes })
    }
}

/// All bytes of a file that is not larger than so many.
fn bounded(path: &Path, file: impl Read, most: u64) -> Result<Vec<u8>, FormatError> {
    let mut bytes = Vec::new();
    let read = file.take(most + 1).read_to_end(&mut bytes);
    let size = read.map_err(|source| FormatError::Unreadable { file: path.into(), source })?;
    match size as u64 > most {
        true => Err(FormatError::NotTaskdata {
            file: path.to_path_buf(),
            problem: format!(
                "it, or a file in it, is larger than the {MOST_MB} MB that are read of one file and \
                 the {MOST_IN_ALL_MB} MB of all"
            ),
        }),
        false => Ok(bytes),
    }
}

/// The folder itself, or the folder TASKDATA in it.
fn inner_folder(path: &Path) -> PathBuf {
    match name_in_folder(path, MAIN) {
        Some(_) => path.to_path_buf(),
        None => name_in_folder(path, "TASKDATA").map_or(path.to_path_buf(), |name| path.join(name)),
    }
}

/// The name of a file of a folder, in the case it has there; that in the case wanted before others.
fn name_in_folder(folder: &Path, wanted: &str) -> Option<String> {
    let entries = fs::read_dir(folder).ok()?.take(MOST_FILES).flatten();
    let names = entries.filter_map(|entry| entry.file_name().into_string().ok());
    best(names.map(|name| (0, name)), wanted, |name| name).map(|(_, name)| name)
}

/// Number and name of a file of an archive: one at the root, or in a folder TASKDATA.
fn name_in_archive(archive: &ZipArchive<Cursor<Vec<u8>>>, wanted: &str) -> Option<(usize, String)> {
    let names = (0..archive.len()).filter_map(|index| {
        let name = archive.name_for_index(index)?.ok()?;
        let folder = name.rsplit_once(['/', '\\']).map_or("", |(folder, _)| folder);
        let inner = folder.rsplit(['/', '\\']).next().unwrap_or_default();
        (inner.is_empty() || inner.eq_ignore_ascii_case("TASKDATA"))
            .then(|| (index, name.to_string()))
    });
    let found = best(names, wanted, |name| name.rsplit(['/', '\\']).next().unwrap_or_default());
    found.map(|(index, name)| {
        let file = name.rsplit(['/', '\\']).next().unwrap_or_default().to_owned();
        (index, file)
    })
}

fn best(
    names: impl Iterator<Item = (usize, String)>,
    wanted: &str,
    file: impl Fn(&str) -> &str,
) -> Option<(usize, String)> {
    let alike = names.filter(|(_, name)| file(name).eq_ignore_ascii_case(wanted));
    alike.min_by_key(|(_, name)| (file(name) != wanted, name.clone()))
}
