//! Probabilities and simulated class areas, as JSON.

use mapping::{DepthMap, PROBABILITY_LIMITS, Probability, ProbabilityMethod};
use serde_json::{Value, json};
use survey::units::{M2_PER_AC, M2_PER_HA};

use super::method::variogram;
use crate::rounded::{decimals, percent};

/// The probability that the loose layer is thinner than a depth; null where none was asked for.
pub(super) fn part(map: &DepthMap) -> Value {
    map.probability.as_ref().map_or(Value::Null, |probability| whole(map, probability))
}

fn whole(map: &DepthMap, probability: &Probability) -> Value {
    let units = map.classes.units();
    let limits = || [0.0].into_iter().chain(PROBABILITY_LIMITS).chain([1.0]);
    let classes = limits().zip(limits().skip(1)).zip(probability.class_areas_m2);
    let classes = classes.map(|((from, below), area_m2)| {
        json!({
            "probability_from": decimals(from, 2),
            "probability_below": decimals(below, 2),
            "area_ha": decimals(area_m2 / M2_PER_HA, 6),
            "area_ac": decimals(area_m2 / M2_PER_AC, 6),
            "share_of_field_pct": percent(map.share(area_m2)),
        })
    });
    json!({
        format!("thinner_than_{}", units.depth_unit()): decimals(units.depth(probability.limit), 3),
        "method": method(&probability.method),
        "spots_thinner": probability.thinner,
        "spots_not_thinner": probability.not_thinner,
        "spots_unknown": probability.unknown,
        "cells_set_to_0_or_1": probability.clamped,
        "cross_validation": check(probability),
        "classes": classes.collect::<Vec<_>>(),
        "unmapped_ha": decimals(probability.unmapped_m2 / M2_PER_HA, 6),
        "unmapped_ac": decimals(probability.unmapped_m2 / M2_PER_AC, 6),
    })
}

fn method(method: &ProbabilityMethod) -> Value {
    let all = |neighbours: &Option<usize>| neighbours.map_or(json!("all"), Value::from);
    match method {
        ProbabilityMethod::IndicatorKriging { variogram: fitted, neighbours } => json!({
            "name": "indicator kriging",
            "neighbours": all(neighbours),
            "variogram": variogram(fitted, ""),
        }),
        ProbabilityMethod::InverseDistance { power, neighbours, why } => json!({
            "name": "inverse distance of the indicators",
            "power": decimals(*power, 3),
            "neighbours": all(neighbours),
            "not_kriged_because": why,
        }),
        ProbabilityMethod::Normal => json!({
            "name": "kriged depth and variance, taken for normally distributed",
            "not_reached_counts_as": "its lower bound, the depth probed",
        }),
    }
}

fn check(probability: &Probability) -> Value {
    probability.check.as_ref().map_or(Value::Null, |check| {
        let reliability = check.reliability.iter().map(|class| {
            json!({
                "mean_probability": decimals(class.mean_probability, 4),
                "spots": class.spots,
                "thinner": class.thinner,
            })
        });
        json!({
            "kind": "leave one out",
            "spots": check.spots,
            "brier_score": decimals(check.brier, 6),
            "brier_score_of_plain_share": decimals(check.plain_brier, 6),
            "skill_against_plain_share": decimals(check.skill, 4),
            "reliability": reliability.collect::<Vec<_>>(),
        })
    })
}

/// How the areas of the classes were simulated; null where they were not.
pub(super) fn simulation(map: &DepthMap) -> Value {
    map.class_intervals.as_ref().map_or(Value::Null, |intervals| {
        json!({
            "kind": "conditional simulation; not reached is drawn as deep as probed or deeper; without the nugget",
            "realisations": intervals.realisations,
            "seed": intervals.seed,
            "cells": intervals.cells,
            "every_so_manieth_row_and_column": intervals.step,
        })
    })
}

/// The simulated area of a class; null where it was not simulated.
pub(super) fn class_area(map: &DepthMap, class: usize) -> Value {
    map.class_intervals.as_ref().map_or(Value::Null, |intervals| {
        let area = intervals.areas[class];
        let each = [area.low_m2, area.median_m2, area.high_m2];
        let [low_ha, median_ha, high_ha] = each.map(|m2| decimals(m2 / M2_PER_HA, 4));
        let [low_ac, median_ac, high_ac] = each.map(|m2| decimals(m2 / M2_PER_AC, 4));
        json!({
            "low_10_pct_ha": low_ha, "median_ha": median_ha, "high_90_pct_ha": high_ha,
            "low_10_pct_ac": low_ac, "median_ac": median_ac, "high_90_pct_ac": high_ac,
        })
    })
}
