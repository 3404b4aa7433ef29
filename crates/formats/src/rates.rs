//! The user's file of rates, a TOML document; the crate `plan` knows its keys.

use std::path::Path;

use plan::RatesFile;

use crate::error::FormatError;
use crate::input::{InputFile, read_text};

/// Reads a rates file.
///
/// # Errors
/// When it cannot be read, is no UTF-8 text, or says what makes no sense.
pub fn read_rates(path: &Path) -> Result<(InputFile, RatesFile), FormatError> {
    let (input, text) = read_text(path)?;
    let rates = RatesFile::parse(&path.display().to_string(), &text);
    Ok((input, rates.map_err(|error| FormatError::Rates(Box::new(error)))?))
}
