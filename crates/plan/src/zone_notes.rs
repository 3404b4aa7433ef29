//! What is doubtful in the zones that a plan treats.

use survey::UnitSystem;
use survey::units::tidy;

use crate::action::{Action, Target};
use crate::words::listed;
use crate::zone_map::{MappedZone, ZoneMap};

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
        if is_loosened && 2 * zone.not_reached > zone.probes {
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
