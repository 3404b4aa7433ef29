//! What is doubtful in the zones that a plan treats.

use survey::UnitSystem;
use survey::units::tidy;

use crate::action::{Action, Target};
use crate::rates_file::RatesFile;
use crate::words::listed;
use crate::zone_map::{MappedZone, ZoneMap};

/// Less ground without a value is a trace of rounding, square metres.
const LEAST_UNMAPPED_M2: f64 = 1.0;

/// Zones to be treated that have few probes, that the rod mostly passed through, or whose class is
/// unsure.
pub(crate) fn zone_warnings(
    map: &ZoneMap,
    treated: &[bool],
    of_zone: &[Vec<&Action>],
    units: UnitSystem,
) -> Vec<String> {
    let zones = || map.zones.iter().zip(treated.iter().zip(of_zone)).filter(|(_, (yes, _))| **yes);
    let mut all = Vec::new();
    let few: Vec<String> = zones()
        .filter(|(zone, _)| zone.few_probes)
        .map(|(zone, _)| format!("{} ({})", zone.id, zone.probes))
        .collect();
    if !few.is_empty() {
        all.push(format!("few probes in {}: probe again before treating", listed(&few)));
    }
    for (zone, (_, actions)) in zones() {
        let is_loosened = actions.iter().any(|action| action.is_tillage());
        if is_loosened && zone.not_reached > 0 && 2 * zone.not_reached >= zone.probes {
            all.push(format!(
                "{}: {} of {} probes never reached {}; is there a tight layer to loosen?",
                zone.id,
                zone.not_reached,
                zone.probes,
                threshold(map, units),
            ));
        }
        let by_class = actions.iter().any(|action| matches!(action.target, Target::Classes(_)));
        let doubtful = zone.class_confidence.filter(|confidence| by_class && *confidence < 0.5);
        all.extend(doubtful.map(|confidence| unsure(zone, confidence)));
    }
    all
}

fn threshold(map: &ZoneMap, units: UnitSystem) -> String {
    let text = |threshold: &survey::Threshold| units.pressure_text(threshold.pressure());
    map.threshold.as_ref().map_or_else(|| "the threshold".into(), text)
}

fn unsure(zone: &MappedZone, confidence: f64) -> String {
    format!(
        "{}: it is treated for its class {}, in which its mean lies with a chance of {} % only",
        zone.id,
        zone.class_name,
        tidy(100.0 * confidence, 0)
    )
}

/// Ground of the field that is in no zone.
pub(crate) fn unmapped(map: &ZoneMap, units: UnitSystem) -> Option<String> {
    let unmapped_m2 = map.unmapped_m2.filter(|&unmapped_m2| unmapped_m2 >= LEAST_UNMAPPED_M2)?;
    Some(format!(
        "{} {} of the field has no value and is in no zone: a machine does there as outside the field",
        tidy(units.area(unmapped_m2), 2),
        units.area_unit()
    ))
}

/// Classes have numbers, and the same number is other ground in other units.
pub(crate) fn other_units(map: &ZoneMap, rates: &RatesFile, units: UnitSystem) -> Option<String> {
    let by_class = |action: &Action| matches!(action.target, Target::Classes(_));
    let is_doubtful = units != map.units && rates.actions.iter().any(by_class);
    let class = map.zones.first().filter(|_| is_doubtful)?;
    Some(format!(
        "the zones are classed in {}, the rates file asks for {}: see that its class numbers mean these \
         classes (class {} is {})",
        map.units.depth_unit(),
        units.depth_unit(),
        class.class_no,
        class.class_name
    ))
}

/// Zones that no action names.
pub(crate) fn no_action(map: &ZoneMap, of_zone: &[Vec<&Action>]) -> Option<String> {
    let unnamed: Vec<&str> = map
        .zones
        .iter()
        .zip(of_zone)
        .filter(|(_, actions)| actions.is_empty())
        .map(|(zone, _)| zone.id.as_str())
        .collect();
    (!unnamed.is_empty()).then(|| format!("no action names {}: left alone", listed(&unnamed)))
}
