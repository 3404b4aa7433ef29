//! The samples nearest to a place, found with a k-d tree.

use kdtree::KdTree;
use kdtree::distance::squared_euclidean;

use crate::error::GeostatError;
use crate::sample::Samples;

/// Which samples take part in an estimate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Search {
    /// How many of the nearest.
    pub neighbours: Neighbours,
    /// Only those at most so far away, metres; `None` is no limit.
    pub within_m: Option<f64>,
}

/// How many samples take part in an estimate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Neighbours {
    /// Every sample. The surface is smooth everywhere but at the samples.
    All,
    /// The nearest few. The surface jumps where one sample takes another's place.
    Nearest(usize),
}

impl Search {
    /// Every sample, however far.
    pub const EVERYTHING: Search = Search { neighbours: Neighbours::All, within_m: None };

    /// The nearest few, however far.
    pub fn nearest(count: usize) -> Self {
        Search { neighbours: Neighbours::Nearest(count), within_m: None }
    }

    pub(crate) fn check(self) -> Result<(), GeostatError> {
        match (self.neighbours, self.within_m) {
            (Neighbours::Nearest(0), _) => Err(GeostatError::NoNeighbours),
            (_, Some(radius_m)) if radius_m.is_nan() || radius_m <= 0.0 => {
                Err(GeostatError::Radius { radius_m })
            }
            _ => Ok(()),
        }
    }
}

/// A sample near a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Neighbour {
    /// Its number among the samples.
    pub index: usize,
    /// Square of its distance, m².
    pub squared_m2: f64,
}

/// The k-d tree over some samples.
pub struct NeighbourIndex {
    tree: KdTree<f64, usize, [f64; 2]>,
    places: Vec<[f64; 2]>,
}

impl NeighbourIndex {
    /// Builds the tree.
    pub fn new(samples: &Samples) -> Self {
        let places: Vec<[f64; 2]> =
            samples.as_slice().iter().map(|s| [s.easting_m, s.northing_m]).collect();
        let mut tree = KdTree::new(2);
        for (index, &place) in places.iter().enumerate() {
            tree.add(place, index).expect("samples are finite");
        }
        NeighbourIndex { tree, places }
    }

    /// The samples that a search finds for a place, ordered by distance and, at equal distance, by
    /// their order among the samples: of samples equally far, the earlier are taken. A sample
    /// exactly at `within_m` is found.
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
        found.clear();
        let spare = usize::from(without.is_some());
        match search.neighbours {
            Neighbours::Nearest(count) if count + spare < self.places.len() => {
                self.nearest(place, count + spare, found);
            }
            _ => found.extend(self.places.iter().enumerate().map(|(index, &other)| Neighbour {
                index,
                squared_m2: squared_euclidean(&place, &other),
            })),
        }
        found.retain(|n| {
            Some(n.index) != without && search.within_m.is_none_or(|r| n.squared_m2 <= r * r)
        });
        if let Neighbours::Nearest(count) = search.neighbours {
            found.sort_by(|a, b| a.squared_m2.total_cmp(&b.squared_m2).then(a.index.cmp(&b.index)));
            found.truncate(count);
        }
    }

    /// Every sample at most so far from a place.
    pub(crate) fn within(&self, place: [f64; 2], within_m: f64, found: &mut Vec<Neighbour>) {
        found.clear();
        let near = self.tree.within(&place, within_m * within_m, &squared_euclidean);
        let near = near.expect("place is finite and the tree is not empty");
        found.extend(near.into_iter().map(|(squared_m2, &index)| Neighbour { index, squared_m2 }));
    }

    /// At least the `count` nearest, with every sample that is as far as the last of them.
    fn nearest(&self, place: [f64; 2], count: usize, found: &mut Vec<Neighbour>) {
        let nearest = self
            .tree
            .nearest(&place, count + 1, &squared_euclidean)
            .expect("place is finite and the tree is not empty");
        let push = |found: &mut Vec<Neighbour>, (squared_m2, &index): (f64, &usize)| {
            found.push(Neighbour { index, squared_m2 });
        };
        let farthest = nearest[count - 1].0;
        if nearest[count].0 > farthest {
            nearest.into_iter().take(count).for_each(|pair| push(found, pair));
        } else {
            let tied = self.tree.within(&place, farthest, &squared_euclidean).expect("as above");
            tied.into_iter().for_each(|pair| push(found, pair));
        }
    }
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
        let search = Search { neighbours: Neighbours::All, within_m: Some(9.0) };
        assert_eq!(indices(search, None), [0, 1, 2, 3, 4]);
        let search = Search { within_m: Some(8.999), ..search };
        assert_eq!(indices(search, None), [0, 1, 2, 3]);
    }

    #[test]
    fn asking_for_more_than_there_are_gives_all() {
        assert_eq!(indices(Search::nearest(50), None).len(), 5);
        assert_eq!(indices(Search::nearest(5), Some(2)), [0, 1, 3, 4]);
    }
}
