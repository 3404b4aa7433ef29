//! The zone file: one feature per zone.

use geo::{LineString, MultiPolygon, Polygon};
use geojson::feature::Id;
use geojson::{Feature, GeometryValue, JsonObject, JsonValue, Position};
use mapping::{DepthMap, Estimator, Zone};
use survey::units::{M2_PER_AC, M2_PER_HA};
use survey::{CheckedSurvey, Depth, UnitSystem};

use crate::degrees::degrees;
use crate::error::FormatError;
use crate::rounded::{decimals, percent};

/// Zones with fewer probes than this are marked (common practice).
const FEW_PROBES: usize = 5;

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

/// What is known of a zone, flat, each quantity with its unit in the name.
fn properties(file: &ZoneFile, zone: &Zone) -> JsonObject {
    let (survey, map) = (file.survey, file.map);
    let units = map.classes.units();
    let unit = units.depth_unit();
    let depth = |depth: Depth| decimals(units.depth(depth), 2);
    let mut said = JsonObject::new();
    let mut say = |name: String, value: JsonValue| {
        said.insert(name, value);
    };
    say("zone_id".into(), zone.id.clone().into());
    say("class_no".into(), (zone.class + 1).into());
    say("class_name".into(), map.classes.name(zone.class).into());
    say(format!("depth_from_{unit}"), depth(map.classes.from(zone.class)));
    say(
        format!("depth_below_{unit}"),
        map.classes.below(zone.class).map_or(JsonValue::Null, depth),
    );
    say(format!("mean_depth_{unit}"), depth(zone.depth.mean));
    say(format!("min_depth_{unit}"), depth(zone.depth.min));
    say(format!("max_depth_{unit}"), depth(zone.depth.max));
    say("area_ha".into(), decimals(zone.ground_area_m2 / M2_PER_HA, 6));
    say("area_ac".into(), decimals(zone.ground_area_m2 / M2_PER_AC, 6));
    say("share_of_field_pct".into(), percent(map.share(zone.ground_area_m2)));
    say("probes".into(), zone.probes.into());
    say("not_reached".into(), zone.not_reached.into());
    say("lower_bound".into(), zone.is_lower_bound().into());
    say("few_probes".into(), (zone.probes < FEW_PROBES).into());
    say("field".into(), file.field_name.into());
    say("survey".into(), file.survey_file.into());
    say(
        "visit_date".into(),
        survey.dates().map_or(JsonValue::Null, |(first, _)| first.to_string().into()),
    );
    let threshold = survey.threshold().pressure();
    match units {
        UnitSystem::Us => say("threshold_psi".into(), decimals(threshold.psi(), 1)),
        UnitSystem::Si => say("threshold_kpa".into(), decimals(threshold.kpa(), 0)),
    }
    say("method".into(), map.method.estimator.kind().name().into());
    let power = match map.method.estimator {
        Estimator::InverseDistance { power, .. } => decimals(power, 3),
        _ => JsonValue::Null,
    };
    say("power".into(), power);
    said
}
