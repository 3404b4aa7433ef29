//! A survey from a FeatureCollection of points.

use std::path::Path;

use geojson::{Feature, GeometryValue, JsonObject};
use serde_json::Value;
use survey::{Finding, Insertion, LonLat, Severity, Survey};

use super::{check_crs, kind, parse_object, properties};
use crate::error::FormatError;
use crate::input::{InputFile, read_text};

pub use super::properties::DepthField;

/// Reads a survey. A feature that cannot be read is left out with a finding.
///
/// The depth is taken from `depth_field`, or else from properties whose name tells the unit, such
/// as `depth_in` or `depth_cm`.
///
/// # Errors
/// When the file is not a FeatureCollection of WGS 84 points, or no property holds a depth with a
/// known unit.
pub fn read_survey(
    path: &Path,
    depth_field: Option<&DepthField>,
) -> Result<(InputFile, Survey), FormatError> {
    let (input, text) = read_text(path)?;
    let mut collection = parse_object(path, &text)?;
    let features = match collection.remove("features") {
        Some(Value::Array(features))
            if collection.get("type").is_some_and(|t| t == "FeatureCollection") =>
        {
            features
        }
        _ => return Err(not_a_collection(path, &collection)),
    };
    if features.is_empty() {
        return Err(FormatError::NoFeatures { file: path.to_path_buf() });
    }
    check_crs(path, &collection)?;
    let geometry = |feature: &Value| feature.pointer("/geometry/type").cloned();
    let not_point = |kind: &Value| kind != "Point";
    if let Some(Value::String(kind)) = geometry(&features[0]).filter(not_point)
        && !features.iter().filter_map(geometry).any(|kind| kind == "Point")
    {
        return Err(FormatError::NoPoints { file: path.to_path_buf(), kind });
    }
    check_depth_field(path, &features, depth_field)?;
    let name = collection.get("name").and_then(Value::as_str).map(str::to_owned);
    let mut survey = Survey { name, features: features.len(), ..Survey::default() };
    for (index, feature) in features.into_iter().enumerate() {
        take(&mut survey, index + 1, feature, depth_field);
    }
    match (survey.insertions.is_empty(), survey.findings.first()) {
        (true, Some(first)) => Err(FormatError::NothingUsable {
            file: path.to_path_buf(),
            features: survey.features,
            first: first.to_string(),
        }),
        _ => Ok((input, survey)),
    }
}

/// Reads one feature into the survey.
fn take(survey: &mut Survey, number: usize, feature: Value, depth_field: Option<&DepthField>) {
    let problem = problem_of(&feature);
    let feature: Feature = match (problem, serde_json::from_value(feature)) {
        (None, Ok(feature)) => feature,
        (problem, parsed) => {
            let problem = problem
                .or_else(|| parsed.err().map(|error| error.to_string()))
                .expect("one of the two is wrong");
            survey.findings.push(Finding::fault(number, None, problem, "left out"));
            return;
        }
    };
    let id = properties::id(&feature);
    match insertion(number, id.as_deref(), &feature, depth_field) {
        Ok((mut insertion, assumed)) => {
            let mut find = |severity, problem: String, done: &str| {
                let fault = Finding::fault(number, id.as_deref(), problem, done);
                survey.findings.push(Finding { severity, ..fault });
            };
            if let Some((severity, problem, done)) = assumed {
                find(severity, problem.into(), done);
            }
            let said = feature.properties.as_ref();
            match said.map_or(Ok(None), properties::moisture_pct) {
                Ok(moisture_pct) => insertion.moisture_pct = moisture_pct,
                Err(problem) => {
                    find(Severity::Fault, problem, "the moisture is ignored, the depth used");
                }
            }
            survey.insertions.push(insertion);
        }
        Err(problem) => {
            survey.findings.push(Finding::fault(number, id.as_deref(), problem, "left out"));
        }
    }
}

/// What was assumed of a record: how grave that is, why, and what was done.
type Assumed = Option<(Severity, &'static str, &'static str)>;

fn insertion(
    number: usize,
    id: Option<&str>,
    feature: &Feature,
    depth_field: Option<&DepthField>,
) -> Result<(Insertion, Assumed), String> {
    let place = place(feature)?;
    let none = JsonObject::new();
    let said = feature.properties.as_ref().unwrap_or(&none);
    let told = properties::outcome(said, depth_field)?;
    let insertion = Insertion {
        number,
        id: id.map(str::to_owned),
        place,
        outcome: told.outcome,
        threshold: properties::threshold(said)?,
        date: properties::date(said)?,
        moisture_pct: None,
        depth_unit: told.unit,
    };
    Ok((insertion, told.assumed))
}

fn place(feature: &Feature) -> Result<LonLat, String> {
    match feature.geometry.as_ref().map(|geometry| &geometry.value) {
        Some(GeometryValue::Point { coordinates }) => {
            Ok(LonLat { lon_deg: coordinates[0], lat_deg: coordinates[1] })
        }
        Some(other) => Err(format!("is a {}, not a Point", other.type_name())),
        None => Err("has no geometry".into()),
    }
}

/// What is wrong with a feature in terms of GeoJSON, where it can be told plainly.
fn problem_of(feature: &Value) -> Option<String> {
    let Value::Object(object) = feature else {
        return Some(format!("is {}, not a Feature", kind(feature)));
    };
    if object.get("type").is_none_or(|t| t != "Feature") {
        let found = object.get("type").map_or_else(|| "missing".into(), kind);
        return Some(format!("its type is {found}, not \"Feature\""));
    }
    let geometry = object.get("geometry")?;
    let coordinates = geometry.get("coordinates")?;
    if geometry.get("type").is_some_and(|t| t != "Point") {
        return None;
    }
    match coordinates.as_array() {
        None => Some(format!("coordinates is {}, not two numbers", kind(coordinates))),
        Some(list) if list.len() < 2 => Some(format!(
            "coordinates has {} numbers; longitude and latitude are needed",
            list.len()
        )),
        Some(list) => {
            list.iter().take(2).zip(["longitude", "latitude"]).find_map(|(value, what)| {
                let finite = value.as_f64().is_some_and(f64::is_finite);
                (!finite).then(|| format!("{what} is {}, not a number", kind(value)))
            })
        }
    }
}

fn not_a_collection(path: &Path, object: &JsonObject) -> FormatError {
    let found = match object.get("type") {
        Some(Value::String(name)) if name == "FeatureCollection" => {
            "a FeatureCollection without a list of features".into()
        }
        Some(Value::String(name)) => format!("it is a {name}"),
        Some(other) => format!("its type is {}", kind(other)),
        None => "it has no \"type\"".into(),
    };
    FormatError::NotACollection { file: path.to_path_buf(), found }
}

/// Makes sure that a depth with its unit can be found.
fn check_depth_field(
    path: &Path,
    features: &[Value],
    depth_field: Option<&DepthField>,
) -> Result<(), FormatError> {
    let file = || path.to_path_buf();
    let all = || features.iter().filter_map(|f| f.get("properties").and_then(Value::as_object));
    match depth_field {
        Some(field) if all().any(|properties| properties.contains_key(&field.name)) => Ok(()),
        Some(field) => Err(FormatError::NoSuchField {
            file: file(),
            field: field.name.clone(),
            found: names(all()),
        }),
        None if all().any(properties::has_depth) => Ok(()),
        None => Err(match all().find_map(properties::depth_without_unit) {
            Some(field) => FormatError::NoDepthUnit { file: file(), field: field.to_owned() },
            None => FormatError::NoDepth { file: file(), found: names(all()) },
        }),
    }
}

/// Names of properties as they stand in the first features that have any.
fn names<'a>(mut properties: impl Iterator<Item = &'a JsonObject>) -> String {
    const SHOWN: usize = 12;
    let Some(first) = properties.find(|properties| !properties.is_empty()) else {
        return "no properties".into();
    };
    let mut names: Vec<&str> = first.keys().take(SHOWN).map(String::as_str).collect();
    if first.len() > SHOWN {
        names.push("…");
    }
    names.join(", ")
}
