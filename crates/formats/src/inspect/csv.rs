//! A table of text with places.

use std::path::Path;

use serde_json::Value;

use super::gpx::Records;
use super::layer;
use super::sheet::{Row, Shape, Sheet};
use crate::columns::Columns;
use crate::error::FormatError;
use crate::inspected::Inspected;
use crate::record::Numbers;
use crate::table::Table;
use crate::values::number;

pub(super) fn inspect(path: &Path, text: &str) -> Result<Inspected, FormatError> {
    let table = Table::new(path, text, &Columns::NONE)?;
    let numbers = table.numbers();
    let place = table.place_columns(path, &Columns::NONE, false);
    let mut sheet = Sheet::new("table");
    let mut found = Inspected { format: "table of text (CSV)".into(), ..Inspected::default() };
    let place = match place {
        Ok(place) => Some(place),
        Err(_) => {
            let note = "it has no columns for longitude and latitude, so that no map can show it";
            found.notes.push(note.into());
            None
        }
    };
    table.read(place, &mut Records { sheet: &mut sheet });
    for row in &mut sheet.rows {
        read_numbers(row, numbers);
        if place.is_none() && matches!(row.shape, Shape::Bad(_)) {
            row.shape = Shape::None;
        }
    }
    let without_place = place.is_none();
    layer::add(&sheet, &mut found);
    if without_place {
        found.notes.retain(|note| !note.ends_with("has no place"));
    }
    Ok(found)
}

/// Texts that are numbers become numbers, and those that say nothing null.
fn read_numbers(row: &mut Row, numbers: Numbers) {
    for (name, value) in &mut row.values {
        if let Ok(read) = number(name, value, numbers) {
            *value = read.map_or(Value::Null, Value::from);
        }
    }
}
