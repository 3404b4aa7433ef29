//! Places on a staircase from which its corners are cut.
//!
//! From the middle of each edge to the middle of the next, as much ground goes over on one side as on
//! the other while a staircase goes on: its corners turn left and right by turns. Where it turns back,
//! both corners of an edge turn the same way, and that edge is the longest around: from its middle more
//! would be cut off the round than comes back beyond the next corner, and every zone that bulges would
//! shrink. There the cut is no longer than the one that follows it. A corner between two such edges, of
//! a single cell for instance, has none to follow it and is not cut.

use crate::border_arcs::Arc;
use crate::border_index::double_area;
use crate::cut::Node;

/// A border's places with those from which its corners are cut, and with each whether it is of the
/// staircase.
pub(crate) fn with_cuts(arc: &Arc, tolerance: i64) -> Vec<(Node, bool)> {
    let stairs = Stairs { nodes: &arc.nodes, is_closed: arc.is_closed, tolerance };
    let count = arc.nodes.len();
    let mut all = Vec::new();
    for k in 0..count {
        all.push((stairs.node(k), true));
        if k + 1 < count || arc.is_closed {
            all.extend(stairs.put_in(k).into_iter().flatten().map(|node| (node, false)));
        }
    }
    all
}

/// A border along cells. Edge k runs from place k to the next.
struct Stairs<'a> {
    nodes: &'a [Node],
    is_closed: bool,
    tolerance: i64,
}

impl Stairs<'_> {
    fn node(&self, k: usize) -> Node {
        self.nodes[k % self.nodes.len()]
    }

    /// The number of the place, or edge, so many before another.
    fn before(&self, k: usize, by: usize) -> usize {
        (k % self.nodes.len() + 2 * self.nodes.len() - by) % self.nodes.len()
    }

    fn length(&self, edge: usize) -> i64 {
        let (from, to) = (self.node(edge), self.node(edge + 1));
        (to.east - from.east).abs() + (to.north - from.north).abs()
    }

    /// Which way the border turns: 1 to the left, -1 to the right, 0 at an end.
    fn turn(&self, k: usize) -> i128 {
        let k = k % self.nodes.len();
        match self.is_closed || (0 < k && k + 1 < self.nodes.len()) {
            true => {
                double_area(self.node(self.before(k, 1)), self.node(k), self.node(k + 1)).signum()
            }
            false => 0,
        }
    }

    /// Whether the border turns the same way at both ends of an edge.
    fn turns_back(&self, edge: usize) -> bool {
        self.turn(edge) * self.turn(edge + 1) > 0
    }

    /// How far before and after a corner it is cut.
    fn cut(&self, k: usize) -> Option<(i64, i64)> {
        let (before, after) = (self.before(k, 1), k % self.nodes.len());
        let half = |edge: usize| self.length(edge) / 2;
        // Beyond an end there is no edge to follow.
        let follows = |edge: usize, corner: usize| match self.turn(corner) {
            0 => i64::MAX,
            _ => half(edge),
        };
        let (a, b) = match (self.turn(k), self.turns_back(before), self.turns_back(after)) {
            (0, ..) | (_, true, true) => return None,
            (_, true, false) => (half(before).min(follows(k + 1, k + 1)), half(after)),
            (_, false, true) => {
                (half(before), half(after).min(follows(self.before(k, 2), self.before(k, 1))))
            }
            (_, false, false) => (half(before), half(after)),
        };
        // The corner is left a·b/√(a² + b²) beyond the cut.
        let (far_a, far_b) = (a as f64, b as f64);
        let most = self.tolerance as f64 * (far_a * far_a + far_b * far_b).sqrt();
        match a.min(b) > self.tolerance && far_a * far_b > most {
            true => Some((self.tolerance, self.tolerance)),
            false => Some((a, b)),
        }
        .filter(|(a, b)| *a > 0 && *b > 0)
    }

    /// The places on an edge from which its corners are cut, in order.
    fn put_in(&self, edge: usize) -> [Option<Node>; 2] {
        let whole = self.length(edge);
        let first = self.cut(edge).map(|(_, after)| after);
        let second = self.cut(edge + 1).map(|(before, _)| before);
        // Half of an odd length is the same place from both ends.
        let second = second.map(|far| if far == whole / 2 { far } else { whole - far });
        let place = |far: i64| towards(self.node(edge), self.node(edge + 1), far);
        [first.map(place), second.filter(|_| first != second).map(place)]
    }
}

/// The place so far along an edge on a grid line.
fn towards(from: Node, to: Node, far: i64) -> Node {
    let step = |from: i64, to: i64| from + (to - from).signum() * far;
    Node { east: step(from.east, to.east), north: step(from.north, to.north) }
}
