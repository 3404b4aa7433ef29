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

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Contains, LineString, MultiPolygon, Point, Polygon};
    use proptest::prelude::*;

    fn part(outer: &[(f64, f64)], holes: &[&[(f64, f64)]]) -> Part {
        let ring = |corners: &[(f64, f64)]| LineString::from(corners.to_vec());
        let holes = holes.iter().map(|hole| ring(hole)).collect();
        Part {
            id: String::new(),
            zone_id: String::new(),
            class_no: 1,
            class_name: String::new(),
            check_strip: None,
            action: String::new(),
            polygons: MultiPolygon::from(Polygon::new(ring(outer), holes)),
            ground_area_m2: 0.0,
            doses: Vec::new(),
            few_probes: false,
        }
    }

    fn parts() -> Vec<Part> {
        let inner = [(30.0, 20.0), (70.0, 25.0), (50.0, 80.0)];
        vec![
            part(&[(0.0, 0.0), (100.0, 7.0), (90.0, 100.0), (10.0, 60.0)], &[&inner]),
            part(&inner, &[]),
            part(&[(100.0, 7.0), (130.0, 50.0), (90.0, 100.0)], &[]),
        ]
    }

    #[test]
    fn a_place_at_a_shared_border_belongs_to_one_part() {
        let ground = Ground::of(&parts());
        for (x, y) in [(50.0, 22.5), (40.0, 50.0), (95.0, 53.5), (30.0, 20.0)] {
            assert!(ground.part_at(Coord { x, y }).is_some(), "{x} {y}");
        }
        assert_eq!(ground.part_at(Coord { x: 50.0, y: 40.0 }), Some(1));
        assert_eq!(ground.part_at(Coord { x: 200.0, y: 40.0 }), None);
        assert_eq!(ground.part_at(Coord { x: 50.0, y: -1e9 }), None);
        assert_eq!(ground.part_at(Coord { x: 50.0, y: f64::NAN }), None);
    }

    proptest! {
        #[test]
        fn bands_find_what_each_polygon_holds(x in -10.0..140.0_f64, y in -10.0..110.0_f64) {
            let parts = parts();
            let holds = |part: &Part| part.polygons.contains(&Point::new(x, y));
            let expected = parts.iter().position(holds);
            prop_assert_eq!(Ground::of(&parts).part_at(Coord { x, y }), expected);
        }
    }
}
