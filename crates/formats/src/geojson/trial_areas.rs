//! Treated and check areas of a trial: polygons with a `treatment`, or a plan with its check strips.

use std::collections::BTreeSet;
use std::path::Path;

use season::{Treatment, TrialArea, TrialGround};
use serde_json::Value;

use super::named_areas::{NamedArea, Wanted, name, read_named_areas};
use crate::error::FormatError;
use crate::input::InputFile;
use crate::values::{kind, shown};

/// The most areas of a trial, and their corners together. A plan's parts are among them.
const MOST_AREAS: usize = 10_000;
const MOST_CORNERS: usize = 100_000;

/// Words for treated and for check ground that need not be explained.
const TREATED: [&str; 2] = ["treated", "treatment"];
const CHECK: [&str; 4] = ["check", "control", "untreated", "check strip"];

/// What a user's file calls treated and check ground, where it uses words of its own.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TrialWords {
    /// The word for treated ground; by default `treated` or `treatment`.
    pub treated: Option<String>,
    /// The word for check ground; by default `check`, `control` or `untreated`.
    pub check: Option<String>,
}

impl TrialWords {
    /// What a word stands for, in any case of letters.
    fn treatment(&self, word: &str) -> Option<Treatment> {
        let is = |own: &Option<String>, usual: &[&str]| match own {
            Some(own) => own.trim().to_lowercase() == word.to_lowercase(),
            None => usual.contains(&word.to_lowercase().as_str()),
        };
        match () {
            () if is(&self.treated, &TREATED) => Some(Treatment::Treated),
            () if is(&self.check, &CHECK) => Some(Treatment::Check),
            () => None,
        }
    }

    /// Whether the user chose both, so that other words may be those of other treatments.
    fn are_chosen(&self) -> bool {
        self.treated.is_some() && self.check.is_some()
    }
}

/// Reads the areas of a trial: a FeatureCollection of polygons of either kind, each with a text `treatment`
/// and, where they are wanted, a `strip` (or `name`) and a `block`. Features of one strip are pieces of it; a
/// feature without one is a strip of its own. Or a plan of the command `plan`: its check strips, and the ground
/// that it treats.
///
/// # Errors
/// When the file is something else, a feature is no sound polygon with a treatment, a word is not known or
/// stands for nothing in the file, or a plan has no check strips.
pub fn read_trial_areas(
    path: &Path,
    words: &TrialWords,
) -> Result<(InputFile, TrialGround), FormatError> {
    let wanted = Wanted {
        what: "treatment",
        property: "treatment",
        other_property: Some("part_id"),
        most_features: MOST_AREAS,
        most_corners: MOST_CORNERS,
        must_be_valid: true,
    };
    let (input, areas) = read_named_areas(path, &wanted)?;
    let ground = match areas.iter().any(|area| area.properties.contains_key("treatment")) {
        true => by_treatment(areas, words).map(TrialGround::Areas),
        false => of_plan(areas).map(TrialGround::Plan),
    };
    let problem = |problem| FormatError::TrialAreas { file: path.to_path_buf(), problem };
    Ok((input, ground.map_err(problem)?))
}

fn by_treatment(areas: Vec<NamedArea>, words: &TrialWords) -> Result<Vec<TrialArea>, String> {
    let said: BTreeSet<String> = areas.iter().map(|area| area.name.clone()).collect();
    let said: Vec<String> = said.iter().take(12).map(|word| shown(word)).collect();
    for own in [&words.treated, &words.check].into_iter().flatten() {
        let is = |area: &NamedArea| area.name.to_lowercase() == own.trim().to_lowercase();
        if !areas.iter().any(is) {
            return Err(format!(
                "no area has the treatment {}; they have {}",
                shown(own),
                said.join(", ")
            ));
        }
    }
    let mut known = Vec::new();
    for (k, area) in areas.into_iter().enumerate() {
        let here = |problem: String| format!("feature {}: {problem}", k + 1);
        match words.treatment(&area.name) {
            Some(treatment) => known.push(trial_area(k + 1, area, treatment).map_err(here)?),
            None if words.are_chosen() => {}
            None => {
                return Err(here(format!(
                    "its treatment {} is neither treated nor check; say which words of the file are, with \
                     --treated WORD --check WORD",
                    shown(&area.name)
                )));
            }
        }
    }
    Ok(known)
}

fn trial_area(number: usize, area: NamedArea, treatment: Treatment) -> Result<TrialArea, String> {
    let strip = match text(&area, "strip")? {
        Some(strip) => Some(strip),
        None => text(&area, "name")?,
    };
    Ok(TrialArea {
        strip: strip.unwrap_or_else(|| format!("area {number}")),
        treatment,
        block: text(&area, "block")?,
        polygons: area.polygons,
    })
}

/// A property as text; a whole number is one too, since strips and blocks are often numbered.
fn text(area: &NamedArea, property: &str) -> Result<Option<String>, String> {
    match area.properties.get(property) {
        None | Some(Value::Null) => Ok(None),
        Some(Value::Number(number)) if number.is_u64() => Ok(Some(number.to_string())),
        value => name(value, property).map(Some),
    }
}

/// Check strips of a plan by their number, and the ground that is treated. Parts that are left alone play no
/// part, and neither do pieces of check strips in zones that are left alone.
fn of_plan(areas: Vec<NamedArea>) -> Result<Vec<TrialArea>, String> {
    let mut strips: Vec<Option<u64>> = Vec::new();
    for (k, area) in areas.iter().enumerate() {
        let strip = area.properties.get("check_strip").filter(|value| !value.is_null());
        let number = strip.map(|value| {
            value.as_u64().ok_or_else(|| {
                format!("feature {}: its check_strip is {}, not a number", k + 1, kind(value))
            })
        });
        strips.push(number.transpose()?);
    }
    if strips.iter().all(Option::is_none) {
        return Err(
            "a plan without check strips, so there is nothing to compare with; loosedepth plan \
             --check-strips N leaves some"
                .into(),
        );
    }
    let says = |area: &NamedArea, property| {
        area.properties.get(property).and_then(Value::as_str).unwrap_or_default().to_owned()
    };
    let is_left = |area: &NamedArea| says(area, "action").starts_with("leave");
    let left: BTreeSet<String> = areas
        .iter()
        .zip(&strips)
        .filter(|(area, strip)| strip.is_none() && is_left(area))
        .map(|(area, _)| says(area, "zone_id"))
        .collect();
    let counts = |area: &NamedArea| !left.contains(&says(area, "zone_id"));
    let parts = areas.into_iter().zip(strips).filter(|(area, _)| counts(area));
    let parts = parts.map(|(area, strip)| TrialArea {
        strip: match strip {
            Some(number) => format!("check strip {number}"),
            None => area.name,
        },
        treatment: if strip.is_some() { Treatment::Check } else { Treatment::Treated },
        block: None,
        polygons: area.polygons,
    });
    Ok(parts.collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn read(features: &[(Value, f64)], words: &TrialWords) -> Result<TrialGround, String> {
        let feature = |(properties, west): &(Value, f64)| {
            let (east, ring) = (west + 0.001, |lon: f64, lat: f64| json!([lon, lat]));
            let ring = [
                ring(*west, 41.93),
                ring(east, 41.93),
                ring(east, 41.94),
                ring(*west, 41.94),
                ring(*west, 41.93),
            ];
            json!({
                "type": "Feature",
                "properties": properties,
                "geometry": { "type": "Polygon", "coordinates": [ring] },
            })
        };
        let features: Vec<Value> = features.iter().map(feature).collect();
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("trial.geojson");
        let text = json!({ "type": "FeatureCollection", "features": features }).to_string();
        std::fs::write(&path, text).unwrap();
        let plain = |error: FormatError| error.to_string().split_once(": ").unwrap().1.to_owned();
        read_trial_areas(&path, words).map(|(_, ground)| ground).map_err(plain)
    }

    fn words(treated: &str, check: &str) -> TrialWords {
        TrialWords { treated: Some(treated.into()), check: Some(check.into()) }
    }

    fn told(ground: &TrialGround) -> Vec<(String, Treatment, Option<String>)> {
        let (TrialGround::Areas(areas) | TrialGround::Plan(areas)) = ground else {
            panic!("these are areas")
        };
        areas.iter().map(|a| (a.strip.clone(), a.treatment, a.block.clone())).collect()
    }

    #[test]
    fn strips_have_a_treatment_a_name_and_a_block() {
        let ground = read(
            &[
                (json!({ "treatment": "Treated", "strip": "T1", "name": "x", "block": 1 }), -95.62),
                (json!({ "treatment": "control", "name": " C1 ", "block": "2" }), -95.60),
                (json!({ "treatment": "check" }), -95.58),
            ],
            &TrialWords::default(),
        )
        .unwrap();
        let expected = [
            ("T1".to_owned(), Treatment::Treated, Some("1".to_owned())),
            ("C1".to_owned(), Treatment::Check, Some("2".to_owned())),
            ("area 3".to_owned(), Treatment::Check, None),
        ];
        assert_eq!(told(&ground), expected);
    }

    #[test]
    fn words_of_the_user_choose_two_of_several_treatments() {
        let areas = [
            (json!({ "treatment": "ripped" }), -95.62),
            (json!({ "treatment": "gypsum" }), -95.60),
            (json!({ "treatment": "None" }), -95.58),
        ];
        let ground = read(&areas, &words("Ripped", "none")).unwrap();
        let sides: Vec<_> =
            told(&ground).into_iter().map(|(strip, side, _)| (strip, side)).collect();
        let expected =
            [("area 1".to_owned(), Treatment::Treated), ("area 3".to_owned(), Treatment::Check)];
        assert_eq!(sides, expected);
        let unknown = read(&areas, &TrialWords::default()).unwrap_err();
        assert!(unknown.starts_with("feature 1: its treatment \"ripped\" is neither"), "{unknown}");
        let absent = read(&areas, &words("riped", "none")).unwrap_err();
        let expected =
            "no area has the treatment \"riped\"; they have \"None\", \"gypsum\", \"ripped\"";
        assert_eq!(absent, expected);
    }

    #[test]
    fn a_plan_gives_its_check_strips_and_what_it_treats() {
        let part = |part_id: &str, zone: &str, strip: Option<u64>, action: &str| json!({ "part_id": part_id, "zone_id": zone, "check_strip": strip, "action": action });
        let parts = [
            (part("Z1", "Z1", None, "loosen to 14 in (few probes)"), -95.62),
            (part("Z2", "Z2", None, "leave"), -95.60),
            (part("Z1 check 1", "Z1", Some(1), "leave, check strip 1"), -95.58),
            (part("Z2 check 1", "Z2", Some(1), "leave, check strip 1"), -95.56),
            (part("Z3 check 2", "Z3", Some(2), "leave, check strip 2"), -95.54),
        ];
        let ground = read(&parts, &TrialWords::default()).unwrap();
        assert!(matches!(ground, TrialGround::Plan(_)));
        let sides: Vec<_> =
            told(&ground).into_iter().map(|(strip, side, _)| (strip, side)).collect();
        let expected = [
            ("Z1".to_owned(), Treatment::Treated),
            ("check strip 1".to_owned(), Treatment::Check),
            ("check strip 2".to_owned(), Treatment::Check),
        ];
        assert_eq!(sides, expected);
        let without = read(&parts[..2], &TrialWords::default()).unwrap_err();
        assert!(without.starts_with("a plan without check strips"), "{without}");
        let wrong = json!({ "part_id": "Z1", "check_strip": "one" });
        let wrong = read(&[(wrong, -95.6)], &TrialWords::default()).unwrap_err();
        assert!(
            wrong.contains("check_strip is the text") || wrong.contains("not a number"),
            "{wrong}"
        );
    }

    #[test]
    fn what_is_no_area_of_a_trial_is_refused() {
        let of = |properties: Value| read(&[(properties, -95.6)], &TrialWords::default());
        let none = of(json!({ "name": "x" })).unwrap_err();
        assert!(none.starts_with("feature 1: it has no property `treatment`"), "{none}");
        let wrong = of(json!({ "treatment": "check", "block": [1] })).unwrap_err();
        assert!(wrong.starts_with("feature 1: its `block` is"), "{wrong}");
    }
}
