//! The zone file: one feature per zone.

use geo::{Coord, LineString, MapCoords, MultiPolygon, Polygon, Validation};
use geojson::feature::Id;
use geojson::{Feature, GeometryValue, JsonValue, Position};
use mapping::{DepthMap, Zone};
use survey::{CheckedSurvey, EastNorth, Utm};

use super::zone_properties::properties;
use crate::error::FormatError;

/// Decimals of a degree that positions are rounded to: 1.1 mm. More, up to [`MOST_DECIMALS`], only
/// where rounding would make a polygon touch or cross itself.
const DECIMALS: u32 = 8;
const MOST_DECIMALS: u32 = 12;

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
    let polygons = degrees(utm, &file.map.zones)?;
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
fn lines(name: &str, features: &[Feature]) -> String {
    let text = |feature| serde_json::to_string(feature).expect("all numbers are finite");
    let features: Vec<String> = features.iter().map(text).collect();
    let name = JsonValue::from(name);
    format!(
        "{{\"type\":\"FeatureCollection\",\"name\":{name},\"features\":[\n{}\n]}}\n",
        features.join(",\n")
    )
}

/// Each zone's polygons in degrees, rounded to the fewest decimals that keep all of them valid.
fn degrees(utm: Utm, zones: &[Zone]) -> Result<Vec<MultiPolygon>, FormatError> {
    let exact: Vec<MultiPolygon> = zones
        .iter()
        .map(|zone| zone.polygons.map_coords(|c| utm.unproject(EastNorth::from(c)).into()))
        .collect();
    let mut problem = None;
    for decimals in DECIMALS..=MOST_DECIMALS {
        let rounded: Vec<MultiPolygon> = exact.iter().map(|p| round(p, decimals)).collect();
        let invalid = |polygons: &MultiPolygon| polygons.check_validation().err();
        match rounded.iter().enumerate().find_map(|(k, p)| Some((k, invalid(p)?.to_string()))) {
            None => return Ok(rounded),
            first => problem = first,
        }
    }
    let (zone, problem) = problem.expect("every rounding was tried");
    Err(FormatError::InvalidZone { id: zones[zone].id.clone(), problem })
}

/// Positions rounded to so many decimals, without repeats.
fn round(polygons: &MultiPolygon, decimals: u32) -> MultiPolygon {
    let factor = 10_f64.powi(decimals as i32);
    let degree = |value: f64| (value * factor).round() / factor;
    let ring = |ring: &LineString| -> LineString {
        let mut coords: Vec<Coord> =
            ring.0.iter().map(|c| Coord { x: degree(c.x), y: degree(c.y) }).collect();
        coords.dedup();
        LineString::new(coords)
    };
    polygons
        .iter()
        .map(|p| Polygon::new(ring(p.exterior()), p.interiors().iter().map(ring).collect()))
        .collect()
}

fn geometry(polygons: &MultiPolygon) -> GeometryValue {
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
