//! Borders without the steps of the grid's cells, by striking out places.
//!
//! A border traced along cells is a staircase. Here its corners are cut, by turns on one side and the
//! other, which makes a slanted staircase the straight line that it stands for. Then places are struck
//! out in the order of the triangle that each makes with its neighbours, the smallest first
//! (Visvalingam and Whyatt 1993, The Cartographic Journal 30:46–51, from memory), as long as that
//! triangle is no larger than a quarter of the square of the tolerance: a quarter of a cell, where
//! the tolerance is its side. Going on until nothing may go would take ground from every round zone,
//! since all chords lie inside it.
//!
//! A place v between its neighbours u and w is struck out only where
//!
//! 1. no other living place of any border or of the field's outline lies in the triangle u v w, on
//!    its rim, or within a millimetre of the line u w;
//! 2. u w is no edge yet, and a border that closes on itself, or starts where it ends, keeps four
//!    places;
//! 3. each place of the first staircase between u and w lies within the tolerance of the line u w.
//!
//! **Nothing crosses.** Let all edges meet in common places only, as those of the cut field do. An
//! edge that meets the new edge u w anywhere else has, by (1), no end in the triangle but u, v or w.
//! If it has none of them it enters the triangle and leaves it, and a straight line cannot do both
//! through u w: it would cross u v or v w before. An edge from u or w that runs inside the triangle
//! leaves it through the side opposite, and would cross that before; one along u w either ends on
//! it, which (1) forbids, or runs through w or u, or is u w itself, which (2) forbids. v has no other
//! edges, as no end of a border is struck out. So edges meet in common places only afterwards too, and
//! every ring stays simple. A ring that lies in the triangle would have places there: so none does,
//! and no island, however small, changes to the other side of a border.
//!
//! **No border moves farther than the tolerance.** The old border from u to w consists of straight
//! lines, and the distance from a straight line u w is a convex function: on each of them it is
//! largest at an end, which (3) bounds. The other way round, the old border runs from u to w without a
//! gap, so its feet on the line u w cover all of it: each place of the new edge is a foot of, or
//! between, old places no farther than that.
//!
//! Places are whole micrometres and every test is exact; ties go by the places' order. The
//! field's outline, and places where three borders meet, stay as they are.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashSet};

use crate::border_arcs::Arcs;
use crate::border_index::{NodeIndex, double_area, is_within};
use crate::corner_cuts::with_cuts;
use crate::cut::{CutField, Node};

/// A border that closes on itself, or starts where it ends, keeps so many places.
const LEAST_OF_RING: u32 = 4;

/// How often all places are tried again. What one place keeps from going may go after it; a few rounds
/// leave nothing in practice.
const ROUNDS: usize = 8;

/// No place before the first or after the last.
const NONE: u32 = u32::MAX;

/// Smooths all borders by at most so many micrometres. Returns for each border the edges that it has
/// then, each with the old places that it stands for between its two ends.
pub(crate) fn smooth(cut: &CutField, arcs: &mut Arcs, tolerance_um: i64) -> Vec<Vec<Vec<Node>>> {
    let mut smoothing = Smoothing::new(cut, arcs, tolerance_um);
    if tolerance_um > 0 {
        smoothing.cut_corners();
        smoothing.simplify();
    }
    let edges: Vec<Vec<Vec<Node>>> =
        smoothing.lines.iter().map(|line| smoothing.edges(line)).collect();
    for (arc, edges) in arcs.borders.iter_mut().zip(&edges) {
        arc.nodes = edges.iter().map(|old| old[0]).collect();
        if !arc.is_closed {
            arc.nodes.extend(edges.last().and_then(|old| old.last()));
        }
    }
    edges
}

/// A border's places among all: from the first to before the last.
#[derive(Clone, Copy)]
struct Line {
    first: u32,
    end: u32,
    living: u32,
    /// Whether it closes on itself or starts where it ends.
    is_ring: bool,
    is_closed: bool,
}

/// A place of a border.
#[derive(Clone, Copy)]
struct Place {
    before: u32,
    after: u32,
    line: u32,
    /// Whether it is of the first staircase, not put in between.
    is_old: bool,
}

struct Smoothing {
    lines: Vec<Line>,
    places: Vec<Place>,
    /// All places, those of the outline behind those of the borders.
    index: NodeIndex,
    /// Edges between places that both stay: of the outline, and borders of one edge.
    bare: HashSet<(Node, Node)>,
    tolerance: i64,
}

impl Smoothing {
    fn new(cut: &CutField, arcs: &Arcs, tolerance: i64) -> Self {
        let (mut lines, mut places, mut nodes) = (Vec::new(), Vec::new(), Vec::new());
        let mut bare: HashSet<(Node, Node)> =
            arcs.outline.iter().map(|&(a, b)| in_order(a, b)).collect();
        for arc in &arcs.borders {
            let (first, line) = (nodes.len() as u32, lines.len() as u32);
            for (node, is_old) in with_cuts(arc, tolerance) {
                let here = nodes.len() as u32;
                places.push(Place { before: here.wrapping_sub(1), after: here + 1, line, is_old });
                nodes.push(node);
            }
            let end = nodes.len() as u32;
            let (start, last) = match arc.is_closed {
                true => (end - 1, first),
                false => (NONE, NONE),
            };
            places[first as usize].before = start;
            places[end as usize - 1].after = last;
            let is_ring = arc.is_closed || arc.nodes[0] == arc.nodes[arc.nodes.len() - 1];
            let is_closed = arc.is_closed;
            lines.push(Line { first, end, living: end - first, is_ring, is_closed });
            if end - first == 2 {
                bare.insert(in_order(arc.nodes[0], arc.nodes[1]));
            }
        }
        nodes.extend(arcs.outline.iter().map(|&(from, _)| from));
        let index = NodeIndex::new(cut, nodes);
        Smoothing { lines, places, index, bare, tolerance }
    }

    /// Strikes out the corners of the staircase.
    fn cut_corners(&mut self) {
        for place in 0..self.places.len() as u32 {
            if self.places[place as usize].is_old && self.may_go(place) {
                self.strike_out(place);
            }
        }
    }

    /// Strikes out places in the order of their triangles.
    fn simplify(&mut self) {
        for _ in 0..ROUNDS {
            let places = 0..self.places.len() as u32;
            let mut waiting: BinaryHeap<Reverse<(i128, u32)>> =
                places.filter_map(|place| self.small(place)).collect();
            let mut is_done = true;
            while let Some(small) = waiting.pop() {
                let Reverse((_, turn)) = small;
                let place = turn.reverse_bits();
                // Others may have gone since, and its triangle with them.
                let is_current = self.small(place) == Some(small);
                if !is_current || !self.may_go(place) {
                    continue;
                }
                let Place { before, after, .. } = self.places[place as usize];
                self.strike_out(place);
                is_done = false;
                waiting.extend([before, after].into_iter().filter_map(|place| self.small(place)));
            }
            if is_done {
                break;
            }
        }
    }

    /// A living place between two others whose triangle is small enough: twice its area, and the place's
    /// number with its bits reversed. By that order, of equals those far apart go one after another:
    /// a long straight line that grew from one end would be looked at as a whole for each place.
    fn small(&self, place: u32) -> Option<Reverse<(i128, u32)>> {
        let (u, v, w) = self.corners(place)?;
        let area = double_area(u, v, w).abs();
        let most = i128::from(self.tolerance) * i128::from(self.tolerance);
        (2 * area <= most).then_some(Reverse((area, place.reverse_bits())))
    }

    /// A living place with the ones before and after it; none for the end of a border.
    fn corners(&self, place: u32) -> Option<(Node, Node, Node)> {
        let Place { before, after, .. } = self.places[place as usize];
        let is_between = before != NONE && after != NONE && self.index.is_living(place);
        is_between.then(|| (self.index.at(before), self.index.at(place), self.index.at(after)))
    }

    /// Whether a place may be struck out: see the module.
    fn may_go(&self, place: u32) -> bool {
        let Some((u, v, w)) = self.corners(place) else { return false };
        self.keeps_its_ring(place, u, w)
            && self.is_near(place, u, w)
            && !self.index.is_occupied(u, v, w)
    }

    /// Whether there is no edge from u to w yet and enough places are left.
    fn keeps_its_ring(&self, place: u32, u: Node, w: Node) -> bool {
        let line = &self.lines[self.places[place as usize].line as usize];
        // The place where a border starts and ends counts twice.
        let twice = u32::from(line.is_ring && !line.is_closed);
        match line.is_ring {
            true => line.living - twice > LEAST_OF_RING,
            false => line.living > 3 || !self.bare.contains(&in_order(u, w)),
        }
    }

    /// Whether all that the line from u to w would stand for lies within the tolerance.
    fn is_near(&self, place: u32, u: Node, w: Node) -> bool {
        let Place { before, after, .. } = self.places[place as usize];
        self.between(before, after)
            .filter(|&old| self.places[old as usize].is_old)
            .all(|old| is_within(self.index.at(old), u, w, self.tolerance))
    }

    /// The places between two of a border, living or not.
    fn between(&self, from: u32, to: u32) -> impl Iterator<Item = u32> + use<> {
        let Line { first, end, .. } = self.lines[self.places[from as usize].line as usize];
        let (ahead, around) = match from < to {
            true => (from + 1..to, 0..0),
            false => (from + 1..end, first..to),
        };
        ahead.chain(around)
    }

    fn strike_out(&mut self, place: u32) {
        let Place { before, after, line, .. } = self.places[place as usize];
        self.places[before as usize].after = after;
        self.places[after as usize].before = before;
        self.index.strike_out(place);
        let line = &mut self.lines[line as usize];
        line.living -= 1;
        if line.living == 2 {
            self.bare.insert(in_order(self.index.at(before), self.index.at(after)));
        }
    }

    /// The edges that a border has now, each with the old places that it stands for.
    fn edges(&self, line: &Line) -> Vec<Vec<Node>> {
        let living = (line.first..line.end).filter(|&place| self.index.is_living(place));
        living
            .filter(|&place| self.places[place as usize].after != NONE)
            .map(|from| {
                let to = self.places[from as usize].after;
                let old =
                    self.between(from, to).filter(|&place| self.places[place as usize].is_old);
                let stands_for = std::iter::once(from).chain(old).chain(std::iter::once(to));
                stands_for.map(|place| self.index.at(place)).collect()
            })
            .collect()
    }
}

fn in_order(a: Node, b: Node) -> (Node, Node) {
    (a.min(b), a.max(b))
}
