//! One feature as a record.

use geojson::JsonObject;
use serde_json::Value;

use super::stated_crs;
use crate::fields::text_of;
use crate::record::{Record, RecordSink};
use crate::values::kind;

/// What kinds of geometry the features have.
#[derive(Default)]
pub(super) struct Geometries {
    /// The first feature's, where it is not a point.
    pub first_other: Option<String>,
    pub points: usize,
    pub features: usize,
}

/// Gives a feature to the sink: as a record, or as what is wrong with it. `None` is a feature too
/// large to be kept.
pub(super) fn take(feature: Option<Value>, geometries: &mut Geometries, sink: &mut dyn RecordSink) {
    geometries.features += 1;
    let number = geometries.features;
    let Some(feature) = feature else {
        sink.fault(number, "has more values than a reading can have".into());
        return;
    };
    match feature.pointer("/geometry/type").and_then(Value::as_str) {
        Some("Point") => geometries.points += 1,
        Some(other) if number == 1 => geometries.first_other = Some(other.to_owned()),
        _ => {}
    }
    match record(number, feature) {
        Ok(record) => sink.record(record),
        Err(problem) => sink.fault(number, problem),
    }
}

fn record(number: usize, feature: Value) -> Result<Record, String> {
    let Value::Object(mut object) = feature else {
        return Err(format!("is {}, not a Feature", kind(&feature)));
    };
    if object.get("type").is_none_or(|t| t != "Feature") {
        let found = object.get("type").map_or_else(|| "missing".into(), kind);
        return Err(format!("its type is {found}, not \"Feature\""));
    }
    let geometry_crs = object.get("geometry").and_then(|geometry| geometry.get("crs"));
    for crs in [object.get("crs"), geometry_crs] {
        let Ok(None) = stated_crs("".as_ref(), crs) else {
            return Err("has a crs member of its own that is not WGS 84".into());
        };
    }
    let properties = match object.remove("properties") {
        None | Some(Value::Null) => JsonObject::new(),
        Some(Value::Object(properties)) => properties,
        Some(other) => return Err(format!("its properties are {}, not an object", kind(&other))),
    };
    let id = object.get("id").and_then(text_of);
    let coordinates = coordinates(object.get("geometry"));
    Ok(Record { number, id, coordinates, properties })
}

fn coordinates(geometry: Option<&Value>) -> Result<(f64, f64), String> {
    let geometry = match geometry {
        None | Some(Value::Null) => return Err("has no geometry".into()),
        Some(Value::Object(geometry)) => geometry,
        Some(other) => return Err(format!("its geometry is {}, not an object", kind(other))),
    };
    match geometry.get("type") {
        Some(Value::String(name)) if name == "Point" => {}
        Some(Value::String(name)) => return Err(format!("is a {name}, not a Point")),
        Some(other) => return Err(format!("its geometry's type is {}", kind(other))),
        None => return Err("its geometry has no type".into()),
    }
    let list = match geometry.get("coordinates") {
        Some(Value::Array(list)) if list.len() >= 2 => list,
        Some(Value::Array(list)) => {
            return Err(format!(
                "coordinates has {} numbers; longitude and latitude are needed",
                list.len()
            ));
        }
        Some(other) => return Err(format!("coordinates is {}, not two numbers", kind(other))),
        None => return Err("its geometry has no coordinates".into()),
    };
    let degrees = |value: &Value, what: &str| {
        value
            .as_f64()
            .filter(|degrees| degrees.is_finite())
            .ok_or_else(|| format!("{what} is {}, not a number", kind(value)))
    };
    Ok((degrees(&list[0], "longitude")?, degrees(&list[1], "latitude")?))
}
