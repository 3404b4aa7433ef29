//! The zones as a table for the terminal: what backs each of them.

use mapping::{DepthMap, EstimatedBy, FEW_PROBES, KeptIds, Zone};
use survey::UnitSystem;

use crate::words;

/// More zones are not listed one by one: the largest are, the zone file has them all.
const MOST_ROWS: usize = 40;

/// One line a zone: class, ground, probes, mean with its interval, and how sure its class is.
pub fn zones(map: &DepthMap) -> String {
    let units = map.classes.units();
    let mut shown: Vec<&Zone> = map.zones.iter().collect();
    if shown.len() > MOST_ROWS {
        shown.sort_by(|a, b| b.ground_area_m2.total_cmp(&a.ground_area_m2));
        shown.truncate(MOST_ROWS);
    }
    let has_strata = !map.strata.is_empty();
    let mut lines = vec![row(
        ["zone", "class", "area", "probes", "mean (95 % interval)", "in class"],
        if has_strata { "stratum" } else { "" },
    )];
    lines.extend(shown.iter().map(|zone| {
        row(
            [
                &zone.id,
                &map.classes.name(zone.class),
                &format!("{:.2} {}", units.area(zone.ground_area_m2), units.area_unit()),
                &format!("{}{}", zone.probes, if zone.has_few_probes() { "*" } else { " " }),
                &mean(zone, units),
                &confidence(zone),
            ],
            zone.stratum.as_deref().unwrap_or_default(),
        )
    }));
    let left = map.zones.len() - shown.len();
    if left > 0 {
        lines.push(format!("  and {left} smaller zones: see zones.geojson"));
    }
    lines.extend(notes(map));
    lines.join("\n")
}

fn row(cells: [&str; 6], last: &str) -> String {
    let [id, class, area, probes, mean, confidence] = cells;
    let line =
        format!("  {id:<6}{class:<12}{area:>12}{probes:>9}{mean:>26}{confidence:>11}  {last}");
    line.trim_end().to_owned()
}

/// `5.2 in (4.1–6.3)`, with `≥` where probes that did not reach make it a lower bound; without an interval
/// what its probes read.
fn mean(zone: &Zone, units: UnitSystem) -> String {
    let unit = units.depth_unit();
    let number = |depth| format!("{:.1}", units.depth(depth));
    let bound = if zone.not_reached > 0 { "≥ " } else { "" };
    if let Some(found) = zone.evidence.mean {
        let [mean, low, high] = [found.mean, found.low, found.high].map(number);
        return format!("{bound}{mean} {unit} ({low}–{high})");
    }
    match zone.evidence.probe_mean {
        None => "no probe".into(),
        Some(one) if zone.probes == 1 => format!("{bound}{} {unit} (one probe)", number(one)),
        Some(alike) => format!("{bound}{} {unit} (all alike)", number(alike)),
    }
}

/// The confidence in the class; a mark where another class is as likely.
fn confidence(zone: &Zone) -> String {
    match zone.evidence.class_confidence {
        None => "not known".into(),
        Some(share) if share < 0.5 => format!("{}!", words::percent(share)),
        Some(share) => format!("{} ", words::percent(share)),
    }
}

/// What the marks mean, as far as they stand in the table.
pub fn notes(map: &DepthMap) -> Vec<String> {
    let zones = || map.zones.iter();
    let means = || zones().filter_map(|zone| zone.evidence.mean);
    let mut notes = Vec::new();
    let few = zones().filter(|zone| zone.has_few_probes()).count();
    if few > 0 {
        notes.push(format!("* fewer than {FEW_PROBES} probes: {few} of {} zones", map.zones.len()));
    }
    let unsure = zones().filter(|zone| zone.evidence.class_confidence.is_some_and(|p| p < 0.5));
    let unsure = unsure.count();
    if unsure > 0 {
        notes.push(format!(
            "! less than an even chance that the zone's mean lies in its class: {unsure} of {} zones",
            map.zones.len()
        ));
    }
    if zones().any(|zone| zone.not_reached > 0) {
        notes.push("≥ a probe did not reach, so the mean and its interval are lower bounds".into());
    }
    let by = |by: EstimatedBy| means().any(|mean| mean.by == by);
    let from = match (by(EstimatedBy::BlockKriging), by(EstimatedBy::Probes)) {
        (true, true) => "block kriging, or the zone's own probes where it is not kriged",
        (true, false) => "block kriging",
        (false, true) => {
            "the zone's own probes, as if placed at random in it; probes that all read alike tell no interval"
        }
        (false, false) => return notes,
    };
    notes.push(format!("mean and interval by {from}"));
    notes
}

/// What became of the ids of an earlier visit.
pub fn kept_ids(ids: &KeptIds) -> String {
    let list = |ids: &[String]| match ids {
        [] => String::new(),
        ids => format!(" ({})", ids.join(", ")),
    };
    format!(
        "zone ids of the earlier visit: {} kept, {} new{}, {} gone{}",
        ids.kept.len(),
        ids.new.len(),
        list(&ids.new),
        ids.gone.len(),
        list(&ids.gone)
    )
}
