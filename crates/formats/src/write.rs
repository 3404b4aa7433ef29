//! Results onto the disk: each file whole or not at all.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use crate::error::FormatError;

/// A file to be written.
pub struct Output {
    /// Its name within the folder; `TASKDATA/TASKDATA.XML` lies in a folder of its own there.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Makes sure, before any work is done, that results of these names can go into a folder.
///
/// # Errors
/// When the folder is a file, or holds one of them and `replace` is false.
pub fn refuse_existing(folder: &Path, names: &[&str], replace: bool) -> Result<(), FormatError> {
    if folder.exists() && !folder.is_dir() {
        return Err(FormatError::FolderIsFile { folder: folder.to_path_buf() });
    }
    let there: Vec<&str> =
        names.iter().copied().filter(|name| folder.join(name).exists()).collect();
    match there.is_empty() || replace {
        true => Ok(()),
        false => {
            let (folder, names) = (folder.to_path_buf(), there.join(", "));
            Err(FormatError::Exists { folder, names })
        }
    }
}

/// Makes sure, before any work is done, that a result can go into a file.
///
/// # Errors
/// When it is a folder, or is there and `replace` is false.
pub fn refuse_existing_file(path: &Path, replace: bool) -> Result<(), FormatError> {
    let path = path.to_path_buf();
    match path.exists() {
        true if path.is_dir() => Err(FormatError::FileIsFolder { path }),
        true if !replace => Err(FormatError::FileExists { path }),
        _ => Ok(()),
    }
}

/// A single result that is written piece by piece: under another name in its folder until it is
/// complete, and gone again unless it is kept.
pub(crate) struct NewFile {
    path: PathBuf,
    replace: bool,
    // Dropped before the folder.
    file: NamedTempFile,
    folder: MadeFolder,
}

impl NewFile {
    /// Begins a file; its folder is made where it is missing.
    pub fn create(path: &Path, replace: bool) -> Result<Self, FormatError> {
        refuse_existing_file(path, replace)?;
        let folder = match path.parent() {
            Some(folder) if folder != Path::new("") => folder,
            _ => Path::new("."),
        };
        let made = || {
            let folder = MadeFolder::new(folder)?;
            Ok((new_file(&folder.path)?, folder))
        };
        let (file, folder) = made().map_err(|source| unwritable(path, source))?;
        Ok(NewFile { path: path.to_path_buf(), replace, file, folder })
    }

    /// The folder it lies in.
    pub fn folder(&self) -> &Path {
        &self.folder.path
    }

    /// To write to.
    pub fn as_file_mut(&mut self) -> &mut fs::File {
        self.file.as_file_mut()
    }

    /// What the disk refused, as an error of this file.
    pub fn unwritable(&self, source: std::io::Error) -> FormatError {
        unwritable(&self.path, source)
    }

    /// Gives the complete file its name.
    pub fn keep(self) -> Result<(), FormatError> {
        let NewFile { path, replace, file, folder: _folder } = self;
        file.as_file().sync_all().map_err(|source| unwritable(&path, source))?;
        let kept = if replace { file.persist(&path) } else { file.persist_noclobber(&path) };
        match kept {
            Ok(_) => Ok(()),
            Err(error) if path.exists() && !replace => {
                drop(error);
                Err(FormatError::FileExists { path })
            }
            Err(error) => Err(unwritable(&path, error.error)),
        }
    }
}

/// A folder that was made if it was missing, and then goes again if it is left empty.
struct MadeFolder {
    path: PathBuf,
    made: bool,
}

impl MadeFolder {
    fn new(path: &Path) -> std::io::Result<Self> {
        let made = !path.exists();
        fs::create_dir_all(path)?;
        Ok(MadeFolder { path: path.to_path_buf(), made })
    }
}

impl Drop for MadeFolder {
    fn drop(&mut self) {
        if self.made {
            // Refused while the folder holds anything, which is what is wanted.
            let _ = fs::remove_dir(&self.path);
        }
    }
}

fn unwritable(file: &Path, source: std::io::Error) -> FormatError {
    FormatError::Unwritable { file: file.to_path_buf(), source }
}

/// Writes files into a folder, which is made where it is missing. All are first written in full
/// under other names, then given their own; so a file is never half written, and when one cannot
/// be written none is.
///
/// # Errors
/// When the folder cannot be used: see [`refuse_existing`], or the disk refuses.
pub fn write_files(folder: &Path, files: &[Output], replace: bool) -> Result<(), FormatError> {
    let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
    refuse_existing(folder, &names, replace)?;
    if let Some(name) = names.iter().find(|name| folder.join(name).is_dir()) {
        return Err(FormatError::FileIsFolder { path: folder.join(name) });
    }
    let in_folder = |source| unwritable(folder, source);
    let _made = MadeFolder::new(folder).map_err(in_folder)?;
    let mut inner: Vec<&Path> = names.iter().filter_map(|name| Path::new(name).parent()).collect();
    inner.dedup();
    // After `_made`, so that they go first where nothing is written.
    let _inner = inner
        .into_iter()
        .map(|inner| MadeFolder::new(&folder.join(inner)))
        .collect::<std::io::Result<Vec<_>>>()
        .map_err(in_folder)?;
    let beside = |name: &str| folder.join(Path::new(name).parent().unwrap_or(Path::new("")));
    let written = files
        .iter()
        .map(|file| Ok((file.name.as_str(), complete(&beside(&file.name), &file.bytes)?)))
        .collect::<std::io::Result<Vec<_>>>()
        .map_err(in_folder)?;
    for (name, file) in written {
        let path = folder.join(name);
        file.persist(&path).map_err(|error| unwritable(&path, error.error))?;
    }
    Ok(())
}

/// A complete file in the folder under a name of its own, gone again unless it is kept.
fn complete(folder: &Path, bytes: &[u8]) -> std::io::Result<NamedTempFile> {
    let mut file = new_file(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    Ok(file)
}

/// An empty file in the folder under a name of its own, gone again unless it is kept.
fn new_file(folder: &Path) -> std::io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".loosedepth-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // As any new file: the user's umask takes away what it must.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn output(name: &str, text: &str) -> Output {
        Output { name: name.into(), bytes: text.into() }
    }

    #[test]
    fn nothing_is_replaced_unasked() {
        let folder = tempfile::tempdir().unwrap();
        let target = folder.path().join("new/results");
        write_files(&target, &[output("a", "1"), output("b", "2")], false).unwrap();
        let again = [output("c", "3"), output("b", "4")];
        let error = write_files(&target, &again, false).unwrap_err();
        assert!(error.to_string().contains("already holds b"), "{error}");
        assert!(!target.join("c").exists());
        write_files(&target, &again, true).unwrap();
        assert_eq!(fs::read_to_string(target.join("b")).unwrap(), "4");
        assert_eq!(fs::read_to_string(target.join("a")).unwrap(), "1");
        assert_eq!(fs::read_dir(&target).unwrap().count(), 3, "no other file is left behind");
    }

    #[test]
    fn a_file_may_lie_in_a_folder_of_its_own() {
        let folder = tempfile::tempdir().unwrap();
        let target = folder.path().join("results");
        let files = [output("a", "1"), output("inner/b", "2"), output("inner/c", "3")];
        write_files(&target, &files, false).unwrap();
        assert_eq!(fs::read_to_string(target.join("inner/c")).unwrap(), "3");
        let error = write_files(&target, &files[1..], false).unwrap_err();
        assert!(error.to_string().contains("inner/b, inner/c"), "{error}");
        let other = folder.path().join("other");
        fs::create_dir_all(other.join("inner/b")).unwrap();
        assert!(write_files(&other, &files, true).is_err());
        assert!(!other.join("a").exists() && !other.join("inner/c").exists());
    }

    #[test]
    fn a_folder_in_the_place_of_a_file_stops_all() {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("b")).unwrap();
        let files = [output("a", "1"), output("b", "2")];
        let error = write_files(folder.path(), &files, true).unwrap_err();
        assert!(error.to_string().contains("is a folder"), "{error}");
        assert!(!folder.path().join("a").exists());
    }

    #[test]
    fn a_file_is_no_folder() {
        let file = NamedTempFile::new().unwrap();
        let error = write_files(file.path(), &[output("a", "1")], true).unwrap_err();
        assert!(error.to_string().contains("needs a folder"));
        assert!(write_files(&file.path().join("under"), &[output("a", "1")], true).is_err());
    }
}
