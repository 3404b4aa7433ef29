//! GeoJSON: RFC 7946 (IETF, August 2016).
//!
//! Reading is lenient where the data are clear (either ring order, a byte order mark, more than two
//! numbers in a position) and strict where they are not (another coordinate system, text where a
//! number belongs). Writing keeps the RFC's rules for writers: longitude first, outer rings
//! counter-clockwise (section 3.1.6), no `crs` member (section 4), flat properties.

mod boundary;
mod properties;
mod survey;
mod zones;

use std::path::Path;

use geojson::JsonObject;
use serde_json::Value;

use crate::error::FormatError;

pub use boundary::read_boundary;
pub use survey::{DepthField, read_survey};
pub use zones::{ZoneFile, zones_geojson};

/// Parses text as a JSON object.
fn parse_object(path: &Path, text: &str) -> Result<JsonObject, FormatError> {
    let file = || path.to_path_buf();
    match serde_json::from_str(text) {
        Ok(Value::Object(object)) => Ok(object),
        Ok(other) => Err(FormatError::NotACollection {
            file: file(),
            found: format!("it is {}", kind(&other)),
        }),
        Err(error) => {
            let (line, column) = (error.line(), error.column());
            let problem = error.to_string();
            let problem = problem.split(" at line").next().unwrap_or_default().to_owned();
            Err(FormatError::NotJson { file: file(), problem, line, column })
        }
    }
}

/// Refuses a `crs` member (of GeoJSON as it was before RFC 7946) that is not WGS 84
/// longitude/latitude.
fn check_crs(path: &Path, object: &JsonObject) -> Result<(), FormatError> {
    let Some(crs) = object.get("crs").filter(|crs| !crs.is_null()) else {
        return Ok(());
    };
    let name = crs.pointer("/properties/name").and_then(Value::as_str);
    let known = ["OGC:1.3:CRS84", "OGC::CRS84", "OGC:CRS84", "EPSG::4326", "EPSG:4326"];
    match name.is_some_and(|name| known.iter().any(|known| name.ends_with(known))) {
        true => Ok(()),
        false => {
            let crs = name.map_or_else(|| crs.to_string(), str::to_owned);
            Err(FormatError::WrongCrs { file: path.to_path_buf(), crs })
        }
    }
}

/// What a JSON value is, in words.
fn kind(value: &Value) -> String {
    match value {
        Value::Null => "null".into(),
        Value::Bool(value) => value.to_string(),
        Value::Number(number) => format!("the number {number}"),
        Value::String(text) => format!("the text {}", shown(text)),
        Value::Array(_) => "a list".into(),
        Value::Object(_) => "an object".into(),
    }
}

/// A text in quotes, at most 40 characters of it.
fn shown(text: &str) -> String {
    match text.char_indices().nth(40) {
        Some((end, _)) => format!("{:?}…", &text[..end]),
        None => format!("{text:?}"),
    }
}
