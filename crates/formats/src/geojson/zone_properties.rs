//! What a zone file says of each zone: flat, each quantity with its unit in the name, and every name in
//! every zone; null is what is not known.

use geojson::{JsonObject, JsonValue};
use mapping::{DepthMap, Estimator, Method, STOPS_ROOTS_PSI, Zone};
use survey::units::{M2_PER_AC, M2_PER_HA};
use survey::{Depth, Pressure, Reading, UnitSystem};

use super::zones::ZoneFile;
use crate::rounded::{decimals, percent};

/// Every property of a zone.
pub(super) fn properties(file: &ZoneFile, zone: &Zone) -> JsonObject {
    let mut said = Said { units: file.map.classes.units(), all: JsonObject::new() };
    class(&mut said, file.map, zone);
    ground(&mut said, file.map, zone);
    probes(&mut said, zone);
    estimate(&mut said, zone);
    profiles(&mut said, zone);
    origin(&mut said, file, zone);
    said.all
}

/// Properties in the making.
struct Said {
    units: UnitSystem,
    all: JsonObject,
}

impl Said {
    fn say(&mut self, name: &str, value: impl Into<JsonValue>) {
        self.all.insert(name.into(), value.into());
    }

    /// A depth, its unit added to the name.
    fn depth(&mut self, name: &str, depth: Option<Depth>) {
        let unit = self.units.depth_unit();
        let value = depth.map_or(JsonValue::Null, |depth| decimals(self.units.depth(depth), 2));
        self.say(&format!("{name}_{unit}"), value);
    }

    fn percent(&mut self, name: &str, share: Option<f64>) {
        self.say(name, share.map_or(JsonValue::Null, percent));
    }
}

fn class(said: &mut Said, map: &DepthMap, zone: &Zone) {
    said.say("zone_id", zone.id.clone());
    said.say("stratum", zone.stratum.clone());
    said.say("class_no", zone.class + 1);
    said.say("class_name", map.classes.name(zone.class));
    said.depth("depth_from", Some(map.classes.from(zone.class)));
    said.depth("depth_below", map.classes.below(zone.class));
}

fn ground(said: &mut Said, map: &DepthMap, zone: &Zone) {
    said.depth("mean_depth", Some(zone.depth.mean));
    said.depth("min_depth", Some(zone.depth.min));
    said.depth("max_depth", Some(zone.depth.max));
    said.say("area_ha", decimals(zone.ground_area_m2 / M2_PER_HA, 6));
    said.say("area_ac", decimals(zone.ground_area_m2 / M2_PER_AC, 6));
    said.percent("share_of_field_pct", Some(map.share(zone.ground_area_m2)));
}

fn probes(said: &mut Said, zone: &Zone) {
    said.say("probes", zone.probes);
    said.say("not_reached", zone.not_reached);
    said.percent("not_reached_pct", zone.share_not_reached());
    said.say("lower_bound", zone.is_lower_bound());
    said.say("few_probes", zone.has_few_probes());
    said.depth("probe_mean", zone.evidence.probe_mean);
}

/// The mean with its 95 % interval, and how likely it lies in the class.
fn estimate(said: &mut Said, zone: &Zone) {
    let mean = zone.evidence.mean;
    said.depth("estimate", mean.map(|found| found.mean));
    said.depth("estimate_low", mean.map(|found| found.low));
    said.depth("estimate_high", mean.map(|found| found.high));
    said.say("estimate_by", mean.map(|found| found.by.name()));
    said.say("mean_is_lower_bound", mean.map(|found| found.is_lower_bound));
    said.percent("class_confidence_pct", zone.evidence.class_confidence);
}

fn profiles(said: &mut Said, zone: &Zone) {
    let found = zone.evidence.profiles;
    let above = found.map(|found| found.above_300_psi);
    let pressure = match said.units {
        UnitSystem::Us => "300psi".to_owned(),
        UnitSystem::Si => format!("{:.0}kpa", Pressure::from_psi(STOPS_ROOTS_PSI).kpa()),
    };
    said.say("profiles", above.map_or(0, |above| above.probes));
    said.percent(
        &format!("points_above_{pressure}_pct"),
        above.and_then(|above| above.of_points()),
    );
    said.percent(
        &format!("probes_above_{pressure}_pct"),
        above.and_then(|above| above.of_probes()),
    );
    let bottom = found.and_then(|found| found.bottom);
    // A median that was not reached is no depth.
    let median = bottom.and_then(|bottom| match bottom.reading {
        Reading::Reached(depth) => Some(depth),
        Reading::NotReached { .. } => None,
    });
    said.depth("bottom", median);
    said.say("bottom_profiles", bottom.map_or(0, |bottom| bottom.count));
    said.say("bottom_not_passed", bottom.map_or(0, |bottom| bottom.not_reached));
}

fn origin(said: &mut Said, file: &ZoneFile, zone: &Zone) {
    let survey = file.survey;
    said.say("field", file.field_name);
    said.say("survey", file.survey_file);
    // Of the whole field: whoever plans by the zones alone must know what they leave out.
    said.say("unmapped_ha", decimals(file.map.unmapped.ground_area_m2 / M2_PER_HA, 6));
    said.say("visit_date", survey.dates().map(|(first, _)| first.to_string()));
    let threshold = survey.threshold().pressure();
    match said.units {
        UnitSystem::Us => said.say("threshold_psi", decimals(threshold.psi(), 1)),
        UnitSystem::Si => said.say("threshold_kpa", decimals(threshold.kpa(), 0)),
    }
    let method = method_of(file.map, zone);
    said.say("method", method.map(|method| method.estimator.kind().name()));
    let power = match method.map(|method| &method.estimator) {
        Some(&Estimator::InverseDistance { power, .. }) => decimals(power, 3),
        _ => JsonValue::Null,
    };
    said.say("power", power);
}

/// How the surface of the zone's ground was made.
fn method_of<'a>(map: &'a DepthMap, zone: &Zone) -> Option<&'a Method> {
    match &zone.stratum {
        None => Some(&map.method),
        Some(name) => map.strata.iter().find(|stratum| stratum.name == *name)?.method.as_ref(),
    }
}
