//! A field's boundary from GeoJSON: a polygon in whatever wrapping.

use std::path::Path;

use geo::{Coord, LineString, MapCoords, MultiPolygon, Polygon};
use geojson::{GeoJson, Geometry, GeometryValue, JsonObject, Position};
use serde_json::Value;
use survey::{Boundary, ToLonLat};

use super::{parse_object, stated_crs};
use crate::error::FormatError;
use crate::input::{InputFile, read_bytes, text};

/// Reads a boundary: one Polygon or MultiPolygon, alone, in a Feature or in a FeatureCollection.
///
/// # Errors
/// When the file is something else, a ring is not closed, or the coordinates are of a system that
/// PROJ does not know.
pub fn read_boundary(path: &Path) -> Result<(InputFile, Boundary), FormatError> {
    let (input, bytes) = read_bytes(path)?;
    let mut object = parse_object(path, text(path, &bytes)?)?;
    let crs = stated_crs(path, object.remove("crs").as_ref())?;
    let wrong = |problem: String| FormatError::NotABoundary { file: path.to_path_buf(), problem };
    let name = object.get("name").and_then(Value::as_str).map(str::to_owned);
    let geojson: GeoJson = serde_json::from_value(Value::Object(object))
        .map_err(|error| wrong(format!("not a GeoJSON area ({error})")))?;
    let (own_name, geometry) = single(geojson).map_err(&wrong)?;
    let mut polygons = polygons(&geometry).map_err(&wrong)?;
    if let Some(crs) = crs {
        let way = ToLonLat::new(&crs).map_err(&wrong)?;
        polygons = polygons
            .try_map_coords(|coord| way.convert(coord.x, coord.y).map(Coord::from))
            .map_err(&wrong)?;
    }
    Ok((input, Boundary { name: own_name.or(name), polygons }))
}

/// The only geometry, with the name its feature gives it.
fn single(geojson: GeoJson) -> Result<(Option<String>, Geometry), String> {
    let feature = match geojson {
        GeoJson::Geometry(geometry) => return Ok((None, geometry)),
        GeoJson::Feature(feature) => feature,
        GeoJson::FeatureCollection(mut collection) => match collection.features.len() {
            1 => collection.features.remove(0),
            0 => return Err("the FeatureCollection has no features".into()),
            count => {
                let kind = |feature: &geojson::Feature| {
                    feature
                        .geometry
                        .as_ref()
                        .map_or("nothing", |geometry| geometry.value.type_name())
                };
                let first = kind(&collection.features[0]);
                return Err(format!(
                    "it has {count} features, the first a {first}; keep the field's outline alone"
                ));
            }
        },
    };
    let name = |properties: &JsonObject| Some(properties.get("name")?.as_str()?.to_owned());
    let geometry = feature.geometry.ok_or("the feature has no geometry")?;
    Ok((feature.properties.as_ref().and_then(name), geometry))
}

pub(super) fn polygons(geometry: &Geometry) -> Result<MultiPolygon, String> {
    let rings: Vec<&Vec<Vec<Position>>> = match &geometry.value {
        GeometryValue::Polygon { coordinates } => vec![coordinates],
        GeometryValue::MultiPolygon { coordinates } => coordinates.iter().collect(),
        other => return Err(format!("it is a {}", other.type_name())),
    };
    rings.into_iter().map(|rings| polygon(rings)).collect()
}

fn polygon(rings: &[Vec<Position>]) -> Result<Polygon, String> {
    let mut lines = rings.iter().enumerate().map(|(k, ring)| line(k + 1, ring));
    let exterior = lines.next().ok_or("a polygon has no ring")??;
    Ok(Polygon::new(exterior, lines.collect::<Result<_, _>>()?))
}

fn line(number: usize, ring: &[Position]) -> Result<LineString, String> {
    if let Some(short) = ring.iter().position(|position| position.as_slice().len() < 2) {
        return Err(format!("position {} of ring {number} is not two numbers", short + 1));
    }
    let closed = ring.first().zip(ring.last()).is_some_and(|(a, b)| a[..2] == b[..2]);
    match closed {
        true => Ok(ring.iter().map(|position| (position[0], position[1])).collect()),
        false => Err(format!("ring {number} is not closed: its first and last position differ")),
    }
}
