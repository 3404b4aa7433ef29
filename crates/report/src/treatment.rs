//! Ground that an operator treats alike: one colour on the sheet, one row in its table.

use std::cmp::Ordering;

use plan::{Dose, Part, Plan, capitalised};
use survey::UnitSystem;

use crate::palette::{DOSE, PAPER, Rgb};

/// Parts of a plan with the same doses and the same words.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Treatment {
    /// Doses with their units, or what is done in words where nothing is set: the headline of a row.
    pub headline: Vec<String>,
    /// The rates among them in the unit that terminals show, where the headline has tons.
    pub on_terminal: Vec<String>,
    /// The parts, by their number in the plan.
    pub parts: Vec<usize>,
    /// True area on the ground, square metres.
    pub ground_area_m2: f64,
    /// Colour of its ground on the map.
    pub colour: Rgb,
    /// Whether these are check strips, which are left alone on purpose.
    pub is_check: bool,
}

/// The treatments of a plan: what is treated most first, then what is left alone, then check strips.
pub(crate) fn treatments(plan: &Plan) -> Vec<Treatment> {
    let mut found: Vec<Treatment> = Vec::new();
    for (number, part) in plan.parts.iter().enumerate() {
        let same = |other: &&mut Treatment| is_same(part, &plan.parts[other.parts[0]]);
        match found.iter_mut().find(same) {
            Some(treatment) => {
                treatment.parts.push(number);
                treatment.ground_area_m2 += part.ground_area_m2;
            }
            None => found.push(Treatment {
                headline: headline(plan, part),
                on_terminal: on_terminal(plan, part),
                parts: vec![number],
                ground_area_m2: part.ground_area_m2,
                colour: PAPER,
                is_check: part.check_strip.is_some(),
            }),
        }
    }
    // Stable: equals stay in the plan's order.
    let first = |treatment: &Treatment| &plan.parts[treatment.parts[0]];
    found.sort_by(|a, b| a.is_check.cmp(&b.is_check).then_with(|| more_first(first(a), first(b))));
    let treated = found.iter().filter(|treatment| is_treated(first(treatment))).count();
    // The palest step is left to ground that is left alone.
    for (rank, treatment) in found.iter_mut().take(treated).enumerate() {
        treatment.colour = DOSE.class_colour(treated - rank, treated + 1);
    }
    found
}

fn is_same(a: &Part, b: &Part) -> bool {
    let is_check = |part: &Part| part.check_strip.is_some();
    is_check(a) == is_check(b)
        && (is_check(a) || (a.doses == b.doses && (is_treated(a) || a.action == b.action)))
}

fn is_treated(part: &Part) -> bool {
    part.doses.iter().flatten().any(|dose| dose.is_some())
}

/// The greater dose of the first operation first, then of the next.
fn more_first(a: &Part, b: &Part) -> Ordering {
    let amount = |dose: &Option<Dose>| match dose {
        None => 0.0,
        Some(Dose::Depth(depth)) => depth.m(),
        Some(Dose::Mass(rate)) => rate.kg_per_ha(),
        Some(Dose::Volume(rate)) => rate.l_per_ha(),
    };
    let compared = a.doses.iter().zip(&b.doses).map(|(a, b)| amount(b).total_cmp(&amount(a)));
    compared.fold(Ordering::Equal, Ordering::then)
}

fn headline(plan: &Plan, part: &Part) -> Vec<String> {
    if part.check_strip.is_some() {
        return vec!["Check strip: leave untreated".into()];
    }
    let doses: Vec<String> = (plan.operations.iter().zip(&part.doses))
        .filter_map(|(operation, dose)| Some((operation, (*dose)?)))
        .filter(|(_, dose)| dose.is_some())
        .map(|(operation, dose)| format!("{} {}", operation.name, dose.text(plan.units)))
        .collect();
    match doses.is_empty() {
        true => vec![capitalised(&part.action)],
        false => doses,
    }
}

fn on_terminal(plan: &Plan, part: &Part) -> Vec<String> {
    let doses = part.doses.iter().flatten();
    doses.filter_map(|dose| dose.in_small_unit(plan.units)).collect()
}

/// What stands on the map in a part: its doses, or nothing where nothing is set.
pub(crate) fn short_doses(part: &Part, units: UnitSystem) -> Vec<String> {
    let set = part.doses.iter().flatten().filter(|dose| dose.is_some());
    set.map(|dose| dose.text(units)).collect()
}
