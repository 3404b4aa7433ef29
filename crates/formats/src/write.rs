//! Results onto the disk: each file whole or not at all.

use std::fs;
use std::io::Write;
use std::path::Path;

use tempfile::NamedTempFile;

use crate::error::FormatError;

/// A file to be written.
pub struct Output {
    /// Its name within the folder.
    pub name: &'static str,
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

/// Writes files into a folder, which is made where it is missing. All are first written in full
/// under other names, then given their own; so a file is never half written, and when one cannot
/// be written none is.
///
/// # Errors
/// When the folder cannot be used: see [`refuse_existing`], or the disk refuses.
pub fn write_files(folder: &Path, files: &[Output], replace: bool) -> Result<(), FormatError> {
    let names: Vec<&str> = files.iter().map(|file| file.name).collect();
    refuse_existing(folder, &names, replace)?;
    let unwritable =
        |file: &Path, source| FormatError::Unwritable { file: file.to_path_buf(), source };
    if let Some(name) = names.iter().find(|name| folder.join(name).is_dir()) {
        return Err(FormatError::FileIsFolder { path: folder.join(name) });
    }
    let made = !folder.exists();
    let written =
        fs::create_dir_all(folder).map_err(|source| unwritable(folder, source)).and_then(|()| {
            files
                .iter()
                .map(|file| Ok((file.name, complete(folder, &file.bytes)?)))
                .collect::<std::io::Result<Vec<_>>>()
                .map_err(|source| unwritable(folder, source))
        });
    let written = match written {
        Ok(written) => written,
        Err(error) => {
            if made {
                // Only an empty folder goes; that it may stay behind is no further harm.
                let _ = fs::remove_dir(folder);
            }
            return Err(error);
        }
    };
    for (name, file) in written {
        let path = folder.join(name);
        file.persist(&path).map_err(|error| unwritable(&path, error.error))?;
    }
    Ok(())
}

/// A complete file in the folder under a name of its own, gone again unless it is kept.
fn complete(folder: &Path, bytes: &[u8]) -> std::io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".loosedepth-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // As any new file: the user's umask takes away what it must.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    Ok(file)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn output(name: &'static str, text: &str) -> Output {
        Output { name, bytes: text.into() }
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
