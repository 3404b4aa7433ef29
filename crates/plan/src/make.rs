//! From zones and rates to a plan.

use survey::{Depth, UnitSystem};

use crate::action::{Action, What};
use crate::assign::{assigned, classes_without_ground};
use crate::cautions::{Kinds, cautions, stop_rules, tillage_warnings};
use crate::drafts::{Draft, Drafts, drafts};
use crate::error::PlanError;
use crate::operation::Operation;
use crate::plan::{CheckStrips, Dose, Part, Plan};
use crate::prices::currency;
use crate::rates_file::RatesFile;
use crate::strips::{Passes, Piece, divided, undivided};
use crate::totals::Totals;
use crate::zone_map::ZoneMap;
use crate::zone_notes::{no_action, zone_warnings};

/// What is asked for besides the rates file; a value here counts before the file's.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PlanSettings {
    /// Width of a pass, metres.
    pub swath_m: Option<f64>,
    /// Heading of the passes, degrees clockwise from north.
    pub heading_deg: Option<f64>,
    /// Check strips to be left; `None` for none.
    pub check_strips: Option<CheckStrips>,
}

/// The stamp of a plan with a rate whose basis is not on record.
pub const NOT_BACKED: &str = "RATES NOT BACKED BY A SOIL TEST";
/// What a plan without check strips is told.
const NO_STRIPS: &str = "no check strips: without untreated strips nobody can tell the treatment from the \
                         weather; ask for some with --check-strips N";
/// Narrowest and widest pass that are believed, metres.
const SWATHS_M: [f64; 2] = [0.5, 100.0];

/// Makes a plan for the zones of a map.
///
/// # Errors
/// When the rates do not fit the zones: unknown or named twice, a bottom that is not measured or looks
/// like a top; or when check strips cannot be laid.
pub fn make_plan(
    map: &ZoneMap,
    rates: &RatesFile,
    settings: PlanSettings,
) -> Result<Plan, PlanError> {
    let units = rates.units.unwrap_or(map.units);
    let passes = Passes {
        swath_m: settings.swath_m.or(rates.swath_m),
        heading_deg: settings.heading_deg.or(rates.heading_deg),
    };
    refuse_odd(passes, settings, rates, units)?;
    let of_zone = assigned(map, rates)?;
    let Drafts { drafts, mut warnings, mut workings } = drafts(map, rates, units)?;
    if drafts.is_empty() {
        return Err(PlanError::NothingToDo { file: rates.file.clone() });
    }
    let treated: Vec<bool> = (0..map.zones.len())
        .map(|zone| drafts.iter().any(|draft| draft.doses[zone].is_some()))
        .collect();
    let ground = match settings.check_strips {
        Some(strips) => divided(map, &treated, passes, strips, rates, units)?,
        None => undivided(map),
    };
    let zone_of: Vec<usize> = ground.pieces.iter().map(|piece| piece.zone).collect();
    let to_part = |piece| part(map, piece, &drafts, &of_zone, units);
    let parts: Vec<Part> = ground.pieces.into_iter().map(to_part).collect();
    let mut totals =
        Totals { units, currency: currency(rates)?, warnings: Vec::new(), workings: Vec::new() };
    let count = |(index, draft): (usize, &Draft)| {
        draft.counted(rates, &parts, &zone_of, index, &mut totals)
    };
    let operations: Vec<Operation> =
        drafts.iter().enumerate().map(count).collect::<Result<_, _>>()?;
    let kinds = Kinds {
        tillage: drafts.iter().any(Draft::is_tillage),
        product: drafts.iter().any(|draft| !draft.is_tillage()),
    };
    if kinds.tillage {
        warnings.extend(tillage_warnings(rates, map.visit));
        warnings.extend(elsewhere_warnings(&drafts, rates, units));
    }
    warnings.extend(zone_warnings(map, &treated, &of_zone, units));
    warnings.extend(no_action(map, &of_zone));
    warnings.extend(ground.warnings);
    warnings.extend(settings.check_strips.is_none().then(|| NO_STRIPS.to_owned()));
    warnings.extend(totals.warnings);
    workings.extend(totals.workings);
    workings.extend(classes_without_ground(map, rates));
    workings.extend(elsewhere(&operations, rates, units));
    workings.extend(ground.workings);
    let is_backed = drafts.iter().all(Draft::is_backed);
    Ok(Plan {
        name: rates.name.clone().unwrap_or_else(|| format!("{} plan", map.field_name)),
        field_name: map.field_name.clone(),
        farm: rates.farm.clone(),
        grower: rates.grower.clone(),
        utm: map.utm,
        units,
        visit: map.visit,
        operations,
        parts,
        swath_m: passes.swath_m,
        heading_deg: passes.heading_deg,
        stamps: if is_backed { Vec::new() } else { vec![NOT_BACKED.to_owned()] },
        warnings,
        stop_rules: stop_rules(rates, kinds, settings.check_strips),
        hazards: rates.hazards.clone(),
        workings,
        cautions: cautions(kinds, units),
        check_strips: settings.check_strips,
    })
}

fn refuse_odd(
    passes: Passes,
    settings: PlanSettings,
    rates: &RatesFile,
    units: UnitSystem,
) -> Result<(), PlanError> {
    let at = |is_option: bool, key: &str| match is_option {
        true => format!("--{key}"),
        false => format!("{}: [plan], key `{key}`", rates.file),
    };
    if let Some(heading) = passes.heading_deg.filter(|heading| !(0.0..=360.0).contains(heading)) {
        let at = at(settings.heading_deg.is_some(), "heading");
        return Err(PlanError::Heading { at, heading });
    }
    let [least, most] = SWATHS_M;
    match passes.swath_m.filter(|swath| !(least..=most).contains(swath)) {
        None => Ok(()),
        Some(swath) => Err(PlanError::Swath {
            at: at(settings.swath_m.is_some(), "swath"),
            width: units.distance_text(swath),
            least: units.distance_text(least),
            most: units.distance_text(most),
        }),
    }
}

fn part(
    map: &ZoneMap,
    piece: Piece,
    drafts: &[Draft],
    of_zone: &[Vec<&Action>],
    units: UnitSystem,
) -> Part {
    let zone = &map.zones[piece.zone];
    let dose = |draft: &Draft| draft.doses[piece.zone].map(|(dose, _)| dose);
    let doses: Vec<Option<Dose>> =
        drafts.iter().map(|draft| dose(draft).filter(|_| piece.strip.is_none())).collect();
    let action = match piece.strip {
        Some(strip) => format!("leave, check strip {strip}"),
        None => in_words(&of_zone[piece.zone], &doses, drafts, units),
    };
    Part {
        id: match piece.strip {
            Some(strip) => format!("{} check {strip}", zone.id),
            None => zone.id.clone(),
        },
        zone_id: zone.id.clone(),
        class_no: zone.class_no,
        class_name: zone.class_name.clone(),
        check_strip: piece.strip,
        action,
        polygons: piece.polygons,
        ground_area_m2: piece.ground_area_m2,
        doses,
        few_probes: zone.few_probes,
    }
}

/// What is done: `loosen to 14 in; 1.5 ton/ac gypsum`.
fn in_words(
    actions: &[&Action],
    doses: &[Option<Dose>],
    drafts: &[Draft],
    units: UnitSystem,
) -> String {
    let of_machine = doses.iter().zip(drafts).filter_map(|(dose, draft)| {
        let text = (*dose)?.text(units);
        Some(match draft.product() {
            None => format!("loosen to {text}"),
            Some(product) => format!("{text} {product}"),
        })
    });
    let others = actions.iter().filter_map(|action| match &action.what {
        What::Other(text) => Some(text.clone()),
        _ => None,
    });
    let all: Vec<String> = of_machine.chain(others).collect();
    if all.is_empty() { "leave".into() } else { all.join("; ") }
}

/// What is odd about the depths of [tillage]: nobody looked at the ground they are for.
fn elsewhere_warnings(drafts: &[Draft], rates: &RatesFile, units: UnitSystem) -> Vec<String> {
    let text = |depth: Depth| Dose::Depth(depth).text(units);
    let outside = rates.out_of_field.filter(|depth| depth.m() > 0.0).map(|depth| {
        format!(
            "[tillage] out_of_field: the tool runs {} deep outside the field, where nobody probed or had \
             lines marked; leave the key out to lift it there",
            text(depth)
        )
    });
    let deepest = drafts.iter().filter_map(Draft::deepest).max_by(|a, b| a.m().total_cmp(&b.m()));
    let lost = rates.signal_lost.zip(deepest).filter(|(lost, deepest)| lost.m() > deepest.m());
    let lost = lost.map(|(lost, deepest)| {
        format!(
            "[tillage] signal_lost: with the position lost the tool runs {} deep, deeper than in any zone \
             ({})",
            text(lost),
            text(deepest)
        )
    });
    outside.into_iter().chain(lost).collect()
}

/// What the machine does where the plan says nothing.
fn elsewhere(operations: &[Operation], rates: &RatesFile, units: UnitSystem) -> Vec<String> {
    let own = |is_own: bool, usual: &str| match is_own {
        true => "as [tillage] says".to_owned(),
        false => usual.to_owned(),
    };
    let of = |operation: &Operation| match (operation.out_of_field, operation.signal_lost) {
        (out @ Dose::Depth(_), lost @ Dose::Depth(_)) => format!(
            "{}: with the position lost, and where the task says nothing, the tool is set to {} ({}); outside \
             the field to {} ({}; 0 is at the surface, lifted)",
            operation.name,
            lost.text(units),
            own(
                rates.signal_lost.is_some(),
                "the shallowest set depth of the plan; [tillage] signal_lost"
            ),
            out.text(units),
            own(rates.out_of_field.is_some(), "usual; [tillage] out_of_field"),
        ),
        _ => format!(
            "{}: nothing is spread with the position lost, outside the field, or where the task says nothing",
            operation.name
        ),
    };
    operations.iter().map(of).collect()
}
