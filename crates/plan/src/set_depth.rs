//! Depth of the tool: the measured bottom of the tight layer plus a margin.
//!
//! One inch below the bottom, and more than two is wrong: USDA NRCS Conservation Practice Standard Code
//! 324, Deep Tillage; USDA Forest Service Technology & Development 0834-2828-MTDC. The loose-layer depth
//! is the top of that layer and never becomes a depth of the tool.

use survey::{Depth, UnitSystem};

use crate::action::{Action, Bottom, Loosen};
use crate::error::PlanError;
use crate::rates_file::RatesFile;
use crate::words::listed;
use crate::zone_map::{BottomFound, MappedZone, ZoneMap};

/// A margin above this is wrong by the standard, inches.
const MOST_MARGIN_IN: f64 = 2.0;
/// A tool deeper than this is not believed: shanks reach two to three feet (common practice).
const DEEPEST_M: f64 = 1.0;
/// Fewer profiles than this are few, as with the probes of a zone (common practice).
const FEW_PROFILES: usize = 5;
/// A bottom from pits and one from profiles differ when they are farther apart than this, inches: as far
/// as the largest margin.
const DIFFERENT_IN: f64 = 2.0;

/// The depth of the tool in one zone and how it came about.
pub(crate) struct SetDepth {
    pub depth: Depth,
    /// How it came about, alike for zones with the same bottom.
    pub working: String,
    pub warnings: Vec<String>,
}

/// Makes sure that the bottom is known in all zones of an action.
pub(crate) fn refuse_unmeasured(
    map: &ZoneMap,
    rates: &RatesFile,
    action: &Action,
    loosen: &Loosen,
) -> Result<(), PlanError> {
    if loosen.bottom != Bottom::Profiles {
        return Ok(());
    }
    let of_action = map.zones.iter().filter(|zone| action.is_for(zone));
    let unmeasured: Vec<String> = of_action
        .filter_map(|zone| match zone.bottom {
            Some(BottomFound { median: Some(_), .. }) => None,
            Some(BottomFound { median: None, profiles, not_passed }) => Some(format!(
                "{} ({not_passed} of {profiles} profiles were still tight at their deepest reading)",
                zone.id
            )),
            None => Some(zone.id.clone()),
        })
        .collect();
    match unmeasured.is_empty() {
        true => Ok(()),
        false => Err(PlanError::BottomNotMeasured {
            file: rates.file.clone(),
            place: action.place(),
            zones: listed(&unmeasured),
        }),
    }
}

/// What is wrong with an action's margin, for all its zones.
pub(crate) fn margin_warning(
    action: &Action,
    loosen: &Loosen,
    units: UnitSystem,
) -> Option<String> {
    // A margin of just two inches may be given in centimetres.
    (loosen.margin.inches() > MOST_MARGIN_IN + 1e-6).then(|| {
        format!(
            "{}: a margin of {} runs the tool more than {} below the bottom of the tight layer, which \
             costs power and brings up raw soil; {} is usual (NRCS Code 324, USDA Forest Service \
             0834-2828-MTDC)",
            action.place(),
            units.depth_text(loosen.margin),
            units.depth_text(Depth::from_in(MOST_MARGIN_IN)),
            units.depth_text(Depth::from_in(1.0)),
        )
    })
}

/// The depth of the tool in a zone.
pub(crate) fn set_depth(
    rates: &RatesFile,
    action: &Action,
    loosen: &Loosen,
    zone: &MappedZone,
    units: UnitSystem,
) -> Result<SetDepth, PlanError> {
    let (bottom, source) = bottom(loosen, zone);
    if bottom <= zone.mean_depth {
        return Err(PlanError::BottomLooksLikeTop {
            at: format!("{}: {}", rates.file, action.place()),
            zone: zone.id.clone(),
            bottom: units.depth_text(bottom),
            top: units.depth_text(zone.mean_depth),
        });
    }
    let depth = Depth::from_m(bottom.m() + loosen.margin.m());
    if depth.m() > DEEPEST_M {
        let problem = format!(
            "a set depth of {} in {} is deeper than any shank ({}); is the unit right?",
            units.depth_text(depth),
            zone.id,
            units.depth_text(Depth::from_m(DEEPEST_M)),
        );
        return Err(rates.at(action, problem));
    }
    let working = format!(
        "set depth {} = bottom of the tight layer {} ({source}) + margin {} (one inch, at most two: NRCS \
         Code 324, USDA Forest Service 0834-2828-MTDC)",
        units.depth_text(depth),
        units.depth_text(bottom),
        units.depth_text(loosen.margin),
    );
    Ok(SetDepth { depth, working, warnings: doubts(loosen, zone, bottom, units) })
}

/// The bottom and where it is known from.
fn bottom(loosen: &Loosen, zone: &MappedZone) -> (Depth, String) {
    match (&loosen.bottom, zone.bottom) {
        (Bottom::Given { depth, how, date }, _) => (*depth, format!("{how}, {date}")),
        (Bottom::Profiles, Some(BottomFound { median: Some(median), profiles, not_passed })) => {
            let median_of = format!("median of {profiles} profiles");
            let still = match not_passed {
                0 => String::new(),
                some => format!(", {some} still tight at their deepest reading"),
            };
            (median, median_of + &still)
        }
        (Bottom::Profiles, _) => {
            unreachable!("zones without a measured bottom were refused before")
        }
    }
}

/// Why the bottom may be another.
fn doubts(loosen: &Loosen, zone: &MappedZone, bottom: Depth, units: UnitSystem) -> Vec<String> {
    let Some(found) = zone.bottom else { return Vec::new() };
    let id = &zone.id;
    let mut doubts = Vec::new();
    if let Bottom::Given { .. } = loosen.bottom {
        doubts.extend(found.median.filter(|&median| differ(bottom, median)).map(|median| {
            format!(
                "{id}: the bottom given, {}, is not that of its {} profiles, {}: dig again there",
                units.depth_text(bottom),
                found.profiles,
                units.depth_text(median),
            )
        }));
        return doubts;
    }
    if found.profiles < FEW_PROFILES {
        doubts.push(format!(
            "{id}: its bottom rests on {} {}, fewer than {FEW_PROFILES}: dig a pit before loosening it",
            found.profiles,
            if found.profiles == 1 { "profile" } else { "profiles" },
        ));
    }
    if found.not_passed > 0 {
        doubts.push(format!(
            "{id}: {} of {} profiles were still tight at their deepest reading, so the bottom may be \
             deeper than {}",
            found.not_passed,
            found.profiles,
            units.depth_text(bottom),
        ));
    }
    doubts
}

fn differ(one: Depth, other: Depth) -> bool {
    (one.inches() - other.inches()).abs() > DIFFERENT_IN
}
