//! Patches: connected ground of one class, and small ones joined to a neighbour.

use std::collections::{BTreeMap, BTreeSet};

use crate::cut::CutField;

/// Patches with less ground than this always join a neighbour, whatever it holds: twice 1 cm², in
/// µm². They come from a field's corner that just reaches into a cell.
const LEAST_GROUND: i128 = 200_000_000;

/// What a cell holds: a class, ground without a value, or no part of the field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Ground {
    OutsideField,
    Unmapped,
    Class(StratumClass),
}

/// A depth class within a stratum: ground of one class in two strata is not one ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct StratumClass {
    /// 0 is the main ground.
    pub stratum: u8,
    pub class: u8,
}

impl Ground {
    /// Whether two pieces of ground may ever be of one zone: both have a class, in one stratum.
    pub fn may_join(self, other: Ground) -> bool {
        match (self, other) {
            (Ground::Class(held), Ground::Class(others)) => held.stratum == others.stratum,
            _ => false,
        }
    }
}

/// The patches of a field.
pub(crate) struct Patches {
    /// Number of each cell's patch; `None` outside the field.
    pub of_cell: Vec<Option<u32>>,
    /// What each patch holds: never [`Ground::OutsideField`].
    pub ground: Vec<Ground>,
}

impl Patches {
    /// Connected patches: cells of the same ground that share an edge inside the field (cells that
    /// only meet at a corner do not). Patches of a class with less than `smallest` ground (twice
    /// the area, µm²) join the neighbour of their stratum with the longest shared edge, the smallest
    /// patch first; ground without a value neither joins nor takes. Specks under 1 cm² join whatever is
    /// beside them.
    pub fn new(cut: &CutField, ground: &[Ground], smallest: i128) -> Patches {
        let mut patches = Patches::connected(cut, ground);
        patches.join_small(cut, smallest);
        patches
    }

    fn connected(cut: &CutField, ground: &[Ground]) -> Patches {
        let mut sets = Sets::new(ground.len());
        for_each_shared_edge(cut, ground, |a, b, _| {
            if ground[a] == ground[b] {
                sets.join(a as u32, b as u32);
            }
        });
        let mut number: Vec<Option<u32>> = vec![None; ground.len()];
        let mut patches = Patches { of_cell: vec![None; ground.len()], ground: Vec::new() };
        for (cell, &held) in ground.iter().enumerate() {
            if held == Ground::OutsideField {
                continue;
            }
            let root = sets.root(cell as u32) as usize;
            let patch = *number[root].get_or_insert_with(|| {
                patches.ground.push(held);
                patches.ground.len() as u32 - 1
            });
            patches.of_cell[cell] = Some(patch);
        }
        patches
    }

    fn join_small(&mut self, cut: &CutField, smallest: i128) {
        let mut joining = Joining::new(self, cut, smallest);
        joining.run();
        let roots: Vec<u32> = (0..self.ground.len() as u32).map(|k| joining.sets.root(k)).collect();
        self.ground = joining.ground;
        for patch in self.of_cell.iter_mut().flatten() {
            *patch = roots[*patch as usize];
        }
    }
}

/// Calls back with each two neighbouring cells of the field and the length of edge, µm, that they
/// share inside it.
fn for_each_shared_edge(
    cut: &CutField,
    ground: &[Ground],
    mut found: impl FnMut(usize, usize, i64),
) {
    let columns = cut.grid().columns();
    let in_field = |cell: usize| ground[cell] != Ground::OutsideField;
    for cell in (0..ground.len()).filter(|&cell| in_field(cell)) {
        if cell % columns + 1 < columns && in_field(cell + 1) {
            let length = cut.eastern_edge(cell).map(|(a, b)| b.north - a.north).sum();
            if length > 0 {
                found(cell, cell + 1, length);
            }
        }
        if cell >= columns && in_field(cell - columns) {
            let length = cut.northern_edge(cell).map(|(a, b)| b.east - a.east).sum();
            if length > 0 {
                found(cell, cell - columns, length);
            }
        }
    }
}

/// Joining in progress.
struct Joining {
    sets: Sets,
    ground: Vec<Ground>,
    /// Twice the area of each patch, µm².
    area: Vec<i128>,
    /// For each patch its neighbours and the length of edge shared, µm.
    shared: Vec<BTreeMap<u32, i64>>,
    smallest: i128,
    /// Small patches that may still join, by size.
    waiting: BTreeSet<(i128, u32)>,
}

impl Joining {
    fn new(patches: &Patches, cut: &CutField, smallest: i128) -> Self {
        let count = patches.ground.len();
        let mut area = vec![0; count];
        let mut cell_ground = vec![Ground::OutsideField; patches.of_cell.len()];
        for (cell, patch) in patches.of_cell.iter().enumerate() {
            if let &Some(patch) = patch {
                area[patch as usize] += cut.double_area(cell);
                cell_ground[cell] = patches.ground[patch as usize];
            }
        }
        let mut shared: Vec<BTreeMap<u32, i64>> = vec![BTreeMap::new(); count];
        for_each_shared_edge(cut, &cell_ground, |a, b, length| {
            let (a, b) = (patches.of_cell[a], patches.of_cell[b]);
            let (a, b) = (a.expect("in the field"), b.expect("in the field"));
            if a != b {
                *shared[a as usize].entry(b).or_default() += length;
                *shared[b as usize].entry(a).or_default() += length;
            }
        });
        let mut joining = Joining {
            sets: Sets::new(count),
            ground: patches.ground.clone(),
            area,
            shared,
            smallest,
            waiting: BTreeSet::new(),
        };
        (0..count as u32).for_each(|patch| joining.wait(patch));
        joining
    }

    fn wait(&mut self, patch: u32) {
        let area = self.area[patch as usize];
        if area < LEAST_GROUND || (area < self.smallest && self.has_class(patch)) {
            self.waiting.insert((area, patch));
        }
    }

    fn run(&mut self) {
        while let Some((_, small)) = self.waiting.pop_first() {
            if let Some(neighbour) = self.longest_neighbour(small) {
                self.absorb(neighbour, small);
                self.absorb_equals(neighbour);
                self.wait(neighbour);
            }
        }
    }

    fn has_class(&self, patch: u32) -> bool {
        matches!(self.ground[patch as usize], Ground::Class(_))
    }

    /// The neighbour with the longest shared edge that a patch may join; of equals the first.
    fn longest_neighbour(&self, patch: u32) -> Option<u32> {
        let speck = self.area[patch as usize] < LEAST_GROUND;
        let held = self.ground[patch as usize];
        self.shared[patch as usize]
            .iter()
            .filter(|(other, _)| speck || held.may_join(self.ground[**other as usize]))
            .max_by(|a, b| a.1.cmp(b.1).then(b.0.cmp(a.0)))
            .map(|(&other, _)| other)
    }

    /// What `taken` separated may now touch: neighbours of the same class become one.
    fn absorb_equals(&mut self, patch: u32) {
        let equal =
            |this: &Self, other: u32| this.ground[other as usize] == this.ground[patch as usize];
        while let Some(other) =
            self.shared[patch as usize].keys().copied().find(|&other| equal(self, other))
        {
            self.absorb(patch, other);
        }
    }

    fn absorb(&mut self, patch: u32, taken: u32) {
        self.waiting.remove(&(self.area[patch as usize], patch));
        self.waiting.remove(&(self.area[taken as usize], taken));
        self.area[patch as usize] += self.area[taken as usize];
        for (other, length) in std::mem::take(&mut self.shared[taken as usize]) {
            self.shared[other as usize].remove(&taken);
            if other != patch {
                *self.shared[other as usize].entry(patch).or_default() += length;
                *self.shared[patch as usize].entry(other).or_default() += length;
            }
        }
        self.sets.join_to(patch, taken);
    }
}

/// Disjoint sets with path halving.
struct Sets(Vec<u32>);

impl Sets {
    fn new(count: usize) -> Self {
        Sets((0..count as u32).collect())
    }

    fn root(&mut self, mut item: u32) -> u32 {
        while self.0[item as usize] != item {
            self.0[item as usize] = self.0[self.0[item as usize] as usize];
            item = self.0[item as usize];
        }
        item
    }

    /// Joins two sets; the smaller number becomes the root.
    fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.root(a), self.root(b));
        self.0[a.max(b) as usize] = a.min(b);
    }

    /// Puts one root under another.
    fn join_to(&mut self, root: u32, taken: u32) {
        self.0[taken as usize] = root;
    }
}
