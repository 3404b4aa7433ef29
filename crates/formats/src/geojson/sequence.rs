//! Features one after another, without a collection: RFC 8142, each behind a record separator
//! (section 2), or one to a line without it, the commoner dialect.

use std::path::Path;

use serde::de::DeserializeSeed;

use super::bounded_value::Bounded;
use super::feature::{Geometries, take};
use crate::error::FormatError;
use crate::record::RecordSink;

/// RFC 7464, section 2.2.
const RECORD_SEPARATOR: char = '\u{1e}';

/// Whether a text is a sequence: it begins with a record separator, or its first line is a whole
/// feature and another line follows.
pub(crate) fn is_sequence(text: &str) -> bool {
    if text.trim_start().starts_with(RECORD_SEPARATOR) {
        return true;
    }
    let Some((first, rest)) = text.trim_start().split_once('\n') else {
        return false;
    };
    let is_feature = || {
        let kind = serde_json::from_str::<Kind>(first);
        kind.is_ok_and(|kind| kind.kind.as_deref() == Some("Feature"))
    };
    !rest.trim().is_empty() && first.trim_end().ends_with('}') && is_feature()
}

#[derive(serde::Deserialize)]
struct Kind {
    #[serde(rename = "type")]
    kind: Option<String>,
}

/// The texts of a sequence's features.
pub(super) fn parts(text: &str) -> impl Iterator<Item = &str> {
    let separator = match text.trim_start().starts_with(RECORD_SEPARATOR) {
        true => RECORD_SEPARATOR,
        false => '\n',
    };
    text.split(separator).map(str::trim).filter(|part| !part.is_empty())
}

/// Reads a sequence. A feature that is cut short is a fault of its own (RFC 8142, section 2.4).
pub(crate) fn read_sequence(
    path: &Path,
    text: &str,
    sink: &mut dyn RecordSink,
) -> Result<(), FormatError> {
    let mut geometries = Geometries::default();
    for part in parts(text) {
        let mut deserializer = serde_json::Deserializer::from_str(part);
        let feature = Bounded::RECORD
            .deserialize(&mut deserializer)
            .and_then(|feature| deserializer.end().map(|()| feature));
        match feature {
            Ok(feature) => take(feature, &mut geometries, sink),
            Err(error) => {
                geometries.features += 1;
                sink.fault(geometries.features, format!("not JSON: {error}"));
            }
        }
    }
    let file = || path.to_path_buf();
    match geometries.first_other {
        _ if geometries.features == 0 => Err(FormatError::NoFeatures { file: file() }),
        Some(kind) if geometries.points == 0 => {
            Err(FormatError::NoPoints { file: file(), record: "feature", kind })
        }
        _ => Ok(()),
    }
}
