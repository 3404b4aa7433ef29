//! Which part of a plan lies at a place.

use geo::{Coord, CoordsIter, LinesIter};
use plan::Part;

/// The outlines of all parts, their edges sorted into bands from south to north, so that a place is
/// compared with the few edges of its band only.
pub(super) struct Ground {
    south_m: f64,
    band_m: f64,
    bands: Vec<Vec<Edge>>,
    parts: usize,
}

/// An edge of a part's outline, from its southern end to its northern one. Two parts that share it have
/// the same, so that every place at it belongs to one of them.
#[derive(Clone, Copy)]
struct Edge {
    part: usize,
    low: Coord,
    high: Coord,
}

/// Enough for short lists, few enough for little memory.
const BANDS: usize = 2_000;

impl Ground {
    /// The ground of a plan.
    pub fn of(parts: &[Part]) -> Ground {
        let northings = || parts.iter().flat_map(|part| part.polygons.coords_iter()).map(|c| c.y);
        let south_m = northings().fold(f64::INFINITY, f64::min);
        let north_m = northings().fold(f64::NEG_INFINITY, f64::max);
        let band_m = ((north_m - south_m) / BANDS as f64).max(f64::MIN_POSITIVE);
        let mut ground =
            Ground { south_m, band_m, bands: vec![Vec::new(); BANDS], parts: parts.len() };
        for (part, held) in parts.iter().enumerate() {
            for line in held.polygons.lines_iter() {
                let (a, b) = (line.start, line.end);
                let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
                let (first, last) = (ground.band(low.y), ground.band(high.y));
                for band in &mut ground.bands[first..=last] {
                    band.push(Edge { part, low, high });
                }
            }
        }
        ground
    }

    fn band(&self, northing_m: f64) -> usize {
        (((northing_m - self.south_m) / self.band_m) as usize).min(BANDS - 1)
    }

    /// The part that holds a place: the first, where outlines overlap.
    ///
    /// A ray to the east leaves a part as often as it enters it unless it begins in it. An edge is met
    /// from its southern end, that one included, to its northern.
    pub fn part_at(&self, place: Coord) -> Option<usize> {
        let mut inside = vec![false; self.parts];
        for edge in &self.bands[self.band(place.y)] {
            let Edge { part, low, high } = *edge;
            if low.y <= place.y && place.y < high.y {
                let across =
                    (high.x - low.x) * (place.y - low.y) - (place.x - low.x) * (high.y - low.y);
                inside[part] ^= across > 0.0;
            }
        }
        inside.iter().position(|&inside| inside)
    }
}
