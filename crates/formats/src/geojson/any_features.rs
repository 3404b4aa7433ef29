//! Features of any kind, in whatever wrapping.

use std::path::Path;

use serde::de::DeserializeSeed;
use serde_json::{Value, json};

use super::bounded_value::Bounded;
use super::collection::{Collection, read_features};
use super::not_json;
use super::sequence::{is_sequence, parts};
use crate::error::FormatError;

/// Gives each feature of a collection, of a sequence, or a feature or geometry that stands alone; `None` is
/// one too large to be kept, or of a sequence, one that is no JSON.
pub(crate) fn each_feature(
    path: &Path,
    text: &str,
    take: &mut dyn FnMut(Option<Value>),
) -> Result<Collection, FormatError> {
    if is_sequence(text) {
        parts(text).for_each(|part| take(value(part).ok().flatten()));
        return Ok(Collection { name: None, crs: None });
    }
    match read_features(path, text, Bounded::POLYGON, take) {
        Err(FormatError::NotACollection { found, .. }) => {
            let alone = value(text).map_err(|error| not_json(path, &error))?;
            let kind = alone.as_ref().and_then(|value| value["type"].as_str()).map(str::to_owned);
            match kind.as_deref() {
                Some("Feature") => take(alone),
                Some("Polygon" | "MultiPolygon" | "Point" | "LineString" | "MultiPoint") => {
                    take(Some(json!({"type": "Feature", "geometry": alone})));
                }
                _ => {
                    let problem = format!("{found}, not GeoJSON with polygons or points");
                    return Err(FormatError::NotInspected { file: path.to_path_buf(), problem });
                }
            }
            Ok(Collection { name: None, crs: None })
        }
        read => read,
    }
}

fn value(text: &str) -> serde_json::Result<Option<Value>> {
    let mut deserializer = serde_json::Deserializer::from_str(text);
    let value = Bounded::POLYGON.deserialize(&mut deserializer)?;
    deserializer.end().map(|()| value)
}
