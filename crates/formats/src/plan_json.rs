//! `plan.json`: everything a plan says, and what it was made from, for people and programs.

use std::path::Path;

use plan::{Basis, Dose, MassRate, Operation, OperationKind, Part, Plan, VolumeRate};
use serde_json::{Value, json};
use survey::Depth;
use survey::units::{M2_PER_AC, M2_PER_HA};

use crate::input::{InputFile, read_text};
use crate::rounded::decimals;
use crate::summary::pretty;

/// What the summary of a plan is made from.
pub struct PlanSummary<'a> {
    /// The program's version.
    pub version: &'a str,
    /// The files it was made from, each with the part it plays: zones, rates.
    pub inputs: &'a [(&'static str, InputFile)],
    /// The plan.
    pub plan: &'a Plan,
    /// The names of the other files of the plan.
    pub files: &'a [&'a str],
}

/// The summary of a plan as JSON text.
pub fn plan_json(summary: &PlanSummary) -> String {
    let plan = summary.plan;
    let inputs = summary.inputs.iter().map(|(role, file)| file.as_json(role));
    pretty(&json!({
        "program": { "name": "loosedepth", "version": summary.version },
        "files": summary.files,
        "inputs": inputs.collect::<Vec<_>>(),
        "name": plan.name,
        "field": plan.field_name,
        "farm": plan.farm,
        "grower": plan.grower,
        "crs": { "epsg": plan.utm.epsg(), "name": plan.utm.name() },
        "units": plan.units.to_string(),
        "visit_date": plan.visit.map(|date| date.to_string()),
        "stamps": plan.stamps,
        "operations": plan.operations.iter().map(operation).collect::<Vec<_>>(),
        "parts": plan.parts.iter().map(|part| part_json(plan, part)).collect::<Vec<_>>(),
        "swath_m": plan.swath_m.map(|m| decimals(m, 4)),
        "heading_deg": plan.heading_deg.map(|deg| decimals(deg, 4)),
        "check_strips": plan.check_strips.map(|strips| json!({
            "count": strips.count,
            "passes": strips.passes,
            "seed": strips.seed,
        })),
        "warnings": plan.warnings,
        "stop_rules": plan.stop_rules,
        "hazards": plan.hazards,
        "cautions": plan.cautions,
        "workings": plan.workings,
    }))
}

/// Files of the plan that a folder holds, by its `plan.json`; none where that is not there or something
/// else.
pub fn earlier_plan_files(folder: &Path) -> Vec<String> {
    let Ok((_, text)) = read_text(&folder.join("plan.json")) else { return Vec::new() };
    let summary: Value = serde_json::from_str(&text).unwrap_or_default();
    let files = summary["files"].as_array().into_iter().flatten().filter_map(Value::as_str);
    let is_inside = |name: &&str| !name.contains("..") && folder.join(name).is_file();
    files.filter(is_inside).map(String::from).collect()
}

fn operation(operation: &Operation) -> Value {
    let (kind, product, unit) = match &operation.kind {
        OperationKind::Loosen => ("loosen", None, None),
        OperationKind::AmendMass { product } => ("amend", Some(product), Some("kg")),
        OperationKind::AmendVolume { product } => ("amend", Some(product), Some("L")),
    };
    json!({
        "slug": operation.slug,
        "name": operation.name,
        "kind": kind,
        "product": product,
        "basis": operation.basis.as_ref().map(basis),
        "treated_ha": decimals(operation.treated_m2 / M2_PER_HA, 6),
        "treated_ac": decimals(operation.treated_m2 / M2_PER_AC, 6),
        "total": operation.total.map(|total| decimals(total, 3)),
        "hopper": operation.hopper.map(|hopper| decimals(hopper, 3)),
        "total_and_hopper_unit": unit,
        "fills": operation.fills,
        "cost": operation.cost.as_ref().map(|(cost, _)| decimals(*cost, 2)),
        "currency": operation.cost.as_ref().map(|(_, currency)| currency),
        "out_of_field": dose(operation.out_of_field),
        "signal_lost": dose(operation.signal_lost),
    })
}

fn basis(basis: &Basis) -> Value {
    json!({
        "lab": basis.lab,
        "date": basis.date.to_string(),
        "method": basis.method,
        "recommended_by": basis.recommended_by,
    })
}

fn part_json(plan: &Plan, part: &Part) -> Value {
    let doses = plan.operations.iter().zip(&part.doses);
    let doses =
        doses.map(|(operation, given)| (operation.slug.clone(), given.map_or(Value::Null, dose)));
    json!({
        "id": part.id,
        "zone_id": part.zone_id,
        "class_no": part.class_no,
        "class_name": part.class_name,
        "check_strip": part.check_strip,
        "action": part.action,
        "area_ha": decimals(part.ground_area_m2 / M2_PER_HA, 6),
        "area_ac": decimals(part.ground_area_m2 / M2_PER_AC, 6),
        "doses": doses.collect::<serde_json::Map<_, _>>(),
        "few_probes": part.few_probes,
    })
}

/// A dose with its unit: depths in centimetres, rates by the hectare.
fn dose(dose: Dose) -> Value {
    let (value, unit) = match dose {
        Dose::Depth(depth) => (Depth::cm(depth), "cm"),
        Dose::Mass(rate) => (MassRate::kg_per_ha(rate), "kg/ha"),
        Dose::Volume(rate) => (VolumeRate::l_per_ha(rate), "L/ha"),
    };
    json!({ "value": decimals(value, 3), "unit": unit })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn files_of_an_earlier_plan_are_known_by_its_summary() {
        let folder = tempfile::tempdir().unwrap();
        assert!(earlier_plan_files(folder.path()).is_empty());
        for name in ["a.tif", "b.tif", "c.tif"] {
            fs::write(folder.path().join(name), "").unwrap();
        }
        let summary = folder.path().join("plan.json");
        fs::write(&summary, r#"{"files":["b.tif","gone.tif",7,"../a.tif","a.tif"]}"#).unwrap();
        assert_eq!(earlier_plan_files(folder.path()), ["b.tif", "a.tif"]);
        for other in ["", "[", "[1]", "{}", "{\"files\":7}"] {
            fs::write(&summary, other).unwrap();
            assert!(earlier_plan_files(folder.path()).is_empty(), "{other}");
        }
    }
}
