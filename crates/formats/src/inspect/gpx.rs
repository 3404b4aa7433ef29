//! Waypoints of GPX.

use std::path::Path;

use geo::Coord;
use geojson::JsonObject;

use super::layer;
use super::sheet::{Row, Shape, Sheet};
use crate::error::FormatError;
use crate::gpx::read_waypoints;
use crate::inspected::Inspected;
use crate::record::{Record, RecordSink};

pub(super) fn inspect(path: &Path, text: &str) -> Result<Inspected, FormatError> {
    let mut sheet = Sheet::new("waypoints");
    let read = read_waypoints(path, text, true, &mut Records { sheet: &mut sheet })?;
    let mut found = Inspected { format: "GPX".into(), ..Inspected::default() };
    layer::add(&sheet, &mut found);
    if read.lines > 0 {
        found.notes.push(format!("{} routes and tracks are not looked at", read.lines));
    }
    Ok(found)
}

/// Takes records that have a place as rows.
pub(super) struct Records<'s> {
    pub sheet: &'s mut Sheet,
}

impl RecordSink for Records<'_> {
    fn record(&mut self, record: Record) {
        let Record { id, coordinates, properties, .. } = record;
        let shape = match coordinates {
            Ok((x, y)) => Shape::Point(Coord { x, y }),
            Err(problem) => Shape::Bad(problem),
        };
        self.sheet.push(Row { name: id, shape, values: properties });
    }

    fn fault(&mut self, _: usize, problem: String) {
        let values = JsonObject::new();
        self.sheet.push(Row { name: None, shape: Shape::Bad(problem), values });
    }
}
