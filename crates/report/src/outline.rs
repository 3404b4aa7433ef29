//! Polygons of the plane as outlines on the page.

use geo::{Coord, MultiPolygon};

use crate::svg::number;
use crate::view::View;

/// Corners nearer than this to the last one kept are left out, pixels: no print shows them.
const FINEST: f64 = 0.35;

/// The rings of polygons on the page, each without its closing corner. Rings too small to be seen
/// are left out.
pub(crate) fn rings(polygons: &MultiPolygon, view: &View) -> Vec<Vec<(f64, f64)>> {
    polygons
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
        .map(|ring| ring_on_page(&ring.0, view))
        .filter(|ring| ring.len() > 2)
        .collect()
}

fn ring_on_page(ring: &[Coord], view: &View) -> Vec<(f64, f64)> {
    let mut kept: Vec<(f64, f64)> = Vec::new();
    for &corner in ring.split_last().map_or(ring, |(_, open)| open) {
        let (x, y) = view.on_page(corner);
        let is_new = |last: &(f64, f64)| (x - last.0).hypot(y - last.1) >= FINEST;
        if kept.last().is_none_or(is_new) {
            kept.push((x, y));
        }
    }
    kept
}

/// Rings as the data of an SVG path.
pub(crate) fn path(rings: &[Vec<(f64, f64)>]) -> String {
    let corner = |&(x, y): &(f64, f64)| format!("{} {}", number(x), number(y));
    rings
        .iter()
        .map(|ring| format!("M{}Z", ring.iter().map(corner).collect::<Vec<_>>().join("L")))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::Rect;
    use geo::polygon;

    #[test]
    fn a_hole_is_a_ring_of_the_same_path() {
        let field = MultiPolygon(vec![polygon!(
            exterior: [(x: 0.0, y: 0.0), (x: 9.0, y: 0.0), (x: 9.0, y: 9.0), (x: 0.0, y: 9.0)],
            interiors: [[(x: 3.0, y: 3.0), (x: 3.0, y: 6.0), (x: 6.0, y: 6.0)]],
        )]);
        let view = View::fit(&field, Rect::new(0.0, 0.0, 9.0, 9.0));
        let path = path(&rings(&field, &view));
        assert_eq!(path, "M0 9L9 9L9 0L0 0ZM3 6L3 3L6 3Z");
    }
}
