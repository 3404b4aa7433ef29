//! An input file: its bytes and their hash.

use std::fs;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use crate::error::FormatError;

/// A file that was read, as results name it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InputFile {
    /// Where it was read.
    pub path: PathBuf,
    /// SHA-256 of its bytes, in hexadecimal.
    pub sha256: String,
}

impl InputFile {
    /// The file's name without its folder.
    pub fn name(&self) -> String {
        self.path.file_name().unwrap_or(self.path.as_os_str()).to_string_lossy().into_owned()
    }
}

/// Reads a file of text, without a byte order mark.
pub(crate) fn read_text(path: &Path) -> Result<(InputFile, String), FormatError> {
    let file = || path.to_path_buf();
    let bytes =
        fs::read(path).map_err(|source| FormatError::Unreadable { file: file(), source })?;
    let sha256 = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    let text = String::from_utf8(bytes).map_err(|_| FormatError::NotText { file: file() })?;
    let text = text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text);
    match text.trim().is_empty() {
        true => Err(FormatError::Empty { file: file() }),
        false => Ok((InputFile { path: file(), sha256 }, text)),
    }
}
