//! Strata, and the ids of zones, as JSON.

use mapping::{DepthMap, Estimator, Method, StratumMap};
use serde_json::{Value, json};
use survey::Depth;
use survey::units::{M2_PER_AC, M2_PER_HA};

use crate::rounded::decimals;

/// What the map's method and cross-validation are of.
pub(super) fn ground(map: &DepthMap) -> &'static str {
    if map.strata.is_empty() { "field" } else { "main ground, the field without its strata" }
}

/// Every stratum with its own method and check; an empty list in a field without.
pub(super) fn part(map: &DepthMap) -> Value {
    map.strata.iter().map(|stratum| one(stratum, map)).collect()
}

fn one(stratum: &StratumMap, map: &DepthMap) -> Value {
    json!({
        "name": stratum.name,
        "area_ha": decimals(stratum.ground_area_m2 / M2_PER_HA, 6),
        "area_ac": decimals(stratum.ground_area_m2 / M2_PER_AC, 6),
        "probes": stratum.probed.spots,
        "not_reached": stratum.probed.not_reached,
        "surface": stratum.method.as_ref().map(|method| surface(method, map)),
    })
}

fn surface(method: &Method, map: &DepthMap) -> Value {
    let units = map.classes.units();
    let unit = units.depth_unit();
    let depth = |cm: f64| decimals(units.depth(Depth::from_cm(cm)), 4);
    json!({
        "method": method.estimator.kind().name(),
        "power": match method.estimator {
            Estimator::InverseDistance { power, .. } => decimals(power, 3),
            _ => Value::Null,
        },
        "reach_m": decimals(method.reach_m, 2),
        "cross_validated_spots": method.validation.pairs.len(),
        format!("me_{unit}"): depth(method.validation.me),
        format!("mae_{unit}"): depth(method.validation.mae),
        format!("rmse_{unit}"): depth(method.validation.rmse),
        format!("own_mean_rmse_{unit}"): depth(method.validation.mean_rmse),
        "beats_own_mean": method.beats_field_mean(),
    })
}

/// What became of the ids of an earlier visit; null where none was given.
pub(super) fn zone_ids(map: &DepthMap) -> Value {
    map.kept_ids
        .as_ref()
        .map_or(Value::Null, |ids| json!({ "kept": ids.kept, "new": ids.new, "gone": ids.gone }))
}
