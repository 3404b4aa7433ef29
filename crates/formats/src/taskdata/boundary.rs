//! The field's outline: all parts of a plan as one.

use geo::algorithm::unary_union;
use geo::orient::Direction;
use geo::{Area, Coord, Euclidean, Length, LineString, MultiPolygon, Orient, Polygon, Validation};
use plan::Part;

/// Gaps and cracks narrower than this, in metres, lie between parts that should touch: they were cut one by
/// one, and their corners rounded.
const GAP_M: f64 = 0.01;

/// The parts' ground without the borders within; the largest polygon first.
pub(super) fn union(parts: &[Part]) -> MultiPolygon {
    let polygons: Vec<MultiPolygon> = parts.iter().map(|part| part.polygons.clone()).collect();
    joined(&polygons)
}

fn joined(parts: &[MultiPolygon]) -> MultiPolygon {
    // A hole that ran the way of its outer ring would be filled.
    let parts: Vec<MultiPolygon> =
        parts.iter().map(|part| part.orient(Direction::Default)).collect();
    let joined: MultiPolygon = unary_union(&parts);
    let closed: MultiPolygon = joined.iter().filter_map(without_gaps).collect();
    let mut union = if closed.check_validation().is_ok() { closed } else { joined };
    union.0.sort_by(|a, b| b.unsigned_area().total_cmp(&a.unsigned_area()));
    union
}

/// A polygon without cracks and narrow holes; `None` when it is narrow itself.
fn without_gaps(polygon: &Polygon) -> Option<Polygon> {
    let outer = without_cracks(polygon.exterior())?;
    let holes = polygon.interiors().iter().filter_map(without_cracks).collect();
    Some(Polygon::new(outer, holes))
}

/// A ring without the corners where it turns back along itself, or that a gap lies between; `None` when
/// nothing is left that is wider than a gap.
fn without_cracks(ring: &LineString) -> Option<LineString> {
    let mut kept: Vec<Coord> = ring.0[..ring.0.len() - 1].to_vec();
    // Removing the tip of a crack lays open its next corners.
    while let Some(at) = (0..kept.len()).find(|&at| is_crack(&kept, at)) {
        kept.remove(at);
    }
    let ring = Polygon::new(LineString::new(kept), Vec::new());
    let (area_m2, around_m) = (ring.unsigned_area(), Euclidean.length(ring.exterior()));
    (area_m2 > GAP_M * around_m / 2.0).then(|| ring.exterior().clone())
}

/// Whether a ring comes to a corner and leaves it the same way, or has hardly moved to it.
fn is_crack(ring: &[Coord], at: usize) -> bool {
    let count = ring.len();
    if count < 3 {
        return false;
    }
    let (before, here, after) = (ring[(at + count - 1) % count], ring[at], ring[(at + 1) % count]);
    let (back, on) = (before - here, after - here);
    // Not `hypot`, whose last digit is the machine's own.
    let length_m = |way: Coord| (way.x * way.x + way.y * way.y).sqrt();
    let (back_m, on_m) = (length_m(back), length_m(on));
    if back_m < GAP_M {
        return true;
    }
    // The shorter way's end, seen from the longer way.
    let ahead = back.x * on.x + back.y * on.y;
    let aside_m = (back.x * on.y - back.y * on.x).abs() / back_m.max(on_m);
    ahead > 0.0 && aside_m < GAP_M
}

#[cfg(test)]
mod tests {
    use super::*;

    fn polygon(corners: &[(f64, f64)]) -> MultiPolygon {
        MultiPolygon::from(Polygon::new(LineString::from(corners.to_vec()), Vec::new()))
    }

    /// A field of 100 m × 50 m, parted by borders whose corners were rounded one by one: they gape and
    /// overlap by up to 3 mm, from the outside inward and within.
    #[test]
    fn gaps_between_parts_leave_no_sliver() {
        let parts = [
            polygon(&[(0.0, 0.0), (60.0, 0.0), (60.001, 25.0), (60.0, 50.0), (0.0, 50.0)]),
            polygon(&[(60.002, 0.0), (100.0, 0.0), (100.0, 20.003), (60.003, 20.0)]),
            polygon(&[
                (59.999, 20.001),
                (100.0, 20.0),
                (100.0, 50.0),
                (60.002, 50.0),
                (60.003, 40.0),
            ]),
        ];
        let union = joined(&parts);
        assert_eq!(union.0.len(), 1, "{union:?}");
        assert!(union.0[0].interiors().is_empty(), "{union:?}");
        assert!(union.check_validation().is_ok());
        assert!((union.unsigned_area() - 5_000.0).abs() < 0.5, "{}", union.unsigned_area());
        assert!((Euclidean.length(union.0[0].exterior()) - 300.0).abs() < 0.1, "{union:?}");
    }

    #[test]
    fn true_holes_and_pieces_stay() {
        let ring = |side: f64| [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)];
        let hole = LineString::from(vec![(10.0, 10.0), (10.5, 10.0), (10.5, 10.5)]);
        let outer = LineString::from(ring(50.0).to_vec());
        let with_hole = MultiPolygon::from(Polygon::new(outer, vec![hole]));
        let apart = polygon(&ring(50.0).map(|(x, y)| (x + 60.0, y + 2.0 * y)));
        let union = joined(&[with_hole, apart]);
        assert_eq!(union.0.len(), 2);
        // The larger one comes first.
        assert!((union.0[0].unsigned_area() - 7_500.0).abs() < 1e-3);
        assert_eq!(union.0[1].interiors().len(), 1);
        assert!((union.0[1].unsigned_area() - (2_500.0 - 0.125)).abs() < 1e-3);
    }
}
