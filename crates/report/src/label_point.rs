//! The roomiest point of a zone: the middle of the largest circle that fits between its outline
//! and the probe marks.
//!
//! Squares over the zone are searched best first; a square cannot hold a point roomier than its
//! middle's room plus half its diagonal, since distances change no faster than one moves. The idea
//! is that of "poles of inaccessibility" (Garcia-Castellanos & Lombardo 2007, Scottish Geographical
//! Journal 123:227–233).

use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Good enough, pixels.
const PRECISION: f64 = 2.0;

/// Squares looked at before the best so far is taken.
const PATIENCE: usize = 3_000;

/// A point and the radius of the free circle around it, pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Room {
    pub x: f64,
    pub y: f64,
    pub radius: f64,
}

/// The roomiest point inside rings (even-odd), away from obstacles; `None` without an inside.
pub(crate) fn roomiest(rings: &[Vec<(f64, f64)>], obstacles: &[(f64, f64)]) -> Option<Room> {
    let (low, high) = bounds(rings)?;
    let near: Vec<(f64, f64)> = obstacles
        .iter()
        .copied()
        .filter(|&(x, y)| (low.0..=high.0).contains(&x) && (low.1..=high.1).contains(&y))
        .collect();
    let half = ((high.0 - low.0).min(high.1 - low.1) / 2.0).max(PRECISION);
    let square = |x, y, half| Square::new(x, y, half, rings, &near);
    let mut heap = BinaryHeap::new();
    let steps = |from: f64, to: f64| ((to - from) / (2.0 * half)).ceil() as usize;
    for column in 0..steps(low.0, high.0).max(1) {
        for row in 0..steps(low.1, high.1).max(1) {
            let middle = |from: f64, k: usize| from + (2.0 * k as f64 + 1.0) * half;
            heap.push(square(middle(low.0, column), middle(low.1, row), half));
        }
    }
    let mut best: Option<Room> = None;
    for _ in 0..PATIENCE {
        let Some(next) = heap.pop() else { break };
        let best_radius = best.map_or(0.0, |room| room.radius);
        if next.most() <= best_radius + PRECISION {
            break;
        }
        if next.room.radius > best_radius {
            best = Some(next.room);
        }
        let quarter = next.half / 2.0;
        for (right, down) in [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)] {
            let (x, y) = (next.room.x + right * quarter, next.room.y + down * quarter);
            heap.push(square(x, y, quarter));
        }
    }
    best
}

fn bounds(rings: &[Vec<(f64, f64)>]) -> Option<((f64, f64), (f64, f64))> {
    let mut corners = rings.iter().flatten();
    let &first = corners.next()?;
    Some(corners.fold((first, first), |(low, high), &(x, y)| {
        ((low.0.min(x), low.1.min(y)), (high.0.max(x), high.1.max(y)))
    }))
}

/// A square of the search; its room is negative where the middle is outside.
struct Square {
    room: Room,
    half: f64,
}

impl Square {
    fn new(x: f64, y: f64, half: f64, rings: &[Vec<(f64, f64)>], obstacles: &[(f64, f64)]) -> Self {
        let radius = obstacles
            .iter()
            .map(|&(ox, oy)| (ox - x).hypot(oy - y))
            .fold(depth_inside(rings, (x, y)), f64::min);
        Square { room: Room { x, y, radius }, half }
    }

    fn most(&self) -> f64 {
        self.room.radius + self.half * std::f64::consts::SQRT_2
    }
}

impl Ord for Square {
    fn cmp(&self, other: &Self) -> Ordering {
        self.most()
            .total_cmp(&other.most())
            .then(other.room.y.total_cmp(&self.room.y))
            .then(other.room.x.total_cmp(&self.room.x))
    }
}

impl PartialOrd for Square {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Square {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Square {}

/// Whether a point is inside rings, even-odd.
pub(crate) fn is_inside(rings: &[Vec<(f64, f64)>], point: (f64, f64)) -> bool {
    depth_inside(rings, point) > 0.0
}

/// Distance to the nearest ring, negative outside.
fn depth_inside(rings: &[Vec<(f64, f64)>], (x, y): (f64, f64)) -> f64 {
    let mut inside = false;
    let mut nearest = f64::INFINITY;
    for ring in rings {
        for (k, &a) in ring.iter().enumerate() {
            let b = ring[(k + 1) % ring.len()];
            if (a.1 > y) != (b.1 > y) && x < (b.0 - a.0) * (y - a.1) / (b.1 - a.1) + a.0 {
                inside = !inside;
            }
            nearest = nearest.min(squared_to_edge((x, y), a, b));
        }
    }
    match inside {
        true => nearest.sqrt(),
        false => -nearest.sqrt(),
    }
}

fn squared_to_edge((x, y): (f64, f64), a: (f64, f64), b: (f64, f64)) -> f64 {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let along = ((x - a.0) * dx + (y - a.1) * dy) / (dx * dx + dy * dy);
    let along = if along.is_nan() { 0.0 } else { along.clamp(0.0, 1.0) };
    let (ex, ey) = (x - a.0 - along * dx, y - a.1 - along * dy);
    ex * ex + ey * ey
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(left: f64, top: f64, side: f64) -> Vec<(f64, f64)> {
        vec![(left, top), (left + side, top), (left + side, top + side), (left, top + side)]
    }

    #[test]
    fn the_middle_of_a_square_is_roomiest() {
        let room = roomiest(&[square(0.0, 0.0, 100.0)], &[]).unwrap();
        assert_eq!((room.x, room.y, room.radius), (50.0, 50.0, 50.0));
    }

    #[test]
    fn a_hole_and_a_mark_are_kept_clear_of() {
        let rings = [square(0.0, 0.0, 100.0), square(30.0, 30.0, 40.0)];
        let room = roomiest(&rings, &[(15.0, 15.0)]).unwrap();
        assert!(room.radius > 15.0 && (room.x - 15.0).hypot(room.y - 15.0) >= room.radius - 1e-9);
        assert!(!is_inside(&rings, (50.0, 50.0)));
    }

    #[test]
    fn a_half_moon_is_labelled_inside_itself() {
        let moon = vec![vec![
            (0.0, 0.0),
            (100.0, 0.0),
            (100.0, 100.0),
            (0.0, 100.0),
            (0.0, 90.0),
            (90.0, 90.0),
            (90.0, 10.0),
            (0.0, 10.0),
        ]];
        let room = roomiest(&moon, &[]).unwrap();
        assert!(is_inside(&moon, (room.x, room.y)) && room.radius > 4.0);
    }
}
