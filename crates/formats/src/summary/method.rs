//! How a map was made and checked, as JSON.

use geostat::{CrossValidation, SectorKind};
use mapping::{DepthMap, Errors, Estimator, FittedVariogram, MethodChoice, ProbabilityChoice};
use serde_json::{Map, Value, json};
use survey::Depth;

use crate::rounded::{decimals, percent};

/// The settings of the interpolation, as asked for and as used.
pub(super) fn settings(map: &DepthMap) -> Map<String, Value> {
    let (asked, method) = (&map.settings, &map.method);
    let around = method.neighbourhood;
    let (power, chosen) = match method.estimator {
        Estimator::InverseDistance { power, chosen, .. } => (decimals(power, 3), chosen),
        _ => (Value::Null, false),
    };
    let is_directed = !asked.anisotropy.is_none();
    let direction = |number: f64| if is_directed { decimals(number, 4) } else { Value::Null };
    let kind = |kind| match kind {
        SectorKind::Quadrants => "quadrants",
        SectorKind::Octants => "octants",
    };
    let value = json!({
        "method_asked": match asked.method {
            MethodChoice::InverseDistance => "idw",
            MethodChoice::Kriging => "kriging",
            MethodChoice::Mean => "mean",
            MethodChoice::Auto => "auto",
        },
        "method": match method.estimator {
            Estimator::Mean => "field mean",
            Estimator::InverseDistance { .. } => "inverse-distance weighting",
            Estimator::Kriging(_) => "ordinary kriging",
        },
        "power": power,
        "power_chosen_by_cross_validation": chosen,
        "neighbours": around.neighbours.map_or(json!("all"), Value::from),
        "sectors": around.sectors.map(|sectors| kind(sectors.kind)),
        "most_per_sector": around.sectors.map(|sectors| sectors.most),
        "direction_azimuth_deg": direction(asked.anisotropy.azimuth_deg()),
        "direction_ratio": direction(asked.anisotropy.ratio()),
        "smoothing_m": decimals(around.smoothing_m, 3),
        "reach_m": decimals(method.reach_m, 2),
        "thinner_than_cm": asked.thinner_than.map(|limit| decimals(limit.cm(), 3)),
        "probability_asked": match asked.probability {
            ProbabilityChoice::Auto => "auto",
            ProbabilityChoice::Indicator => "indicator",
            ProbabilityChoice::Normal => "normal",
        },
        "realisations_asked": asked.realisations,
        "seed": asked.seed,
    });
    match value {
        Value::Object(members) => members,
        other => unreachable!("{other} is not an object"),
    }
}

/// Leave-one-out cross-validation, in the user's unit.
pub(super) fn cross_validation(map: &DepthMap) -> Value {
    let validation = &map.method.validation;
    let mut value = validated(validation, map);
    value["kind"] = "leave one out; residual = observed - estimated".into();
    value["spots_beyond_reach_of_others"] = validation.isolated.into();
    value["beats_field_mean"] = map.method.beats_field_mean().into();
    if map.method.variogram().is_some() {
        value["msdr"] = decimals(validation.msdr(), 4);
        value["within_80_pct_interval_pct"] = percent(validation.coverage_80());
        value["within_95_pct_interval_pct"] = percent(validation.coverage_95());
    }
    value
}

fn validated(validation: &CrossValidation, map: &DepthMap) -> Value {
    let units = map.classes.units();
    let unit = units.depth_unit();
    let depth = |cm: f64| decimals(units.depth(Depth::from_cm(cm)), 4);
    json!({
        "kind": "",
        "spots": validation.pairs.len(),
        "spots_beyond_reach_of_others": 0,
        format!("me_{unit}"): depth(validation.me),
        format!("mae_{unit}"): depth(validation.mae),
        format!("rmse_{unit}"): depth(validation.rmse),
        format!("field_mean_rmse_{unit}"): depth(validation.mean_rmse),
        "skill_against_field_mean": decimals(validation.skill(), 4),
    })
}

/// Cross-validation that leaves out blocks of ground; null where there is none.
pub(super) fn block_validation(map: &DepthMap) -> Value {
    map.method.blocks.as_ref().map_or(Value::Null, |blocks| {
        let mut value = validated(&blocks.validation, map);
        value["kind"] = "leave out square blocks of ground, whatever the reach".into();
        value["spots_beyond_reach_of_others"] = blocks.validation.isolated.into();
        value["blocks"] = blocks.blocks.into();
        value["block_side_m"] = decimals(blocks.side_m, 2);
        value
    })
}

/// Every method tried.
pub(super) fn tried(map: &DepthMap) -> Value {
    let units = map.classes.units();
    let unit = units.depth_unit();
    let depth = |cm: f64| decimals(units.depth(Depth::from_cm(cm)), 4);
    let one = |tried: &mapping::Tried| match &tried.errors {
        Ok(Errors { me, mae, rmse, skill }) => json!({
            "method": tried.kind.name(),
            "power": tried.power.map(|power| decimals(power, 3)),
            format!("me_{unit}"): depth(*me),
            format!("mae_{unit}"): depth(*mae),
            format!("rmse_{unit}"): depth(*rmse),
            "skill_against_field_mean": decimals(*skill, 4),
        }),
        Err(problem) => json!({ "method": tried.kind.name(), "problem": problem }),
    };
    map.method.tried.iter().map(one).collect()
}

/// A variogram; semivariances in squares of `unit`.
pub(crate) fn variogram(fitted: &FittedVariogram, unit: &str) -> Value {
    let squared = |name: &str| match unit {
        "" => name.to_owned(),
        unit => format!("{name}_{unit}2"),
    };
    let model = &fitted.model;
    let classes = fitted.empirical.classes.iter().map(|class| {
        json!({
            "distance_m": decimals(class.distance_m, 3),
            "pairs": class.pairs,
            squared("semivariance"): decimals(class.semivariance, 6),
        })
    });
    json!({
        "model": fitted.shape_name(),
        squared("nugget"): decimals(model.nugget, 6),
        squared("partial_sill"): decimals(model.partial_sill, 6),
        "range_m": decimals(model.range_m, 3),
        "range_is_at_its_bound": fitted.fit.range_at_bound,
        "fit": "least squares weighted by pairs over squared distance",
        "weighted_squares": decimals(fitted.fit.weighted_squares, 6),
        "estimator": "Matheron",
        "spots": fitted.samples,
        squared("variance"): decimals(fitted.variance, 6),
        "cutoff_m": decimals(fitted.empirical.cutoff_m, 3),
        "classes": classes.collect::<Vec<_>>(),
    })
}

/// The standard error of a kriged map; null for others.
pub(super) fn standard_error(map: &DepthMap) -> Value {
    map.standard_error_cm.as_ref().map_or(Value::Null, |error_cm| {
        let units = map.classes.units();
        let unit = units.depth_unit();
        let depth = |cm: f64| decimals(units.depth(Depth::from_cm(cm)), 4);
        let known = || error_cm.values.iter().copied().filter(|cm| !cm.is_nan());
        let count = known().count() as f64;
        json!({
            "of": "what one probe would read: the nugget is in it",
            format!("mean_{unit}"): depth(known().sum::<f64>() / count),
            format!("greatest_{unit}"): depth(known().fold(f64::NAN, f64::max)),
            "cells_with_negative_variance": map.negative_variances,
            "cells_estimated_below_0_set_to_0": map.below_ground,
        })
    })
}
