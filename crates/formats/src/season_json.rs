//! `season.json`: everything that went into the table of a season and came out of it, for people and
//! programs. A change is later minus earlier: below 0 the loose layer became thinner.

use season::{ClassGround, Falls, MedianChange, RankCorrelations, SpotChange, Trend, VisitFigures};
use serde_json::{Map, Value, json};
use survey::units::{M2_PER_AC, M2_PER_HA};
use survey::{Date, Depth, Reading, UnitSystem};

use crate::input::InputFile;
use crate::rounded::{decimals, percent, significant};
use crate::season_words::{at_least, change_bounds, depth, moisture_matches, outcome};
use crate::summary::pretty;

/// What the summary of a season is made from.
pub struct SeasonSummary<'a> {
    /// The program's version.
    pub version: &'a str,
    /// The field's name.
    pub field_name: &'a str,
    /// What grows on it, where it is known.
    pub crop: Option<&'a str>,
    /// When its reproductive stage is reached, where it is known what grows.
    pub stage: Option<SummaryStage<'a>>,
    /// The files it was made from, each with the part it plays.
    pub inputs: &'a [(&'static str, InputFile)],
    /// The names of the other files of the season.
    pub files: &'a [String],
    /// Units of depths.
    pub units: UnitSystem,
    /// The season.
    pub trend: &'a Trend,
}

/// The reproductive stage of a season's crop: visits go until then.
#[derive(Debug, Clone, Copy)]
pub struct SummaryStage<'a> {
    /// What it is called.
    pub name: &'a str,
    /// The first and the last day it may be reached on; `None` where that cannot be told.
    pub days: Option<[Date; 2]>,
    /// How that is known, or why not.
    pub sentence: &'a str,
}

/// The summary as JSON text.
pub fn season_json(summary: &SeasonSummary) -> String {
    let SeasonSummary { trend, units, .. } = *summary;
    let due = trend.next_due;
    let visits: Vec<Value> =
        (0..trend.visits.len()).map(|visit| visit_part(trend, visit, units)).collect();
    let moisture = trend.visits.last().and_then(|last| last.since_first).map(|of| of.moisture);
    pretty(&json!({
        "moisture_says": moisture.map(|moisture| moisture.sentence()),
        "moisture_matches": moisture.map(|moisture| moisture.is_matched()),
        "moisture_is_of": "the first and the last visit",
        "program": { "name": "loosedepth", "version": summary.version },
        "files": summary.files,
        "inputs": summary.inputs.iter().map(|(role, file)| file.as_json(role)).collect::<Vec<_>>(),
        "field": { "name": summary.field_name, "crop": summary.crop },
        "settings": settings(trend, units),
        "change_is": "later minus earlier; below 0 the loose layer became thinner",
        "lower_bound_is": "the threshold was not reached: the depth is this or deeper",
        "visits": visits,
        "next_visit_due": {
            "first_day": due.map(|days| days.first().to_string()),
            "last_day": due.map(|days| days.last().to_string()),
        },
        "reproductive_stage": summary.stage.map(|stage| json!({
            "name": stage.name,
            "first_day": stage.days.map(|[first, _]| first.to_string()),
            "last_day": stage.days.map(|[_, last]| last.to_string()),
            "in_words": stage.sentence,
        })),
        "ranks": trend.ranks.as_ref().map(ranks_part),
        "spots": trend.spots.spots.len(),
        "spots_known_again": trend.visits.iter().skip(1).zip(&trend.spots.known_again).map(|(visit, again)| json!({
            "visit": visit.name,
            "by_name": again.by_name,
            "by_place": again.by_place,
            "new": again.new,
            "notes": again.notes,
        })).collect::<Vec<_>>(),
        "spots_without_a_reading_on_some_visit": named_spots(trend, &trend.spots.with_gaps()),
        "falls": trend.falls.as_ref().map(|falls| falls_part(trend, falls, units)),
    }))
}

fn settings(trend: &Trend, units: UnitSystem) -> Value {
    let settings = &trend.settings;
    let unit = units.depth_unit();
    json!({
        "units": units.to_string(),
        format!("marks_{unit}"): settings.marks.iter().map(|&mark| depth(mark, units)).collect::<Vec<_>>(),
        "confidence_pct": percent(settings.confidence),
        "moisture_within_percentage_points": decimals(settings.moisture_within_pct, 3),
        "days_between_visits_from": settings.rhythm.shortest_days(),
        "days_between_visits_to": settings.rhythm.longest_days(),
        "median": "Kaplan-Meier",
        "median_interval": "Brookmeyer and Crowley 1982, log(-log) scale",
        "rank_correlation": "Kendall's tau-b; a pair whose order is not certain counts as a tie",
        "log_rank": "against the first visit, readings taken as independent",
    })
}

fn visit_part(trend: &Trend, number: usize, units: UnitSystem) -> Value {
    let visit = &trend.visits[number];
    let gap = number.checked_sub(1).and_then(|before| trend.gaps.get(before));
    let unit = units.depth_unit();
    let mut part = json!({
        "visit": visit.name,
        "first_day": visit.days.map(|days| days.first().to_string()),
        "last_day": visit.days.map(|days| days.last().to_string()),
        "days_since_visit_before": gap.map(|gap| gap.days),
        "days_late": gap.map(|gap| gap.late_by),
        "threshold_psi": decimals(visit.threshold.pressure().psi(), 2),
        "threshold_kpa": decimals(visit.threshold.pressure().kpa(), 2),
        "probes": visit.probes,
        "stopped_by_stone": visit.stopped_by_stone,
        "skipped": visit.skipped,
        "not_reached": visit.not_reached,
        "not_reached_share_pct": percent(visit.not_reached as f64 / visit.probes as f64),
        "median": reading_part(Some(visit.median), units),
        "median_interval_from": reading_part(Some(visit.median_interval.from), units),
        "median_interval_to": reading_part(Some(visit.median_interval.to), units),
        "lower_quartile": reading_part(Some(visit.lower_quartile), units),
        "upper_quartile": reading_part(Some(visit.upper_quartile), units),
        "shares_of_probes_shallower": shares(visit, units),
        "moisture_mean_pct": visit.moisture.map(|moisture| decimals(moisture.mean_pct, 2)),
        "moisture_min_pct": visit.moisture.map(|moisture| decimals(moisture.min_pct, 2)),
        "moisture_max_pct": visit.moisture.map(|moisture| decimals(moisture.max_pct, 2)),
        "moisture_readings": visit.moisture.map_or(0, |moisture| moisture.insertions),
        "median_change_since_first": change_part(visit.since_first.as_ref(), units),
        "median_change_since_before": change_part(visit.since_before.as_ref(), units),
        "log_rank_against_first": visit.log_rank.map(|test| json!({
            "chi_squared": decimals(test.chi_squared, 6),
            "degrees_of_freedom": 1,
            "p": significant(test.p, 6),
        })),
        "map_method": visit.method.name(),
        format!("map_rmse_{unit}"): visit.rmse_cm.map(|cm| depth(Depth::from_cm(cm), units)),
        "map_beats_field_mean": visit.beats_field_mean,
        "classes": (0..visit.classes.len()).map(|class| class_part(visit, class, units)).collect::<Vec<_>>(),
    });
    part["without_value"] = Value::Object(ground(visit.unmapped_m2, visit.field_m2));
    part["field"] = Value::Object(ground(visit.field_m2, visit.field_m2));
    part
}

/// A reading, or that there is none.
fn reading_part(reading: Option<Reading>, units: UnitSystem) -> Value {
    let unit = units.depth_unit();
    json!({
        format!("depth_{unit}"): reading.map(|reading| at_least(reading, units)),
        "is_lower_bound": reading.is_some_and(Reading::is_not_reached),
        "outcome": outcome(reading),
    })
}

fn shares(visit: &VisitFigures, units: UnitSystem) -> Vec<Value> {
    let unit = units.depth_unit();
    let share = |share: &season::ShareShallower| {
        let [least, most] = share.bounds();
        json!({
            format!("mark_{unit}"): depth(share.mark, units),
            "shallower": share.shallower,
            "as_deep_or_deeper": share.deeper,
            "unknown": share.unknown,
            "share_pct": percent(share.share),
            "share_least_pct": percent(least),
            "share_most_pct": percent(most),
            "estimated_by": if share.unknown == 0 { "counting" } else { "Kaplan-Meier" },
        })
    };
    visit.shares.iter().map(share).collect()
}

fn class_part(visit: &VisitFigures, class: usize, units: UnitSystem) -> Value {
    let ClassGround { name, from, below, area_m2, probes } = &visit.classes[class];
    let unit = units.depth_unit();
    let mut part = json!({
        "class_no": class + 1,
        "name": name,
        format!("depth_from_{unit}"): depth(*from, units),
        format!("depth_below_{unit}"): below.map(|below| depth(below, units)),
        "probes": probes,
    });
    for (name, value) in ground(*area_m2, visit.field_m2) {
        part[name] = value;
    }
    part
}

/// An area in hectares, acres and percent of the field.
fn ground(area_m2: f64, field_m2: f64) -> Map<String, Value> {
    Map::from_iter([
        ("area_ha".into(), decimals(area_m2 / M2_PER_HA, 6)),
        ("area_ac".into(), decimals(area_m2 / M2_PER_AC, 6)),
        ("share_of_field_pct".into(), percent(area_m2 / field_m2)),
    ])
}

fn change_part(change: Option<&MedianChange>, units: UnitSystem) -> Value {
    change.map_or(Value::Null, |change| {
        let unit = units.depth_unit();
        let [least, most] = change_bounds(change.change, units);
        json!({
            format!("least_{unit}"): least,
            format!("most_{unit}"): most,
            "moisture_matches": moisture_matches(&change.moisture),
            "moisture": change.moisture.sentence(),
        })
    })
}

fn ranks_part(ranks: &RankCorrelations) -> Value {
    let tau = |tau: Option<f64>| tau.map(|tau| decimals(tau, 6));
    json!({
        "visits": ranks.visits,
        "median_with_day": tau(ranks.with_day),
        "median_with_moisture": tau(ranks.with_moisture),
        "moisture_with_day": tau(ranks.moisture_with_day),
        "median_with_day_at_equal_moisture": tau(ranks.with_day_at_equal_moisture),
        "moisture_explains_as_much_as_the_day": ranks.moisture_explains_as_much(),
        "in_words": ranks.sentence(),
    })
}

fn falls_part(trend: &Trend, falls: &Falls, units: UnitSystem) -> Value {
    let list = |changes: &[SpotChange]| -> Vec<Value> {
        changes.iter().map(|change| spot_change(trend, change, units)).collect()
    };
    json!({
        "earlier_visit": trend.visits[falls.from].name,
        "later_visit": trend.visits[falls.to].name,
        "moisture_matches": moisture_matches(&falls.moisture),
        "moisture": falls.moisture.sentence(),
        "fell_furthest_first": list(&falls.fell),
        "deepened_most_first": list(&falls.deepened),
        "unchanged": falls.unchanged,
        "not_told_by_the_readings": falls.undecided,
        "without_a_reading_on_both": named_spots(trend, &falls.missing),
    })
}

fn spot_change(trend: &Trend, change: &SpotChange, units: UnitSystem) -> Value {
    let unit = units.depth_unit();
    let [least, most] = change_bounds(change.change, units);
    json!({
        "spot": trend.spots.spots[change.spot].id,
        "earlier": reading_part(Some(change.earlier), units),
        "later": reading_part(Some(change.later), units),
        format!("change_least_{unit}"): least,
        format!("change_most_{unit}"): most,
    })
}

/// Spots by name.
fn named_spots(trend: &Trend, spots: &[usize]) -> Vec<String> {
    spots.iter().map(|&spot| trend.spots.spots[spot].id.clone()).collect()
}
