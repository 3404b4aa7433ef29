//! A polygon from a feature's geometry.

use geo::{Coord, LineString, MultiPolygon, Polygon};
use serde_json::Value;

use crate::values::kind;

/// Positions that one feature may have: a zone along the cells of a large field has some ten thousand.
pub(super) const MOST_POSITIONS: usize = 250_000;

/// The polygons of a Polygon or MultiPolygon, in its own coordinates, each ring closed.
pub(crate) fn polygons(geometry: Option<&Value>) -> Result<MultiPolygon, String> {
    let geometry = match geometry {
        None | Some(Value::Null) => return Err("has no geometry".into()),
        Some(Value::Object(geometry)) => geometry,
        Some(other) => return Err(format!("its geometry is {}, not an object", kind(other))),
    };
    let coordinates = geometry.get("coordinates").unwrap_or(&Value::Null);
    match geometry.get("type").and_then(Value::as_str) {
        Some("Polygon") => Ok(MultiPolygon::new(vec![polygon(coordinates)?])),
        Some("MultiPolygon") => list(coordinates, "coordinates")?.iter().map(polygon).collect(),
        Some(other) => Err(format!("is a {other}, not a Polygon or MultiPolygon")),
        None => Err("its geometry has no type".into()),
    }
}

fn list<'v>(value: &'v Value, what: &str) -> Result<&'v [Value], String> {
    match value {
        Value::Array(values) if !values.is_empty() => Ok(values),
        Value::Array(_) => Err(format!("{what} is an empty list")),
        other => Err(format!("{what} is {}, not a list", kind(other))),
    }
}

fn polygon(rings: &Value) -> Result<Polygon, String> {
    let rings = list(rings, "a polygon")?;
    let mut rings = rings.iter().enumerate().map(|(k, positions)| ring(k + 1, positions));
    let exterior = rings.next().expect("the list is not empty")?;
    Ok(Polygon::new(exterior, rings.collect::<Result<_, _>>()?))
}

fn ring(number: usize, positions: &Value) -> Result<LineString, String> {
    let positions = list(positions, &format!("ring {number}"))?;
    let coord = |(k, position): (usize, &Value)| {
        let number_at = |index: usize| position.get(index)?.as_f64().filter(|n| n.is_finite());
        match (number_at(0), number_at(1)) {
            (Some(x), Some(y)) => Ok(Coord { x, y }),
            _ => Err(format!("position {} of ring {number} is not two numbers", k + 1)),
        }
    };
    let coords: Vec<Coord> = positions.iter().enumerate().map(coord).collect::<Result<_, _>>()?;
    match coords.len() > 3 && coords.first() == coords.last() {
        true => Ok(LineString::new(coords)),
        false if coords.first() == coords.last() => {
            Err(format!("ring {number} has {} positions; a ring needs at least 4", coords.len()))
        }
        false => Err(format!("ring {number} is not closed: its first and last position differ")),
    }
}
