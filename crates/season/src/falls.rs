//! The spots of a field through the season: what was read at each on every visit, and where the loose layer
//! fell furthest.
//!
//! A spot of a visit is known again by its name or its place, as those of two visits are: see
//! [`pair_spots`](crate::pair_spots). It is looked for among all spots that were seen before, each under the
//! name and at the place it was first seen.

use survey::{EastNorth, Reading, Spot};

use crate::moisture::MoistureMatch;
use crate::pairs::{Marked, MatchedBy, PairsWithin, marked, matches};
use crate::reading_change::ReadingChange;
use crate::visit::Visit;

/// A spot with what was read there on each visit.
#[derive(Debug, Clone, PartialEq)]
pub struct SpotSeries {
    /// Its name, from the visit in which it was first seen.
    pub id: String,
    /// Where it was then.
    pub place: EastNorth,
    /// What was read on each visit; `None` where it has no reading on a visit.
    pub readings: Vec<Option<Reading>>,
}

/// All spots of a season.
#[derive(Debug, Clone, PartialEq)]
pub struct SpotHistory {
    /// By the visit in which they were first seen, then in file order.
    pub spots: Vec<SpotSeries>,
    /// How the spots of each visit after the first were known again.
    pub known_again: Vec<KnownAgain>,
}

/// How the spots of a visit were known again.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownAgain {
    /// By their name.
    pub by_name: usize,
    /// By their place.
    pub by_place: usize,
    /// Spots that no visit had before.
    pub new: usize,
    /// What is odd about names and places.
    pub notes: Vec<String>,
}

/// A spot's change between two visits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpotChange {
    /// Which spot: an index of [`SpotHistory::spots`].
    pub spot: usize,
    /// What was read on the earlier visit.
    pub earlier: Reading,
    /// What was read on the later visit.
    pub later: Reading,
    /// The change.
    pub change: ReadingChange,
}

/// Where the loose layer fell and where it deepened between two visits.
#[derive(Debug, Clone, PartialEq)]
pub struct Falls {
    /// The earlier visit, an index.
    pub from: usize,
    /// The later visit, an index.
    pub to: usize,
    /// What the moistures of the two visits say of the changes.
    pub moisture: MoistureMatch,
    /// Spots whose layer is certain to have become thinner, those that fell furthest first; of equal ones
    /// the first of the file.
    pub fell: Vec<SpotChange>,
    /// Spots whose layer is certain to have become deeper, the most first.
    pub deepened: Vec<SpotChange>,
    /// Spots with the same depth on both.
    pub unchanged: usize,
    /// Spots of which the readings do not tell, since the threshold was not reached.
    pub undecided: usize,
    /// Spots without a reading on one of the two or on both, indices.
    pub missing: Vec<usize>,
}

impl SpotHistory {
    /// Follows the spots through the visits, which are given by date.
    pub fn of(visits: &[Visit]) -> Self {
        Self::through(&visits.iter().collect::<Vec<_>>(), None)
    }

    /// The same with how near each other two spots must lie to be one, metres; `None` is
    /// [`PairsWithin::usual`].
    pub(crate) fn through(visits: &[&Visit], pair_within_m: Option<f64>) -> Self {
        let mut history = SpotHistory { spots: Vec::new(), known_again: Vec::new() };
        let mut known: Vec<Marked> = Vec::new();
        for (number, visit) in visits.iter().enumerate() {
            let spots = marked(&visit.survey);
            let within = pair_within_m.map_or_else(
                || PairsWithin::usual(&visits[0].survey, &visit.survey),
                PairsWithin::all_m,
            );
            let found = matches(&known, &spots, within);
            let mut again: Vec<Option<usize>> = vec![None; spots.len()];
            found.pairs.iter().for_each(|&(spot, of_visit, _)| again[of_visit] = Some(spot));
            if number > 0 {
                let by_name = found.pairs.iter().filter(|pair| pair.2 == MatchedBy::Name).count();
                history.known_again.push(KnownAgain {
                    by_name,
                    by_place: found.pairs.len() - by_name,
                    new: spots.len() - found.pairs.len(),
                    notes: found.notes,
                });
            }
            for ((spot, mark), again) in visit.survey.spots().iter().zip(spots).zip(again) {
                let index = again.unwrap_or_else(|| {
                    known.push(mark);
                    history.spots.push(SpotSeries::new(spot, visits.len()));
                    known.len() - 1
                });
                history.spots[index].readings[number] = Some(spot.reading);
            }
        }
        history
    }

    /// Spots that have no reading on at least one visit, indices.
    pub fn with_gaps(&self) -> Vec<usize> {
        let has_gap = |spot: &SpotSeries| spot.readings.iter().any(Option::is_none);
        (0..self.spots.len()).filter(|&spot| has_gap(&self.spots[spot])).collect()
    }

    /// The changes from one visit to a later one.
    pub fn falls(&self, visits: &[Visit], [from, to]: [usize; 2], within_pct: f64) -> Falls {
        let moisture = |visit: usize| visits[visit].survey.moisture();
        let mut falls = Falls {
            from,
            to,
            moisture: MoistureMatch::of(moisture(from), moisture(to), within_pct),
            fell: Vec::new(),
            deepened: Vec::new(),
            unchanged: 0,
            undecided: 0,
            missing: Vec::new(),
        };
        for (spot, series) in self.spots.iter().enumerate() {
            let (Some(earlier), Some(later)) = (series.readings[from], series.readings[to]) else {
                falls.missing.push(spot);
                continue;
            };
            let change = ReadingChange::between(earlier, later);
            let changed = SpotChange { spot, earlier, later, change };
            match change {
                _ if change.is_fall() => falls.fell.push(changed),
                _ if change.is_rise() => falls.deepened.push(changed),
                ReadingChange::Exactly(_) => falls.unchanged += 1,
                _ => falls.undecided += 1,
            }
        }
        // Sorting is stable: equal ones stay in file order.
        falls.fell.sort_by_key(|fall| tenths_of_micrometres(fall.change.most_cm()));
        falls.deepened.sort_by_key(|rise| -tenths_of_micrometres(rise.change.least_cm()));
        falls
    }
}

impl SpotSeries {
    fn new(spot: &Spot, visits: usize) -> Self {
        SpotSeries { id: spot.id.clone(), place: spot.position, readings: vec![None; visits] }
    }
}

/// Changes that differ by less are equal: marks in inches are no round numbers of centimetres.
fn tenths_of_micrometres(cm: Option<f64>) -> i64 {
    cm.map_or(0, |cm| (cm * 1e5).round() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::test_visits::At::{self, Deeper, Reached, Stone};
    use crate::test_visits::{visit, visit_at};

    const NAMES: [&str; 6] = ["A", "B", "C", "D", "E", "F"];

    fn named(readings: &[At]) -> Vec<(Option<&'static str>, At)> {
        NAMES.into_iter().map(Some).zip(readings.iter().copied()).collect()
    }

    fn ids<'a>(history: &'a SpotHistory, changes: &[SpotChange]) -> Vec<&'a str> {
        changes.iter().map(|change| history.spots[change.spot].id.as_str()).collect()
    }

    #[test]
    fn the_furthest_fall_stands_first_and_equal_ones_in_file_order() {
        let first =
            [Reached(9.0), Deeper(18.0), Reached(12.0), Reached(6.0), Deeper(12.0), Reached(9.0)];
        let last =
            [Reached(6.0), Reached(9.0), Reached(9.0), Reached(9.0), Reached(15.0), Reached(9.0)];
        let visits =
            [visit([4, 14], Some(30.0), &named(&first)), visit([7, 8], Some(18.0), &named(&last))];
        let history = SpotHistory::of(&visits);
        let falls = history.falls(&visits, [0, 1], 3.0);
        // B fell by at least 9 in, A and C by 3 in; E is deeper than 12 in or 15 in: nobody knows.
        assert_eq!(ids(&history, &falls.fell), ["B", "A", "C"]);
        assert!(
            matches!(falls.fell[0].change, ReadingChange::AtMost(cm) if (cm + 22.86).abs() < 1e-4)
        );
        assert!(
            matches!(falls.fell[1].change, ReadingChange::Exactly(cm) if (cm + 7.62).abs() < 1e-4)
        );
        assert_eq!(ids(&history, &falls.deepened), ["D"]);
        assert_eq!((falls.unchanged, falls.undecided, falls.missing.len()), (1, 1, 0));
        assert!(!falls.moisture.is_matched());
        let back = history.falls(&visits, [1, 0], 15.0);
        assert_eq!((ids(&history, &back.fell), back.moisture.is_matched()), (vec!["D"], true));
        assert_eq!(ids(&history, &back.deepened), ["B", "A", "C"]);
    }

    #[test]
    fn a_spot_without_a_reading_is_told_and_comes_back_by_its_name() {
        let nine = Reached(9.0);
        let visits = [
            visit([4, 14], None, &named(&[nine, Stone, nine, nine, nine])),
            visit([4, 26], None, &named(&[nine, nine, nine, nine, nine, nine])),
            visit([5, 9], None, &named(&[nine, nine, Stone, nine, nine, Reached(3.0)])),
        ];
        let history = SpotHistory::of(&visits);
        let order: Vec<&str> = history.spots.iter().map(|spot| spot.id.as_str()).collect();
        assert_eq!(order, ["A", "C", "D", "E", "B", "F"], "as first seen");
        let again = |visit: usize| &history.known_again[visit];
        assert_eq!((again(0).by_name, again(0).new, again(1).by_name), (4, 2, 5));
        let gaps: Vec<&str> =
            history.with_gaps().into_iter().map(|spot| history.spots[spot].id.as_str()).collect();
        assert_eq!(gaps, ["C", "B", "F"]);
        assert_eq!(history.falls(&visits, [0, 2], 3.0).missing, [1, 4, 5]);
        assert_eq!(history.spots[5].readings[0], None);
        assert!(history.spots[4].readings[2].is_some());
    }

    #[test]
    fn without_names_the_nearest_spot_is_the_same_one() {
        let plain = |readings: &[At]| readings.iter().map(|at| (None, *at)).collect::<Vec<_>>();
        let readings = [3.0, 6.0, 9.0, 12.0].map(Reached);
        let here = [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [1.0, 1.0]];
        // In another order and 3 m off; the last is 24 m from the nearest, more than half the spacing.
        let there = [[1.1, 0.0], [0.0, 0.1], [0.1, 1.0], [1.8, 1.0]];
        let visits = [
            visit_at([4, 14], None, &plain(&readings), &here),
            visit_at([5, 9], None, &plain(&readings), &there),
        ];
        let history = SpotHistory::of(&visits);
        let again = &history.known_again[0];
        assert_eq!((again.by_name, again.by_place, again.new), (0, 3, 1));
        let read = |spot: usize| {
            history.spots[spot]
                .readings
                .iter()
                .map(|r| r.map(|r| r.at_least().inches().round()))
                .collect::<Vec<_>>()
        };
        assert_eq!(read(0), [Some(3.0), Some(6.0)]);
        assert_eq!(read(1), [Some(6.0), Some(3.0)]);
        assert_eq!(read(2), [Some(9.0), Some(9.0)]);
        assert_eq!(read(3), [Some(12.0), None]);
        assert_eq!(read(4), [None, Some(12.0)]);
    }

    #[test]
    fn a_name_that_stands_twice_is_no_name() {
        let mut twice = named(&[Reached(9.0), Reached(6.0), Reached(3.0)]);
        twice[1].0 = Some("A");
        let visits =
            [visit([4, 14], None, &twice), visit([4, 26], None, &named(&[Reached(3.0); 3]))];
        let history = SpotHistory::of(&visits);
        // C is known by its name; of A and B nobody knows which the two called A are.
        let again = &history.known_again[0];
        assert_eq!((again.by_name, again.by_place, again.new), (1, 0, 2));
        assert_eq!(history.spots.len(), 5);
    }
}
