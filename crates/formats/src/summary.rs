//! `summary.json`: everything that went into a map and came out of it, for people and programs.

mod borders;
pub(crate) mod method;
mod probability;
mod strata;

use mapping::{DepthMap, ZoneJoin};
use serde::Serialize;
use serde_json::{Map, Value, json};
use survey::units::{M2_PER_AC, M2_PER_HA};
use survey::{CheckSettings, CheckedSurvey, Depth, FieldOrigin, NoReading, Severity};

use crate::input::InputFile;
use crate::rounded::{decimals, percent};

/// What a summary is made from.
pub struct Summary<'a> {
    /// The program's version.
    pub version: &'a str,
    /// The field's name.
    pub field_name: &'a str,
    /// The files it was made from, each with the part it plays: survey, boundary, edits.
    pub inputs: &'a [(&'static str, InputFile)],
    /// How the survey was checked.
    pub check: &'a CheckSettings,
    /// The survey.
    pub survey: &'a CheckedSurvey,
    /// Its map.
    pub map: &'a DepthMap,
    /// The names of the other files of the map.
    pub files: &'a [&'a str],
}

/// The summary as JSON text.
pub fn summary_json(summary: &Summary) -> String {
    let survey = summary.survey;
    let map = summary.map;
    let utm = survey.field().utm();
    let whole = json!({
        "program": { "name": "loosedepth", "version": summary.version },
        "files": summary.files,
        "inputs": inputs(summary),
        "field": with_area(
            json!({
                "name": summary.field_name,
                "outline": match survey.field().origin() {
                    FieldOrigin::Boundary => "boundary file",
                    FieldOrigin::HullOfProbes { .. } => "convex hull of the probes, widened",
                },
                "outline_widened_m": match survey.field().origin() {
                    FieldOrigin::Boundary => Value::Null,
                    FieldOrigin::HullOfProbes { widened_m } => decimals(widened_m, 2),
                },
            }),
            map,
            map.field_area_m2,
        ),
        "crs": { "epsg": utm.epsg(), "name": utm.name() },
        "survey": survey_part(survey),
        "settings": settings(summary),
        "grid": grid(map),
        "method_and_cross_validation_of": strata::ground(map),
        "cross_validation": method::cross_validation(map),
        "block_cross_validation": method::block_validation(map),
        "methods_tried": method::tried(map),
        "variogram": map.method.variogram().map(|fitted| method::variogram(fitted, "cm")),
        "standard_error": method::standard_error(map),
        "class_area_simulation": probability::simulation(map),
        "probability": probability::part(map),
        "cautions": map.method.cautions(),
        "classes": (0..map.classes.len()).map(|class| class_part(map, class)).collect::<Vec<_>>(),
        "unmapped": with_area(json!({}), map, map.unmapped.ground_area_m2),
        "strata": strata::part(map),
        "zones": map.zones.len(),
        "borders": borders::part(map),
        "ground_in_zone_of_other_class": with_area(json!({}), map, map.zones_made.other_class_m2),
        "zones_joined": zones_joined(map),
        "zones_with_few_probes": map.zones.iter().filter(|zone| zone.has_few_probes()).count(),
        "zone_ids_of_earlier_visit": strata::zone_ids(map),
        "notes": map.notes,
        "findings": survey
            .findings()
            .iter()
            .map(|finding| json!({
                "severity": match finding.severity {
                    Severity::Note => "note",
                    Severity::Doubt => "doubt",
                    Severity::Fault => "fault",
                },
                "text": finding.to_string(),
            }))
            .collect::<Vec<_>>(),
    });
    pretty(&whole)
}

/// JSON as text for people, with a line's end behind it.
pub(crate) fn pretty(whole: &Value) -> String {
    let mut text = Vec::new();
    let pretty = serde_json::ser::PrettyFormatter::with_indent(b"  ");
    let mut serializer = serde_json::Serializer::with_formatter(&mut text, pretty);
    whole.serialize(&mut serializer).expect("a JSON value can be written to memory");
    text.push(b'\n');
    String::from_utf8(text).expect("JSON is UTF-8")
}

/// The inputs by file name only, so that a map does not depend on where its files lie.
fn inputs(summary: &Summary) -> Value {
    summary.inputs.iter().map(|(role, file)| file.as_json(role)).collect()
}

impl InputFile {
    /// The file with the part it plays.
    pub(crate) fn as_json(&self, role: &str) -> Value {
        json!({ "role": role, "file": self.name(), "sha256": self.sha256 })
    }
}

/// The settings that a summary tells, each with its value as text; `none` where there is none.
pub fn listed_settings(summary: &Summary) -> Vec<(String, String)> {
    fn text(value: &Value) -> String {
        match value {
            Value::Null => "none".into(),
            Value::String(text) => text.clone(),
            Value::Array(values) => values.iter().map(text).collect::<Vec<_>>().join(", "),
            other => other.to_string(),
        }
    }
    let Value::Object(members) = settings(summary) else { return Vec::new() };
    members.iter().map(|(name, value)| (name.clone(), text(value))).collect()
}

fn survey_part(survey: &CheckedSurvey) -> Value {
    let (first, last) = survey.dates().unzip();
    let spots = survey.spots();
    json!({
        "features": survey.features(),
        "spots_with_reading": spots.len(),
        "insertions": spots.iter().map(|spot| spot.combined.count).sum::<usize>(),
        "not_reached": survey.not_reached(),
        "not_reached_share_pct": percent(survey.not_reached() as f64 / spots.len() as f64),
        "not_reached_counts_as": "its lower bound, the depth probed",
        "stopped_by_stone": survey.count_without(NoReading::Refused),
        "skipped": survey.count_without(NoReading::Skipped),
        "first_date": first.map(|date| date.to_string()),
        "last_date": last.map(|date| date.to_string()),
        "threshold_psi": decimals(survey.threshold().pressure().psi(), 2),
        "threshold_kpa": decimals(survey.threshold().pressure().kpa(), 2),
        "moisture_mean_pct": survey.moisture().map(|moisture| decimals(moisture.mean_pct, 2)),
        "moisture_min_pct": survey.moisture().map(|moisture| decimals(moisture.min_pct, 2)),
        "moisture_max_pct": survey.moisture().map(|moisture| decimals(moisture.max_pct, 2)),
        "moisture_readings": survey.moisture().map_or(0, |moisture| moisture.insertions),
        "typical_spacing_m": decimals(survey.spacing_m(), 2),
    })
}

fn settings(summary: &Summary) -> Value {
    let map = summary.map;
    let units = map.classes.units();
    let zones = &map.settings.zones;
    let limits = map.classes.limits().iter().map(|&limit| decimals(units.depth(limit), 3));
    let mut all = json!({
        "units": units.to_string(),
        format!("classes_{}", units.depth_unit()): limits.collect::<Vec<_>>(),
        "cell_m": decimals(map.depth_cm.grid.cell_m(), 3),
        "smallest_zone_m2": decimals(map.smallest_zone_m2, 2),
        "border_tolerance_m": decimals(map.border_tolerance_m, 3),
        "swath_m": zones.swath_m.map(|m| decimals(m, 3)),
        "narrowest_zone_m": map.zones_made.narrowest_m.map(|m| decimals(m, 3)),
        "zone_length_along_passes_m": map.zones_made.length_m.map(|m| decimals(m, 3)),
        "heading_deg": zones.heading_deg.map(|deg| decimals(deg, 3)),
        "zone_cells_m": decimals(map.zones_made.cell_m, 4),
        "most_zones": zones.most,
        "edge_tolerance_m": decimals(summary.check.edge_tolerance_m, 2),
        "sustained_cm": decimals(summary.check.sustained.cm(), 2),
        "rod_cm": summary.check.rod.map(|rod| decimals(rod.cm(), 2)),
        "same_spot_m": decimals(summary.check.same_spot_m, 2),
        "threshold_asked_psi": summary.check.threshold.as_ref().map(|asked| decimals(asked.pressure().psi(), 2)),
        "dates_asked": summary.check.dates.map(|dates| dates.to_string()),
    });
    if let Value::Object(members) = &mut all {
        members.extend(method::settings(map));
    }
    all
}

/// What was joined so that there are no more zones than asked, in order.
fn zones_joined(map: &DepthMap) -> Value {
    let join = |(k, join): (usize, &ZoneJoin)| {
        json!({
            "order": k + 1,
            "class_no": join.class + 1,
            "area_ha": decimals(join.area_m2 / M2_PER_HA, 6),
            "area_ac": decimals(join.area_m2 / M2_PER_AC, 6),
            "into_class_no": join.into_class + 1,
            "now_in_zone": join.into_zone,
        })
    };
    json!({
        "within_most_zones": map.zones_made.is_within_most,
        "joins": map.zones_made.joins.iter().enumerate().map(join).collect::<Vec<_>>(),
    })
}

fn grid(map: &DepthMap) -> Value {
    let grid = map.depth_cm.grid;
    let with_value = map.depth_cm.values.iter().filter(|value| value.is_finite()).count();
    json!({
        "west_m": decimals(grid.west_m(), 3),
        "south_m": decimals(grid.south_m(), 3),
        "columns": grid.columns(),
        "rows": grid.rows(),
        "cells_with_value": with_value,
    })
}

fn class_part(map: &DepthMap, class: usize) -> Value {
    let units = map.classes.units();
    let unit = units.depth_unit();
    let depth = |depth: Depth| decimals(units.depth(depth), 3);
    let of_class = || map.zones.iter().filter(|zone| zone.class == class);
    with_area(
        json!({
            "class_no": class + 1,
            "name": map.classes.name(class),
            format!("depth_from_{unit}"): depth(map.classes.from(class)),
            format!("depth_below_{unit}"): map.classes.below(class).map(depth),
            "zones": of_class().count(),
            "probes": of_class().map(|zone| zone.probes).sum::<usize>(),
            "not_reached": of_class().map(|zone| zone.not_reached).sum::<usize>(),
            "simulated_area": probability::class_area(map, class),
        }),
        map,
        map.class_area_m2(class),
    )
}

/// An object with an area added in hectares, acres and percent of the field.
fn with_area(object: Value, map: &DepthMap, area_m2: f64) -> Value {
    let mut members: Map<String, Value> = match object {
        Value::Object(members) => members,
        other => unreachable!("{other} is not an object"),
    };
    members.insert("area_ha".into(), decimals(area_m2 / M2_PER_HA, 6));
    members.insert("area_ac".into(), decimals(area_m2 / M2_PER_AC, 6));
    members.insert("share_of_field_pct".into(), percent(map.share(area_m2)));
    Value::Object(members)
}
