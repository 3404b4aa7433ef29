//! A kept list of corrections: a CSV with the columns point, field, old, new, who, why, and visit where it
//! is of the visits of a field.

use std::path::Path;

use survey::{Date, Edit};

use crate::delimited::Lines;
use crate::error::FormatError;
use crate::input::{InputFile, read_text};
use crate::table::separator;

const COLUMNS: [&str; 6] = ["point", "field", "old", "new", "who", "why"];
/// A column that may be there.
const VISIT: &str = "visit";

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
    let place =
        |name: &str| header.iter().position(|heading| heading.trim().eq_ignore_ascii_case(name));
    let visit_column = place(VISIT);
    let mut columns = [0; COLUMNS.len()];
    for (column, name) in columns.iter_mut().zip(COLUMNS) {
        *column = place(name).ok_or_else(|| {
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
        let visit = visit_column.map_or(Ok(None), |column| visit(&fields[column]));
        let visit = visit.map_err(|problem| wrong(format!("line {line}: {problem}")))?;
        edits.push(Edit { line, visit, point, field, old, new, who, why });
    }
    Ok((input, edits))
}

/// The day of a visit; none where the field is empty.
fn visit(text: &str) -> Result<Option<Date>, String> {
    match text.trim() {
        "" => Ok(None),
        day => match day.parse() {
            Ok(day) => Ok(Some(day)),
            Err(_) => Err(format!("visit {day:?} is not a date like 2025-07-08")),
        },
    }
}
