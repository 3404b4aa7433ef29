//! GeoJSON with polygons or points.

use std::path::Path;

use geo::Coord;
use geojson::JsonObject;
use serde_json::Value;

use super::layer;
use super::sheet::{Row, Shape, Sheet};
use crate::error::FormatError;
use crate::geojson::{each_feature, polygons};
use crate::inspected::Inspected;

pub(super) fn inspect(path: &Path, text: &str) -> Result<Inspected, FormatError> {
    let mut sheet = Sheet::default();
    let collection = each_feature(path, text, &mut |feature| sheet.push(row(feature)))?;
    let mut found = Inspected { format: "GeoJSON (RFC 7946)".into(), ..Inspected::default() };
    sheet.name = collection.name.unwrap_or_else(|| "features".into());
    if let Some(system) = collection.crs {
        let note = "it has a crs member, which RFC 7946 no longer knows; many programs ignore it";
        found.notes.push(note.into());
        sheet.system = Some(system);
    }
    layer::add(&sheet, &mut found);
    Ok(found)
}

fn row(feature: Option<Value>) -> Row {
    let Some(mut feature) = feature else {
        let problem = "is not read: it has too many positions, or is no JSON".into();
        return Row { name: None, shape: Shape::Bad(problem), values: JsonObject::new() };
    };
    let id = match feature.get("id") {
        Some(Value::String(id)) => Some(id.clone()),
        Some(Value::Number(id)) => Some(id.to_string()),
        _ => None,
    };
    let values = match feature.get_mut("properties").map(Value::take) {
        Some(Value::Object(values)) => values,
        _ => JsonObject::new(),
    };
    Row { name: id, shape: shape(feature.get("geometry")), values }
}

fn shape(geometry: Option<&Value>) -> Shape {
    let Some(geometry) = geometry.filter(|geometry| !geometry.is_null()) else {
        return Shape::None;
    };
    match geometry.get("type").and_then(Value::as_str) {
        Some("Polygon" | "MultiPolygon") => match polygons(Some(geometry)) {
            Ok(polygons) => Shape::Polygons(polygons),
            Err(problem) => Shape::Bad(problem),
        },
        Some("Point") => {
            let number = |index: usize| geometry.get("coordinates")?.get(index)?.as_f64();
            match number(0).zip(number(1)) {
                Some((x, y)) => Shape::Point(Coord { x, y }),
                None => Shape::Bad("has a point that is not two numbers".into()),
            }
        }
        Some(other) => Shape::Other(crate::plain_text::cut(other, 40).to_owned()),
        None => Shape::Bad("has a geometry without a type".into()),
    }
}
