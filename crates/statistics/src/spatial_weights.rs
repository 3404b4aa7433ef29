//! Which places are neighbours, and how much each counts.

use crate::distance::distance;

/// Weights of pairs of places: from each place to its neighbours, not always the same back.
#[derive(Debug, Clone, PartialEq)]
pub struct SpatialWeights {
    /// For each place its neighbours by number, with their weights.
    rows: Vec<Vec<(usize, f64)>>,
}

impl SpatialWeights {
    /// A weight of 1 for any two places no farther apart than `limit`, in the unit of the places.
    pub fn within(places: &[[f64; 2]], limit: f64) -> Self {
        let row = |place: usize| {
            let near = |other: &usize| {
                *other != place && distance(&places[place], &places[*other]) <= limit
            };
            (0..places.len()).filter(near).map(|other| (other, 1.0)).collect()
        };
        SpatialWeights { rows: (0..places.len()).map(row).collect() }
    }

    /// A weight of 1 from each place to the `count` nearest others. Of places equally far the first are
    /// taken: programs differ in this.
    pub fn nearest(places: &[[f64; 2]], count: usize) -> Self {
        let row = |place: usize| {
            let others = (0..places.len()).filter(|other| *other != place);
            let mut others: Vec<(f64, usize)> =
                others.map(|other| (distance(&places[place], &places[other]), other)).collect();
            if count < others.len() {
                let nearer =
                    |a: &(f64, usize), b: &(f64, usize)| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1));
                others.select_nth_unstable_by(count, nearer);
                others.truncate(count);
            }
            let mut row: Vec<usize> = others.into_iter().map(|(_, other)| other).collect();
            row.sort_unstable();
            row.into_iter().map(|other| (other, 1.0)).collect()
        };
        SpatialWeights { rows: (0..places.len()).map(row).collect() }
    }

    /// A weight of 1 from each place to those listed for it, by number from 0. `None` where a number is
    /// no place, is the place itself or is listed twice.
    pub fn of_links(links: &[Vec<usize>]) -> Option<Self> {
        let row = |(place, others): (usize, &Vec<usize>)| {
            let mut sorted = others.clone();
            sorted.sort_unstable();
            let proper = sorted.iter().all(|other| *other < links.len() && *other != place);
            let once = sorted.windows(2).all(|pair| pair[0] != pair[1]);
            (proper && once).then(|| sorted.into_iter().map(|other| (other, 1.0)).collect())
        };
        let rows: Option<Vec<_>> = links.iter().enumerate().map(row).collect();
        Some(SpatialWeights { rows: rows? })
    }

    /// The same neighbours with weights that add up to 1 for each place that has any.
    #[must_use]
    pub fn row_standardised(mut self) -> Self {
        for row in &mut self.rows {
            let sum: f64 = row.iter().map(|(_, weight)| weight).sum();
            for (_, weight) in row {
                *weight /= sum;
            }
        }
        self
    }

    /// How many places there are.
    pub fn places(&self) -> usize {
        self.rows.len()
    }

    /// The neighbours of a place by number, with their weights.
    ///
    /// # Panics
    /// When there is no such place.
    pub fn neighbours(&self, place: usize) -> &[(usize, f64)] {
        &self.rows[place]
    }

    /// How many places have no neighbour.
    pub fn alone(&self) -> usize {
        self.rows.iter().filter(|row| row.is_empty()).count()
    }

    /// All pairs with a weight: from, to, weight.
    pub(crate) fn pairs(&self) -> impl Iterator<Item = (usize, usize, f64)> {
        let rows = self.rows.iter().enumerate();
        rows.flat_map(|(from, row)| row.iter().map(move |&(to, weight)| (from, to, weight)))
    }

    /// The weight from one place to another, 0 where there is none.
    pub(crate) fn weight(&self, from: usize, to: usize) -> f64 {
        let row = &self.rows[from];
        row.binary_search_by_key(&to, |&(other, _)| other).map_or(0.0, |at| row[at].1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLACES: [[f64; 2]; 5] = [[0.0, 0.0], [1.0, 0.0], [3.0, 0.0], [3.0, 4.0], [90.0, 0.0]];

    fn numbers(weights: &SpatialWeights) -> Vec<Vec<usize>> {
        let of = |place| weights.neighbours(place).iter().map(|&(other, _)| other).collect();
        (0..weights.places()).map(of).collect()
    }

    #[test]
    fn a_distance_holds_its_limit_and_leaves_far_places_alone() {
        let weights = SpatialWeights::within(&PLACES, 4.0);
        assert_eq!(numbers(&weights), [vec![1, 2], vec![0, 2], vec![0, 1, 3], vec![2], vec![]]);
        assert_eq!(weights.alone(), 1);
        let standardised = weights.row_standardised();
        assert_eq!(standardised.neighbours(3), [(2, 1.0)]);
        assert_eq!(standardised.weight(2, 3), 1.0 / 3.0);
        assert_eq!(standardised.weight(4, 3), 0.0);
    }

    #[test]
    fn nearest_places_need_not_be_so_in_return() {
        let weights = SpatialWeights::nearest(&PLACES, 2);
        assert_eq!(numbers(&weights), [vec![1, 2], vec![0, 2], vec![0, 1], vec![1, 2], vec![2, 3]]);
        let first = SpatialWeights::nearest(&[[0.0, 0.0], [1.0, 0.0], [-1.0, 0.0], [0.0, 1.0]], 2);
        assert_eq!(numbers(&first)[0], [1, 2]);
        let all = SpatialWeights::nearest(&PLACES, 99);
        assert_eq!(all.neighbours(4).len(), 4);
    }

    #[test]
    fn links_name_other_places_once() {
        let weights = SpatialWeights::of_links(&[vec![2, 1], vec![0], vec![]]).unwrap();
        assert_eq!(weights.pairs().collect::<Vec<_>>(), [(0, 1, 1.0), (0, 2, 1.0), (1, 0, 1.0)]);
        assert_eq!(SpatialWeights::of_links(&[vec![1, 1], vec![0]]), None);
        assert_eq!(SpatialWeights::of_links(&[vec![0], vec![0]]), None);
        assert_eq!(SpatialWeights::of_links(&[vec![2], vec![0]]), None);
    }
}
