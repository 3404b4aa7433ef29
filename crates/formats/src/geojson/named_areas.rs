//! Polygons that each have a name, from a FeatureCollection.

use std::path::Path;

use geo::{Coord, MapCoords, MultiPolygon, Validation};
use geojson::{Feature, Geometry, JsonObject};
use serde_json::Value;
use survey::{LonLat, ToLonLat};

use super::boundary::polygons;
use super::{parse_object, stated_crs};
use crate::error::FormatError;
use crate::input::{InputFile, read_bytes_of, text};
use crate::values::kind;

/// The largest file of areas: parsed it takes some twenty times the room.
const MOST_MB: u64 = 32;

/// The longest name, in letters.
const LONGEST_NAME: usize = 64;

/// An area with its name, rings in degrees.
pub(super) struct NamedArea {
    pub name: String,
    pub polygons: MultiPolygon,
    /// All properties, that of the name among them.
    pub properties: JsonObject,
}

/// What a file of areas holds, for its messages.
pub(super) struct Wanted {
    /// `stratum`, `zone`.
    pub what: &'static str,
    /// The property that holds the name.
    pub property: &'static str,
    /// Another that holds it where that is missing.
    pub other_property: Option<&'static str>,
    pub most_features: usize,
    /// Corners of all areas together.
    pub most_corners: usize,
    /// Whether lines that cross are refused. Looking for them takes time by the square of the corners.
    pub must_be_valid: bool,
}

/// Reads a FeatureCollection of polygons, in its order.
///
/// # Errors
/// When the file is something else, or one of its features is no sound polygon with a name: none is left
/// out, since the ground would then go to another area unseen.
pub(super) fn read_named_areas(
    path: &Path,
    wanted: &Wanted,
) -> Result<(InputFile, Vec<NamedArea>), FormatError> {
    let (input, bytes) = read_bytes_of(path, MOST_MB)?;
    let mut object = parse_object(path, text(path, &bytes)?)?;
    let crs = stated_crs(path, object.remove("crs").as_ref())?;
    let wrong = |problem: String| FormatError::NotAreas {
        file: path.to_path_buf(),
        problem,
        what: wanted.what,
        property: wanted.property,
    };
    let features = match object.remove("features") {
        Some(Value::Array(features)) if !features.is_empty() => features,
        Some(Value::Array(_)) => return Err(wrong("it has no features".into())),
        _ => return Err(wrong("it is no FeatureCollection with a list of features".into())),
    };
    if features.len() > wanted.most_features {
        let most = wanted.most_features;
        return Err(wrong(format!("it has {} features, more than {most}", features.len())));
    }
    let way = crs.as_ref().map(ToLonLat::new).transpose().map_err(&wrong)?;
    let mut corners = 0;
    let mut areas = Vec::new();
    for (index, feature) in features.into_iter().enumerate() {
        let of_feature = |problem: String| wrong(format!("feature {}: {problem}", index + 1));
        let area = named_area(feature, wanted, way.as_ref()).map_err(of_feature)?;
        corners += corners_of(&area.polygons);
        if corners > wanted.most_corners {
            return Err(wrong(format!("it has more than {} corners", wanted.most_corners)));
        }
        if wanted.must_be_valid {
            let checked = area.polygons.check_validation();
            checked.map_err(|error| of_feature(format!("its lines meet ({error})")))?;
        }
        areas.push(area);
    }
    Ok((input, areas))
}

fn corners_of(polygons: &MultiPolygon) -> usize {
    let rings = polygons.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()));
    rings.map(|ring| ring.0.len()).sum()
}

fn named_area(
    feature: Value,
    wanted: &Wanted,
    way: Option<&ToLonLat>,
) -> Result<NamedArea, String> {
    let feature: Feature =
        serde_json::from_value(feature).map_err(|error| format!("not a Feature ({error})"))?;
    let properties = feature.properties.unwrap_or_default();
    let named = |property| Some((property, properties.get(property)?));
    let (property, value) = named(wanted.property)
        .or(wanted.other_property.and_then(named))
        .map_or((wanted.property, None), |(property, value)| (property, Some(value)));
    let name = name(value, property)?;
    let geometry: &Geometry = feature.geometry.as_ref().ok_or("it has no geometry")?;
    let mut polygons = polygons(geometry)?;
    if let Some(way) = way {
        polygons =
            polygons.try_map_coords(|coord| way.convert(coord.x, coord.y).map(Coord::from))?;
    }
    let on_earth = |&Coord { x, y }: &Coord| LonLat { lon_deg: x, lat_deg: y }.is_on_earth();
    let corners = || polygons.iter().flat_map(|p| p.exterior().0.iter());
    if let Some(off) = corners().find(|corner| !on_earth(corner)) {
        return Err(format!("longitude {}, latitude {} is not on Earth (swapped?)", off.x, off.y));
    }
    match corners_of(&polygons) {
        0 => Err("it encloses no ground".into()),
        _ => Ok(NamedArea { name, polygons, properties }),
    }
}

pub(super) fn name(value: Option<&Value>, property: &str) -> Result<String, String> {
    let text = match value {
        Some(Value::String(text)) => text.trim(),
        None | Some(Value::Null) => return Err(format!("it has no property `{property}`")),
        Some(other) => return Err(format!("its `{property}` is {}, not a text", kind(other))),
    };
    match text {
        "" => Err(format!("its `{property}` is empty")),
        text if text.chars().count() > LONGEST_NAME => {
            Err(format!("its `{property}` is longer than {LONGEST_NAME} letters"))
        }
        text if text.chars().any(char::is_control) => {
            Err(format!("its `{property}` has a control character"))
        }
        text => Ok(text.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    const RING: [[f64; 2]; 5] =
        [[-95.62, 41.93], [-95.61, 41.93], [-95.61, 41.94], [-95.62, 41.94], [-95.62, 41.93]];

    fn feature(properties: &Value, coordinates: &Value) -> Value {
        json!({
            "type": "Feature",
            "properties": properties,
            "geometry": { "type": "Polygon", "coordinates": coordinates },
        })
    }

    fn read(features: &[Value]) -> Result<Vec<NamedArea>, String> {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("areas.geojson");
        let text = json!({ "type": "FeatureCollection", "features": features }).to_string();
        std::fs::write(&path, text).unwrap();
        let wanted = Wanted {
            what: "stratum",
            property: "name",
            other_property: None,
            most_features: 3,
            most_corners: 12,
            must_be_valid: true,
        };
        let read = read_named_areas(&path, &wanted);
        let plain = |error: FormatError| {
            let text = error.to_string();
            text.split_once(": ").unwrap().1.split("; it must").next().unwrap().to_owned()
        };
        read.map(|(_, areas)| areas).map_err(plain)
    }

    fn problem(features: &[Value]) -> String {
        read(features).err().unwrap()
    }

    #[test]
    fn areas_come_with_their_names_in_order() {
        let areas = read(&[
            feature(&json!({ "name": " lane " }), &json!([RING])),
            feature(&json!({ "name": "headland" }), &json!([RING])),
        ]);
        let names: Vec<String> = areas.unwrap().into_iter().map(|area| area.name).collect();
        assert_eq!(names, ["lane", "headland"]);
    }

    #[test]
    fn a_feature_at_fault_is_named_with_what_is_wrong() {
        let fine = feature(&json!({ "name": "a" }), &json!([RING]));
        let second = |broken: Value| problem(&[fine.clone(), broken]);
        for (properties, expected) in [
            (json!({}), "feature 2: it has no property `name`"),
            (json!({ "name": 3 }), "feature 2: its `name` is the number 3, not a text"),
            (json!({ "name": "  " }), "feature 2: its `name` is empty"),
            (json!({ "name": "a\u{1}b" }), "feature 2: its `name` has a control character"),
            (json!({ "name": "x".repeat(65) }), "feature 2: its `name` is longer than 64 letters"),
        ] {
            assert_eq!(second(feature(&properties, &json!([RING]))), expected);
        }
        let shape = |coordinates| second(feature(&json!({ "name": "b" }), &coordinates));
        assert_eq!(
            shape(json!([&RING[..4]])),
            "feature 2: ring 1 is not closed: its first and last position differ"
        );
        assert!(
            shape(json!([[[0, 0], [1, 1], [1, 0], [0, 1], [0, 0]]])).starts_with("feature 2: ")
        );
        assert!(shape(json!([[[41, 95], [42, 95], [42, 96], [41, 95]]])).contains("swapped?"));
        assert_eq!(shape(json!([])), "feature 2: a polygon has no ring");
    }

    #[test]
    fn what_is_no_file_of_areas_or_too_much_is_refused() {
        assert_eq!(problem(&[]), "it has no features");
        let fine = || feature(&json!({ "name": "a" }), &json!([RING]));
        assert_eq!(problem(&vec![fine(); 4]), "it has 4 features, more than 3");
        assert_eq!(problem(&vec![fine(); 3]), "it has more than 12 corners");
        let point = json!({
            "type": "Feature", "properties": { "name": "a" },
            "geometry": { "type": "Point", "coordinates": [0, 0] },
        });
        assert_eq!(problem(&[point]), "feature 1: it is a Point");
        assert!(problem(&[json!("x")]).starts_with("feature 1: not a Feature"));
    }
}
