//! Outlines of patches, traced along edges that two patches share once.
//!
//! Every border is one list of edges that both its patches use, in opposite directions, so no gap
//! and no overlap can arise. At a place where a patch meets itself at a corner its outline is
//! parted there, so that every ring is simple: an outer ring or a hole that touches it in one point.

use std::collections::HashMap;

use geo::{LineString, MultiPolygon, Polygon};

use crate::cut::{CutField, Node};
use crate::patches::Patches;

/// A directed edge of a patch's outline, the patch on its left.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Edge {
    patch: u32,
    from: Node,
    to: Node,
}

/// The simple rings of each patch, by its number; none for numbers that are no patch (any more).
/// Outer rings run counter-clockwise, holes clockwise; corners only where the outline turns, the
/// field has a corner, or three borders meet.
pub(crate) fn rings(cut: &CutField, patches: &Patches) -> Vec<Vec<Vec<Node>>> {
    let (mut edges, borders_at) = edges(cut, patches);
    edges.sort_unstable();
    let mut result = vec![Vec::new(); patches.ground.len()];
    for of_patch in edges.chunk_by(|a, b| a.patch == b.patch) {
        result[of_patch[0].patch as usize] = trace(of_patch)
            .into_iter()
            .map(|ring| without_straight(cut, &ring, &borders_at))
            .filter(|ring| ring.len() >= 3)
            .collect();
    }
    result
}

/// All outline edges, and how many borders meet at each place.
fn edges(cut: &CutField, patches: &Patches) -> (Vec<Edge>, HashMap<Node, u8>) {
    let mut edges = Vec::new();
    let mut borders_at: HashMap<Node, u8> = HashMap::new();
    let mut border = |from: Node, to: Node, left: u32, right: Option<u32>| {
        edges.push(Edge { patch: left, from, to });
        if let Some(right) = right {
            edges.push(Edge { patch: right, from: to, to: from });
        }
        for end in [from, to] {
            let count = borders_at.entry(end).or_default();
            *count = count.saturating_add(1);
        }
    };
    for piece in &cut.pieces {
        let patch = patches.of_cell[piece.cell].expect("an outline runs only through the field");
        border(piece.from, piece.to, patch, None);
    }
    let columns = cut.grid().columns();
    for (cell, patch) in patches.of_cell.iter().enumerate() {
        let &Some(patch) = patch else { continue };
        let other = |cell: usize| patches.of_cell[cell].filter(|&other| other != patch);
        if cell % columns + 1 < columns
            && let Some(east) = other(cell + 1)
        {
            cut.eastern_edge(cell).for_each(|(a, b)| border(a, b, patch, Some(east)));
        }
        if cell >= columns
            && let Some(north) = other(cell - columns)
        {
            cut.northern_edge(cell).for_each(|(a, b)| border(b, a, patch, Some(north)));
        }
    }
    (edges, borders_at)
}

/// Simple rings from the sorted edges of one patch.
fn trace(edges: &[Edge]) -> Vec<Vec<Node>> {
    let mut used = vec![false; edges.len()];
    let mut rings = Vec::new();
    for start in 0..edges.len() {
        if used[start] {
            continue;
        }
        used[start] = true;
        let mut path = vec![edges[start].from];
        let mut arrived = edges[start];
        loop {
            let at = arrived.to;
            if let Some(loop_start) = revisited(edges, &path, at) {
                rings.push(path.split_off(loop_start));
                if path.is_empty() {
                    break;
                }
            }
            let next = leftmost(edges, &used, arrived).expect("outlines are closed");
            used[next] = true;
            path.push(at);
            arrived = edges[next];
        }
    }
    rings
}

/// Where in the path a place was visited before. Only the path's start and places where several
/// edges leave can be visited twice.
fn revisited(edges: &[Edge], path: &[Node], at: Node) -> Option<usize> {
    match path[0] == at || leaving(edges, at).len() > 1 {
        true => path.iter().rposition(|&node| node == at),
        false => None,
    }
}

/// The numbers of the edges that leave a place.
fn leaving(edges: &[Edge], at: Node) -> std::ops::Range<usize> {
    let first = edges.partition_point(|edge| edge.from < at);
    first..first + edges[first..].partition_point(|edge| edge.from == at)
}

/// The unused edge that goes on from another most to the left, so that ground that meets only at a
/// corner is not connected there.
fn leftmost(edges: &[Edge], used: &[bool], arrived: Edge) -> Option<usize> {
    let vector = |edge: Edge| {
        let Edge { from, to, .. } = edge;
        (i128::from(to.east - from.east), i128::from(to.north - from.north))
    };
    let (run, rise) = vector(arrived);
    // Turning angle as a pair that can be compared exactly: half plane first, then the cotangent.
    let turn = |k: usize| {
        let (a, b) = vector(edges[k]);
        (run * a + rise * b, run * b - rise * a)
    };
    leaving(edges, arrived.to).filter(|&k| !used[k]).max_by(|&j, &k| {
        let ((ahead_j, left_j), (ahead_k, left_k)) = (turn(j), turn(k));
        match (left_j >= 0, left_k >= 0) {
            (true, false) => std::cmp::Ordering::Greater,
            (false, true) => std::cmp::Ordering::Less,
            _ => sign(ahead_k, left_j, ahead_j, left_k),
        }
    })
}

/// Compares `a·b` with `c·d` without overflow: lattice vectors of up to 10¹¹ give products of up
/// to 10⁴⁴, so the comparison is made in floating point and, where that cannot tell, as equal.
fn sign(a: i128, b: i128, c: i128, d: i128) -> std::cmp::Ordering {
    match a.checked_mul(b).zip(c.checked_mul(d)) {
        Some((ab, cd)) => ab.cmp(&cd),
        None => (a as f64 * b as f64).total_cmp(&(c as f64 * d as f64)),
    }
}

/// A ring without the places where nothing happens: on a straight grid line, or where the outline
/// of the field crosses a grid line, and no third border meets. A crossing stays where it is all that
/// keeps the outline on its side of a border's corner.
fn without_straight(cut: &CutField, ring: &[Node], borders_at: &HashMap<Node, u8>) -> Vec<Node> {
    let turns = |k: usize| {
        let (before, at, after) =
            (ring[(k + ring.len() - 1) % ring.len()], ring[k], ring[(k + 1) % ring.len()]);
        let straight = (before.east == at.east && at.east == after.east)
            || (before.north == at.north && at.north == after.north);
        let turns_on_grid = at.is_grid_crossing() && !straight;
        let beside_border =
            || cut.beside(at).is_some_and(|corner| borders_at.contains_key(&corner));
        turns_on_grid || borders_at[&at] > 2 || cut.corners.contains(&at) || beside_border()
    };
    (0..ring.len()).filter(|&k| turns(k)).map(|k| ring[k]).collect()
}

/// Polygons from simple rings: each hole goes into the outer ring around it.
pub(crate) fn polygons(cut: &CutField, rings: Vec<Vec<Node>>) -> MultiPolygon {
    let (mut outer, holes): (Vec<_>, Vec<_>) = rings
        .into_iter()
        .map(|ring| (double_area(&ring), ring))
        .filter(|(area, _)| *area != 0)
        .partition(|(area, _)| *area > 0);
    outer.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut holes_of: Vec<Vec<LineString>> = vec![Vec::new(); outer.len()];
    for (_, hole) in holes {
        let around = outer
            .iter()
            .rposition(|(_, ring)| outer.len() == 1 || surrounds(ring, &hole))
            .expect("a hole lies in an outer ring");
        holes_of[around].push(line_string(cut, &hole));
    }
    outer
        .iter()
        .zip(holes_of)
        .map(|((_, ring), holes)| Polygon::new(line_string(cut, ring), holes))
        .collect()
}

fn line_string(cut: &CutField, ring: &[Node]) -> LineString {
    ring.iter().chain(ring.first()).map(|&node| cut.coord(node)).collect()
}

/// Twice the signed area, µm²; positive counter-clockwise.
fn double_area(ring: &[Node]) -> i128 {
    let at = |k: usize| {
        let (node, origin) = (ring[k % ring.len()], ring[0]);
        (i128::from(node.east - origin.east), i128::from(node.north - origin.north))
    };
    (0..ring.len())
        .map(|k| {
            let ((a, b), (c, d)) = (at(k), at(k + 1));
            a * d - c * b
        })
        .sum()
}

/// Whether a ring lies inside another; they may touch at corners but share no edge. The middle of
/// the inner ring's first edge decides, by the number of times a ray to the east meets the outer.
fn surrounds(outer: &[Node], inner: &[Node]) -> bool {
    // In half micrometres, so that the middle of an edge is whole.
    let (px, py) =
        (i128::from(inner[0].east + inner[1].east), i128::from(inner[0].north + inner[1].north));
    let mut inside = false;
    for (k, &from) in outer.iter().enumerate() {
        let to = outer[(k + 1) % outer.len()];
        let (ax, ay) = (2 * i128::from(from.east), 2 * i128::from(from.north));
        let (bx, by) = (2 * i128::from(to.east), 2 * i128::from(to.north));
        if (ay > py) != (by > py) {
            let side = (bx - ax) * (py - ay) - (px - ax) * (by - ay);
            inside ^= (side > 0) == (by > ay);
        }
    }
    inside
}
