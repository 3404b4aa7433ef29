//! Zones that lie over each other.

use geo::{BooleanOps, BoundingRect, CoordsIter, Intersects, MultiPolygon};

use super::layer::{both, ground_area_m2};

/// How many zones are compared, and the most positions that are cut with each other in all.
const MOST_ZONES: usize = 2_000;
const MOST_POSITIONS: usize = 2_000_000;

/// Less is rounding, square metres.
const LEAST_M2: f64 = 1.0;

/// A note for each two zones that overlap; outlines are in degrees, and valid.
pub(super) fn overlaps(names: &[&str], outlines: &[Option<&MultiPolygon>]) -> Vec<String> {
    let mut notes = Vec::new();
    let zones: Vec<(&str, &MultiPolygon)> = names
        .iter()
        .zip(outlines)
        .filter_map(|(name, outline)| Some((*name, (*outline)?)))
        .collect();
    if zones.len() > MOST_ZONES {
        return vec![format!("more than {MOST_ZONES} zones; overlaps are not looked for")];
    }
    let frames: Vec<_> = zones.iter().map(|(_, outline)| outline.bounding_rect()).collect();
    let mut positions = 0;
    for (k, (name, outline)) in zones.iter().enumerate() {
        for (other, (other_name, other_outline)) in zones.iter().enumerate().skip(k + 1) {
            let may_meet = frames[k].zip(frames[other]).is_some_and(|(a, b)| a.intersects(&b));
            if !may_meet {
                continue;
            }
            positions += outline.coords_count() + other_outline.coords_count();
            if positions > MOST_POSITIONS {
                notes.push("not all zones could be compared for overlaps".into());
                return notes;
            }
            let area_m2 = ground_area_m2(&outline.intersection(*other_outline));
            if area_m2 > LEAST_M2 {
                notes.push(format!("{name} and {other_name} overlap on {}", both(area_m2)));
            }
        }
    }
    notes
}
