//! Zones that lie over each other.

use geo::{BooleanOps, BoundingRect, CoordsIter, Intersects, MultiPolygon};

/// The most positions that are cut with each other in all.
const MOST_POSITIONS: usize = 2_000_000;

/// Less is rounding, square metres.
pub(crate) const LEAST_M2: f64 = 1.0;

/// Tells of the ground of each two outlines that meet, by their places in the list; it is empty where they
/// touch only. Outlines are valid. Whether all could be compared.
pub(crate) fn each_meeting(
    outlines: &[&MultiPolygon],
    mut found: impl FnMut(usize, usize, MultiPolygon),
) -> bool {
    let frames: Vec<_> = outlines.iter().map(|outline| outline.bounding_rect()).collect();
    let mut positions = 0;
    for (k, outline) in outlines.iter().enumerate() {
        for (other, other_outline) in outlines.iter().enumerate().skip(k + 1) {
            let may_meet = frames[k].zip(frames[other]).is_some_and(|(a, b)| a.intersects(&b));
            if !may_meet {
                continue;
            }
            positions += outline.coords_count() + other_outline.coords_count();
            if positions > MOST_POSITIONS {
                return false;
            }
            found(k, other, outline.intersection(*other_outline));
        }
    }
    true
}
