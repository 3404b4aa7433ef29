//! Ground too narrow for a machine goes to its neighbours.
//!
//! A patch has room where a disc of the narrowest width lies wholly in it: its opening. The rest is spread
//! over by the openings, the nearest first. That makes new patches, so it is done again until nothing
//! changes. With a heading the same is done before with a rectangle as wide, [`LONG_IN_WIDTHS`] times as
//! long along the passes, so that zones come out long where the ground lets them.
//!
//! What is guaranteed, of cells with at least half of their square in the field: each lies within
//! [`TIP_SHARE`] of the width, and one cell, of a disc as wide inside its own zone, unless no such disc
//! covers it even in all the ground that could be of its zone, because the field, the ground with values
//! or the stratum is itself too narrow there. So no strip and no neck is left, only blunt tips where
//! borders meet. (The disc's width is rounded up so that its square in cells is a whole number.)

use crate::cut::CutField;
use crate::links::{Links, Metric};
use crate::make_room::{Footprint, Laying, footprints};
use crate::opening::{Shape, has_room};
use crate::patches::Ground;

/// How far a zone may go on beyond the last place with room for a machine, as a share of the width. A disc
/// leaves a corner of a right angle 0.21 of its width, so a quarter lets zones have corners of 84° or more.
const TIP_SHARE: f64 = 0.25;

/// How often each way of giving ground is tried. Openings only grow while ground is given; few rounds change
/// anything in practice.
const ROUNDS: usize = 8;

/// With a heading, zones are to be so many times as long along the passes as they are wide across
/// (common practice: a machine comes to its new depth or rate only some way on). Each width more takes much
/// more ground from its own class.
pub(crate) const LONG_IN_WIDTHS: u32 = 2;

/// Distances alike in all directions, and those along the passes counted so much less.
const ROUND: Metric = Metric { across: 1, along: 1 };
const LONG: Metric = Metric { across: LONG_IN_WIDTHS as u64 * LONG_IN_WIDTHS as u64, along: 1 };

/// The narrowest zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Narrowest {
    /// Width in every direction, metres.
    pub width_m: f64,
    /// Length to be along the passes, which run along the grid's columns; `None` where there are none.
    pub length_m: Option<f64>,
}

/// Gives narrow ground to its neighbours. Connected ground without any room becomes one zone of the class
/// of its mean depth.
pub(crate) fn widen(
    cut: &CutField,
    ground: &mut [Ground],
    depth_cm: &[f64],
    narrowest: Narrowest,
    class_of_cm: impl Fn(f64) -> usize,
) {
    let cell_m = cut.grid().cell_m();
    if let Some(length_m) = narrowest.length_m {
        let cells = |m: f64| (m / cell_m - 1e-6).ceil().max(1.0) as usize;
        let long = Shape::Rectangle { columns: cells(narrowest.width_m), rows: cells(length_m) };
        Narrow::new(cut, ground, long, LONG).give_all(ground);
    }
    let diameter = narrowest.width_m / cell_m;
    let narrow = Narrow::new(cut, ground, Shape::Disc { diameter }, ROUND);
    narrow.settle_without_room(ground, cut, depth_cm, class_of_cm);
    narrow.give_all(ground);
    narrow.without_tips(ground, &footprints(diameter), TIP_SHARE * diameter + 1.0);
}

/// What stays the same while ground is given.
struct Narrow {
    columns: usize,
    links: Links,
    /// Cells that count when it is looked for room: with values, and at least half in the field.
    counts: Vec<bool>,
    /// For each cell the first of all that it is linked with.
    piece: Vec<u32>,
    /// Whether a cell has room in its piece.
    piece_has_room: Vec<bool>,
    shape: Shape,
    metric: Metric,
}

impl Narrow {
    fn new(cut: &CutField, ground: &[Ground], shape: Shape, metric: Metric) -> Narrow {
        let columns = cut.grid().columns();
        let links = Links::new(cut, ground);
        let piece = links.connected(|_, _| true);
        let counts: Vec<bool> = (ground.iter().enumerate())
            .map(|(cell, held)| held.class().is_some() && cut.share(cell) >= 0.5)
            .collect();
        let piece_has_room = has_room(&labels(&piece, &counts), columns, shape);
        Narrow { columns, links, counts, piece, piece_has_room, shape, metric }
    }

    /// Gives ground until nothing changes.
    fn give_all(&self, ground: &mut [Ground]) {
        for _ in 0..ROUNDS {
            if !self.give(ground) {
                break;
            }
        }
    }

    /// Gives on ground that lies more than so many cells beyond the room of its patch, which the disc of
    /// these footprints has.
    fn without_tips(&self, ground: &mut [Ground], disc: &[Footprint], tip: f64) {
        let tip_squared = (tip * tip) as u64;
        // First to other patches; then, where none can hold it as it is, a patch takes the ground it needs
        // for it; at last patches join. That makes no new tips, and where one patch is left it has all the
        // room there is.
        for round in 0.. {
            let patch = self.patches(ground);
            let tips = self.tips(&patch, tip_squared);
            if !tips.contains(&true) {
                return;
            }
            match round / ROUNDS {
                0 => self.take_away(ground, &patch, &tips),
                1 => {
                    self.make_room(ground, &patch, &tips, disc);
                    self.give(ground);
                }
                _ => self.join(ground, &patch, &tips),
            }
        }
    }

    /// For each cell the first of its connected patch.
    fn patches(&self, ground: &[Ground]) -> Vec<u32> {
        self.links.connected(|a, b| ground[a] == ground[b])
    }

    /// For each cell whether it has room in its patch.
    fn room(&self, patch: &[u32]) -> Vec<bool> {
        has_room(&labels(patch, &self.counts), self.columns, self.shape)
    }

    /// Gives the cells without room to the nearest with room; whether any changed.
    fn give(&self, ground: &mut [Ground]) -> bool {
        let patch = self.patches(ground);
        self.follow(
            ground,
            &self.links.spread(&self.room(&patch), &patch, self.metric, |_, _| true),
        )
    }

    /// Gives cells to other patches than their own, where there are any.
    fn take_away(&self, ground: &mut [Ground], patch: &[u32], taken: &[bool]) {
        self.follow(ground, &self.nearest_others(ground, patch, taken));
    }

    /// The nearest cell of another patch for each of those taken.
    fn nearest_others(&self, ground: &[Ground], patch: &[u32], taken: &[bool]) -> Vec<Option<u32>> {
        let sources: Vec<bool> = ground
            .iter()
            .zip(taken)
            .map(|(held, taken)| held.class().is_some() && !taken)
            .collect();
        let is_other = |source: usize, cell: usize| patch[source] != patch[cell];
        self.links.spread(&sources, patch, self.metric, is_other)
    }

    /// For each tip its patch, or the nearest other, takes the ground of a disc over it, whichever needs
    /// less of others.
    fn make_room(&self, ground: &mut [Ground], patch: &[u32], tips: &[bool], disc: &[Footprint]) {
        let from = self.nearest_others(ground, patch, tips);
        let laying = Laying { columns: self.columns, cells: patch.len(), footprints: disc };
        let mut patch = patch.to_vec();
        let mut has_room = vec![false; patch.len()];
        for tip in (0..tips.len()).filter(|&cell| tips[cell]) {
            if has_room[tip] {
                continue;
            }
            let may = |cell: usize| self.counts[cell] && self.piece[cell] == self.piece[tip];
            let holders = [Some(tip), from[tip].map(|from| from as usize)].into_iter().flatten();
            let shapes = holders.filter_map(|holder| {
                let is_own = |cell: usize| patch[cell] == patch[holder];
                laying.cheapest(tip, may, is_own).map(|(cost, cells)| (cost, holder, cells))
            });
            if let Some((_, holder, cells)) = shapes.min_by_key(|(cost, ..)| *cost) {
                let (number, held) = (patch[holder], ground[holder]);
                for cell in cells {
                    (patch[cell], ground[cell], has_room[cell]) = (number, held, true);
                }
            }
        }
    }

    /// Joins the smallest patch with a tip and the nearest other: both are of the larger's class then.
    fn join(&self, ground: &mut [Ground], patch: &[u32], tips: &[bool]) {
        let mut cells = vec![0_u32; patch.len()];
        patch.iter().for_each(|&p| cells[p as usize] += 1);
        let size = |cell: usize| cells[patch[cell] as usize];
        let with_tip = (0..tips.len()).filter(|&cell| tips[cell]);
        let tip = with_tip.min_by_key(|&cell| (size(cell), cell)).expect("there is a tip");
        let whole: Vec<bool> = patch.iter().map(|&p| p == patch[tip]).collect();
        let other = self.nearest_others(ground, patch, &whole)[tip];
        let other = other.expect("its piece has room that it has not") as usize;
        let (small, large) = if size(tip) <= size(other) { (tip, other) } else { (other, tip) };
        let held = ground[large];
        for (ground, &p) in ground.iter_mut().zip(patch) {
            if p == patch[small] {
                *ground = held;
            }
        }
    }

    /// Cells take the ground of those they were reached from; whether any changed.
    fn follow(&self, ground: &mut [Ground], from: &[Option<u32>]) -> bool {
        let before = ground.to_vec();
        for (held, from) in ground.iter_mut().zip(from) {
            if let &Some(from) = from {
                *held = before[from as usize];
            }
        }
        *ground != *before
    }

    /// Cells too far from where their patch has room, though there is room in their piece.
    fn tips(&self, patch: &[u32], tip_squared: u64) -> Vec<bool> {
        let is_own = |source: usize, cell: usize| patch[source] == patch[cell];
        let from = self.links.spread(&self.room(patch), patch, self.metric, is_own);
        let is_near = |cell: usize| {
            let squared = |from: u32| self.links.squared(self.metric, from as usize, cell);
            from[cell].is_some_and(|from| squared(from) <= tip_squared)
        };
        (0..patch.len()).map(|cell| self.piece_has_room[cell] && !is_near(cell)).collect()
    }

    /// Pieces in which no patch has room become one patch of the class of their mean depth.
    fn settle_without_room(
        &self,
        ground: &mut [Ground],
        cut: &CutField,
        depth_cm: &[f64],
        class_of_cm: impl Fn(f64) -> usize,
    ) {
        let room = self.room(&self.patches(ground));
        let mut has_room = vec![false; ground.len()];
        let mut sums = vec![(0.0, 0.0); ground.len()];
        for (cell, held) in ground.iter().enumerate() {
            let piece = self.piece[cell] as usize;
            has_room[piece] |= room[cell];
            if held.class().is_some() {
                let share = cut.share(cell);
                sums[piece].0 += share;
                sums[piece].1 += share * depth_cm[cell];
            }
        }
        for (cell, held) in ground.iter_mut().enumerate() {
            let piece = self.piece[cell] as usize;
            let (share, depth_cm) = sums[piece];
            if held.class().is_some() && !has_room[piece] && share > 0.0 {
                *held = held.with_class(class_of_cm(depth_cm / share) as u8);
            }
        }
    }
}

/// The numbers of the patches, where cells count.
fn labels(patch: &[u32], counts: &[bool]) -> Vec<Option<u32>> {
    patch.iter().zip(counts).map(|(&patch, &counts)| counts.then_some(patch)).collect()
}
