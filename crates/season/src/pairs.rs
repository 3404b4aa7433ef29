//! Spots that two visits have in common, and the change at each.
//!
//! Where the files name their spots, two spots of one name are a pair, if they lie near each other: a name
//! that moved across the field stands for another spot. Names hold where at least half of those that both
//! visits have once are near each other; then a spot with another name is another spot, however near. Where
//! they do not, because each visit counts anew, or a spot has no name, two spots are a pair that are each
//! other's nearest and near enough.

use std::collections::BTreeMap;

use survey::{CheckedSurvey, EastNorth, Insertion, Reading};

use crate::reading_change::ReadingChange;

/// Spots of one name are the same spot up to so many typical spacings apart: common practice.
pub const NAMED_WITHIN_SPACINGS: f64 = 0.5;

/// Without names, spots are the same up to so many metres apart, and no farther than named ones: receivers
/// of telephones err by 7 to 13 m where reception is poor (Merry and Bettinger 2019, PLOS ONE 14:e0219890,
/// number from memory).
pub const PLACED_WITHIN_M: f64 = 15.0;

/// Nanometres in a centimetre.
const NM_PER_CM: f64 = 1e7;

/// How near each other two spots must lie to be one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairsWithin {
    /// Spots of one name, metres.
    pub named_m: f64,
    /// Other spots, metres.
    pub placed_m: f64,
}

impl PairsWithin {
    /// One distance for all.
    pub fn all_m(within_m: f64) -> Self {
        PairsWithin { named_m: within_m, placed_m: within_m }
    }

    /// [`NAMED_WITHIN_SPACINGS`] of the denser visit, and at most [`PLACED_WITHIN_M`] without a name.
    pub fn usual(earlier: &CheckedSurvey, later: &CheckedSurvey) -> Self {
        let named_m = NAMED_WITHIN_SPACINGS * earlier.spacing_m().min(later.spacing_m());
        PairsWithin { named_m, placed_m: named_m.min(PLACED_WITHIN_M) }
    }
}

/// What two spots were taken for one by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MatchedBy {
    /// Their name.
    Name,
    /// Their places.
    Place,
}

/// One spot of two visits.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// Its name at the earlier visit, or its record's number.
    pub id: String,
    /// The same at the later visit.
    pub later_id: String,
    /// What it was recognised by.
    pub matched_by: MatchedBy,
    /// Where it was found earlier.
    pub earlier_place: EastNorth,
    /// Where it was found later.
    pub later_place: EastNorth,
    /// What was read earlier.
    pub earlier: Reading,
    /// What was read later.
    pub later: Reading,
    /// Its number among the earlier visit's spots.
    pub earlier_spot: usize,
    /// Its number among the later visit's spots.
    pub later_spot: usize,
}

impl Pair {
    /// The change, as far as the readings tell it.
    pub fn change(&self) -> ReadingChange {
        ReadingChange::between(self.earlier, self.later)
    }

    /// The change with "not reached" taken at the depth probed, centimetres: what the maps are made from.
    /// Whole nanometres, so that equal steps of a rod's marks are equal numbers.
    pub fn as_read_cm(&self) -> f64 {
        let cm = self.later.at_least().cm() - self.earlier.at_least().cm();
        // Zero without a sign.
        (cm * NM_PER_CM).round() / NM_PER_CM + 0.0
    }

    /// How far apart its two places are, metres.
    pub fn apart_m(&self) -> f64 {
        self.earlier_place.distance_m(self.later_place)
    }
}

/// The spots that two visits have in common.
#[derive(Debug, Clone, PartialEq)]
pub struct Pairs {
    /// Them, in the order of the earlier visit.
    pub pairs: Vec<Pair>,
    /// Spots of the earlier visit that were not found again.
    pub only_earlier: usize,
    /// Spots of the later visit that were new.
    pub only_later: usize,
    /// How near each other spots had to be.
    pub within: PairsWithin,
    /// What is odd about names and places.
    pub notes: Vec<String>,
}

impl Pairs {
    /// How many were recognised by their name.
    pub fn by_name(&self) -> usize {
        self.pairs.iter().filter(|pair| pair.matched_by == MatchedBy::Name).count()
    }

    /// Places of the pairs at the earlier visit, metres.
    pub fn places(&self) -> Vec<[f64; 2]> {
        let place = |pair: &Pair| [pair.earlier_place.easting_m, pair.earlier_place.northing_m];
        self.pairs.iter().map(place).collect()
    }
}

/// Finds the spots that two visits of one field have in common. Each spot is used once.
pub fn pair_spots(earlier: &CheckedSurvey, later: &CheckedSurvey, within: PairsWithin) -> Pairs {
    let matches = matches(&marked(earlier), &marked(later), within);
    let pair = |&(earlier_spot, later_spot, matched_by): &(usize, usize, MatchedBy)| {
        let (first, second) = (&earlier.spots()[earlier_spot], &later.spots()[later_spot]);
        Pair {
            id: first.id.clone(),
            later_id: second.id.clone(),
            matched_by,
            earlier_place: first.position,
            later_place: second.position,
            earlier: first.reading,
            later: second.reading,
            earlier_spot,
            later_spot,
        }
    };
    let pairs: Vec<Pair> = matches.pairs.iter().map(pair).collect();
    Pairs {
        only_earlier: earlier.spots().len() - pairs.len(),
        only_later: later.spots().len() - pairs.len(),
        pairs,
        within,
        notes: matches.notes,
    }
}

/// A spot with its name, where the file gives it one.
#[derive(Debug, Clone)]
pub(crate) struct Marked {
    pub name: Option<String>,
    pub place: EastNorth,
}

/// The spots of a survey with the names that the file gives them.
pub(crate) fn marked(survey: &CheckedSurvey) -> Vec<Marked> {
    let name = |insertion: &Insertion| Some((insertion.number, insertion.id.clone()?));
    let names: BTreeMap<usize, String> = survey.kept().iter().filter_map(name).collect();
    let marked = |spot: &survey::Spot| Marked {
        name: names.get(&spot.number).cloned(),
        place: spot.position,
    };
    survey.spots().iter().map(marked).collect()
}

/// Numbers of spots that are one, by the first number, and what is odd.
pub(crate) struct Matches {
    pub pairs: Vec<(usize, usize, MatchedBy)>,
    pub notes: Vec<String>,
}

/// Finds the spots that two lists have in common: see the module's text.
pub(crate) fn matches(earlier: &[Marked], later: &[Marked], within: PairsWithin) -> Matches {
    let shared = shared_names(earlier, later);
    let (near, far): (Vec<_>, Vec<_>) = shared.into_iter().partition(|&(first, second)| {
        earlier[first].place.distance_m(later[second].place) <= within.named_m
    });
    let names_hold = !near.is_empty() && near.len() >= far.len();
    let mut pairs: Vec<_> = Vec::new();
    if names_hold {
        pairs.extend(near.iter().map(|&(first, second)| (first, second, MatchedBy::Name)));
    }
    let may_be = |first: usize, second: usize| {
        !(names_hold && earlier[first].name.is_some() && later[second].name.is_some())
    };
    let free = |count: usize, used: Vec<usize>| -> Vec<usize> {
        let mut is_free = vec![true; count];
        used.into_iter().for_each(|spot| is_free[spot] = false);
        (0..count).filter(|&spot| is_free[spot]).collect()
    };
    let free_earlier = free(earlier.len(), pairs.iter().map(|pair| pair.0).collect());
    let free_later = free(later.len(), pairs.iter().map(|pair| pair.1).collect());
    let places = |of: &[Marked]| of.iter().map(|spot| spot.place).collect::<Vec<EastNorth>>();
    let (from, to) = (places(earlier), places(later));
    let there = nearest((&from, &free_earlier), (&to, &free_later), within.placed_m, may_be);
    let back =
        nearest((&to, &free_later), (&from, &free_earlier), within.placed_m, |b, a| may_be(a, b));
    let mutual = there.iter().filter(|(first, second)| back.get(second) == Some(first));
    pairs.extend(mutual.map(|(&first, &second)| (first, second, MatchedBy::Place)));
    pairs.sort_unstable_by_key(|pair| pair.0);
    Matches { notes: notes(names_hold, &near, &far, earlier, within), pairs }
}

/// Spots of both lists with one name, which each list has once.
fn shared_names(earlier: &[Marked], later: &[Marked]) -> Vec<(usize, usize)> {
    let once = |spots: &[Marked]| {
        let mut by_name: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (number, spot) in spots.iter().enumerate() {
            if let Some(name) = &spot.name {
                by_name.entry(name.clone()).or_default().push(number);
            }
        }
        by_name.retain(|_, numbers| numbers.len() == 1);
        by_name
    };
    let of_later = once(later);
    let shared = |(name, numbers): (&String, &Vec<usize>)| {
        of_later.get(name).map(|others| (numbers[0], others[0]))
    };
    let mut shared: Vec<_> = once(earlier).iter().filter_map(shared).collect();
    shared.sort_unstable();
    shared
}

/// For each free place of one list the nearest free place of another that may be the same and is near
/// enough; of equally near ones the first.
fn nearest(
    (from, free_from): (&[EastNorth], &[usize]),
    (to, free_to): (&[EastNorth], &[usize]),
    within_m: f64,
    may_be: impl Fn(usize, usize) -> bool,
) -> BTreeMap<usize, usize> {
    let mut eastward = free_to.to_vec();
    eastward.sort_by(|&a, &b| to[a].easting_m.total_cmp(&to[b].easting_m).then(a.cmp(&b)));
    let nearest_to = |&first: &usize| {
        let place = from[first];
        let begin =
            eastward.partition_point(|&second| to[second].easting_m < place.easting_m - within_m);
        let candidates = eastward[begin..]
            .iter()
            .take_while(|&&second| to[second].easting_m <= place.easting_m + within_m)
            .filter(|&&second| may_be(first, second))
            .map(|&second| (place.distance_m(to[second]), second))
            .filter(|&(distance_m, _)| distance_m <= within_m);
        let nearest = candidates.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))?;
        Some((first, nearest.1))
    };
    free_from.iter().filter_map(nearest_to).collect()
}

fn notes(
    names_hold: bool,
    near: &[(usize, usize)],
    far: &[(usize, usize)],
    earlier: &[Marked],
    within: PairsWithin,
) -> Vec<String> {
    /// So many names are told.
    const TOLD: usize = 6;
    if far.is_empty() {
        return Vec::new();
    }
    let within_m = survey::units::tidy(within.named_m, 1);
    if !names_hold {
        return vec![format!(
            "{} of {} names that both visits have are at places more than {within_m} m apart, so names \
             were not looked at: spots are paired by their places",
            far.len(),
            far.len() + near.len(),
        )];
    }
    let mut names: Vec<&str> =
        far.iter().take(TOLD).filter_map(|&(first, _)| earlier[first].name.as_deref()).collect();
    if far.len() > TOLD {
        names.push("…");
    }
    vec![format!(
        "{} named at both visits {} at places more than {within_m} m apart and so no pair: {}",
        if far.len() == 1 { "1 spot".into() } else { format!("{} spots", far.len()) },
        if far.len() == 1 { "is" } else { "are" },
        names.join(", "),
    )]
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use survey::Depth;

    use super::*;

    fn at(name: &str, easting_m: f64, northing_m: f64) -> Marked {
        let name = (!name.is_empty()).then(|| name.to_owned());
        Marked { name, place: EastNorth { easting_m, northing_m } }
    }

    fn found(earlier: &[Marked], later: &[Marked], within_m: f64) -> Vec<(usize, usize)> {
        let matches = matches(earlier, later, PairsWithin::all_m(within_m));
        matches.pairs.iter().map(|pair| (pair.0, pair.1)).collect()
    }

    #[test]
    fn a_name_goes_before_a_nearer_place() {
        let earlier = [at("A", 0.0, 0.0), at("B", 4.0, 0.0), at("C", 90.0, 0.0)];
        let later = [at("B", 0.5, 0.0), at("A", 3.5, 0.0), at("C", 91.0, 0.0)];
        assert_eq!(found(&earlier, &later, 10.0), [(0, 1), (1, 0), (2, 2)]);
    }

    #[test]
    fn a_name_far_off_is_no_pair_and_noted() {
        let earlier = [at("A", 0.0, 0.0), at("B", 50.0, 0.0), at("C", 90.0, 0.0)];
        let later = [at("A", 1.0, 0.0), at("B", 61.0, 0.0), at("C", 91.0, 0.0)];
        let matches = matches(&earlier, &later, PairsWithin::all_m(10.0));
        assert_eq!(matches.pairs.len(), 2);
        let expected =
            "1 spot named at both visits is at places more than 10 m apart and so no pair: B";
        assert_eq!(matches.notes, [expected]);
    }

    /// A and B stand 3 m apart, on a lane and beside it; one was missed on each visit.
    #[test]
    fn another_name_is_another_spot_however_near() {
        let earlier = [at("A", 0.0, 0.0), at("C", 90.0, 0.0)];
        let later = [at("B", 3.0, 0.0), at("C", 91.0, 0.0)];
        assert_eq!(found(&earlier, &later, 10.0), [(1, 1)]);
    }

    #[test]
    fn names_that_are_counted_anew_are_not_looked_at() {
        let earlier = [at("1", 0.0, 0.0), at("2", 50.0, 0.0), at("3", 100.0, 0.0)];
        let later = [at("1", 101.0, 0.0), at("2", 51.0, 0.0), at("3", 1.0, 0.0)];
        let matches = matches(&earlier, &later, PairsWithin::all_m(10.0));
        let pairs: Vec<_> = matches.pairs.iter().map(|pair| (pair.0, pair.1)).collect();
        assert_eq!(pairs, [(0, 2), (1, 1), (2, 0)]);
        assert!(matches.notes[0].starts_with("2 of 3 names"), "{:?}", matches.notes);
    }

    #[test]
    fn a_name_that_stands_twice_is_matched_by_place() {
        let earlier = [at("A", 0.0, 0.0), at("A", 50.0, 0.0), at("", 80.0, 0.0)];
        let later = [at("A", 51.0, 0.0), at("A", 1.0, 0.0), at("Z", 83.0, 0.0)];
        assert_eq!(found(&earlier, &later, 10.0), [(0, 1), (1, 0), (2, 2)]);
    }

    /// The middle one is the nearest of both ends, but has one nearest itself.
    #[test]
    fn without_names_only_each_others_nearest_are_a_pair() {
        let earlier = [at("", 0.0, 0.0), at("", 8.0, 0.0)];
        let later = [at("", 5.0, 0.0)];
        assert_eq!(found(&earlier, &later, 10.0), [(1, 0)]);
        assert_eq!(found(&earlier, &later, 2.9), []);
        assert_eq!(found(&earlier, &later, 3.0), [(1, 0)]);
    }

    /// From 9 to 6 in it is as far as from 6 to 3 in, though their centimetres differ in the last digit.
    #[test]
    fn equal_steps_of_a_rod_are_equal_numbers() {
        let place = EastNorth { easting_m: 0.0, northing_m: 0.0 };
        let change_cm = |earlier_in, later_in| {
            let [earlier, later] =
                [earlier_in, later_in].map(|inches| Reading::Reached(Depth::from_in(inches)));
            let pair = Pair {
                id: "A".into(),
                later_id: "A".into(),
                matched_by: MatchedBy::Name,
                earlier_place: place,
                later_place: place,
                earlier,
                later,
                earlier_spot: 0,
                later_spot: 0,
            };
            pair.as_read_cm()
        };
        let plain = |a: f64, b: f64| Depth::from_in(b).cm() - Depth::from_in(a).cm();
        assert_ne!(plain(9.0, 6.0), plain(6.0, 3.0));
        assert_eq!(change_cm(9.0, 6.0), change_cm(6.0, 3.0));
        assert_eq!(change_cm(9.0, 6.0), -7.62);
        assert!(change_cm(6.0, 6.0).is_sign_positive());
    }

    fn spots() -> impl Strategy<Value = Vec<Marked>> {
        let spot = (0_u32..12, 0_u32..60, 0_u32..60);
        prop::collection::vec(spot, 0..30).prop_map(|spots| {
            let marked = |(name, east, north): (u32, u32, u32)| {
                // A half have no name, and no two distances are equal but by rare chance.
                let name = if name < 6 { name.to_string() } else { String::new() };
                let (east, north) = (f64::from(east), f64::from(north));
                at(&name, east + 1e-3 * north * north, north + 7e-4 * east * east)
            };
            spots.into_iter().map(marked).collect()
        })
    }

    proptest! {
        #[test]
        fn each_spot_is_used_once_and_within_the_distance(
            earlier in spots(), later in spots(), named_m in 0.0..30.0, placed_m in 0.0..30.0,
        ) {
            let matches = matches(&earlier, &later, PairsWithin { named_m, placed_m });
            let mut firsts: Vec<usize> = matches.pairs.iter().map(|pair| pair.0).collect();
            let mut seconds: Vec<usize> = matches.pairs.iter().map(|pair| pair.1).collect();
            seconds.sort_unstable();
            prop_assert!(firsts.is_sorted());
            firsts.dedup();
            seconds.dedup();
            prop_assert_eq!([firsts.len(), seconds.len()], [matches.pairs.len(); 2]);
            for &(first, second, by) in &matches.pairs {
                let apart_m = earlier[first].place.distance_m(later[second].place);
                let (within_m, is_named) = match by {
                    MatchedBy::Name => (named_m, earlier[first].name == later[second].name),
                    MatchedBy::Place => (placed_m, true),
                };
                prop_assert!(apart_m <= within_m && is_named);
            }
        }

        #[test]
        fn the_order_of_the_visits_does_not_matter(
            earlier in spots(), later in spots(), within_m in 0.0..30.0,
        ) {
            let distances = |spots: &[Marked], others: &[Marked]| -> Vec<u64> {
                let pairs = spots.iter().flat_map(|a| others.iter().map(move |b| (a, b)));
                pairs.map(|(a, b)| a.place.distance_m(b.place).to_bits()).collect()
            };
            let mut all = distances(&earlier, &later);
            all.sort_unstable();
            // Of equally near ones the first is taken.
            prop_assume!(all.windows(2).all(|two| two[0] != two[1]));
            let mut back: Vec<_> =
                found(&later, &earlier, within_m).into_iter().map(|(b, a)| (a, b)).collect();
            back.sort_unstable();
            prop_assert_eq!(found(&earlier, &later, within_m), back);
        }
    }
}
