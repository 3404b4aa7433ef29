//! An archive's files back in a folder.

use std::fs;
use std::path::Path;

use super::Archive;
use crate::error::FormatError;
use crate::write::{Output, write_files};

/// Writes an archive's files into a folder that is empty or not there yet, all or none.
///
/// # Errors
/// When the folder holds anything, so that nothing is mixed or replaced, or the disk refuses.
pub fn unpack(archive: &Archive, folder: &Path) -> Result<(), FormatError> {
    let holds_any = fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_some());
    if holds_any {
        return Err(FormatError::NotEmpty { folder: folder.to_path_buf() });
    }
    let files: Vec<Output> = archive
        .files()
        .iter()
        .map(|file| Output { name: file.name.clone(), bytes: file.bytes.clone() })
        .collect();
    write_files(folder, &files, false)
}
