//! A plan as GeoJSON: one feature a part, everything a GIS should see flat in its properties.

use geojson::feature::Id;
use geojson::{Feature, JsonObject, JsonValue};
use survey::units::{M2_PER_AC, M2_PER_HA};

use super::zones::{geometry, lines};
use crate::plain_text::plain;
use crate::plan_rows::{Row, Rows};
use crate::rounded::decimals;

/// The parts as a FeatureCollection in WGS 84, in the plan's order.
pub(crate) fn plan_geojson(rows: &Rows) -> String {
    let features: Vec<Feature> = rows
        .rows
        .iter()
        .map(|row| Feature {
            id: Some(Id::String(plain(&row.part.id))),
            geometry: Some(geometry(&row.degrees).into()),
            properties: Some(properties(rows, row)),
            bbox: None,
            foreign_members: None,
        })
        .collect();
    lines(&plain(&rows.plan.name), &features)
}

/// What is to be done in a part; what holds for the whole plan is repeated, since GIS programs drop the
/// members of the collection.
fn properties(rows: &Rows, row: &Row) -> JsonObject {
    let (plan, part) = (rows.plan, row.part);
    let optional = |text: Option<&str>| text.map_or(JsonValue::Null, |text| plain(text).into());
    let mut said = JsonObject::new();
    let mut say = |name: &str, value: JsonValue| {
        said.insert(name.into(), value);
    };
    say("part_id", plain(&part.id).into());
    say("zone_id", plain(&part.zone_id).into());
    say("class_no", part.class_no.into());
    say("class_name", plain(&part.class_name).into());
    say("check_strip", part.check_strip.map_or(JsonValue::Null, JsonValue::from));
    say("action", plain(&part.marked_action()).into());
    for (name, number) in rows.dose_names().iter().zip(rows.dose_numbers(row)) {
        say(name, decimals(number, 3));
    }
    say("area_ha", decimals(part.ground_area_m2 / M2_PER_HA, 6));
    say("area_ac", decimals(part.ground_area_m2 / M2_PER_AC, 6));
    say("few_probes", part.few_probes.into());
    say("plan", plain(&plan.name).into());
    say("field", plain(&plan.field_name).into());
    say("farm", optional(plan.farm.as_deref()));
    say("grower", optional(plan.grower.as_deref()));
    say("visit_date", plan.visit.map_or(JsonValue::Null, |day| day.to_string().into()));
    for (name, sentences) in [
        ("stamps", &plan.stamps),
        ("warnings", &plan.warnings),
        ("cautions", &plan.cautions),
        ("stop_rules", &plan.stop_rules),
        ("hazards", &plan.hazards),
    ] {
        let text = plain(&sentences.join(" | "));
        say(name, if text.is_empty() { JsonValue::Null } else { text.into() });
    }
    said
}
