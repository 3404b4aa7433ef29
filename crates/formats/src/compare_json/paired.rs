//! Paired spots and the agreement of classes, as JSON.

use season::{Comparison, EffectiveMean, Groups};
use serde_json::{Value, json};
use statistics::{Agreement, LogRank};
use survey::Reading;

use super::Around;
use crate::rounded::{decimals, significant};

/// Digits of a probability.
const P_DIGITS: usize = 4;

pub(super) fn pairs(found: &Comparison, around: &Around) -> Value {
    let (pairs, counts) = (&found.pairs, found.paired.counts);
    json!({
        "moisture": around.moisture,
        "pairs": pairs.pairs.len(),
        "by_name": pairs.by_name(),
        "only_at_earlier_visit": pairs.only_earlier,
        "only_at_later_visit": pairs.only_later,
        "same_name_within_m": decimals(pairs.within.named_m, 2),
        "same_place_within_m": decimals(pairs.within.placed_m, 2),
        "change_exact": counts.exact,
        "change_at_most": counts.at_most,
        "change_at_least": counts.at_least,
        "change_unknown": counts.unknown,
        "rows_are": "class at the earlier visit",
        "columns_are": "class at the later visit",
        "class_counts": found.spot_transitions,
    })
}

pub(super) fn paired(found: &Comparison, around: &Around) -> Value {
    let paired = &found.paired;
    let [least, greatest] = paired.median_cm;
    json!({
        "moisture": around.moisture,
        "not_reached_counts_as": "the depth probed, in the mean, the t test and the signed-rank test",
        around.key("mean"): paired.mean_cm.map(|cm| around.depth(cm)),
        "paired_t": paired.t.as_ref().map(|t| json!({
            "n": t.n,
            "t": decimals(t.t, 4),
            "degrees_of_freedom": t.degrees_of_freedom,
            "p": significant(t.p, P_DIGITS),
            around.key("sd"): around.depth(t.sd),
            around.key("standard_error"): around.depth(t.standard_error),
            around.key("interval"): around.interval(t.interval),
        })),
        "with_effective_size": with_effective_size(paired.effective, around),
        "signed_rank": paired.signed_rank.as_ref().map(|test| json!({
            "zeros": "ranked with the others, their ranks left out (Pratt 1959)",
            "positive_rank_sum": decimals(test.positive, 2),
            "nonzero": test.nonzero,
            "z": decimals(test.z, 4),
            "p": significant(test.p_exact.unwrap_or(test.p), P_DIGITS),
            "exact": test.p_exact.is_some(),
        })),
        "pseudomedian": paired.pseudomedian.as_ref().map(|middle| json!({
            around.key("estimate"): around.depth(middle.estimate),
            around.key("interval"): around.interval(middle.interval),
            "confidence": decimals(middle.confidence, 4),
        })),
        "sign_test": json!({
            "of": "spots whose direction is certain",
            "thinner": paired.signs.down,
            "deeper": paired.signs.up,
            "equal": paired.signs.zero,
            "p": match paired.signs.down + paired.signs.up {
                0 => Value::Null,
                _ => significant(paired.signs.p, P_DIGITS),
            },
        }),
        around.key("median_at_least"): least.map(|cm| around.depth(cm)),
        around.key("median_at_most"): greatest.map(|cm| around.depth(cm)),
        "as_groups": paired.groups.as_ref().map(|groups| as_groups(groups, around)),
        "correlation": paired.correlation.as_ref().map(|test| json!({
            "of": "depths at both visits, modified t test (Dutilleul 1993)",
            "r": decimals(test.correlation, 4),
            "effective_pairs": decimals(test.effective_size, 2),
            "f": decimals(test.f, 4),
            "degrees_of_freedom": decimals(test.degrees_of_freedom, 2),
            "p": significant(test.p, P_DIGITS),
        })),
    })
}

/// Null where it is not known how far near spots tell the same.
fn with_effective_size(mean: EffectiveMean, around: &Around) -> Value {
    let (size, interval) = match mean {
        EffectiveMean::Of { size, interval_cm } => (size, around.interval(interval_cm)),
        EffectiveMean::TooFew { size } => (size, Value::Null),
        EffectiveMean::Unknown => return Value::Null,
    };
    json!({ "effective_pairs": decimals(size, 2), around.key("interval"): interval })
}

fn as_groups(groups: &Groups, around: &Around) -> Value {
    let median = |reading: Reading| {
        json!({
            around.key("median"): around.depth(reading.at_least().cm()),
            "at_least": reading.is_not_reached(),
        })
    };
    let log_rank = |test: &LogRank| {
        json!({
            "chi_squared": decimals(test.chi_squared, 4),
            "degrees_of_freedom": test.degrees_of_freedom,
            "p": significant(test.p, P_DIGITS),
        })
    };
    json!({
        "earlier_kaplan_meier": median(groups.earlier_median),
        "later_kaplan_meier": median(groups.later_median),
        "log_rank": groups.log_rank.as_ref().map(log_rank),
    })
}

pub(super) fn agreement(found: &Comparison, around: &Around) -> Value {
    let shares = |found: &Agreement| {
        json!({
            "observed": decimals(found.observed, 4),
            "kappa": decimals(found.kappa, 4),
            "quantity_disagreement": decimals(found.quantity, 4),
            "allocation_disagreement": decimals(found.allocation, 4),
        })
    };
    let agreement = &found.agreement;
    json!({
        "moisture": around.moisture,
        "ground": agreement.ground.as_ref().map(shares),
        "ground_is": "a description: cells are estimates, not observations, so there is no test",
        "spots": agreement.spots.as_ref().map(shares),
        "spots_kappa_standard_error":
            agreement.spots_error.map(|error| decimals(error.standard_error, 4)),
    })
}
