//! What makes polygons invalid: OGC Simple Features (06-103r4), clause 6.1.11. Lines are compared by a
//! sweep from west to east, so that a file of many positions is judged in little time.

use geo::coordinate_position::{CoordPos, CoordinatePosition};
use geo::line_intersection::{LineIntersection, line_intersection};
use geo::{BoundingRect, Coord, Line, LineString, MultiPolygon, Polygon, Rect};

/// Something wrong with polygons, and where, in their own coordinates.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RingFault {
    /// What is wrong: `ring 1 crosses itself`.
    pub problem: String,
    /// Where.
    pub at: Coord,
}

/// How much work one file may make.
#[derive(Debug, Clone)]
pub(crate) struct Patience {
    /// Pairs of lines side by side that are compared. Lines along the cells of a field of a kilometre make
    /// some million.
    pairs_left: usize,
    /// Rings of one shape. A zone of a large field in small cells has some hundred.
    most_rings: usize,
}

impl Patience {
    /// Some seconds, for a file that anyone may have made.
    pub fn of_a_reader() -> Self {
        Patience { pairs_left: 200_000_000, most_rings: 5_000 }
    }

    /// Without end, for shapes of our own.
    pub fn endless() -> Self {
        Patience { pairs_left: usize::MAX, most_rings: usize::MAX }
    }
}

/// The first thing wrong with polygons; `None` where they are valid. Rings are counted from 1 through all
/// polygons, the outer ring of each before its holes.
pub(crate) fn ring_fault(polygons: &MultiPolygon, patience: &mut Patience) -> Option<RingFault> {
    too_many_rings(polygons, patience.most_rings)
        .or_else(|| short_ring(polygons))
        .or_else(|| meeting(polygons, patience))
        .or_else(|| misplaced(polygons))
}

fn too_many_rings(polygons: &MultiPolygon, most: usize) -> Option<RingFault> {
    let at = rings(polygons).next()?.0.first().copied().unwrap_or_default();
    let problem = format!("it has more than {most} rings");
    rings(polygons).nth(most).is_some().then_some(RingFault { problem, at })
}

fn rings(polygons: &MultiPolygon) -> impl Iterator<Item = &LineString> {
    polygons.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
}

fn short_ring(polygons: &MultiPolygon) -> Option<RingFault> {
    rings(polygons).enumerate().find_map(|(k, ring)| {
        let mut corners = ring.0.clone();
        corners.dedup();
        let at = ring.0.first().copied().unwrap_or_default();
        let problem = match () {
            () if corners.len() < 4 => "has fewer than three corners",
            () if !ring.is_closed() => "is not closed",
            () => return None,
        };
        Some(RingFault { problem: format!("ring {} {problem}", k + 1), at })
    })
}

/// A line of a ring.
struct Edge {
    line: Line,
    ring: usize,
    /// Its place in the ring, and how many lines the ring has.
    index: usize,
    of: usize,
    west: f64,
    east: f64,
}

fn edges(polygons: &MultiPolygon) -> Vec<Edge> {
    let mut edges = Vec::new();
    for (ring, coords) in rings(polygons).enumerate() {
        let mut corners = coords.0.clone();
        corners.dedup();
        let of = corners.len().saturating_sub(1);
        edges.extend(corners.windows(2).enumerate().map(|(index, ends)| Edge {
            line: Line::new(ends[0], ends[1]),
            ring,
            index,
            of,
            west: ends[0].x.min(ends[1].x),
            east: ends[0].x.max(ends[1].x),
        }));
    }
    edges.sort_by(|a, b| a.west.total_cmp(&b.west));
    edges
}

/// Where lines meet that must not.
fn meeting(polygons: &MultiPolygon, patience: &mut Patience) -> Option<RingFault> {
    let edges = edges(polygons);
    edges.iter().enumerate().find_map(|(k, edge)| {
        if patience.pairs_left == 0 {
            let problem = "it has too many lines side by side to be checked".into();
            return Some(RingFault { problem, at: edge.line.start });
        }
        let near = edges[k + 1..].iter().take_while(|other| other.west <= edge.east);
        near.inspect(|_| patience.pairs_left = patience.pairs_left.saturating_sub(1))
            .filter(|other| meet_in_height(edge.line, other.line))
            .find_map(|other| forbidden_meeting(edge, other))
    })
}

fn meet_in_height(a: Line, b: Line) -> bool {
    a.start.y.min(a.end.y) <= b.start.y.max(b.end.y)
        && b.start.y.min(b.end.y) <= a.start.y.max(a.end.y)
}

fn forbidden_meeting(a: &Edge, b: &Edge) -> Option<RingFault> {
    let meeting = line_intersection(a.line, b.line)?;
    let same_ring = a.ring == b.ring;
    let gap = a.index.abs_diff(b.index);
    let are_neighbours = same_ring && (gap == 1 || gap + 1 == a.of);
    let (verb, at) = match meeting {
        LineIntersection::SinglePoint { intersection, is_proper: true } => {
            ("crosses", intersection)
        }
        // Neighbours share their corner; rings may touch each other in places.
        LineIntersection::SinglePoint { .. } if are_neighbours || !same_ring => return None,
        LineIntersection::SinglePoint { intersection, .. } => ("touches", intersection),
        LineIntersection::Collinear { intersection } => ("runs along", intersection.start),
    };
    let problem = match same_ring {
        true => format!("ring {} {verb} itself", a.ring + 1),
        false => {
            let (first, second) = (a.ring.min(b.ring), a.ring.max(b.ring));
            format!("ring {} {verb} ring {}", first + 1, second + 1)
        }
    };
    Some(RingFault { problem, at })
}

/// A hole outside its polygon or inside another hole, or a part inside another. Lines do not cross, so
/// that one corner off the other ring's line tells for the whole ring.
fn misplaced(polygons: &MultiPolygon) -> Option<RingFault> {
    let mut number = 1;
    let mut outer: Vec<(usize, &Polygon)> = Vec::new();
    for polygon in polygons {
        outer.push((number, polygon));
        let shell = Polygon::new(polygon.exterior().clone(), Vec::new());
        let holes: Vec<Polygon> =
            polygon.interiors().iter().map(|ring| Polygon::new(ring.clone(), Vec::new())).collect();
        for (k, hole) in holes.iter().enumerate() {
            let said = |what: &str, at| {
                let problem = format!("ring {}, a hole, lies {what}", number + 1 + k);
                Some(RingFault { problem, at })
            };
            match inside(hole.exterior(), &shell) {
                (true, _) => {}
                (false, at) => return said("outside of its polygon", at),
            }
            let frame = hole.bounding_rect();
            let other = holes.iter().enumerate().find(|(other, shell)| {
                *other != k
                    && may_hold(shell.bounding_rect(), frame)
                    && inside(hole.exterior(), shell).0
            });
            if let Some((other, _)) = other {
                let at = hole.exterior().0.first().copied().unwrap_or_default();
                return said(&format!("inside ring {}, another hole", number + 1 + other), at);
            }
        }
        number += 1 + holes.len();
    }
    outer.iter().enumerate().find_map(|(k, (ring, part))| {
        let frame = part.bounding_rect();
        outer.iter().enumerate().find_map(|(other, (around, shell))| {
            let holds = other != k && may_hold(shell.bounding_rect(), frame);
            let (is_inside, at) = holds.then(|| inside(part.exterior(), shell))?;
            let problem = format!("ring {ring} lies inside the area of ring {around}");
            is_inside.then_some(RingFault { problem, at })
        })
    })
}

fn may_hold(shell: Option<Rect>, other: Option<Rect>) -> bool {
    shell.zip(other).is_some_and(|(shell, other)| {
        shell.min().x <= other.min().x
            && shell.min().y <= other.min().y
            && shell.max().x >= other.max().x
            && shell.max().y >= other.max().y
    })
}

/// Whether a ring lies inside a polygon, by its first corner that is not on the polygon's lines, with that
/// corner. A ring with all its corners on them is judged by the middle of its first line.
fn inside(ring: &LineString, polygon: &Polygon) -> (bool, Coord) {
    let middles = ring.lines().take(1).map(|line| (line.start + line.end) / 2.0);
    let corners = ring.0.iter().copied().chain(middles);
    let mut places = corners.map(|at| (polygon.coordinate_position(&at), at));
    let off = places.find(|(position, _)| *position != CoordPos::OnBoundary);
    off.map_or((true, ring.0.first().copied().unwrap_or_default()), |(position, at)| {
        (position == CoordPos::Inside, at)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Validation, wkt};

    fn problem(polygons: &MultiPolygon) -> Option<String> {
        let found = ring_fault(polygons, &mut Patience::of_a_reader()).map(|fault| fault.problem);
        assert_eq!(found.is_none(), polygons.is_valid(), "{found:?} {polygons:?}");
        found
    }

    #[test]
    fn valid_rings_may_touch_at_places() {
        let valid = wkt!(MULTIPOLYGON(((0. 0.,9. 0.,9. 9.,0. 9.,0. 0.),(0. 4.,2. 3.,2. 5.,0. 4.),(2. 5.,3. 5.,3. 6.,2. 5.)),((9. 9.,12. 9.,12. 12.,9. 9.)),((2.2 4.,2.4 4.,2.4 4.2,2.2 4.))));
        // The last part lies inside the first, outside its holes.
        assert_eq!(problem(&valid).as_deref(), Some("ring 5 lies inside the area of ring 1"));
        let valid = MultiPolygon::new(valid.0[..2].to_vec());
        assert_eq!(problem(&valid), None);
    }

    #[test]
    fn patience_ends() {
        let tooth = |k: i32| [(0.0, f64::from(k)), (9.0, f64::from(k) + 0.5)];
        let teeth = (0..200).flat_map(tooth).chain([(-1.0, 200.0), (-1.0, 0.0), (0.0, 0.0)]);
        let comb = Polygon::new(teeth.map(|(x, y)| Coord { x, y }).collect(), Vec::new());
        let comb = MultiPolygon::from(comb);
        let mut patience = Patience { pairs_left: 1_000, ..Patience::endless() };
        let fault = ring_fault(&comb, &mut patience).unwrap();
        assert_eq!(fault.problem, "it has too many lines side by side to be checked");
        assert_eq!(ring_fault(&comb, &mut Patience::of_a_reader()), None);
    }

    #[test]
    fn what_is_wrong_is_told_with_its_ring() {
        for (polygons, expected) in [
            (wkt!(MULTIPOLYGON(((0. 0.,2. 2.,2. 0.,0. 2.,0. 0.)))), "ring 1 crosses itself"),
            (wkt!(MULTIPOLYGON(((0. 0.,4. 0.,2. 0.,2. 3.,0. 0.)))), "ring 1 runs along itself"),
            (wkt!(MULTIPOLYGON(((0. 0.,4. 0.,4. 4.,2. 0.,0. 4.,0. 0.)))), "ring 1 touches itself"),
            (wkt!(MULTIPOLYGON(((0. 0.,4. 0.,0. 0.)))), "ring 1 has fewer than three corners"),
            (
                wkt!(MULTIPOLYGON(((0. 0.,9. 0.,9. 9.,0. 0.),(8. 1.,12. 1.,8. 2.,8. 1.)))),
                "ring 1 crosses ring 2",
            ),
            (
                wkt!(MULTIPOLYGON(((0. 0.,9. 0.,9. 9.,0. 0.),(10. 1.,12. 1.,10. 2.,10. 1.)))),
                "ring 2, a hole, lies outside of its polygon",
            ),
            (
                wkt!(MULTIPOLYGON(((0. 0.,9. 0.,9. 9.,0. 0.),(4. 1.,8. 1.,8. 4.,4. 1.),(6. 1.5,7. 1.5,7. 2.,6. 1.5)))),
                "ring 3, a hole, lies inside ring 2, another hole",
            ),
        ] {
            assert_eq!(problem(&polygons).as_deref(), Some(expected));
        }
        let bow_tie = wkt!(MULTIPOLYGON(((0. 0.,2. 2.,2. 0.,0. 2.,0. 0.))));
        let fault = ring_fault(&bow_tie, &mut Patience::of_a_reader()).unwrap();
        assert_eq!(fault.at, Coord { x: 1.0, y: 1.0 });
    }
}
