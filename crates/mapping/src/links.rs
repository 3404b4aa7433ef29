//! Which cells may exchange ground, and ground that spreads from cell to cell.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use crate::cut::CutField;
use crate::patches::{Ground, Sets, for_each_shared_edge};

const EAST: u8 = 1;
const NORTH: u8 = 2;

/// Which neighbouring cells may be of one zone.
pub(crate) struct Links {
    columns: usize,
    /// Whether each cell is linked to its eastern and its northern neighbour.
    linked: Vec<u8>,
}

impl Links {
    /// Cells are linked where they share an edge in the field and both hold ground that may be of one zone.
    pub fn new(cut: &CutField, ground: &[Ground]) -> Links {
        let mut linked = vec![0; ground.len()];
        for_each_shared_edge(cut, ground, |a, b, _| {
            if ground[a].may_join(ground[b]) {
                linked[a] |= if b == a + 1 { EAST } else { NORTH };
            }
        });
        Links { columns: cut.grid().columns(), linked }
    }

    /// For each cell the first cell of the linked ones that are the same all the way.
    pub fn connected(&self, is_same: impl Fn(usize, usize) -> bool) -> Vec<u32> {
        let mut sets = Sets::new(self.linked.len());
        for (cell, links) in self.linked.iter().enumerate() {
            for (link, other) in [(EAST, cell + 1), (NORTH, cell.wrapping_sub(self.columns))] {
                if links & link != 0 && is_same(cell, other) {
                    sets.join(cell as u32, other as u32);
                }
            }
        }
        (0..self.linked.len() as u32).map(|cell| sets.root(cell)).collect()
    }

    fn neighbours(&self, cell: usize) -> impl Iterator<Item = usize> {
        let columns = self.columns;
        let has = move |at: usize, link: u8| self.linked.get(at).is_some_and(|l| l & link != 0);
        let north = has(cell, NORTH).then(|| cell - columns);
        let west = (cell > 0 && has(cell - 1, EAST)).then(|| cell - 1);
        let east = has(cell, EAST).then_some(cell + 1);
        let south = has(cell + columns, NORTH).then_some(cell + columns);
        [north, west, east, south].into_iter().flatten()
    }

    /// Spreads ground from `sources` over cells linked to them, the nearest first: for each cell the
    /// source it was reached from, itself for a source, `None` where none gets.
    ///
    /// Distance is as the crow flies between the middles, but only linked cells are passed: each cell hands
    /// its source on to its neighbours (after Danielsson 1980, Computer Graphics and Image Processing
    /// 14:227–248, from memory). Of equally near sources the one of the cell's own `patch` comes first, then
    /// the one of the lower patch. `may_hold` tells whether a cell may be reached from a source.
    pub fn spread(
        &self,
        sources: &[bool],
        patch: &[u32],
        metric: Metric,
        may_hold: impl Fn(usize, usize) -> bool,
    ) -> Vec<Option<u32>> {
        let mut from: Vec<Option<u32>> =
            (0_u32..).zip(sources).map(|(cell, &is_source)| is_source.then_some(cell)).collect();
        let mut waiting = BinaryHeap::new();
        let hand_on = |from: &[Option<u32>], waiting: &mut BinaryHeap<_>, at: usize| {
            let source = from[at].expect("reached") as usize;
            for next in self.neighbours(at).filter(|&next| from[next].is_none()) {
                if may_hold(source, next) {
                    let is_other = patch[source] != patch[next];
                    let squared = self.squared(metric, source, next);
                    waiting.push(Reverse((squared, is_other, patch[source], next, source as u32)));
                }
            }
        };
        for at in (0..sources.len()).filter(|&at| sources[at]) {
            hand_on(&from, &mut waiting, at);
        }
        while let Some(Reverse((_, _, _, at, source))) = waiting.pop() {
            if from[at].is_none() {
                from[at] = Some(source);
                hand_on(&from, &mut waiting, at);
            }
        }
        from
    }

    /// Weighted square of the distance between the middles of two cells.
    pub fn squared(&self, metric: Metric, a: usize, b: usize) -> u64 {
        let across = (a % self.columns).abs_diff(b % self.columns) as u64;
        let along = (a / self.columns).abs_diff(b / self.columns) as u64;
        metric.across * across * across + metric.along * along * along
    }
}

/// How much squares of cells count across the columns' direction and along it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Metric {
    pub across: u64,
    pub along: u64,
}
