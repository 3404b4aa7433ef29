//! Zones that lie over each other, in words.

use geo::MultiPolygon;

use super::layer::{both, ground_area_m2};
use crate::overlap::{LEAST_M2, each_meeting};

/// How many zones are compared.
const MOST_ZONES: usize = 2_000;

/// A note for each two zones that overlap; outlines are in degrees, and valid.
pub(super) fn overlaps(names: &[&str], outlines: &[Option<&MultiPolygon>]) -> Vec<String> {
    let mut notes = Vec::new();
    let (names, outlines): (Vec<&str>, Vec<&MultiPolygon>) =
        names.iter().zip(outlines).filter_map(|(name, outline)| Some((*name, (*outline)?))).unzip();
    if outlines.len() > MOST_ZONES {
        return vec![format!("more than {MOST_ZONES} zones; overlaps are not looked for")];
    }
    let all_compared = each_meeting(&outlines, |one, other, ground| {
        let area_m2 = ground_area_m2(&ground);
        if area_m2 > LEAST_M2 {
            notes.push(format!("{} and {} overlap on {}", names[one], names[other], both(area_m2)));
        }
    });
    if !all_compared {
        notes.push("not all zones could be compared for overlaps".into());
    }
    notes
}
