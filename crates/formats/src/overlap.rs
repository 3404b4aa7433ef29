//! Zones that lie over each other.

use geo::{BooleanOps, BoundingRect, CoordsIter, Intersects, MultiPolygon};

/// How many zones are compared, and the most positions that are cut with each other in all.
pub(crate) const MOST_ZONES: usize = 2_000;
const MOST_POSITIONS: usize = 2_000_000;

/// Less is rounding, square metres.
const LEAST_M2: f64 = 1.0;

/// Two zones that share ground, by their numbers from 0.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Overlap {
    pub first: usize,
    pub second: usize,
    pub area_m2: f64,
}

/// The overlaps of some zones, in their order.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Overlaps {
    pub found: Vec<Overlap>,
    /// Whether all were compared: there may be too many.
    pub is_complete: bool,
}

/// Each two zones that overlap. Outlines are valid, `None` of a zone that is not compared;
/// `area_m2` measures what two of them share.
pub(crate) fn overlaps(
    outlines: &[Option<&MultiPolygon>],
    area_m2: impl Fn(&MultiPolygon) -> f64,
) -> Overlaps {
    let mut overlaps = Overlaps { found: Vec::new(), is_complete: false };
    let zones: Vec<(usize, &MultiPolygon)> =
        outlines.iter().enumerate().filter_map(|(k, outline)| Some((k, (*outline)?))).collect();
    if zones.len() > MOST_ZONES {
        return overlaps;
    }
    let frames: Vec<_> = zones.iter().map(|(_, outline)| outline.bounding_rect()).collect();
    let mut positions = 0;
    for (at, &(first, outline)) in zones.iter().enumerate() {
        for (other_at, &(second, other)) in zones.iter().enumerate().skip(at + 1) {
            let may_meet = frames[at].zip(frames[other_at]).is_some_and(|(a, b)| a.intersects(&b));
            if !may_meet {
                continue;
            }
            positions += outline.coords_count() + other.coords_count();
            if positions > MOST_POSITIONS {
                return overlaps;
            }
            let area_m2 = area_m2(&outline.intersection(other));
            if area_m2 > LEAST_M2 {
                overlaps.found.push(Overlap { first, second, area_m2 });
            }
        }
    }
    overlaps.is_complete = true;
    overlaps
}
