//! A shapefile with its table.

use std::path::Path;

use geo::{Coord, LineString, MultiPolygon, Polygon, Winding};
use geojson::JsonObject;
use serde_json::Value;

use super::layer;
use super::sheet::{Row, Shape, Sheet};
use crate::dbf::Dbf;
use crate::error::FormatError;
use crate::inspected::Inspected;
use crate::shapefile::{Beside, HEADER_BYTES, content, point, shape_name};

pub(super) fn inspect(path: &Path, shp: &[u8]) -> Result<Inspected, FormatError> {
    let damaged =
        |problem: String| FormatError::NotAShapefile { file: path.to_path_buf(), problem };
    let mut found = Inspected { format: "ESRI shapefile".into(), ..Inspected::default() };
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let mut sheet = Sheet::new(&stem);
    let beside = Beside::read(path)?;
    let missing = |extension: &str| {
        [extension.to_owned(), extension.to_uppercase()]
            .iter()
            .all(|extension| !path.with_extension(extension).is_file())
    };
    for (extension, what) in [
        ("shx", "the index; some displays do not load the file without it"),
        ("dbf", "the table; there are shapes without values"),
        ("prj", "the coordinate system; taken as WGS 84 longitude and latitude"),
        ("cpg", "the encoding; texts that are not ASCII may be garbled"),
    ] {
        if missing(extension) {
            found.notes.push(format!("there is no .{extension}, {what}"));
        }
    }
    let table =
        beside.dbf.as_ref().map(|(_, bytes)| Dbf::new(bytes)).transpose().map_err(damaged)?;
    sheet.system = beside.prj.as_ref().map(|(_, system)| system.clone());
    sheet.system.take_if(|system| system.is_wgs84_degrees());
    if shp.len() < HEADER_BYTES {
        return Err(damaged("it is cut short".into()));
    }
    let mut at = HEADER_BYTES;
    let mut index = 0;
    while at < shp.len() {
        let content = content(shp, at).ok_or_else(|| {
            damaged(format!("shape {} is cut short; copy the file again", index + 1))
        })?;
        at += 8 + content.len();
        let values = match table.as_ref().map(|table| (table, table.record(index))) {
            Some((table, Some(Ok(values)))) => numbers(table, values),
            _ => JsonObject::new(),
        };
        sheet.push(Row { name: None, shape: shape(content), values });
        index += 1;
    }
    if let Some(rows) = table.map(|table| table.count()).filter(|rows| *rows != index) {
        found.notes.push(format!("the .shp has {index} shapes, the .dbf {rows} records"));
    }
    layer::add(&sheet, &mut found);
    Ok(found)
}

/// Values of columns of numbers as numbers.
fn numbers(table: &Dbf, mut values: JsonObject) -> JsonObject {
    for (name, value) in &mut values {
        if !table.is_number(name) {
            continue;
        }
        let number = value.as_str().and_then(|text| text.trim().parse::<f64>().ok());
        *value = number.filter(|number| number.is_finite()).map_or(Value::Null, Value::from);
    }
    values
}

fn shape(content: &[u8]) -> Shape {
    let kind = content.get(..4).and_then(|bytes| bytes.try_into().ok()).map(i32::from_le_bytes);
    match kind {
        Some(0) => Shape::None,
        Some(1 | 11 | 21) => match point(content) {
            Ok((x, y)) => Shape::Point(Coord { x, y }),
            Err(problem) => Shape::Bad(problem),
        },
        Some(5 | 15 | 25) => match rings(content) {
            Some(rings) => Shape::Polygons(polygons(rings)),
            None => Shape::Bad("has a damaged outline".into()),
        },
        Some(other) => Shape::Other(shape_name(other).to_owned()),
        None => Shape::Bad("is empty".into()),
    }
}

/// The rings of a polygon's record (page 8).
fn rings(content: &[u8]) -> Option<Vec<LineString>> {
    let count = |at: usize| {
        let bytes = content.get(at..at + 4)?.try_into().ok()?;
        usize::try_from(i32::from_le_bytes(bytes)).ok()
    };
    let (parts, points) = (count(36)?, count(40)?);
    let places_at = 44_usize.checked_add(parts.checked_mul(4)?)?;
    let places = content.get(places_at..places_at.checked_add(points.checked_mul(16)?)?)?;
    let number = |place: usize, at: usize| {
        let bytes = places.get(16 * place + at..16 * place + at + 8)?.try_into().ok()?;
        Some(f64::from_le_bytes(bytes)).filter(|number| number.is_finite())
    };
    let mut rings = Vec::new();
    for part in 0..parts {
        let from = count(44 + 4 * part)?;
        let to = if part + 1 < parts { count(44 + 4 * (part + 1))? } else { points };
        if from > to || to > points {
            return None;
        }
        let places = (from..to).map(|k| Some(Coord { x: number(k, 0)?, y: number(k, 8)? }));
        rings.push(LineString::new(places.collect::<Option<_>>()?));
    }
    Some(rings)
}

/// Rings as polygons: a clockwise ring is an outer one, a hole belongs to the first outer ring whose frame
/// holds it.
fn polygons(rings: Vec<LineString>) -> MultiPolygon {
    use geo::{BoundingRect, Contains};
    let (outer, holes): (Vec<_>, Vec<_>) = rings.into_iter().partition(|ring| !ring.is_ccw());
    let mut polygons: Vec<Polygon> =
        outer.into_iter().map(|ring| Polygon::new(ring, Vec::new())).collect();
    for hole in holes {
        let frame = hole.bounding_rect();
        let holder = polygons.iter_mut().filter(|polygon| {
            frame.zip(polygon.bounding_rect()).is_some_and(|(hole, shell)| shell.contains(&hole))
        });
        // Of several the smallest, so that a hole of an island is not one of the ground around it.
        let holder = holder.min_by(|a, b| {
            let size =
                |polygon: &Polygon| polygon.bounding_rect().map_or(0.0, |f| f.width() * f.height());
            size(a).total_cmp(&size(b))
        });
        match holder {
            Some(polygon) => polygon.interiors_push(hole),
            None => polygons.push(Polygon::new(hole, Vec::new())),
        }
    }
    MultiPolygon::new(polygons)
}
