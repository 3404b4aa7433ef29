//! What the properties of a probe point say, under the names that files use.

use geojson::JsonObject;
use serde_json::Value;
use survey::{Date, DepthUnit, Outcome, Pressure, Severity};

use super::{kind, shown};

/// Names of a depth, before the unit: `depth_in`, `loose_depth_cm`.
const DEPTH: [&str; 5] =
    ["depth", "loose_depth", "loose_layer", "loose_layer_depth", "threshold_depth"];
/// Names of the depth probed, before the unit.
const PROBED_TO: [&str; 3] = ["max_depth", "probed_to", "probed_depth"];
const THRESHOLD: [&str; 1] = ["threshold"];
const NOT_REACHED: [&str; 3] = ["at_least", "not_reached", "censored"];
const REACHED: [&str; 2] = ["reached", "threshold_reached"];
const DATE: [&str; 5] = ["date", "visit_date", "time", "timestamp", "datetime"];
const MOISTURE: [&str; 5] =
    ["moisture_pct", "moisture", "soil_moisture_pct", "soil_moisture", "moisture_percent"];
const ID: [&str; 5] = ["point_id", "probe_id", "spot_id", "id", "name"];
const NOTE: [&str; 4] = ["note", "notes", "comment", "remark"];

/// A property that holds a depth.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DepthField {
    /// The property's name, exactly as in the file.
    pub name: String,
    /// The unit of its numbers.
    pub unit: DepthUnit,
}

/// Whether some properties name a depth with its unit.
pub(super) fn has_depth(properties: &JsonObject) -> bool {
    quantities(properties, &DEPTH, DepthUnit::from_name).next().is_some()
}

/// A property that names a depth but not its unit.
pub(super) fn depth_without_unit(properties: &JsonObject) -> Option<&str> {
    properties.keys().find(|key| DEPTH.contains(&plain(key).as_str())).map(String::as_str)
}

/// A probe point's name.
pub(super) fn id(feature: &geojson::Feature) -> Option<String> {
    let text = |value: &Value| match value {
        Value::String(text) if !text.trim().is_empty() => Some(text.trim().to_owned()),
        Value::Number(number) => Some(number.to_string()),
        _ => None,
    };
    let own = || match &feature.id {
        Some(geojson::feature::Id::String(id)) => Some(id.clone()),
        Some(geojson::feature::Id::Number(id)) => Some(id.to_string()),
        None => None,
    };
    find(feature.properties.as_ref()?, &ID).and_then(|(_, value)| text(value)).or_else(own)
}

/// How an insertion ended, as its properties tell.
pub(super) struct Told {
    pub outcome: Outcome,
    /// The unit the depth is in, where there is one.
    pub unit: Option<DepthUnit>,
    /// What was assumed, and that no more than it was lost: a note, else a fault.
    pub assumed: Option<(Severity, &'static str, &'static str)>,
}

/// How the insertion ended. `Err` says what is wrong.
pub(super) fn outcome(properties: &JsonObject, field: Option<&DepthField>) -> Result<Told, String> {
    let depth = depth(properties, field)?;
    let not_reached = not_reached(properties)? || depth.is_some_and(|depth| depth.or_deeper);
    let reason = no_reading(properties);
    match depth {
        Some(_) if reason == Some(Outcome::Refused) && !not_reached => Ok(Told {
            outcome: Outcome::Refused,
            unit: None,
            assumed: Some((
                Severity::Fault,
                "has a depth, but the note says that a stone or root stopped the rod",
                "counted as stopped by a stone",
            )),
        }),
        Some(StatedDepth { number, unit, .. }) => {
            let depth = unit.depth(number);
            let outcome = match not_reached {
                true => Outcome::NotReached { probed_to: depth },
                false => Outcome::Reached(depth),
            };
            Ok(Told { outcome, unit: Some(unit), assumed: None })
        }
        None if not_reached => {
            let probed_to = quantities(properties, &PROBED_TO, DepthUnit::from_name)
                .find_map(|(key, value, unit)| Some((number(key, value).transpose()?, unit)));
            let Some((probed_to, unit)) = probed_to else {
                return Err(
                    "the threshold was not reached, but no depth says how far the rod went".into(),
                );
            };
            let outcome = Outcome::NotReached { probed_to: unit.depth(probed_to?) };
            Ok(Told { outcome, unit: Some(unit), assumed: None })
        }
        None => Ok(Told {
            outcome: reason.unwrap_or(Outcome::Skipped),
            unit: None,
            assumed: reason.is_none().then_some((
                Severity::Note,
                "has no depth and no note that says why",
                "counted as skipped",
            )),
        }),
    }
}

/// Why there is no reading, where a note says it.
fn no_reading(properties: &JsonObject) -> Option<Outcome> {
    let note = find(properties, &NOTE)?.1.as_str()?.to_lowercase();
    let words: Vec<&str> = note.split(|c: char| !c.is_alphabetic()).collect();
    let says = |wanted: &[&str]| words.iter().any(|word| wanted.contains(word));
    match () {
        () if says(&["no", "not", "without"]) => None,
        () if says(&["stone", "stones", "rock", "rocks", "root", "roots", "gravel", "refusal"]) => {
            Some(Outcome::Refused)
        }
        () if says(&["skip", "skipped", "missed"]) => Some(Outcome::Skipped),
        () => None,
    }
}

/// A depth as a property states it.
#[derive(Clone, Copy)]
struct StatedDepth {
    number: f64,
    unit: DepthUnit,
    /// Written as `>=18` or `18+`.
    or_deeper: bool,
}

/// The depth and its unit, where there is one.
fn depth(
    properties: &JsonObject,
    field: Option<&DepthField>,
) -> Result<Option<StatedDepth>, String> {
    let stated = |key: &str, value: &Value, unit| {
        let deeper = value.as_str().and_then(or_deeper);
        let number = deeper.map_or_else(|| number(key, value), |depth| Ok(Some(depth)))?;
        Ok::<_, String>(number.map(|number| StatedDepth {
            number,
            unit,
            or_deeper: deeper.is_some(),
        }))
    };
    if let Some(field) = field {
        let value = properties.get(&field.name).unwrap_or(&Value::Null);
        return stated(&field.name, value, field.unit);
    }
    let mut found: Option<StatedDepth> = None;
    for (key, value, unit) in quantities(properties, &DEPTH, DepthUnit::from_name) {
        let Some(this) = stated(key, value, unit)? else {
            continue;
        };
        let cm = |depth: StatedDepth| depth.unit.depth(depth.number).cm();
        match found {
            Some(other) if (cm(other) - cm(this)).abs() > 0.3 => {
                return Err(format!(
                    "two depths that differ: {} {} and {} {}",
                    other.number,
                    other.unit.name(),
                    this.number,
                    unit.name()
                ));
            }
            Some(_) => {}
            None => found = Some(this),
        }
    }
    Ok(found)
}

/// The number of a depth written as "at least": `>=18`, `≥ 18`, `>18`, `18+`.
fn or_deeper(text: &str) -> Option<f64> {
    let text = text.trim();
    let number = text
        .strip_prefix(">=")
        .or_else(|| text.strip_prefix('≥'))
        .or_else(|| text.strip_prefix('>'))
        .or_else(|| text.strip_suffix('+'))?;
    number.trim().parse().ok().filter(|number: &f64| number.is_finite())
}

fn not_reached(properties: &JsonObject) -> Result<bool, String> {
    let flag = |names: &[&str]| match find(properties, names) {
        None | Some((_, Value::Null)) => Ok(None),
        Some((_, Value::Bool(value))) => Ok(Some(*value)),
        Some((key, other)) => Err(format!("{key} is {}, not true or false", kind(other))),
    };
    match (flag(&NOT_REACHED)?, flag(&REACHED)?) {
        (Some(not), Some(reached)) if not == reached => {
            Err("one property says the threshold was reached, another that it was not".into())
        }
        (Some(not), _) => Ok(not),
        (None, reached) => Ok(reached == Some(false)),
    }
}

/// The threshold the depth was read at.
pub(super) fn threshold(properties: &JsonObject) -> Result<Option<Pressure>, String> {
    let pressure_unit = |unit: &str| match unit {
        "psi" => Some(Pressure::from_psi(1.0)),
        "kpa" => Some(Pressure::from_kpa(1.0)),
        "mpa" => Some(Pressure::from_kpa(1e3)),
        _ => None,
    };
    for (key, value, unit) in quantities(properties, &THRESHOLD, pressure_unit) {
        match number(key, value)? {
            Some(number) if number > 0.0 => {
                return Ok(Some(Pressure::from_pa(number * unit.pa())));
            }
            Some(number) => return Err(format!("{key} is {number}; a threshold is above zero")),
            None => {}
        }
    }
    Ok(None)
}

/// The day of the visit.
pub(super) fn date(properties: &JsonObject) -> Result<Option<Date>, String> {
    let Some((key, value)) = find(properties, &DATE).filter(|(_, value)| !value.is_null()) else {
        return Ok(None);
    };
    let wrong = || format!("{key} is {}, not a date like 2025-04-14", kind(value));
    let day = value.as_str().and_then(|text| text.trim().get(..10)).ok_or_else(wrong)?;
    day.parse().map(Some).map_err(|_| wrong())
}

/// Soil moisture, percent.
pub(super) fn moisture_pct(properties: &JsonObject) -> Result<Option<f64>, String> {
    let Some((key, value)) = find(properties, &MOISTURE) else {
        return Ok(None);
    };
    match number(key, value)? {
        Some(pct) if !(0.0..=100.0).contains(&pct) => {
            Err(format!("{key} is {pct}; moisture is 0 to 100 percent"))
        }
        other => Ok(other),
    }
}

/// The first property of one of some names, in the order of the names.
fn find<'a>(properties: &'a JsonObject, names: &[&str]) -> Option<(&'a String, &'a Value)> {
    names.iter().find_map(|name| properties.iter().find(|(key, _)| plain(key) == *name))
}

/// Properties whose name is one of `stems` and a unit: key, value, unit.
fn quantities<'a, U>(
    properties: &'a JsonObject,
    stems: &'a [&str],
    unit: impl Fn(&str) -> Option<U> + 'a,
) -> impl Iterator<Item = (&'a String, &'a Value, U)> {
    properties.iter().filter_map(move |(key, value)| {
        let plain = plain(key);
        let (stem, suffix) = plain.rsplit_once('_')?;
        stems.contains(&stem).then(|| unit(suffix)).flatten().map(|unit| (key, value, unit))
    })
}

/// A number, or nothing where it is null.
fn number(key: &str, value: &Value) -> Result<Option<f64>, String> {
    match value {
        Value::Null => Ok(None),
        Value::Number(number) => match number.as_f64().filter(|number| number.is_finite()) {
            Some(number) => Ok(Some(number)),
            None => Err(format!("{key} is {number}, too large for a number")),
        },
        Value::String(text) => Err(format!("{key} is the text {}, not a number", shown(text))),
        other => Err(format!("{key} is {}, not a number", kind(other))),
    }
}

/// A name in lower case with single underscores for all that is not a letter or digit:
/// `Depth (in)` is `depth_in`.
fn plain(key: &str) -> String {
    let lower = key.to_lowercase();
    let words = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join("_")
}

#[cfg(test)]
mod tests {
    use super::*;
    use survey::Depth;

    fn properties(text: &str) -> JsonObject {
        serde_json::from_str(text).unwrap()
    }

    fn outcome_of(text: &str) -> Result<Outcome, String> {
        outcome(&properties(text), None).map(|told| told.outcome)
    }

    #[test]
    fn depth_is_known_by_its_name_and_unit() {
        let nine = Outcome::Reached(Depth::from_in(9.0));
        for text in [
            r#"{"depth_in": 9}"#,
            r#"{"Depth (in)": 9}"#,
            r#"{"loose_depth_inches": 9, "note": null}"#,
            r#"{"depth_in": 9, "depth_cm": 22.9}"#,
        ] {
            assert_eq!(outcome_of(text).unwrap(), nine, "{text}");
        }
        assert!(has_depth(&properties(r#"{"depth_mm": null}"#)));
        assert!(!has_depth(&properties(r#"{"depth": 9, "max_depth_cm": 4}"#)));
        assert_eq!(depth_without_unit(&properties(r#"{"Depth": 9}"#)), Some("Depth"));
    }

    #[test]
    fn not_reached_is_not_a_depth() {
        let beyond = Outcome::NotReached { probed_to: Depth::from_in(18.0) };
        for text in [
            r#"{"depth_in": 18, "at_least": true}"#,
            r#"{"depth_in": null, "reached": false, "max_depth_in": 18}"#,
            r#"{"depth_in": ">=18"}"#,
            r#"{"depth_in": "18+", "at_least": true}"#,
        ] {
            assert_eq!(outcome_of(text).unwrap(), beyond, "{text}");
        }
        assert!(outcome_of(r#"{"depth_in": null, "at_least": true}"#).is_err());
        assert!(outcome_of(r#"{"depth_in": 9, "at_least": true, "reached": true}"#).is_err());
    }

    #[test]
    fn a_stone_is_not_a_reading() {
        assert_eq!(outcome_of(r#"{"depth_in": null, "note": "Stone"}"#).unwrap(), Outcome::Refused);
        assert_eq!(
            outcome_of(r#"{"depth_in": null, "note": "skipped"}"#).unwrap(),
            Outcome::Skipped
        );
        let silent = outcome(&properties(r#"{"depth_in": null}"#), None).unwrap();
        assert_eq!(silent.outcome, Outcome::Skipped);
        assert_eq!(silent.assumed.unwrap().0, Severity::Note);
        // A depth beside the stone is where the stone lay.
        let stone = properties(r#"{"depth_in": 6, "note": "hit a rock"}"#);
        let stone = outcome(&stone, None).unwrap();
        assert_eq!(stone.outcome, Outcome::Refused);
        assert_eq!(stone.assumed.unwrap().0, Severity::Fault);
        let clean = r#"{"depth_in": 6, "note": "no stones, rootstock field"}"#;
        assert_eq!(outcome_of(clean).unwrap(), Outcome::Reached(Depth::from_in(6.0)));
    }

    #[test]
    fn text_where_a_number_belongs_is_named() {
        let problem = outcome_of(r#"{"depth_in": "9"}"#).unwrap_err();
        assert_eq!(problem, r#"depth_in is the text "9", not a number"#);
        assert!(outcome_of(r#"{"depth_in": 9, "depth_cm": 30}"#).unwrap_err().contains("differ"));
        assert!(moisture_pct(&properties(r#"{"moisture": 340}"#)).is_err());
    }

    #[test]
    fn date_and_threshold() {
        let text = r#"{"time": "2025-04-14T09:30:00Z", "threshold_kpa": 1379}"#;
        let day = date(&properties(text)).unwrap().unwrap();
        assert_eq!(day.to_string(), "2025-04-14");
        let threshold = threshold(&properties(text)).unwrap().unwrap();
        assert!(threshold.is_same_threshold(Pressure::from_psi(200.0)));
        assert!(date(&properties(r#"{"date": "14/04/2025"}"#)).is_err());
    }
}
