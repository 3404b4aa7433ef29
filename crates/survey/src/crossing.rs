//! Where the lines of an invalid boundary meet.

use geo::line_intersection::{LineIntersection, line_intersection};
use geo::{Line, MultiPolygon};

use crate::position::EastNorth;

/// The first place where two lines of a boundary meet that are not neighbours on their ring: the
/// middle of a crossing is what a user must mend. `None` where no two lines meet.
pub(crate) fn first_crossing(polygons: &MultiPolygon) -> Option<EastNorth> {
    let rings = polygons
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    let lines: Vec<Line> = rings.flat_map(geo::LineString::lines).collect();
    let shares_an_end = |a: Line, b: Line| a.end == b.start || b.end == a.start;
    lines.iter().enumerate().find_map(|(k, &line)| {
        let others = lines[k + 1..].iter().filter(|&&other| !shares_an_end(line, other));
        others.into_iter().find_map(|&other| line_intersection(line, other)).map(|meeting| {
            match meeting {
                LineIntersection::SinglePoint { intersection, .. } => intersection.into(),
                LineIntersection::Collinear { intersection } => intersection.start.into(),
            }
        })
    })
}
