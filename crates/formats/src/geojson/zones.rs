//! The zone file: one feature per zone.

use geo::{LineString, MultiPolygon, Polygon};
use geojson::feature::Id;
use geojson::{Feature, GeometryValue, JsonValue, Position};
use mapping::DepthMap;
use survey::CheckedSurvey;

use super::zone_properties::properties;
use crate::degrees::degrees;
use crate::error::FormatError;

/// What a zone file is made from.
pub struct ZoneFile<'a> {
    /// The field's name.
    pub field_name: &'a str,
    /// The name of the survey's file.
    pub survey_file: &'a str,
    /// The survey.
    pub survey: &'a CheckedSurvey,
    /// Its map.
    pub map: &'a DepthMap,
}

/// The zones as a FeatureCollection. Neighbouring zones have the same positions along their border,
/// since each place is rounded once, before rings are written.
///
/// # Errors
/// When a polygon cannot be written so that it is valid: see [`FormatError::InvalidZone`].
pub fn zones_geojson(file: &ZoneFile) -> Result<String, FormatError> {
    let utm = file.survey.field().utm();
    let zones = file.map.zones.iter().map(|zone| (zone.id.as_str(), &zone.polygons));
    let polygons = degrees(utm, zones)?;
    let features = file.map.zones.iter().zip(&polygons).map(|(zone, polygons)| Feature {
        id: Some(Id::String(zone.id.clone())),
        geometry: Some(geometry(polygons).into()),
        properties: Some(properties(file, zone)),
        bbox: None,
        foreign_members: None,
    });
    Ok(lines(&format!("{} zones", file.field_name), &features.collect::<Vec<_>>()))
}

/// One feature a line, so that two zone files can be compared line by line.
pub(super) fn lines(name: &str, features: &[Feature]) -> String {
    let text = |feature| serde_json::to_string(feature).expect("all numbers are finite");
    let features: Vec<String> = features.iter().map(text).collect();
    let name = JsonValue::from(name);
    format!(
        "{{\"type\":\"FeatureCollection\",\"name\":{name},\"features\":[\n{}\n]}}\n",
        features.join(",\n")
    )
}

pub(super) fn geometry(polygons: &MultiPolygon) -> GeometryValue {
    let ring = |ring: &LineString| -> Vec<Position> {
        ring.0.iter().map(|c| Position::from([c.x, c.y])).collect()
    };
    let rings = |polygon: &Polygon| -> Vec<Vec<Position>> {
        std::iter::once(polygon.exterior()).chain(polygon.interiors()).map(ring).collect()
    };
    match polygons.0.as_slice() {
        [only] => GeometryValue::Polygon { coordinates: rings(only) },
        several => GeometryValue::MultiPolygon { coordinates: several.iter().map(rings).collect() },
    }
}
