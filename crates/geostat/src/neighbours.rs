//! The samples nearest to a place.
//!
//! Places sorted into bins answer fastest where samples are spread as a survey spreads them, and
//! are what a raster is filled from; the k-d tree (crate `kdtree`) answers where nearly all
//! samples crowd together, and is what the bins are held against. Both give the same samples.

use std::cmp::Ordering;
use std::sync::OnceLock;

use kdtree::KdTree;
use kdtree::distance::squared_euclidean;

use crate::anisotropy::{Anisotropy, Stretch};
use crate::error::GeostatError;
use crate::rank_stack::RankStack;
use crate::sample::{FARTHEST_M, Samples};
use crate::spatial_bins::{NearRoom, SpatialBins, squared};

/// Which samples take part in an estimate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Search {
    /// How many of the nearest.
    pub neighbours: Neighbours,
    /// Only those at most so far away, metres along the main direction; `None` is no limit.
    pub within_m: Option<f64>,
    /// Only so many from each direction; `None` is no limit.
    pub sectors: Option<Sectors>,
}

/// How many samples take part in an estimate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Neighbours {
    /// Every sample. The surface is smooth everywhere but at the samples.
    All,
    /// The nearest few. The surface jumps where one sample takes another's place.
    Nearest(usize),
}

/// A limit on the samples taken from one direction, so that a row of close samples does not outvote
/// those all around. Sectors are of equal angle, the first from north to the east, and each holds its
/// border that comes first clockwise; directions are those of the compass, whatever the anisotropy.
/// Programs differ in this: some turn the sectors with the main direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sectors {
    /// Four or eight.
    pub kind: SectorKind,
    /// The most samples of one sector: the nearest.
    pub most: usize,
}

/// How the compass is divided.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SectorKind {
    /// Four of 90°.
    Quadrants,
    /// Eight of 45°.
    Octants,
}

impl SectorKind {
    fn count(self) -> usize {
        match self {
            SectorKind::Quadrants => 4,
            SectorKind::Octants => 8,
        }
    }

    /// The sector of a direction, clockwise from north. No direction is north.
    fn sector(self, east: f64, north: f64) -> usize {
        let (quadrant, along, across) = match (east, north) {
            (e, n) if e >= 0.0 && n > 0.0 => (0, n, e),
            (e, n) if e > 0.0 && n <= 0.0 => (1, e, -n),
            (e, n) if e <= 0.0 && n < 0.0 => (2, -n, -e),
            (e, n) if e < 0.0 => (3, -e, n),
            _ => (0, 1.0, 0.0),
        };
        match self {
            SectorKind::Quadrants => quadrant,
            SectorKind::Octants => 2 * quadrant + usize::from(across >= along),
        }
    }
}

impl Search {
    /// Every sample, however far.
    pub const EVERYTHING: Search =
        Search { neighbours: Neighbours::All, within_m: None, sectors: None };

    /// The nearest few, however far.
    pub fn nearest(count: usize) -> Self {
        Search { neighbours: Neighbours::Nearest(count), ..Search::EVERYTHING }
    }

    /// The same search, no farther than a distance in metres along the main direction.
    pub fn within(self, radius_m: f64) -> Self {
        Search { within_m: Some(radius_m), ..self }
    }

    /// The same search with a limit on each sector.
    pub fn in_sectors(self, kind: SectorKind, most: usize) -> Self {
        Search { sectors: Some(Sectors { kind, most }), ..self }
    }

    pub(crate) fn check(self) -> Result<(), GeostatError> {
        match self {
            Search { neighbours: Neighbours::Nearest(0), .. }
            | Search { sectors: Some(Sectors { most: 0, .. }), .. } => {
                Err(GeostatError::NoNeighbours)
            }
            Search { within_m: Some(radius_m), .. } if radius_m.is_nan() || radius_m <= 0.0 => {
                Err(GeostatError::Radius { radius_m })
            }
            _ => Ok(()),
        }
    }

    /// Square of the greatest distance, m².
    pub(crate) fn within_squared_m2(self) -> f64 {
        self.within_m.map_or(f64::INFINITY, |radius_m| radius_m * radius_m)
    }
}

/// A sample near a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Neighbour {
    /// Its number among the samples.
    pub index: usize,
    /// Square of its distance, m², stretched where the index is.
    pub squared_m2: f64,
}

/// Samples' places, made ready for searches.
pub struct NeighbourIndex {
    stretch: Stretch,
    /// The places as they are, by sample.
    real: Vec<[f64; 2]>,
    bins: SpatialBins,
    /// Rank of each sample.
    ranks: Vec<u32>,
    crowded: bool,
    /// Made when first asked for.
    tree: OnceLock<KdTree<f64, usize, [f64; 2]>>,
}

impl NeighbourIndex {
    /// An index by plain distance.
    pub fn new(samples: &Samples) -> Self {
        NeighbourIndex::stretched(samples, Anisotropy::NONE)
    }

    /// An index by the distance of an anisotropy.
    pub fn stretched(samples: &Samples, anisotropy: Anisotropy) -> Self {
        let real: Vec<[f64; 2]> =
            samples.as_slice().iter().map(|s| [s.easting_m, s.northing_m]).collect();
        let stretch = Stretch::new(anisotropy, real[0]);
        let places: Vec<[f64; 2]> = real.iter().map(|&place| stretch.place(place)).collect();
        let bins = SpatialBins::new(&places);
        let mut ranks = vec![0; real.len()];
        for (rank, &number) in bins.numbers().iter().enumerate() {
            ranks[number as usize] = rank as u32;
        }
        let crowded = bins.is_crowded();
        NeighbourIndex { stretch, real, bins, ranks, crowded, tree: OnceLock::new() }
    }

    /// How distances are measured.
    pub fn anisotropy(&self) -> Anisotropy {
        self.stretch.anisotropy
    }

    /// How places are stretched for it.
    pub(crate) fn stretch(&self) -> Stretch {
        self.stretch
    }

    /// The samples that a search finds for a place, ordered by distance and, at equal distance, by
    /// their order among the samples: of samples equally far, the earlier are taken. A sample
    /// exactly at `within_m` is found; for a place that is not finite, or beyond 1e100 m, nothing is.
    pub fn find(&self, place: [f64; 2], search: Search, found: &mut Vec<Neighbour>) {
        self.find_but(place, search, None, found);
    }

    /// The same without one of the samples.
    pub(crate) fn find_but(
        &self,
        place: [f64; 2],
        search: Search,
        without: Option<usize>,
        found: &mut Vec<Neighbour>,
    ) {
        self.find_by(place, search, without, found, |stretched, count, found| match self.crowded {
            true => self.nearest_by_tree(stretched, count, found),
            false => self.nearest_by_bins(stretched, count, found),
        });
    }

    /// What [`NeighbourIndex::find`] gives, by the k-d tree alone.
    pub(crate) fn find_by_tree(&self, place: [f64; 2], search: Search, found: &mut Vec<Neighbour>) {
        self.find_by(place, search, None, found, |stretched, count, found| {
            self.nearest_by_tree(stretched, count, found);
        });
    }

    fn find_by(
        &self,
        place: [f64; 2],
        search: Search,
        without: Option<usize>,
        found: &mut Vec<Neighbour>,
        nearest: impl Fn([f64; 2], usize, &mut Vec<Neighbour>),
    ) {
        let stretched = self.stretch.place(place);
        if !place.iter().all(|coordinate_m| coordinate_m.abs() <= FARTHEST_M) {
            found.clear();
            return;
        }
        let wanted = match search.neighbours {
            Neighbours::All => self.real.len(),
            Neighbours::Nearest(count) => count.min(self.real.len()),
        };
        // With sectors, how many are needed shows only when they are there.
        let mut count = wanted + usize::from(without.is_some());
        loop {
            found.clear();
            match count < self.real.len() {
                true => nearest(stretched, count, found),
                false => self.everything(stretched, found),
            }
            found
                .retain(|n| Some(n.index) != without && n.squared_m2 <= search.within_squared_m2());
            found.sort_unstable_by(nearer);
            let is_enough = match search.sectors {
                None => true,
                Some(sectors) => {
                    let seen_all = count >= self.real.len() || found.len() < count - 1;
                    self.keep_in_sectors(place, sectors, found);
                    seen_all || found.len() >= wanted
                }
            };
            if is_enough {
                found.truncate(wanted);
                return;
            }
            count *= 2;
        }
    }

    /// Of neighbours in order, no more than so many of each sector.
    fn keep_in_sectors(&self, place: [f64; 2], sectors: Sectors, found: &mut Vec<Neighbour>) {
        let mut taken = [0; 8];
        let counts = &mut taken[..sectors.kind.count()];
        found.retain(|neighbour| {
            let [east, north] = self.real[neighbour.index];
            let taken = &mut counts[sectors.kind.sector(east - place[0], north - place[1])];
            *taken += 1;
            *taken <= sectors.most
        });
    }

    fn everything(&self, stretched: [f64; 2], found: &mut Vec<Neighbour>) {
        found.extend(self.ranks.iter().enumerate().map(|(index, &rank)| Neighbour {
            index,
            squared_m2: squared(stretched, self.bins.places()[rank as usize]),
        }));
    }

    /// At least the `count` nearest, fewer than there are, with every sample as far as the last.
    fn nearest_by_bins(&self, stretched: [f64; 2], count: usize, found: &mut Vec<Neighbour>) {
        let mut near = NearRoom::default();
        let last = self.bins.nearest(stretched, count, &mut near);
        let neighbour = |&(squared_m2, rank): &(f64, u32)| Neighbour {
            index: self.bins.numbers()[rank as usize] as usize,
            squared_m2,
        };
        found.extend(near.found.iter().filter(|near| near.0 <= last).map(neighbour));
    }

    /// The same.
    fn nearest_by_tree(&self, stretched: [f64; 2], count: usize, found: &mut Vec<Neighbour>) {
        const FINITE: &str = "the place is finite and the tree not empty";
        let tree = self.tree();
        let nearest = tree.nearest(&stretched, count + 1, &squared_euclidean).expect(FINITE);
        let last = nearest[count - 1].0;
        let near = match nearest[count].0 > last {
            true => nearest,
            false => tree.within(&stretched, last, &squared_euclidean).expect(FINITE),
        };
        let near = near.into_iter().filter(|near| near.0 <= last);
        found.extend(near.map(|(squared_m2, &index)| Neighbour { index, squared_m2 }));
    }

    fn tree(&self) -> &KdTree<f64, usize, [f64; 2]> {
        self.tree.get_or_init(|| {
            let mut tree = KdTree::new(2);
            for (index, &rank) in self.ranks.iter().enumerate() {
                let place = self.bins.places()[rank as usize];
                tree.add(place, index).expect("samples are finite");
            }
            tree
        })
    }

    /// Place of a sample, metres east and north.
    pub(crate) fn place(&self, index: usize) -> [f64; 2] {
        self.real[index]
    }

    /// Its stretched place.
    pub(crate) fn stretched_place(&self, index: usize) -> [f64; 2] {
        self.bins.places()[self.ranks[index] as usize]
    }

    /// The stretched places in the order in which sums run: that of the bins, which is where a
    /// raster is filled from.
    pub(crate) fn places_by_rank(&self) -> &[[f64; 2]] {
        self.bins.places()
    }

    /// Number of the sample with each rank.
    pub(crate) fn numbers_by_rank(&self) -> &[u32] {
        self.bins.numbers()
    }

    /// Rank of a sample.
    pub(crate) fn rank(&self, index: usize) -> u32 {
        self.ranks[index]
    }

    /// Square of the distance, m², of the `count`-th nearest to a stretched place, of at least so many.
    pub(crate) fn squared_distance_of(
        &self,
        stretched: [f64; 2],
        count: usize,
        room: &mut NearRoom,
    ) -> f64 {
        if !self.crowded {
            return self.bins.nearest(stretched, count, room);
        }
        let near = self
            .tree()
            .nearest(&stretched, count, &squared_euclidean)
            .expect("the place is finite and the tree not empty");
        near[count - 1].0
    }

    /// Puts every sample within a distance of a stretched place on a stack, in rank order. Where they
    /// are more than `most` it gives up, with some of them on the stack, and says no.
    pub(crate) fn push_within(
        &self,
        stretched: [f64; 2],
        within: f64,
        most: usize,
        stack: &mut RankStack,
    ) -> bool {
        let places = self.bins.places();
        let full = stack.ranks.len().saturating_add(most);
        if !self.crowded {
            self.bins.around(stretched, within, |ranks| {
                stack.push_near(ranks.start, &places[ranks], stretched, within);
                stack.ranks.len() > full
            });
            return stack.ranks.len() <= full;
        }
        let near = self
            .tree()
            .iter_nearest(&stretched, &squared_euclidean)
            .expect("the place is finite and the tree not empty")
            .take_while(|near| near.0 <= within * within)
            .take(most.saturating_add(1));
        let mut ranks: Vec<u32> = near.map(|(_, &index)| self.ranks[index]).collect();
        ranks.sort_unstable();
        for &rank in &ranks {
            stack.push(rank, places[rank as usize]);
        }
        ranks.len() <= most
    }
}

/// By distance, and of samples equally far by their order.
pub(crate) fn nearer(a: &Neighbour, b: &Neighbour) -> Ordering {
    a.squared_m2.total_cmp(&b.squared_m2).then(a.index.cmp(&b.index))
}
#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::Sample;

    fn corners() -> Samples {
        let at = |easting_m, northing_m| Sample { easting_m, northing_m, value: 0.0 };
        Samples::new(vec![at(1.0, 1.0), at(-1.0, 1.0), at(-1.0, -1.0), at(1.0, -1.0), at(9.0, 0.0)])
            .unwrap()
    }

    fn indices(search: Search, without: Option<usize>) -> Vec<usize> {
        let mut found = Vec::new();
        NeighbourIndex::new(&corners()).find_but([0.0, 0.0], search, without, &mut found);
        found.iter().map(|n| n.index).collect()
    }

    #[test]
    fn of_samples_equally_far_the_earlier_are_taken() {
        assert_eq!(indices(Search::nearest(2), None), [0, 1]);
        assert_eq!(indices(Search::nearest(3), None), [0, 1, 2]);
        assert_eq!(indices(Search::nearest(2), Some(0)), [1, 2]);
    }

    #[test]
    fn a_sample_exactly_at_the_radius_is_found() {
        let search = Search { neighbours: Neighbours::All, within_m: Some(9.0), sectors: None };
        assert_eq!(indices(search, None), [0, 1, 2, 3, 4]);
        let search = Search { within_m: Some(8.999), ..search };
        assert_eq!(indices(search, None), [0, 1, 2, 3]);
    }

    #[test]
    fn asking_for_more_than_there_are_gives_all() {
        assert_eq!(indices(Search::nearest(50), None).len(), 5);
        assert_eq!(indices(Search::nearest(5), Some(2)), [0, 1, 3, 4]);
    }

    #[test]
    fn bins_and_tree_find_the_same() {
        // Spread evenly, in a line, in a crowd with one far off, on a lattice with many ties.
        let spread = |k: u32| [f64::from(k * 7919 % 1009), f64::from(k * 104_729 % 997)];
        let line = |k: u32| [f64::from(k) * 3.0, 7.0];
        let crowd = |k: u32| match k {
            0 => [1e6, -1e6],
            _ => [f64::from(k * 31 % 101) * 1e-3, f64::from(k) * 1e-3],
        };
        let lattice = |k: u32| [f64::from(k % 17), f64::from(k / 17)];
        for of in [spread, line, crowd, lattice] {
            let sample = |k| Sample { easting_m: of(k)[0], northing_m: of(k)[1], value: 0.0 };
            let samples = Samples::new((0..300).map(sample).collect()).unwrap();
            let index = NeighbourIndex::new(&samples);
            let [mut ours, mut theirs] = [Vec::new(), Vec::new()];
            for place in [[3.5, 4.5], [500.0, 500.0], [-80.0, 2.0], [0.0, 0.0], [2e6, 2e6]] {
                for count in [1, 12, 299, 300] {
                    let search = Search::nearest(count);
                    index.find_by(place, search, None, &mut ours, |stretched, count, found| {
                        index.nearest_by_bins(stretched, count, found);
                    });
                    index.find_by_tree(place, search, &mut theirs);
                    assert_eq!(ours, theirs);
                    assert_eq!(ours.len(), count);
                }
            }
        }
    }
}
