//! Ground too narrow for a machine goes to its neighbours.
//!
//! A patch has room where the shape that must fit, a disc or a rectangle, lies wholly in it: its
//! opening. The rest is spread over by the openings, the nearest first. That makes new patches, so it is
//! done again until nothing changes.
//!
//! What is guaranteed, of cells with at least half of their square in the field: each lies within
//! [`TIP_SHARE`] of the width, and one cell, of such a shape inside its own zone, unless no such shape
//! covers it even in all the ground that could be of its zone, because the field, the ground with values
//! or the stratum is itself too narrow there. (Along the passes, with a heading, so much more as the
//! rectangle is longer.) So no strip and no neck is left, only blunt tips where borders meet.

use crate::cut::CutField;
use crate::links::{Links, Metric};
use crate::opening::{Shape, has_room};
use crate::patches::Ground;

/// How far a zone may go on beyond the last place with room for a machine, as a share of the width. A disc
/// leaves a corner of a right angle 0.21 of its width, so a quarter lets zones have corners of 84° or more.
const TIP_SHARE: f64 = 0.25;

/// How often ground is given again. The openings only ever grow; in practice few rounds change anything.
const ROUNDS: usize = 8;

/// With a heading, zones are so many times as long along the passes, at least, as they are wide
/// across (common practice: a machine sets its depth or rate after some lengths, not at once).
pub(crate) const LONG_IN_WIDTHS: u32 = 3;

/// The narrowest zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Narrowest {
    /// Width across the passes, or in every direction, metres.
    pub width_m: f64,
    /// Length along the passes, which run along the grid's columns; `None` where there is no direction.
    pub length_m: Option<f64>,
}

impl Narrowest {
    fn shape(self, cell_m: f64) -> Shape {
        let cells = |m: f64| (m / cell_m - 1e-6).ceil().max(1.0) as usize;
        match self.length_m {
            None => Shape::Disc { diameter: self.width_m / cell_m },
            Some(length_m) => {
                Shape::Rectangle { columns: cells(self.width_m), rows: cells(length_m) }
            }
        }
    }

    fn metric(self) -> Metric {
        let long = u64::from(LONG_IN_WIDTHS);
        match self.length_m {
            None => Metric { across: 1, along: 1 },
            Some(_) => Metric { across: long * long, along: 1 },
        }
    }

    /// The farthest that a tip may go, squared as in the metric.
    fn tip_squared(self, cell_m: f64) -> u64 {
        let cells = TIP_SHARE * self.width_m / cell_m + 1.0;
        (self.metric().across as f64 * cells * cells) as u64
    }
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
    let narrow = Narrow::new(cut, ground, narrowest);
    narrow.settle_without_room(ground, cut, depth_cm, class_of_cm);
    for _ in 0..ROUNDS {
        if !narrow.give(ground) {
            break;
        }
    }
    // Tips that stay where they are nearest to: first they alone go to other patches.
    for _ in 0..ROUNDS {
        let patch = narrow.patches(ground);
        let tips = narrow.tips(&patch);
        if !tips.contains(&true) {
            return;
        }
        narrow.take_away(ground, &patch, &tips);
    }
    // Then whole patches with tips, the smallest first: each round leaves fewer patches, and where one is
    // left it has all the room there is.
    loop {
        let patch = narrow.patches(ground);
        let Some(smallest) = smallest_with(&narrow.tips(&patch), &patch) else { return };
        let all: Vec<bool> = patch.iter().map(|&p| p == smallest).collect();
        narrow.take_away(ground, &patch, &all);
    }
}

/// The patch with the fewest cells of those with a tip; of equals the first.
fn smallest_with(tips: &[bool], patch: &[u32]) -> Option<u32> {
    let mut cells = vec![0_u32; patch.len()];
    patch.iter().for_each(|&p| cells[p as usize] += 1);
    let with_tip = patch.iter().zip(tips).filter(|(_, is_tip)| **is_tip);
    with_tip.map(|(&p, _)| p).min_by_key(|&p| (cells[p as usize], p))
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
    tip_squared: u64,
}

impl Narrow {
    fn new(cut: &CutField, ground: &[Ground], narrowest: Narrowest) -> Narrow {
        let (cell_m, columns) = (cut.grid().cell_m(), cut.grid().columns());
        let links = Links::new(cut, ground);
        let piece = links.connected(|_, _| true);
        let counts: Vec<bool> = (ground.iter().enumerate())
            .map(|(cell, held)| held.class().is_some() && cut.share(cell) >= 0.5)
            .collect();
        let shape = narrowest.shape(cell_m);
        let piece_has_room = has_room(&labels(&piece, &counts), columns, shape);
        Narrow {
            columns,
            links,
            counts,
            piece,
            piece_has_room,
            shape,
            metric: narrowest.metric(),
            tip_squared: narrowest.tip_squared(cell_m),
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
        let sources: Vec<bool> = ground
            .iter()
            .zip(taken)
            .map(|(held, taken)| held.class().is_some() && !taken)
            .collect();
        let is_other = |source: usize, cell: usize| patch[source] != patch[cell];
        self.follow(ground, &self.links.spread(&sources, patch, self.metric, is_other));
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
    fn tips(&self, patch: &[u32]) -> Vec<bool> {
        let is_own = |source: usize, cell: usize| patch[source] == patch[cell];
        let from = self.links.spread(&self.room(patch), patch, self.metric, is_own);
        let is_near = |cell: usize| {
            let squared = |from: u32| self.links.squared(self.metric, from as usize, cell);
            from[cell].is_some_and(|from| squared(from) <= self.tip_squared)
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
