//! Which places lie in a triangle: the places of all borders, sorted into the cells of the grid.

use crate::cut::{CutField, Node};

/// New lines keep at least this far from every other place, micrometres: ten times what positions are
/// rounded to in files.
const LEAST_ROOM_UM: i128 = 1_000;

/// Lines that are straight in the plane bend in degrees: one of length L by at most L² tan(latitude) / 8R,
/// the sagitta of a parallel, R being the earth's radius. New lines keep L² over this farther from every
/// other place, micrometres: 10 000 km, which is 8R / tan(latitude) at 79°.
const BEND_UM: i128 = 10_000_000_000_000;

/// Places that may be struck out, by the cell they lie in.
pub(crate) struct NodeIndex {
    nodes: Vec<Node>,
    is_living: Vec<bool>,
    /// The nodes by cell, row by row from the south.
    by_cell: Vec<u32>,
    /// Where each cell's nodes begin, and an end.
    starts: Vec<u32>,
    side: i64,
    columns: usize,
    rows: usize,
}

impl NodeIndex {
    pub fn new(cut: &CutField, nodes: Vec<Node>) -> Self {
        let grid = cut.grid();
        let mut index = NodeIndex {
            is_living: vec![true; nodes.len()],
            nodes,
            by_cell: Vec::new(),
            starts: vec![0; grid.cells() + 1],
            side: cut.side(),
            columns: grid.columns(),
            rows: grid.rows(),
        };
        // A counting sort.
        let cells: Vec<usize> = index.nodes.iter().map(|&node| index.cell(node)).collect();
        for &cell in &cells {
            index.starts[cell + 1] += 1;
        }
        for cell in 0..grid.cells() {
            index.starts[cell + 1] += index.starts[cell];
        }
        let mut next = index.starts.clone();
        index.by_cell = vec![0; cells.len()];
        for (node, &cell) in cells.iter().enumerate() {
            index.by_cell[next[cell] as usize] = node as u32;
            next[cell] += 1;
        }
        index
    }

    pub fn at(&self, node: u32) -> Node {
        self.nodes[node as usize]
    }

    pub fn is_living(&self, node: u32) -> bool {
        self.is_living[node as usize]
    }

    pub fn strike_out(&mut self, node: u32) {
        self.is_living[node as usize] = false;
    }

    /// Whether a living place other than the corners lies in the triangle, on its rim, or so close to
    /// the side from `u` to `w` that rounding could bring it across.
    pub fn is_occupied(&self, u: Node, v: Node, w: Node) -> bool {
        let room = LEAST_ROOM_UM + squared_length(u, w) / BEND_UM;
        let room = i64::try_from(room).unwrap_or(i64::MAX / 4).min(i64::MAX / 4);
        let is_in_the_way = |node: Node| {
            ![u, v, w].contains(&node)
                && (is_in_triangle(node, [u, v, w]) || is_beside(node, u, w, room))
        };
        let norths = [u.north, v.north, w.north];
        let first = self.row(norths[0].min(norths[1]).min(norths[2]).saturating_sub(room));
        let last = self.row(norths[0].max(norths[1]).max(norths[2]).saturating_add(room));
        (first..=last).any(|row| {
            let (west, east) = self.extent([u, v, w], row, room);
            let row = row * self.columns;
            let nodes = self.starts[row + self.column(west)] as usize
                ..self.starts[row + self.column(east) + 1] as usize;
            let living = self.by_cell[nodes].iter().filter(|&&node| self.is_living(node));
            living.map(|&node| self.at(node)).any(is_in_the_way)
        })
    }

    /// The western and eastern ends of a triangle, with so much room around it, within a row of cells.
    fn extent(&self, corners: [Node; 3], row: usize, room: i64) -> (i64, i64) {
        let south = (row as i64 * self.side).saturating_sub(room);
        let north = ((row as i64 + 1) * self.side).saturating_add(room);
        let mut ends = (i64::MAX, i64::MIN);
        let mut reach = |east: i64| ends = (ends.0.min(east), ends.1.max(east));
        for (k, &from) in corners.iter().enumerate() {
            let to = corners[(k + 1) % 3];
            let (low, high) = if from.north <= to.north { (from, to) } else { (to, from) };
            if high.north < south || low.north > north {
                continue;
            }
            for cut in [low.north.max(south), high.north.min(north)] {
                reach(east_at(low, high, cut));
            }
        }
        // One more for the rounding of where a side is cut.
        let (west, east) = (ends.0.saturating_sub(room + 1), ends.1.saturating_add(room + 1));
        (west, east.max(west))
    }

    fn cell(&self, node: Node) -> usize {
        self.row(node.north) * self.columns + self.column(node.east)
    }

    fn column(&self, east: i64) -> usize {
        east.div_euclid(self.side).clamp(0, self.columns as i64 - 1) as usize
    }

    fn row(&self, north: i64) -> usize {
        north.div_euclid(self.side).clamp(0, self.rows as i64 - 1) as usize
    }
}

/// How far east a line is at a place between its ends' norths, to a micrometre: in floating point, which
/// is far faster than the exact division.
fn east_at(low: Node, high: Node, north: i64) -> i64 {
    let (run, rise) = ((high.east - low.east) as f64, (high.north - low.north) as f64);
    match rise > 0.0 {
        true => low.east + (run * (north - low.north) as f64 / rise) as i64,
        false => low.east,
    }
}

fn vector(a: Node, b: Node) -> (i128, i128) {
    (i128::from(b.east - a.east), i128::from(b.north - a.north))
}

/// Square of the distance of two places, µm².
pub(crate) fn squared_length(a: Node, b: Node) -> i128 {
    let (run, rise) = vector(a, b);
    run * run + rise * rise
}

/// Twice the area of a triangle, µm²: positive where it runs counter-clockwise.
pub(crate) fn double_area(a: Node, b: Node, c: Node) -> i128 {
    let ((run, rise), (east, north)) = (vector(a, b), vector(a, c));
    run * north - east * rise
}

/// How far along the line from `a` to `b` a place is, in lengths of the line times its length.
fn along(place: Node, a: Node, b: Node) -> i128 {
    let ((run, rise), (east, north)) = (vector(a, b), vector(a, place));
    run * east + rise * north
}

/// Whether a place lies in a triangle or on its rim; that of three places in line is the line.
fn is_in_triangle(place: Node, corners: [Node; 3]) -> bool {
    let is_between = |of: fn(Node) -> i64| {
        let [a, b, c] = corners.map(of);
        (a.min(b).min(c)..=a.max(b).max(c)).contains(&of(place))
    };
    if !is_between(|node| node.east) || !is_between(|node| node.north) {
        return false;
    }
    let [a, b, c] = corners;
    let sides = [double_area(a, b, place), double_area(b, c, place), double_area(c, a, place)];
    sides.iter().all(|&side| side >= 0) || sides.iter().all(|&side| side <= 0)
}

/// Whether a place is at most so far from a line, to its side: those beyond its ends were as near to
/// the ends before there was a line.
fn is_beside(place: Node, a: Node, b: Node, distance: i64) -> bool {
    (1..squared_length(a, b)).contains(&along(place, a, b)) && is_within(place, a, b, distance)
}

/// Whether a place is at most so far from the line between two others.
pub(crate) fn is_within(place: Node, a: Node, b: Node, distance: i64) -> bool {
    let distance = i128::from(distance);
    let (along, whole) = (along(place, a, b), squared_length(a, b));
    if along <= 0 {
        return squared_length(a, place) <= distance * distance;
    }
    if along >= whole {
        return squared_length(b, place) <= distance * distance;
    }
    let across = double_area(a, b, place).abs();
    match across.checked_mul(across).zip((distance * distance).checked_mul(whole)) {
        Some((across, most)) => across <= most,
        // On lines of tens of kilometres: in floating point.
        None => across as f64 <= distance as f64 * (whole as f64).sqrt(),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::zoning_tests::cut;

    /// Places of a square of 100 m, some of them on lines through others.
    fn places(count: std::ops::Range<usize>) -> impl Strategy<Value = Vec<Node>> {
        let coordinate = || {
            prop_oneof![
                3_000_000..100_000_000_i64,
                (1..20_i64).prop_map(|k| k * 5_000_000),
                (1..20_i64).prop_map(|k| k * 5_000_000 + 500),
            ]
        };
        let node = (coordinate(), coordinate()).prop_map(|(east, north)| Node { east, north });
        prop::collection::vec(node, count)
    }

    proptest! {
        /// The search by cells finds what looking at every place does.
        #[test]
        fn no_place_in_the_way_is_missed(nodes in places(0..60), corners in places(3..4), struck in 0..60_u32) {
            let (_, cut) = cut(vec![vec![(1.0, 1.0), (119.0, 1.0), (119.0, 119.0), (1.0, 119.0)]]);
            let mut index = NodeIndex::new(&cut, nodes.clone());
            let mut living = nodes;
            if (struck as usize) < living.len() {
                index.strike_out(struck);
                living.remove(struck as usize);
            }
            let [u, v, w] = [corners[0], corners[1], corners[2]];
            let room = (1_000 + squared_length(u, w) / 10_000_000_000_000) as i64;
            let expected = living.iter().filter(|node| !corners.contains(node)).any(|&node| {
                is_in_triangle(node, [u, v, w]) || is_beside(node, u, w, room)
            });
            prop_assert_eq!(index.is_occupied(u, v, w), expected);
        }
    }

    /// A line half a millimetre before a grid line, and a place on that.
    #[test]
    fn a_place_too_near_lies_in_another_cell() {
        let (_, cut) = cut(vec![vec![(1.0, 1.0), (119.0, 1.0), (119.0, 119.0), (1.0, 119.0)]]);
        let upright =
            [(19_999_500, 10_000_000), (15_000_000, 20_000_000), (19_999_500, 30_000_000)];
        for (off, is_occupied) in [(0, true), (600, false)] {
            let place = (20_000_000 + off, 21_000_000);
            let node = |(east, north)| Node { east, north };
            let turned = |(east, north)| Node { east: north, north: east };
            let [u, v, w] = upright.map(node);
            assert_eq!(NodeIndex::new(&cut, vec![node(place)]).is_occupied(u, v, w), is_occupied);
            let [u, v, w] = upright.map(turned);
            assert_eq!(NodeIndex::new(&cut, vec![turned(place)]).is_occupied(u, v, w), is_occupied);
        }
    }

    #[test]
    fn places_on_the_rim_are_in_the_triangle() {
        let node = |(east, north)| Node { east, north };
        let triangle = [(0, 0), (8, 0), (0, 8)].map(node);
        for (place, is_in) in [
            ((4, 4), true),
            ((0, 4), true),
            ((4, 0), true),
            ((2, 2), true),
            ((5, 4), false),
            ((-1, 0), false),
            ((9, 0), false),
        ] {
            assert_eq!(is_in_triangle(node(place), triangle), is_in, "{place:?}");
        }
        let line = [(0, 0), (2, 2), (6, 6)].map(node);
        assert!(is_in_triangle(node((4, 4)), line) && !is_in_triangle(node((7, 7)), line));
        // 3-4-5: (4, 3) is five from the end, and three from the line.
        let [a, b] = [(0, 0), (10, 0)].map(node);
        assert!(is_within(node((4, 3)), a, b, 3) && !is_within(node((4, 3)), a, b, 2));
        assert!(is_within(node((-4, 3)), a, b, 5) && !is_within(node((-4, 3)), a, b, 4));
        assert!(is_within(node((14, -3)), a, b, 5) && !is_within(node((14, -3)), a, b, 4));
    }
}
