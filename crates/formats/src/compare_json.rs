//! `compare.json`: everything that a comparison of two visits says, for people and programs.
//!
//! Changes are later minus earlier. Beside each part stand the mean moistures of both visits, since water
//! moves these readings more than density does. The parts are in the order of the terminal's text.

mod paired;

use mapping::DepthMap;
use season::{
    AdjustedChange, ChangeBasis, Comparison, MoistureFit, MoistureMatch, Transitions, Visit,
};
use serde_json::{Value, json};
use survey::units::{M2_PER_AC, M2_PER_HA};
use survey::{CheckedSurvey, Depth, UnitSystem};

use crate::input::InputFile;
use crate::rounded::{decimals, percent};
use crate::summary::method::variogram;
use crate::summary::pretty;

/// What the summary of a comparison is made from.
pub struct CompareFile<'a> {
    /// The program's version.
    pub version: &'a str,
    /// The field's name.
    pub field_name: &'a str,
    /// The files it was made from, each with the part it plays.
    pub inputs: &'a [(&'static str, InputFile)],
    /// The visits, the earlier first.
    pub visits: [&'a Visit; 2],
    /// What came out.
    pub comparison: &'a Comparison,
    /// The change adjusted for moisture, where it was asked for.
    pub adjusted: Option<(&'a MoistureFit, &'a AdjustedChange)>,
    /// The names of the other files.
    pub files: &'a [&'a str],
}

/// The comparison as JSON text.
pub fn compare_json(file: &CompareFile) -> String {
    let found = file.comparison;
    let map = &file.visits[1].map;
    let around =
        Around { map, units: map.classes.units(), moisture: moisture_pair(&found.moisture) };
    let utm = file.visits[1].survey.field().utm();
    pretty(&json!({
        "moisture_says": found.moisture.sentence(),
        "moisture_matches": found.moisture.is_matched(),
        "moisture_within_pct_points": found.settings.moisture_within_pct,
        "program": { "name": "loosedepth", "version": file.version },
        "files": file.files,
        "inputs": file.inputs.iter().map(|(role, input)| input.as_json(role)).collect::<Vec<_>>(),
        "field": { "name": file.field_name, "area": around.area(map.field_area_m2) },
        "crs": { "epsg": utm.epsg(), "name": utm.name() },
        "units": around.units.to_string(),
        "change_is": "later minus earlier; below 0 the loose layer became thinner",
        "confidence": found.settings.confidence,
        "visits": file.visits.map(|visit| visit_json(visit, around.units)),
        "change": change(found, &around),
        "classes": (0..map.classes.len()).map(|class| map.classes.name(class)).collect::<Vec<_>>(),
        "transitions": transitions(&found.transitions, &around),
        "pairs": paired::pairs(found, &around),
        "paired_change": paired::paired(found, &around),
        "agreement": paired::agreement(found, &around),
        "moisture_adjustment": file.adjusted.map(|adjusted| adjustment(adjusted, &around)),
        "notes": found.pairs.notes,
    }))
}

/// What stands around every figure.
struct Around<'a> {
    map: &'a DepthMap,
    units: UnitSystem,
    moisture: Value,
}

impl Around<'_> {
    /// `change_in`, `mean_cm`.
    fn key(&self, name: &str) -> String {
        format!("{name}_{}", self.units.depth_unit())
    }

    fn depth(&self, cm: f64) -> Value {
        decimals(self.units.depth(Depth::from_cm(cm)), 4)
    }

    fn interval(&self, cm: [f64; 2]) -> Value {
        cm.map(|cm| self.depth(cm)).to_vec().into()
    }

    fn area(&self, area_m2: f64) -> Value {
        json!({
            "ha": decimals(area_m2 / M2_PER_HA, 6),
            "ac": decimals(area_m2 / M2_PER_AC, 6),
            "share_of_field_pct": percent(self.map.share(area_m2)),
        })
    }
}

fn moisture_pair(moisture: &MoistureMatch) -> Value {
    let [earlier, later] = moisture.moistures().map(|moisture| {
        moisture.map(|moisture| {
            json!({
                "mean_pct": decimals(moisture.mean_pct, 2),
                "min_pct": decimals(moisture.min_pct, 2),
                "max_pct": decimals(moisture.max_pct, 2),
                "readings": moisture.insertions,
            })
        })
    });
    json!({ "earlier": earlier, "later": later })
}

fn visit_json(visit: &Visit, units: UnitSystem) -> Value {
    let survey: &CheckedSurvey = &visit.survey;
    let (first, last) = survey.dates().unzip();
    let unit = units.depth_unit();
    json!({
        "name": visit.name,
        "first_date": first.map(|date| date.to_string()),
        "last_date": last.map(|date| date.to_string()),
        "threshold_psi": decimals(survey.threshold().pressure().psi(), 2),
        "threshold_kpa": decimals(survey.threshold().pressure().kpa(), 2),
        "spots_with_reading": survey.spots().len(),
        "not_reached": survey.not_reached(),
        format!("mean_reading_at_least_{unit}"): decimals(units.depth(survey.mean_at_least()), 4),
        "moisture_mean_pct": survey.moisture().map(|moisture| decimals(moisture.mean_pct, 2)),
    })
}

fn change(found: &Comparison, around: &Around) -> Value {
    let change = &found.change;
    json!({
        "moisture": around.moisture,
        around.key("mean"): around.depth(change.mean_cm),
        "mean_is": "of the change of the map, over the ground that has one",
        "thinner_beyond_uncertainty": around.area(change.thinner_m2),
        "deeper_beyond_uncertainty": around.area(change.deeper_m2),
        "within_uncertainty": around.area(change.within_m2),
        "unmapped": around.area(change.unmapped_m2),
        "uncertainty": basis(&change.basis, around),
        "uncertainty_is": change.uncertainty_says(),
    })
}

fn basis(basis: &ChangeBasis, around: &Around) -> Value {
    match basis {
        ChangeBasis::KrigedPairs { pairs, variogram: fitted, widened } => json!({
            "basis": "kriged changes of pairs",
            "pairs": pairs,
            "variogram": variogram(fitted, "cm"),
            "standard_errors_widened_by": decimals(*widened, 4),
        }),
        ChangeBasis::PairsLeftOut { pairs, rmse_cm } => json!({
            "basis": "pairs left out of both maps",
            "pairs": pairs,
            around.key("rmse"): around.depth(*rmse_cm),
        }),
        ChangeBasis::MapsLeftOut { earlier_rmse_cm, later_rmse_cm } => json!({
            "basis": "spots left out of each map",
            around.key("earlier_rmse"): around.depth(*earlier_rmse_cm),
            around.key("later_rmse"): around.depth(*later_rmse_cm),
        }),
        ChangeBasis::Unknown => json!({ "basis": "none" }),
    }
}

fn transitions(found: &Transitions, around: &Around) -> Value {
    let row = |row: &Vec<f64>| -> Value { row.iter().map(|&m2| decimals(m2, 1)).collect() };
    json!({
        "moisture": around.moisture,
        "rows_are": "class at the earlier visit",
        "columns_are": "class at the later visit",
        "areas_m2": found.areas_m2.iter().map(row).collect::<Vec<_>>(),
        "same_class": around.area(found.same_m2()),
        "to_shallower_class": around.area(found.shallower_m2()),
        "to_deeper_class": around.area(found.deeper_m2()),
    })
}

fn adjustment((fit, adjusted): (&MoistureFit, &AdjustedChange), around: &Around) -> Value {
    let visit = |visit: &season::MoistureVisit| {
        json!({
            "visit": visit.name,
            "moisture_mean_pct": decimals(visit.moisture_pct, 2),
            around.key("depth_against_mean_of_visits"): around.depth(visit.effect_cm),
        })
    };
    let [least, greatest] = fit.moisture_range_pct();
    json!({
        "caution": season::ADJUSTMENT_CAUTION,
        "model": "depth = spot + visit; visits regressed on their mean moisture",
        around.key("slope_per_pct_point"): around.depth(fit.slope_cm_per_pct),
        around.key("slope_standard_error"): around.depth(fit.standard_error),
        "degrees_of_freedom": fit.degrees_of_freedom,
        "r_squared_of_visits": fit.r_squared.map(|share| decimals(share, 4)),
        around.key("scatter_of_visits"): around.depth(fit.scatter_cm),
        "visits": fit.visits.iter().map(visit).collect::<Vec<_>>(),
        "spots": fit.spots,
        "readings": fit.readings,
        "not_reached": fit.not_reached,
        "moisture_range_pct": [decimals(least, 2), decimals(greatest, 2)],
        "moisture_change_pct_points": decimals(adjusted.moisture_change_pct, 2),
        around.key("mean_change_as_found"): around.depth(adjusted.change_cm),
        around.key("change_given_to_moisture"): around.depth(adjusted.by_moisture_cm),
        around.key("adjusted_change"): around.depth(adjusted.adjusted_cm),
        around.key("adjusted_interval"): around.interval(adjusted.interval_cm),
    })
}
