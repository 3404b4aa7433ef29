//! Records that cannot be: places off the Earth, depths no rod reaches.

use super::Checking;
use crate::insertion::{Insertion, Measured, Outcome};
use crate::position::LonLat;
use crate::units::{Depth, tidy};

/// Deeper than any hand rod reaches (common practice: rods of 60 to 90 cm): surely a wrong unit.
const DEEPEST_CM: f64 = 150.0;

impl<'a> Checking<'a> {
    /// Insertions whose place is on Earth and whose depth is one a rod can have.
    pub(super) fn believable(&mut self, rod: Option<Depth>) -> Vec<&'a Insertion> {
        let mut kept = Vec::new();
        for insertion in &self.survey.insertions {
            match implausible(insertion, rod) {
                None => kept.push(insertion),
                Some(problem) => self.leave_out(insertion, problem),
            }
        }
        kept
    }
}

/// What cannot be true of an insertion, if anything.
fn implausible(insertion: &Insertion, rod: Option<Depth>) -> Option<String> {
    let LonLat { lon_deg, lat_deg } = insertion.place;
    if !insertion.place.is_on_earth() {
        let guess = match (insertion.place.swapped().is_on_earth(), lon_deg.abs() > 1_000.0) {
            (true, _) => " (swapped?)",
            (_, true) => " (metres? degrees are needed, or --crs EPSG:…)",
            _ => "",
        };
        return Some(format!("longitude {lon_deg}, latitude {lat_deg} is not on Earth{guess}"));
    }
    if lon_deg == 0.0 && lat_deg == 0.0 {
        return Some("longitude 0, latitude 0: the receiver had no position".into());
    }
    let depth = match &insertion.measured {
        Measured::Once(Outcome::Reached(depth) | Outcome::NotReached { probed_to: depth }) => {
            *depth
        }
        Measured::Once(Outcome::Refused | Outcome::Skipped) => return None,
        Measured::Profile(profile) => profile.probed_to(),
    };
    let typed = |depth: Depth| match insertion.depth_unit {
        Some(unit) => format!("{} {}", tidy(depth.m() / unit.depth(1.0).m(), 3), unit.name()),
        None => format!("{} cm", tidy(depth.cm(), 1)),
    };
    if depth.m() < 0.0 {
        return Some(format!("depth {} is negative; depths are positive downwards", typed(depth)));
    }
    if let Some(rod) = rod.filter(|rod| depth.cm() > rod.cm() + 0.1) {
        let rod = rod.in_both_units();
        return Some(format!("depth {} is deeper than the rod is long, {rod}", typed(depth)));
    }
    (depth.cm() > DEEPEST_CM).then(|| {
        format!("depth {} is deeper than any hand rod reaches; is the unit right?", typed(depth))
    })
}
