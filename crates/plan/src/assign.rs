//! Which actions are for which zones.

use std::collections::BTreeSet;

use crate::action::{Action, Target, What};
use crate::error::PlanError;
use crate::rates_file::RatesFile;
use crate::words::listed;
use crate::zone_map::{MappedZone, ZoneMap};

/// The most depth classes a map has.
const MOST_CLASSES: usize = 8;

/// The actions of each zone, in the file's order; none where no action names it.
pub(crate) fn assigned<'a>(
    map: &ZoneMap,
    rates: &'a RatesFile,
) -> Result<Vec<Vec<&'a Action>>, PlanError> {
    for action in &rates.actions {
        refuse_unknown(map, rates, action)?;
    }
    map.zones
        .iter()
        .map(|zone| {
            let actions: Vec<&Action> =
                rates.actions.iter().filter(|action| action.is_for(zone)).collect();
            refuse_two_alike(rates, zone, &actions)?;
            Ok(actions)
        })
        .collect()
}

impl Action {
    pub(crate) fn is_for(&self, zone: &MappedZone) -> bool {
        match &self.target {
            Target::Classes(classes) => classes.contains(&zone.class_no),
            Target::Zones(ids) => ids.contains(&zone.id),
        }
    }

    /// Whether one zone cannot have both: the same operation twice, or something and nothing.
    fn excludes(&self, other: &Action) -> bool {
        match (&self.what, &other.what) {
            (What::Leave, _) | (_, What::Leave) | (What::Loosen(_), What::Loosen(_)) => true,
            (What::Amend(one), What::Amend(other)) => same_product(&one.product, &other.product),
            _ => false,
        }
    }

    fn in_words(&self) -> String {
        let place = self.place();
        match &self.what {
            What::Leave => format!("{place} leaves it"),
            What::Loosen(_) => format!("{place} loosens it"),
            What::Amend(amend) => format!("{place} amends it with {}", amend.product),
            What::Other(text) => format!("{place} says {text:?}"),
        }
    }
}

/// Whether two names mean one product.
pub(crate) fn same_product(one: &str, other: &str) -> bool {
    one.to_lowercase() == other.to_lowercase()
}

fn refuse_unknown(map: &ZoneMap, rates: &RatesFile, action: &Action) -> Result<(), PlanError> {
    let at = format!("{}: {}", rates.file, action.place());
    let zones_file = map.source.clone();
    match &action.target {
        Target::Classes(classes) => {
            // One rates file serves the visits of a season, in which a class comes and goes; an action
            // without any ground, or of a class there never is, is a slip of the pen.
            let unknown = match classes.iter().any(|class_no| has_class(map, *class_no)) {
                true => classes.iter().find(|class_no| **class_no > MOST_CLASSES),
                false => classes.first(),
            };
            match unknown {
                None => Ok(()),
                Some(&class_no) => {
                    let found = classes_text(map);
                    Err(PlanError::NoSuchClass { at, class_no, zones_file, found })
                }
            }
        }
        Target::Zones(ids) => {
            let exists = |id: &String| map.zones.iter().any(|zone| zone.id == *id);
            match ids.iter().find(|id| !exists(id)) {
                None => Ok(()),
                Some(id) => {
                    let ids: Vec<&str> = map.zones.iter().map(|zone| zone.id.as_str()).collect();
                    let (id, found) = (id.clone(), listed(&ids));
                    Err(PlanError::NoSuchZone { at, id, zones_file, found })
                }
            }
        }
    }
}

fn has_class(map: &ZoneMap, class_no: usize) -> bool {
    map.zones.iter().any(|zone| zone.class_no == class_no)
}

/// Classes that actions name and the map has no ground of.
pub(crate) fn classes_without_ground(map: &ZoneMap, rates: &RatesFile) -> Vec<String> {
    let without = |action: &Action| match &action.target {
        Target::Classes(classes) => {
            classes.iter().copied().filter(|class_no| !has_class(map, *class_no)).collect()
        }
        Target::Zones(_) => Vec::new(),
    };
    let found: BTreeSet<usize> = rates.actions.iter().flat_map(without).collect();
    found
        .iter()
        .map(|class_no| {
            format!("no ground of class {class_no} in {}: nothing to do there", map.source)
        })
        .collect()
}

/// The classes of a map: `1 (0–3 in), 2 (3–6 in)`.
fn classes_text(map: &ZoneMap) -> String {
    let mut classes: Vec<(usize, &str)> =
        map.zones.iter().map(|zone| (zone.class_no, zone.class_name.as_str())).collect();
    classes.sort_unstable();
    classes.dedup_by_key(|(class_no, _)| *class_no);
    let texts: Vec<String> =
        classes.iter().map(|(class_no, name)| format!("{class_no} ({name})")).collect();
    listed(&texts)
}

fn refuse_two_alike(
    rates: &RatesFile,
    zone: &MappedZone,
    actions: &[&Action],
) -> Result<(), PlanError> {
    for (index, second) in actions.iter().enumerate() {
        if let Some(first) = actions[..index].iter().find(|first| first.excludes(second)) {
            return Err(PlanError::NamedTwice {
                file: rates.file.clone(),
                zone: format!("zone {} (class {})", zone.id, zone.class_no),
                first: first.in_words(),
                second: second.in_words(),
            });
        }
    }
    Ok(())
}
