//! What every format comes down to: rows of values, each with a shape.

use geo::{Coord, CoordsIter, MultiPolygon};
use geojson::JsonObject;
use serde_json::Value;
use survey::CoordinateSystem;

/// The most that is kept of one layer; the rest is counted.
const MOST_ROWS: usize = 20_000;
const MOST_POSITIONS: usize = 1_000_000;
const MOST_VALUES: usize = 64;
const MOST_TEXT_BYTES: usize = 200;

/// A layer, table or list of places.
#[derive(Default)]
pub(super) struct Sheet {
    pub name: String,
    /// The coordinate system; `None` for longitude and latitude in WGS 84.
    pub system: Option<CoordinateSystem>,
    pub rows: Vec<Row>,
    /// Rows that were counted only.
    pub left_out: usize,
    positions: usize,
}

/// One record.
pub(super) struct Row {
    /// A name beside its values.
    pub name: Option<String>,
    pub shape: Shape,
    /// Numbers and texts by name, in the file's order.
    pub values: JsonObject,
}

/// Where a record lies.
pub(super) enum Shape {
    Polygons(MultiPolygon),
    Point(Coord),
    /// Something else, in words: `LineString`.
    Other(String),
    /// It says nothing.
    None,
    /// What is wrong with it.
    Bad(String),
}

impl Sheet {
    pub fn new(name: &str) -> Sheet {
        Sheet { name: name.to_owned(), ..Sheet::default() }
    }

    /// Takes a row, as far as there is room.
    pub fn push(&mut self, mut row: Row) {
        if let Shape::Polygons(polygons) = &row.shape {
            self.positions += polygons.coords_count();
        }
        if self.rows.len() >= MOST_ROWS || self.positions > MOST_POSITIONS {
            self.left_out += 1;
            return;
        }
        row.values = row.values.into_iter().take(MOST_VALUES).map(|(k, v)| (k, short(v))).collect();
        self.rows.push(row);
    }
}

fn short(value: Value) -> Value {
    match value {
        Value::String(text) => crate::plain_text::cut(&text, MOST_TEXT_BYTES).into(),
        Value::Array(_) | Value::Object(_) => Value::Null,
        other => other,
    }
}
