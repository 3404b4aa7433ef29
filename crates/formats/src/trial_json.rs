//! `trial.json`: all figures of a trial and what they were made from, for people and programs.

use season::{
    Contrast, MoistureMatch, Randomisation, Trial, TrialCensoring, TrialMoisture, TrialSpatial,
    TrialStrip,
};
use serde_json::{Value, json};
use survey::{Depth, Moisture, UnitSystem};

use crate::input::InputFile;
use crate::rounded::{decimals, percent};
use crate::summary::pretty;

/// What the summary of a trial is made from.
pub struct TrialSummary<'a> {
    /// The program's version.
    pub version: &'a str,
    /// The field's name.
    pub field_name: &'a str,
    /// The names of the two visits, the earlier first.
    pub visits: [&'a str; 2],
    /// The files it was made from, each with the part it plays.
    pub inputs: &'a [(&'static str, InputFile)],
    /// Units of the sentences.
    pub units: UnitSystem,
    /// The trial.
    pub trial: &'a Trial,
    /// The names of the other files of the trial.
    pub files: &'a [&'a str],
}

/// The summary of a trial as JSON text. A change is later minus earlier, a difference treated less check.
pub fn trial_json(summary: &TrialSummary) -> String {
    let (trial, units) = (summary.trial, summary.units);
    let inputs = summary.inputs.iter().map(|(role, file)| file.as_json(role));
    pretty(&json!({
        "program": { "name": "loosedepth", "version": summary.version },
        "stamps": trial.stamps(),
        "verdict": trial.verdict.name(),
        "sentence": trial.sentence(units),
        "figures": trial.figures(units),
        "cannot_tell_because": trial.doubt.map(season::Doubt::name),
        "what_would_settle_it": trial.settle(units),
        "state_before": trial.state_before(units),
        "files": summary.files,
        "inputs": inputs.collect::<Vec<_>>(),
        "field": summary.field_name,
        "visits": { "earlier": summary.visits[0], "later": summary.visits[1] },
        "units_of_sentences": units.to_string(),
        "settings": settings(trial),
        "difference_of_changes": contrast(&trial.change),
        "difference_before": contrast(&trial.before),
        "randomisation_test": trial.randomisation.as_ref().map(randomisation),
        "not_reached": censoring(&trial.censoring),
        "places": places(&trial.spatial),
        "moisture": moisture(&trial.moisture),
        "strips_needed_a_side": trial.strips_needed,
        "strips": trial.strips.iter().map(strip).collect::<Vec<_>>(),
        "probes_outside_all_strips": trial.outside,
        "notes": trial.notes,
    }))
}

fn settings(trial: &Trial) -> Value {
    let settings = &trial.settings;
    json!({
        "confidence_pct": percent(settings.confidence),
        "matters_cm": length(settings.matters_cm),
        "matters_in": inches(settings.matters_cm),
        "drawn_by_lot": settings.is_randomised,
        "seed": settings.seed,
        "moisture_within_percentage_points": decimals(settings.moisture_within_pct, 3),
        "power_pct": percent(season::POWER),
    })
}

fn length(cm: f64) -> Value {
    decimals(cm, 4)
}

fn inches(cm: f64) -> Value {
    decimals(Depth::from_cm(cm).inches(), 4)
}

fn contrast(contrast: &Contrast) -> Value {
    let [treated, check] = contrast.means;
    let spread = contrast.spread;
    let of = |value: fn(season::Spread) -> f64| spread.map(value);
    json!({
        "treated_strips": contrast.strips[0],
        "check_strips": contrast.strips[1],
        "blocks": contrast.blocks,
        "method": match (contrast.blocks, spread.is_some()) {
            (_, false) => "difference of means, no interval",
            (None, true) => "Welch's t over strips",
            (Some(_), true) => "least squares with block effects over strips",
        },
        "treated_cm": length(treated),
        "check_cm": length(check),
        "difference_cm": length(contrast.difference),
        "difference_in": inches(contrast.difference),
        "interval_cm": spread.map(|spread| spread.interval.map(length)),
        "interval_in": spread.map(|spread| spread.interval.map(inches)),
        "standard_error_cm": of(|spread| spread.standard_error).map(length),
        "strip_sd_cm": of(|spread| spread.strip_sd).map(length),
        "degrees_of_freedom": of(|spread| spread.degrees_of_freedom).map(|value| decimals(value, 3)),
        "t": of(|spread| spread.t).map(|value| decimals(value, 4)),
        "p": of(|spread| spread.p).map(|value| decimals(value, 6)),
    })
}

fn randomisation(found: &Randomisation) -> Value {
    json!({
        "ways": found.ways,
        "drawn": found.drawn,
        "p": decimals(found.p, 6),
        "smallest_possible_p": decimals(found.smallest_p, 9),
    })
}

fn censoring(found: &TrialCensoring) -> Value {
    json!({
        "taken_as": "depth probed",
        "treated_before": found.treated[0],
        "treated_after": found.treated[1],
        "check_before": found.check[0],
        "check_after": found.check[1],
        "deeper_for_no_difference_cm": found.to_zero_cm.map(length),
        "deeper_for_no_difference_in": found.to_zero_cm.map(inches),
        "answer_holds_if_deeper_by_what_matters": found.holds,
    })
}

fn places(found: &TrialSpatial) -> Value {
    json!({
        "morans_i": found.morans_i.map(|moran| json!({
            "value": decimals(moran.value, 6),
            "expected": decimals(moran.expected, 6),
            "p": decimals(moran.p, 6),
        })),
        "variogram": found.variogram.map(|model| json!({
            "nugget_cm2": decimals(model.nugget, 6),
            "partial_sill_cm2": decimals(model.partial_sill, 6),
            "range_m": decimals(model.range_m, 3),
        })),
        "no_variogram_because": found.why_none,
        "over_single_probes": found.over_probes.map(|over| json!({
            "difference_cm": length(over.difference_cm),
            "difference_in": inches(over.difference_cm),
            "standard_error_cm": length(over.standard_error_cm),
            "interval_cm": over.interval_cm.map(length),
            "interval_in": over.interval_cm.map(inches),
            "effective_treated_probes": decimals(over.effective_probes[0], 3),
            "effective_check_probes": decimals(over.effective_probes[1], 3),
        })),
    })
}

fn moisture(found: &TrialMoisture) -> Value {
    let state = |of: &MoistureMatch| match of {
        MoistureMatch::Matched { .. } => "matched",
        MoistureMatch::Differs { .. } => "differs",
        MoistureMatch::Unknown { .. } => "unknown",
    };
    let mean = |of: Option<Moisture>| of.map(|moisture| decimals(moisture.mean_pct, 3));
    let [before, after] = found.visits.moistures();
    let [[check_before, treated_before], [check, treated]] =
        found.sides.map(|sides| sides.moistures());
    json!({
        "visits": state(&found.visits),
        "before_pct": mean(before),
        "after_pct": mean(after),
        "treated_and_check": found.sides_name(),
        "treated_and_check_before": state(&found.sides[0]),
        "treated_before_pct": mean(treated_before),
        "check_before_pct": mean(check_before),
        "treated_and_check_after": state(&found.sides[1]),
        "treated_after_pct": mean(treated),
        "check_after_pct": mean(check),
    })
}

fn strip(strip: &TrialStrip) -> Value {
    json!({
        "strip": strip.name,
        "treatment": strip.treatment.name(),
        "block": strip.block,
        "probes": strip.probes,
        "effective_probes": strip.effective_probes.map(|count| decimals(count, 3)),
        "not_reached_before": strip.not_reached[0],
        "not_reached_after": strip.not_reached[1],
        "depth_before_cm": length(strip.earlier_cm),
        "depth_after_cm": length(strip.later_cm),
        "change_cm": length(strip.change_cm),
        "change_in": inches(strip.change_cm),
        "change_sd_cm": strip.change_sd_cm.map(length),
    })
}
