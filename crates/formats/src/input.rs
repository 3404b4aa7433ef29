//! An input file: its bytes and their hash.

use std::fs;
use std::io::Read;
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
    /// A file that was read as these bytes.
    pub fn of(path: &Path, bytes: &[u8]) -> Self {
        InputFile { path: path.to_path_buf(), sha256: sha256(bytes) }
    }

    /// The file's name without its folder.
    pub fn name(&self) -> String {
        self.path.file_name().unwrap_or(self.path.as_os_str()).to_string_lossy().into_owned()
    }
}

/// SHA-256 of some bytes, in hexadecimal.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The largest file that is read.
pub(crate) const MOST_MB: u64 = 1024;

/// Reads a file's bytes.
pub(crate) fn read_bytes(path: &Path) -> Result<(InputFile, Vec<u8>), FormatError> {
    read_bytes_of(path, MOST_MB)
}

/// Reads the bytes of a file that may have so many megabytes.
pub(crate) fn read_bytes_of(
    path: &Path,
    most_mb: u64,
) -> Result<(InputFile, Vec<u8>), FormatError> {
    let file = || path.to_path_buf();
    let mut bytes = Vec::new();
    let size = fs::File::open(path)
        .and_then(|open| open.take((most_mb << 20) + 1).read_to_end(&mut bytes))
        .map_err(|source| FormatError::Unreadable { file: file(), source })?;
    if size as u64 > most_mb << 20 {
        return Err(FormatError::TooLarge { file: file(), most: most_mb });
    }
    Ok((InputFile::of(path, &bytes), bytes))
}

/// A file's bytes as text without a byte order mark.
pub(crate) fn text<'b>(path: &Path, bytes: &'b [u8]) -> Result<&'b str, FormatError> {
    let file = || path.to_path_buf();
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let line = bytes[..error.valid_up_to()].iter().filter(|&&byte| byte == b'\n').count() + 1;
        FormatError::NotText { file: file(), line }
    })?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    match text.trim().is_empty() {
        true => Err(FormatError::Empty { file: file() }),
        false => Ok(text),
    }
}

/// Reads a file of text, without a byte order mark.
pub(crate) fn read_text(path: &Path) -> Result<(InputFile, String), FormatError> {
    let (input, bytes) = read_bytes(path)?;
    Ok((input, text(path, &bytes)?.to_owned()))
}
