//! Borders between patches, taken out of the patches' rings and put back.
//!
//! A border runs between two places that must stay where they are: where more than two borders
//! meet, or where it meets the field's outline; a border without such a place closes on itself. Both
//! patches beside it run through the same list of places, one of them backwards, so whatever
//! becomes of the list, no gap and no overlap can arise.

use std::collections::HashMap;

use crate::cut::Node;

/// The border of two patches, as far as it has no place that must stay but its ends.
#[derive(Debug, Clone)]
pub(crate) struct Arc {
    /// The patch on its left.
    pub left: u32,
    /// The patch on its right.
    pub right: u32,
    /// Its places, both ends among them; the first is not repeated in a closed one.
    pub nodes: Vec<Node>,
    /// Whether its last place goes on to its first.
    pub is_closed: bool,
}

/// A piece of a ring.
enum Part {
    /// From here to the next part runs an edge of the field's outline.
    Outline(Node),
    /// A border, in its own direction or backwards.
    Border { arc: usize, forwards: bool },
}

/// All borders and what the rings are made of.
pub(crate) struct Arcs {
    pub borders: Vec<Arc>,
    /// For each patch its rings.
    rings: Vec<Vec<Vec<Part>>>,
    /// The edges of the field's outline.
    pub outline: Vec<(Node, Node)>,
}

impl Arcs {
    /// Takes the borders out of the rings of all patches.
    pub fn new(rings: &[Vec<Vec<Node>>]) -> Self {
        let edges = Edges::new(rings);
        let mut splitting = Splitting {
            edges: &edges,
            found: HashMap::new(),
            borders: Vec::new(),
            outline: Vec::new(),
        };
        let parts = rings.iter().enumerate().map(|(patch, rings)| {
            rings.iter().map(|ring| splitting.ring(patch as u32, ring)).collect()
        });
        let rings = parts.collect();
        Arcs { borders: splitting.borders, rings, outline: splitting.outline }
    }

    /// The rings of all patches from the borders as they are now.
    pub fn rings(&self) -> Vec<Vec<Vec<Node>>> {
        let ring = |parts: &Vec<Part>| parts.iter().flat_map(|part| self.nodes(part)).collect();
        self.rings.iter().map(|rings| rings.iter().map(ring).collect()).collect()
    }

    /// The places of a part, but for the last where another part goes on from there.
    fn nodes(&self, part: &Part) -> Vec<Node> {
        match *part {
            Part::Outline(from) => vec![from],
            Part::Border { arc, forwards } => {
                let arc = &self.borders[arc];
                let mut nodes = arc.nodes.clone();
                if !forwards {
                    nodes.reverse();
                }
                if !arc.is_closed {
                    nodes.pop();
                }
                nodes
            }
        }
    }
}

/// The edges of all rings.
struct Edges {
    /// The patch on the left of each.
    left_of: HashMap<(Node, Node), u32>,
    /// How many edges leave each place; more than they are where it belongs to the outline.
    leaving: HashMap<Node, u8>,
}

impl Edges {
    /// Counts as many edges as make a place stay.
    const OUTLINE: u8 = 3;

    fn new(rings: &[Vec<Vec<Node>>]) -> Self {
        let mut edges = Edges { left_of: HashMap::new(), leaving: HashMap::new() };
        let all = || {
            let of_patch = |(patch, rings)| std::iter::repeat(patch as u32).zip(rings);
            let patches = rings.iter().enumerate().flat_map(of_patch);
            patches.flat_map(|(patch, ring)| sides(ring).map(move |side| (patch, side)))
        };
        for (patch, side) in all() {
            edges.left_of.insert(side, patch);
        }
        for (_, (from, to)) in all() {
            let count = match edges.right_of(from, to) {
                Some(_) => 1,
                None => Self::OUTLINE,
            };
            // An outline's edge has nobody beside it to count its other end.
            let ends = [from, to];
            for end in &ends[..if count == 1 { 1 } else { 2 }] {
                let leaving = edges.leaving.entry(*end).or_default();
                *leaving = leaving.saturating_add(count);
            }
        }
        edges
    }

    /// The patch on the right of an edge; none along the field's outline.
    fn right_of(&self, from: Node, to: Node) -> Option<u32> {
        self.left_of.get(&(to, from)).copied()
    }

    /// Whether a place must stay.
    fn is_fixed(&self, node: Node) -> bool {
        self.leaving[&node] != 2
    }
}

/// The edges of a ring.
fn sides(ring: &[Node]) -> impl Iterator<Item = (Node, Node)> {
    ring.iter().copied().zip(ring.iter().copied().cycle().skip(1))
}

/// Splitting in progress.
struct Splitting<'a> {
    edges: &'a Edges,
    /// Borders already met from one side, by the first edge that the other side runs along.
    found: HashMap<(Node, Node), usize>,
    borders: Vec<Arc>,
    outline: Vec<(Node, Node)>,
}

impl Splitting<'_> {
    fn ring(&mut self, patch: u32, ring: &[Node]) -> Vec<Part> {
        let mut ring = ring.to_vec();
        let Some(start) = ring.iter().position(|&node| self.edges.is_fixed(node)) else {
            // Both sides start at the same place.
            let least = (0..ring.len()).min_by_key(|&k| ring[k]).expect("a ring has places");
            ring.rotate_left(least);
            return vec![self.border(patch, ring, true)];
        };
        ring.rotate_left(start);
        ring.push(ring[0]);
        let mut parts = Vec::new();
        let mut nodes = vec![ring[0]];
        for &node in &ring[1..] {
            nodes.push(node);
            if self.edges.is_fixed(node) {
                let part = std::mem::replace(&mut nodes, vec![node]);
                parts.push(match self.edges.right_of(part[0], part[1]) {
                    Some(_) => self.border(patch, part, false),
                    None => self.outline_edge(part[0], part[1]),
                });
            }
        }
        parts
    }

    fn outline_edge(&mut self, from: Node, to: Node) -> Part {
        self.outline.push((from, to));
        Part::Outline(from)
    }

    /// A border of a patch on its left, met for the first or the second time.
    fn border(&mut self, patch: u32, nodes: Vec<Node>, is_closed: bool) -> Part {
        if let Some(&arc) = self.found.get(&(nodes[0], nodes[1])) {
            return Part::Border { arc, forwards: false };
        }
        let arc = self.borders.len();
        let last = nodes[nodes.len() - 1];
        let backwards = match is_closed {
            true => (nodes[0], last),
            false => (last, nodes[nodes.len() - 2]),
        };
        self.found.insert(backwards, arc);
        let right = self.edges.right_of(nodes[0], nodes[1]).expect("a border has two sides");
        self.borders.push(Arc { left: patch, right, nodes, is_closed });
        Part::Border { arc, forwards: true }
    }
}
