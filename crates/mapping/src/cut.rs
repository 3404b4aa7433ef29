//! A field cut along the lines of a grid, in whole micrometres.
//!
//! Places are whole numbers of micrometres from the grid's south-west corner. Grid lines lie on even
//! numbers and the field's corners are rounded to odd ones, so a corner never lies on a grid line and
//! no edge runs along one: every meeting of the two is a plain crossing. A crossing is exact along
//! the grid line's axis and rounded to an odd number along the other, downwards, which keeps the order
//! of the crossings on each line. All that follows is exact arithmetic on these numbers.

use std::collections::{BTreeMap, HashSet};

use geo::{Coord, CoordsIter, LineString, MultiPolygon};
use geostat::Grid;
use survey::Field;

/// Micrometres in a metre: the lattice's unit, far finer than any position is known.
pub(crate) const PER_M: f64 = 1e6;

/// Corners so close to another edge are taken to touch it, micrometres: twice the rounding.
const TOUCHING: i64 = 4;

/// A place on the lattice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Node {
    pub east: i64,
    pub north: i64,
}

impl Node {
    /// Whether the place is where two grid lines cross.
    pub fn is_grid_crossing(self) -> bool {
        self.east % 2 == 0 && self.north % 2 == 0
    }
}

/// A piece of the field's outline within one cell, the field on its left.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Piece {
    pub from: Node,
    pub to: Node,
    pub cell: usize,
}

/// A field cut along the lines of a grid.
#[derive(Debug, Clone)]
pub(crate) struct CutField {
    grid: Grid,
    /// Side of a cell, micrometres.
    side: i64,
    /// The outline in pieces, in no particular order.
    pub pieces: Vec<Piece>,
    /// Where the outline turns.
    pub corners: HashSet<Node>,
    /// For each line between columns, from the west, where the outline crosses it, increasing.
    upright: Vec<Vec<i64>>,
    /// The same for each line between rows, from the south.
    level: Vec<Vec<i64>>,
    /// Twice the area of the field in each cell that its outline runs through, µm².
    partial: BTreeMap<usize, i128>,
}

impl CutField {
    pub fn new(field: &Field, grid: Grid) -> Self {
        CutField::of_polygons(field.polygons(), grid)
    }

    /// The ground in polygons as valid as a field's, which lie strictly inside the grid.
    pub fn of_polygons(polygons: &MultiPolygon, grid: Grid) -> Self {
        let side = (grid.cell_m() * PER_M).round() as i64;
        debug_assert!(side % 2 == 0, "a cell is a whole number of tenths of a millimetre");
        let mut cut = CutField {
            grid,
            side,
            pieces: Vec::new(),
            corners: HashSet::new(),
            upright: vec![Vec::new(); grid.columns() + 1],
            level: vec![Vec::new(); grid.rows() + 1],
            partial: BTreeMap::new(),
        };
        for ring in touching(&lattice_rings(polygons, grid)) {
            cut.ring(&ring);
        }
        for line in cut.upright.iter_mut().chain(&mut cut.level) {
            line.sort_unstable();
        }
        cut.measure();
        cut
    }

    /// The grid.
    pub fn grid(&self) -> Grid {
        self.grid
    }

    /// Side of a cell, micrometres.
    pub fn side(&self) -> i64 {
        self.side
    }

    /// A lattice place in the plane, metres.
    pub fn coord(&self, node: Node) -> Coord {
        Coord {
            x: self.grid.west_m() + node.east as f64 / PER_M,
            y: self.grid.south_m() + node.north as f64 / PER_M,
        }
    }

    /// Area of the field in a cell, as a share of the cell: 0 outside, 1 inside, exact.
    pub fn share(&self, cell: usize) -> f64 {
        let whole = 2 * i128::from(self.side) * i128::from(self.side);
        self.double_area(cell) as f64 / whole as f64
    }

    /// Whether any part of a cell is in the field.
    pub fn is_in_field(&self, cell: usize) -> bool {
        self.partial.contains_key(&cell) || self.double_area(cell) > 0
    }

    /// [`CutField::is_in_field`] of each cell of a row: a share of the time, since the outline's crossings
    /// with the row's southern line tell of whole stretches of cells.
    pub fn row_in_field(&self, row: usize, in_field: &mut [bool]) {
        let columns = self.grid.columns();
        let cells = row * columns..(row + 1) * columns;
        let line = &self.level[self.grid.rows() - 1 - row];
        in_field.fill(false);
        // A cell that the outline does not run through is in the field where its corner is. The line's
        // western end is outside.
        for stretch in line.chunks_exact(2) {
            let first_after = |at: i64| (at.div_euclid(self.side) + 1).clamp(0, columns as i64);
            in_field[first_after(stretch[0]) as usize..first_after(stretch[1]) as usize].fill(true);
        }
        for (cell, _) in self.partial.range(cells.clone()) {
            in_field[cell - cells.start] = true;
        }
    }

    /// Twice the area of the field in a cell, µm².
    pub fn double_area(&self, cell: usize) -> i128 {
        if let Some(&area) = self.partial.get(&cell) {
            return area;
        }
        let (column, row) = self.column_row(cell);
        let line = &self.upright[column];
        match is_inside(line, row as i64 * self.side) {
            true => 2 * i128::from(self.side) * i128::from(self.side),
            false => 0,
        }
    }

    /// The parts of the edge between a cell and its eastern neighbour that lie in the field.
    pub fn eastern_edge(&self, cell: usize) -> impl Iterator<Item = (Node, Node)> {
        let (column, row) = self.column_row(cell);
        let east = (column as i64 + 1) * self.side;
        let from = row as i64 * self.side;
        inside_parts(&self.upright[column + 1], from, from + self.side)
            .map(move |(a, b)| (Node { east, north: a }, Node { east, north: b }))
    }

    /// The parts of the edge between a cell and its northern neighbour that lie in the field.
    pub fn northern_edge(&self, cell: usize) -> impl Iterator<Item = (Node, Node)> {
        let (column, row) = self.column_row(cell);
        let north = (row as i64 + 1) * self.side;
        let from = column as i64 * self.side;
        inside_parts(&self.level[row + 1], from, from + self.side)
            .map(move |(a, b)| (Node { east: a, north }, Node { east: b, north }))
    }

    /// The crossing of grid lines that an outline's crossing with one of them is so close to that
    /// rounding may tell on which side it passes.
    pub fn beside(&self, crossing: Node) -> Option<Node> {
        let nearest = |at: i64| (at + self.side / 2).div_euclid(self.side) * self.side;
        let corner = Node { east: nearest(crossing.east), north: nearest(crossing.north) };
        let off = (corner.east - crossing.east).abs() + (corner.north - crossing.north).abs();
        (0 < off && off <= TOUCHING).then_some(corner)
    }

    /// Column from the west and row from the south of a cell, which is numbered as in a raster.
    fn column_row(&self, cell: usize) -> (usize, usize) {
        (cell % self.grid.columns(), self.grid.rows() - 1 - cell / self.grid.columns())
    }

    fn cell(&self, column: i64, row: i64) -> usize {
        (self.grid.rows() - 1 - row as usize) * self.grid.columns() + column as usize
    }

    /// Takes in one ring of the outline: cuts it where it crosses grid lines.
    fn ring(&mut self, corners: &[Node]) {
        let mut nodes = Vec::new();
        for (k, &from) in corners.iter().enumerate() {
            let to = corners[(k + 1) % corners.len()];
            let mut crossings = crossings(from, to, self.side);
            crossings.sort_by(|a, b| a.along.cmp(&b.along));
            nodes.push(from);
            self.corners.insert(from);
            for crossing in crossings {
                match crossing.line {
                    Line::Upright(k) => self.upright[k].push(crossing.node.north),
                    Line::Level(k) => self.level[k].push(crossing.node.east),
                }
                nodes.push(crossing.node);
            }
        }
        let nodes = self.without_spikes(nodes);
        for (k, &from) in nodes.iter().enumerate() {
            self.piece(from, nodes[(k + 1) % nodes.len()]);
        }
    }

    /// A ring without places it goes to and straight back from, which enclose nothing: a corner a
    /// micrometre beyond a grid line, for instance, whose two edges cross it at one rounded place.
    /// That place is the corner then.
    fn without_spikes(&mut self, mut nodes: Vec<Node>) -> Vec<Node> {
        // Twice, the second time from the middle, for a spike where the ring closes.
        for _ in 0..2 {
            let mut kept: Vec<Node> = Vec::with_capacity(nodes.len());
            for node in nodes {
                match kept.as_slice() {
                    [.., before, _] if *before == node => {
                        self.corners.insert(node);
                        kept.pop();
                    }
                    _ => kept.push(node),
                }
            }
            let half = kept.len() / 2;
            kept.rotate_left(half);
            nodes = kept;
        }
        nodes
    }

    fn piece(&mut self, from: Node, to: Node) {
        // The middle of a piece is inside its cell: only its ends can lie on grid lines.
        let column = (from.east + to.east).div_euclid(2 * self.side);
        let row = (from.north + to.north).div_euclid(2 * self.side);
        let cell = self.cell(column, row);
        self.pieces.push(Piece { from, to, cell });
        let (west, south) = (column * self.side, row * self.side);
        let at = |node: Node| (i128::from(node.east - west), i128::from(node.north - south));
        let ((a, b), (c, d)) = (at(from), at(to));
        *self.partial.entry(cell).or_default() += a * d - c * b;
    }

    /// Completes the areas of the cells that the outline runs through, by Green's theorem from
    /// each cell's south-west corner: only its eastern and northern edges add to the pieces.
    fn measure(&mut self) {
        let length = |parts: &mut dyn Iterator<Item = (Node, Node)>| -> i64 {
            parts.map(|(a, b)| b.east - a.east + b.north - a.north).sum()
        };
        let cells: Vec<usize> = self.partial.keys().copied().collect();
        for cell in cells {
            let inside =
                length(&mut self.eastern_edge(cell)) + length(&mut self.northern_edge(cell));
            let area = self.partial.get_mut(&cell).expect("listed above");
            *area += i128::from(self.side) * i128::from(inside);
        }
    }
}

/// Whether a place on a grid line is in the field, from the crossings on that line.
fn is_inside(crossings: &[i64], at: i64) -> bool {
    crossings.partition_point(|&c| c <= at) % 2 == 1
}

/// The parts of `from..to` on a grid line that are in the field.
fn inside_parts(crossings: &[i64], from: i64, to: i64) -> impl Iterator<Item = (i64, i64)> {
    let first = crossings.partition_point(|&c| c <= from);
    let within = &crossings[first..];
    let within = &within[..within.partition_point(|&c| c < to)];
    let ends = std::iter::once(from).chain(within.iter().copied()).chain(std::iter::once(to));
    let next = ends.clone().skip(1);
    ends.zip(next)
        .enumerate()
        .filter(move |(k, (a, b))| (first + k) % 2 == 1 && a < b)
        .map(|(_, part)| part)
}

enum Line {
    Upright(usize),
    Level(usize),
}

struct Crossing {
    along: Along,
    line: Line,
    node: Node,
}

/// How far along an edge a crossing is: the exact fraction, then what comes first where an edge
/// goes exactly through a crossing of grid lines.
#[derive(PartialEq, Eq)]
struct Along {
    part: i128,
    whole: i128,
    then: u8,
}

impl Ord for Along {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        let (a, b) = (self.part * other.whole, other.part * self.whole);
        a.cmp(&b).then(self.then.cmp(&other.then))
    }
}

impl PartialOrd for Along {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

/// Where an edge between two field corners crosses grid lines, in no order.
///
/// An edge that goes exactly through a crossing of grid lines is taken as if it lay a trifle
/// farther north: it meets the upright line north of the crossing, and the level line west of it
/// where the edge rises to the east, else east of it.
fn crossings(from: Node, to: Node, side: i64) -> Vec<Crossing> {
    let (run, rise) = (to.east - from.east, to.north - from.north);
    let rises_eastwards = (run > 0) == (rise > 0);
    let mut found = Vec::new();
    for k in lines_between(from.east, to.east, side) {
        let east = k * side;
        let (part, whole) = fraction(east - from.east, run);
        let north = odd_below(from.north, rise, part, whole, false);
        let along = Along { part, whole, then: u8::from(rise > 0) };
        let node = Node { east, north };
        found.push(Crossing { along, line: Line::Upright(k as usize), node });
    }
    for k in lines_between(from.north, to.north, side) {
        let north = k * side;
        let (part, whole) = fraction(north - from.north, rise);
        let east = odd_below(from.east, run, part, whole, rises_eastwards);
        let along = Along { part, whole, then: u8::from(rise <= 0) };
        let node = Node { east, north };
        found.push(Crossing { along, line: Line::Level(k as usize), node });
    }
    found
}

/// Numbers of the grid lines strictly between two odd coordinates.
fn lines_between(a: i64, b: i64, side: i64) -> std::ops::RangeInclusive<i64> {
    a.min(b).div_euclid(side) + 1..=a.max(b).div_euclid(side)
}

/// `part / whole` with a positive denominator.
fn fraction(part: i64, whole: i64) -> (i128, i128) {
    let sign = if whole < 0 { -1 } else { 1 };
    (i128::from(part * sign), i128::from(whole * sign))
}

/// `start + length × part / whole` rounded to an odd number without passing an even one. Where it
/// is exactly even, the odd number above it, or below it if `step_back`.
fn odd_below(start: i64, length: i64, part: i128, whole: i128, step_back: bool) -> i64 {
    let scaled = i128::from(start) * whole + i128::from(length) * part;
    let half = scaled.div_euclid(2 * whole);
    let exactly_even = scaled.rem_euclid(2 * whole) == 0;
    (2 * half + if exactly_even && step_back { -1 } else { 1 }) as i64
}

/// The field's rings on the lattice, without their closing corners, the field on their left.
fn lattice_rings(polygons: &MultiPolygon, grid: Grid) -> Vec<Vec<Node>> {
    let odd = |m: f64| 2 * (m * PER_M / 2.0).floor() as i64 + 1;
    let node = |c: Coord| Node { east: odd(c.x - grid.west_m()), north: odd(c.y - grid.south_m()) };
    let ring = |ring: &LineString| {
        let mut nodes: Vec<Node> = ring.coords_iter().map(node).collect();
        nodes.dedup();
        nodes.pop();
        nodes
    };
    polygons
        .iter()
        .flat_map(|p| {
            std::iter::once(p.exterior()).chain(p.interiors()).map(ring).collect::<Vec<_>>()
        })
        .filter(|nodes| nodes.len() >= 3)
        .collect()
}

/// Rings that touch each other, or themselves, are made to share the corner where they touch:
/// rounding would otherwise let them cross there.
fn touching(rings: &[Vec<Node>]) -> Vec<Vec<Node>> {
    let mut corners: Vec<Node> = rings.iter().flatten().copied().collect();
    corners.sort_unstable();
    corners.dedup();
    let with_touching = |ring: &Vec<Node>| {
        let mut result = Vec::with_capacity(ring.len());
        for (k, &from) in ring.iter().enumerate() {
            let to = ring[(k + 1) % ring.len()];
            result.push(from);
            let mut on_edge: Vec<(i128, Node)> = near(&corners, from, to);
            on_edge.sort_unstable();
            result.extend(on_edge.into_iter().map(|(_, node)| node));
        }
        result
    };
    rings.iter().map(with_touching).collect()
}

/// Corners that touch an edge between its ends, with how far along it they are.
fn near(corners: &[Node], from: Node, to: Node) -> Vec<(i128, Node)> {
    let (west, east) = (from.east.min(to.east) - TOUCHING, from.east.max(to.east) + TOUCHING);
    let first = corners.partition_point(|corner| corner.east < west);
    let vector = |a: Node, b: Node| (i128::from(b.east - a.east), i128::from(b.north - a.north));
    let (run, rise) = vector(from, to);
    let squared = run * run + rise * rise;
    corners[first..]
        .iter()
        .take_while(|corner| corner.east <= east)
        .filter_map(|&corner| {
            let (a, b) = vector(from, corner);
            let (along, across) = (a * run + b * rise, b * run - a * rise);
            // In floating point: the square of an area in µm² passes 128 bits on a wide field.
            let close = (across as f64).abs() <= TOUCHING as f64 * (squared as f64).sqrt();
            (close && along > 0 && along < squared && corner != from && corner != to)
                .then_some((along, corner))
        })
        .collect()
}
