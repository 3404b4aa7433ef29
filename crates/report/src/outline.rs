//! Polygons of the plane as outlines on the page.

use geo::{Coord, MultiPolygon};
use geostat::Grid;

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

/// The lines of the grid on the page.
#[derive(Debug, Clone, Copy)]
pub(crate) struct GridLines {
    left: f64,
    top: f64,
    side: f64,
}

impl GridLines {
    pub fn new(grid: &Grid, view: &View) -> Self {
        let (left, top) = view.on_page(Coord { x: grid.west_m(), y: grid.north_m() });
        GridLines { left, top, side: grid.cell_m() * view.scale }
    }

    /// Whether two lines cross at a place.
    fn cross_at(&self, (x, y): (f64, f64)) -> bool {
        let is_whole = |cells: f64| (cells - cells.round()).abs() < 1e-3;
        is_whole((x - self.left) / self.side) && is_whole((y - self.top) / self.side)
    }
}

/// Rings with the steps of the grid's cells turned into slanted lines: corners where grid lines
/// cross are cut by half a cell, half an edge at the most. The field's own corners stay.
pub(crate) fn soften(
    rings: &[Vec<(f64, f64)>],
    lines: GridLines,
    field: &[Vec<(f64, f64)>],
) -> Vec<Vec<(f64, f64)>> {
    let is_of_field = |&(x, y): &(f64, f64)| {
        let mut corners = field.iter().flatten();
        corners.any(|corner| (corner.0 - x).hypot(corner.1 - y) < FINEST)
    };
    let is_step = |at: &(f64, f64)| lines.cross_at(*at) && !is_of_field(at);
    rings.iter().map(|ring| soften_ring(ring, lines.side / 2.0, is_step)).collect()
}

fn soften_ring(
    ring: &[(f64, f64)],
    most: f64,
    is_step: impl Fn(&(f64, f64)) -> bool,
) -> Vec<(f64, f64)> {
    let count = ring.len();
    let mut soft = Vec::with_capacity(2 * count);
    for (k, &at) in ring.iter().enumerate() {
        if is_step(&at) {
            let (before, after) = (ring[(k + count - 1) % count], ring[(k + 1) % count]);
            soft.extend([before, after].map(|end| towards(at, end, most)));
        } else {
            soft.push(at);
        }
    }
    soft
}

/// So far from one place to another, half the way at the most.
fn towards(from: (f64, f64), to: (f64, f64), most: f64) -> (f64, f64) {
    let length = (to.0 - from.0).hypot(to.1 - from.1);
    let part = (most / length).min(0.5);
    (from.0 + (to.0 - from.0) * part, from.1 + (to.1 - from.1) * part)
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

    #[test]
    fn steps_become_slanted_and_corners_of_the_field_stay() {
        let lines = GridLines { left: 0.0, top: 0.0, side: 2.0 };
        let ring = vec![vec![(0.0, 0.0), (2.0, 0.0), (2.0, 3.3), (0.0, 3.3)]];
        let soft = soften(&ring, lines, &[vec![(2.0, 0.0)]]);
        assert_eq!(soft[0], [(0.0, 1.0), (1.0, 0.0), (2.0, 0.0), (2.0, 3.3), (0.0, 3.3)]);
    }
}
