//! A task in words: what it sets, where, and what a terminal may not make of it.

use std::collections::BTreeSet;

use geo::{GeodesicArea, LineString, Polygon};

use super::attributes::shown;
use super::described_grid::grid_zones;
use super::designator::designator;
use super::dictionary::known;
use super::document::Document;
use super::elements::{Outline, Ring, Task, TreatmentZone, Variable};
use super::extent::Extent;
use super::source::Source;
use crate::error::FormatError;
use crate::inspected::{InspectedLayer, InspectedZone};

/// Names in one sentence; the others are counted.
const MOST_NAMES: usize = 8;

/// A task, and notes on it.
pub(super) fn layer(
    document: &Document,
    task: &Task,
    source: &mut Source,
    extent: &mut Extent,
    notes: &mut Vec<String>,
) -> Result<InspectedLayer, FormatError> {
    let name = designator(&task.name, &task.id);
    let mut say = |note: String| notes.push(format!("task {name}: {note}"));
    task_notes(document, task).into_iter().for_each(&mut say);
    let mut zones = Vec::new();
    let mut with_ground = vec![false; task.zones.len()];
    if let Some(grid) = task.grids.first() {
        extent.add_grid(grid);
        match grid_zones(document, task, grid, source)? {
            Ok(found) => {
                found.notes.into_iter().for_each(&mut say);
                found.used.into_iter().for_each(|zone| with_ground[zone] = true);
                zones.extend(found.zones);
            }
            Err(problem) => say(format!("the grid {} is of no use: {problem}", shown(&grid.file))),
        }
    }
    for (index, zone) in task.zones.iter().enumerate() {
        if !zone.polygons.is_empty() {
            with_ground[index] = true;
            extent.add_outlines(&zone.polygons);
            zones.push(InspectedZone {
                name: zone_name(zone),
                area_m2: Some(zone.polygons.iter().map(area_m2).sum()),
                holes: zone.polygons.iter().map(|outline| holes(outline).count()).sum(),
                values: values(document, zone),
            });
        }
    }
    let idle = idle_zones(task, &with_ground);
    if !idle.is_empty() {
        say(format!("without ground: {}", several(&idle)));
    }
    Ok(InspectedLayer {
        name,
        quantities: quantities(document, task),
        zones,
        defaults: defaults(document, task),
    })
}

/// Notes on a task apart from its ground.
fn task_notes(document: &Document, task: &Task) -> Vec<String> {
    let mut notes = Vec::new();
    if task.status != "1" {
        notes.push("its status is not planned".into());
    }
    if !task.has_owner {
        notes.push("no grower or no farm: some terminals then hide it".into());
    }
    if !task.field.as_ref().is_some_and(|id| document.field_ids.contains(id)) {
        notes.push("its field is not in the file".into());
    }
    match (task.grids.len(), task.zones.iter().any(|zone| !zone.polygons.is_empty())) {
        (0, true) => notes.push(
            "zones as polygons only; a terminal that works by place need only read grids".into(),
        ),
        (0, false) => notes.push("no grid and no polygons: nothing says where".into()),
        (2.., _) => notes.push("more than one grid; only the first is described".into()),
        _ => {}
    }
    if task.zones.iter().any(|zone| zone.code == 255) {
        notes.push("code 255 is none that the standard has".into());
    }
    let mut seen = [false; 256];
    let again = |zone: &&TreatmentZone| std::mem::replace(&mut seen[usize::from(zone.code)], true);
    if let Some(zone) = task.zones.iter().find(again) {
        notes.push(format!("code {} is defined more than once", zone.code));
    }
    let variables = || task.zones.iter().flat_map(|zone| &zone.variables);
    let unknown = variables().map(|variable| variable.ddi).filter(|&ddi| known(ddi).is_none());
    let unknown: BTreeSet<u16> = unknown.collect();
    if !unknown.is_empty() {
        let unknown: Vec<String> = unknown.iter().map(u16::to_string).collect();
        notes.push(format!("data entries that are not known here: {}", several(&unknown)));
    }
    notes
}

/// What the machine does where no zone says anything.
fn defaults(document: &Document, task: &Task) -> Vec<String> {
    let cases = [
        ("by default", task.default),
        ("with the position lost", task.position_lost),
        ("outside the field", task.out_of_field),
    ];
    let sentence = |(case, code): (&str, Option<u8>)| match (code, zone_of(task, code)) {
        (None, _) => format!("{case}: not said; the terminal decides"),
        (Some(code), None) => format!("{case}: zone {code}, which is not defined"),
        (_, Some(zone)) => {
            let values = zone.variables.iter().map(|variable| document.value_with_zero(variable));
            let values: Vec<String> = values.collect();
            match values.is_empty() {
                true => format!("{case}: nothing is set"),
                false => format!("{case}: {}", values.join(" and ")),
            }
        }
    };
    cases.map(sentence).to_vec()
}

/// Each thing that the task sets, once.
fn quantities(document: &Document, task: &Task) -> Vec<String> {
    let mut quantities: Vec<String> = Vec::new();
    let mut seen = BTreeSet::new();
    for variable in task.zones.iter().flat_map(|zone| &zone.variables) {
        let quantity = document.quantity(variable);
        if seen.insert(quantity.clone()) {
            quantities.push(quantity);
        }
    }
    quantities
}

/// Names of zones without ground that nothing refers to.
fn idle_zones(task: &Task, with_ground: &[bool]) -> Vec<String> {
    let is_referred_to = |code: u8| {
        [task.default, task.position_lost, task.out_of_field].contains(&Some(code))
            || task.grids.first().is_some_and(|grid| grid.template == Some(code))
    };
    let zones = task.zones.iter().zip(with_ground);
    let idle = zones.filter(|(zone, with_ground)| !**with_ground && !is_referred_to(zone.code));
    idle.map(|(zone, _)| zone_name(zone)).collect()
}

fn holes(outline: &Outline) -> impl Iterator<Item = &Ring> {
    outline.rings.iter().filter(|ring| ring.is_hole)
}

/// True area of an outline: what its outer rings hold without its holes.
fn area_m2(outline: &Outline) -> f64 {
    let signed = outline.rings.iter().map(|ring| {
        let polygon = Polygon::new(LineString::new(ring.corners.clone()), Vec::new());
        let area_m2 = match ring.corners.len() {
            ..3 => 0.0,
            _ => polygon.geodesic_area_signed().abs(),
        };
        if ring.is_hole { -area_m2 } else { area_m2 }
    });
    // From zero, since the sum of nothing is minus zero.
    signed.fold(0.0, |sum, area_m2| sum + area_m2)
}

pub(super) fn zone_of(task: &Task, code: Option<u8>) -> Option<&TreatmentZone> {
    task.zones.iter().find(|zone| Some(zone.code) == code)
}

pub(super) fn zone_name(zone: &TreatmentZone) -> String {
    designator(&zone.name, &format!("zone {}", zone.code))
}

pub(super) fn values(document: &Document, zone: &TreatmentZone) -> Vec<String> {
    let value = |variable: &Variable| document.value(variable, variable.stored);
    zone.variables.iter().map(value).collect()
}

/// Some names; the others are counted.
pub(super) fn several(names: &[String]) -> String {
    match names.len() {
        ..=MOST_NAMES => names.join(", "),
        more => format!("{} and {} more", names[..MOST_NAMES].join(", "), more - MOST_NAMES),
    }
}
