//! A kept list of corrections: a CSV with the columns point, field, old, new, who, why.

use std::path::Path;

use survey::Edit;

use crate::delimited::Lines;
use crate::error::FormatError;
use crate::input::{InputFile, read_text};
use crate::table::separator;

const COLUMNS: [&str; 6] = ["point", "field", "old", "new", "who", "why"];

/// Reads a list of corrections. Columns may stand in any order; others are ignored.
///
/// # Errors
/// When the file cannot be read, or one of the six columns is missing.
pub fn read_edits(path: &Path) -> Result<(InputFile, Vec<Edit>), FormatError> {
    let (input, text) = read_text(path)?;
    let wrong = |problem: String| FormatError::Edits { file: path.to_path_buf(), problem };
    let (skipped, separator) = separator(&text);
    let mut lines = Lines::new(&text, separator).skip(skipped);
    let (_, header) = lines.next().ok_or_else(|| wrong("has no header".into()))?;
    let header = header.map_err(&wrong)?;
    let mut columns = [0; COLUMNS.len()];
    for (column, name) in columns.iter_mut().zip(COLUMNS) {
        let found = header.iter().position(|heading| heading.trim().eq_ignore_ascii_case(name));
        *column = found.ok_or_else(|| {
            wrong(format!("has no column {name:?}; it needs {}", COLUMNS.join(", ")))
        })?;
    }
    let mut edits = Vec::new();
    for (line, fields) in lines {
        let fields = fields.map_err(|problem| wrong(format!("line {line}: {problem}")))?;
        if fields.len() != header.len() {
            let (fields, header) = (fields.len(), header.len());
            return Err(wrong(format!("line {line} has {fields} fields, the header {header}")));
        }
        let [point, field, old, new, who, why] =
            columns.map(|column| fields[column].trim().to_owned());
        edits.push(Edit { line, point, field, old, new, who, why });
    }
    Ok((input, edits))
}
