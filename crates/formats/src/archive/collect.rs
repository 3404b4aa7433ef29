//! Files of a field's folder, to be archived.

use std::path::{Component, Path, PathBuf};

use super::ArchivedFile;
use crate::error::FormatError;
use crate::input::read_bytes;

/// Files that make up a shapefile beside its `.shp`.
const SIBLINGS: [&str; 4] = ["dbf", "shx", "prj", "cpg"];

impl ArchivedFile {
    /// Reads a file of a field's folder; of a shapefile, the files beside it as well.
    ///
    /// # Errors
    /// [`FormatError::Unarchivable`] when it lies outside of the folder, and when it cannot be read.
    pub fn read(folder: &Path, path: &Path, part: &str) -> Result<Vec<ArchivedFile>, FormatError> {
        let read = |path: PathBuf| {
            let name = name_below(folder, &path)?;
            Ok(ArchivedFile { part: part.to_owned(), name, bytes: read_bytes(&path)?.1 })
        };
        let siblings = siblings(path);
        std::iter::once(path.to_path_buf()).chain(siblings).map(read).collect()
    }
}

/// The other files of a shapefile.
fn siblings(path: &Path) -> Vec<PathBuf> {
    let is_shapefile = path.extension().is_some_and(|it| it.eq_ignore_ascii_case("shp"));
    let existing = |extension: &&str| {
        let either = [(*extension).to_owned(), extension.to_uppercase()];
        either.map(|it| path.with_extension(it)).into_iter().find(|path| path.is_file())
    };
    SIBLINGS.iter().filter(|_| is_shapefile).filter_map(existing).collect()
}

/// The path below a folder, its parts separated by `/`.
fn name_below(folder: &Path, path: &Path) -> Result<String, FormatError> {
    let outside = || FormatError::Unarchivable {
        problem: format!(
            "{} lies outside of the field's folder {}; move it into the folder",
            path.display(),
            folder.display()
        ),
    };
    if let Some(name) = path.strip_prefix(folder).ok().and_then(parts) {
        return Ok(name);
    }
    // `..` in a path may still end inside.
    let real = |path: &Path| {
        let unreadable = |source| FormatError::Unreadable { file: path.to_path_buf(), source };
        path.canonicalize().map_err(unreadable)
    };
    let (real_folder, real_path) = (real(folder)?, real(path)?);
    real_path.strip_prefix(real_folder).ok().and_then(parts).ok_or_else(outside)
}

/// Plain parts only, in UTF-8.
fn parts(path: &Path) -> Option<String> {
    let part = |component| match component {
        Component::Normal(part) => part.to_str(),
        _ => None,
    };
    let parts: Option<Vec<&str>> = path.components().map(part).collect();
    parts.filter(|parts| !parts.is_empty()).map(|parts| parts.join("/"))
}
