//! A plan's ground on the page: what is treated, what is left to prove it, what is left alone.

use formats::read_boundary;
use plan::{Dose, Part, Plan};
use report::page_path;
use serde_json::{Value, json};
use survey::Field;

use super::answer::Refused;
use super::command_line;
use crate::args::Command;
use crate::commands::plan::Made;
use crate::config::Config;
use crate::{plan_table, terminal};

/// The plan that arguments of `plan` make, as the page draws it.
///
/// # Errors
/// When the command would fail, or the field has no outline to draw it in.
pub fn json(arguments: &[String], config: &Config) -> Result<Value, Refused> {
    let Command::Plan(args) = command_line::parsed(arguments)? else {
        return Err(command_line::unknown("this"));
    };
    let Made { plan, .. } = Made::unwritten(args)?;
    let outline = config.boundary.as_deref().ok_or("this field has no outline yet".to_owned())?;
    let (_, boundary) = read_boundary(outline)?;
    let field =
        Field::inside(&boundary).map_err(|error| format!("{}: {error}", outline.display()))?;
    let parts: Vec<Value> = plan.parts.iter().map(|part| told(part, &plan, &field)).collect();
    let words: Vec<String> = plan.stamps.iter().chain(&plan.warnings).cloned().collect();
    Ok(json!({
        "parts": parts,
        "words": words.iter().map(|line| terminal::one_line(line)).collect::<Vec<_>>(),
        "table": terminal::shown(&plan_table::plan(&plan)),
    }))
}

fn told(part: &Part, plan: &Plan, field: &Field) -> Value {
    let is_treated = part.doses.iter().flatten().any(|dose| Dose::is_some(*dose));
    let kind = match (part.check_strip, is_treated) {
        (Some(_), _) => "check",
        (None, true) => "treated",
        (None, false) => "left",
    };
    let (units, class) = (plan.units, &part.class_name);
    let area = format!("{:.2} {}", units.area(part.ground_area_m2), units.area_unit());
    let words = format!("{}: {}; {class}, {area}", part.marked_id(), part.action);
    json!({
        "id": part.id,
        "kind": kind,
        "d": page_path(field, &part.polygons),
        "words": terminal::one_line(&words),
    })
}
