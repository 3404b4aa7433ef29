//! Two folders of maps, compared byte for byte.

use std::collections::BTreeSet;
use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

use crate::error::XtaskError;
use crate::workspace::at;

/// What is wrong with a kept file, by its path within the folder.
#[derive(Debug, PartialEq, Eq)]
pub enum Difference {
    /// Made, but not kept.
    Missing(PathBuf),
    /// Kept, but not made.
    Extra(PathBuf),
    /// Kept with other bytes.
    Differs(PathBuf),
}

impl Difference {
    /// The file.
    pub fn file(&self) -> &Path {
        match self {
            Difference::Missing(file) | Difference::Extra(file) | Difference::Differs(file) => file,
        }
    }
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let what = match self {
            Difference::Missing(_) => "is missing",
            Difference::Extra(_) => "is extra",
            Difference::Differs(_) => "differs",
        };
        write!(f, "{} {what}", self.file().display())
    }
}

/// The differences between made and kept maps, in the order of their paths. Only folders are maps:
/// a file beside them, such as a README, is not looked at.
pub fn differences(made: &Path, kept: &Path) -> Result<Vec<Difference>, XtaskError> {
    let (made_files, kept_files) = (map_files(made)?, map_files(kept)?);
    let mut found = Vec::new();
    for file in made_files.union(&kept_files) {
        let file = file.clone();
        if !kept_files.contains(&file) {
            found.push(Difference::Missing(file));
        } else if !made_files.contains(&file) {
            found.push(Difference::Extra(file));
        } else if read(&made.join(&file))? != read(&kept.join(&file))? {
            found.push(Difference::Differs(file));
        }
    }
    Ok(found)
}

/// The files in the folders of a folder, as paths within it.
fn map_files(maps: &Path) -> Result<BTreeSet<PathBuf>, XtaskError> {
    let mut files = BTreeSet::new();
    let mut folders: Vec<PathBuf> = entries(maps)?.into_iter().filter(|p| p.is_dir()).collect();
    while let Some(folder) = folders.pop() {
        for path in entries(&folder)? {
            match (path.is_dir(), path.strip_prefix(maps)) {
                (true, _) => folders.push(path),
                (false, Ok(within)) => drop(files.insert(within.to_path_buf())),
                (false, Err(_)) => unreachable!("an entry lies within its folder"),
            }
        }
    }
    Ok(files)
}

fn entries(folder: &Path) -> Result<Vec<PathBuf>, XtaskError> {
    let entries = fs::read_dir(folder).map_err(at(folder))?;
    let paths = entries.map(|entry| entry.map(|entry| entry.path()));
    paths.collect::<Result<_, _>>().map_err(at(folder))
}

fn read(file: &Path) -> Result<Vec<u8>, XtaskError> {
    fs::read(file).map_err(at(file))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in files {
            let path = folder.path().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, text).unwrap();
        }
        folder
    }

    #[test]
    fn each_file_that_is_not_as_made_is_named() {
        let made = folder(&[("a/same", "1"), ("a/changed", "2"), ("b/new", "3")]);
        let kept = folder(&[
            ("README.md", "no map"),
            ("a/same", "1"),
            ("a/changed", "two"),
            ("c/old", "4"),
        ]);
        let found = differences(made.path(), kept.path()).unwrap();
        let said: Vec<String> = found.iter().map(ToString::to_string).collect();
        assert_eq!(said, ["a/changed differs", "b/new is missing", "c/old is extra"]);
        assert_eq!(differences(made.path(), made.path()).unwrap(), []);
    }

    #[test]
    fn a_missing_folder_is_an_error_not_a_match() {
        let made = folder(&[("a/same", "1")]);
        assert!(differences(made.path(), &made.path().join("none")).is_err());
    }
}
