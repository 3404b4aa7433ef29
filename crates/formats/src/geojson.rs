//! GeoJSON: RFC 7946 (IETF, August 2016), and text sequences of it: RFC 8142 (April 2017).
//!
//! Reading is lenient where the data are clear (either ring order, a byte order mark, more than two
//! numbers in a position) and strict where they are not (text where a number belongs). A `crs`
//! member, of GeoJSON as it was before RFC 7946, is honoured where it names an EPSG code and refused
//! where it does not. Writing keeps the RFC's rules for writers: longitude first, outer rings
//! counter-clockwise (section 3.1.6), no `crs` member (section 4), flat properties.

mod any_features;
mod boundary;
mod bounded_value;
mod collection;
mod earlier_zones;
mod feature;
mod named_areas;
mod plan;
mod polygon;
mod read_zones;
mod sequence;
mod strata;
mod trial_areas;
mod zone_properties;
mod zone_reading;
mod zones;

use std::path::Path;

use geojson::JsonObject;
use serde_json::Value;
use survey::CoordinateSystem;

use crate::error::FormatError;
use crate::values::kind;

pub(crate) use any_features::each_feature;
pub use boundary::read_boundary;
pub(crate) use collection::read_collection;
pub use earlier_zones::read_earlier_zones;
pub(crate) use plan::plan_geojson;
pub(crate) use polygon::polygons;
pub use read_zones::read_zones;
pub(crate) use sequence::{is_sequence, read_sequence};
pub use strata::read_strata;
pub use trial_areas::{TrialWords, read_trial_areas};
pub use zones::{ZoneFile, zones_geojson};

/// Parses text as a JSON object.
fn parse_object(path: &Path, text: &str) -> Result<JsonObject, FormatError> {
    match serde_json::from_str(text) {
        Ok(Value::Object(object)) => Ok(object),
        Ok(other) => Err(FormatError::NotACollection {
            file: path.to_path_buf(),
            found: format!("it is {}", kind(&other)),
        }),
        Err(error) => Err(not_json(path, &error)),
    }
}

fn not_json(path: &Path, error: &serde_json::Error) -> FormatError {
    let (line, column) = (error.line(), error.column());
    let problem = error.to_string();
    let problem = problem.split(" at line").next().unwrap_or_default().to_owned();
    FormatError::NotJson { file: path.to_path_buf(), problem, line, column }
}

/// The coordinate system that a `crs` member names (2008 specification of GeoJSON, section 3), where
/// it is another than WGS 84 longitude and latitude.
fn stated_crs(path: &Path, crs: Option<&Value>) -> Result<Option<CoordinateSystem>, FormatError> {
    let Some(crs) = crs.filter(|crs| !crs.is_null()) else {
        return Ok(None);
    };
    let name = crs.pointer("/properties/name").and_then(Value::as_str);
    let known = ["OGC:1.3:CRS84", "OGC::CRS84", "OGC:CRS84", "EPSG::4326", "EPSG:4326"];
    if name.is_some_and(|name| known.iter().any(|known| name.ends_with(known))) {
        return Ok(None);
    }
    match name.and_then(|name| name.parse().ok()) {
        Some(system) => Ok(Some(system)),
        None => {
            let crs = name.map_or_else(|| crs.to_string(), str::to_owned);
            let crs = crs.chars().take(80).collect();
            Err(FormatError::WrongCrs { file: path.to_path_buf(), crs })
        }
    }
}
