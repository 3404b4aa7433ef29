//! Strata of the ground, and spots drawn in each.
//!
//! Areas are counted on an even lattice over the ground that spots may stand on: what they decide is how many
//! spots a stratum gets, and a place that may not be probed should not count there.

use geo::{BoundingRect, Contains, MultiPolygon, Point, Rect};
use survey::EastNorth;

use crate::allotment::allot;
use crate::error::SamplingError;
use crate::ground::Ground;
use crate::random_places::Drawn;
use crate::{APART_M, MOST_SPOTS};

/// Places of the lattice that areas are counted on.
const PLACES: usize = 40_000;

/// Ground divided into strata, each place in one of them.
#[derive(Debug, Clone)]
pub struct DividedGround {
    names: Vec<String>,
    pieces: Vec<(usize, MultiPolygon, Rect)>,
    rest: usize,
}

/// A stratum with its part of the ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Stratum {
    /// Its name.
    pub name: String,
    /// Its part of the ground that spots may stand on, 0 to 1.
    pub share: f64,
}

impl DividedGround {
    /// Ground divided by polygons with names: of several that hold a place the first counts, and ground in none
    /// is called `rest`. Polygons of one name are one stratum.
    pub fn new(pieces: &[(String, MultiPolygon)], rest: &str) -> Self {
        let mut names: Vec<String> = Vec::new();
        let mut number = |name: &str| match names.iter().position(|known| known == name) {
            Some(known) => known,
            None => {
                names.push(name.to_owned());
                names.len() - 1
            }
        };
        let placed = pieces.iter().filter_map(|(name, polygons)| {
            let bounds = polygons.bounding_rect()?;
            Some((number(name), polygons.clone(), bounds))
        });
        let pieces: Vec<_> = placed.collect();
        let rest = number(rest);
        DividedGround { names, pieces, rest }
    }

    /// The name of the stratum of a place.
    pub fn name_at(&self, place: EastNorth) -> &str {
        &self.names[self.number_at(place)]
    }

    fn number_at(&self, place: EastNorth) -> usize {
        let point = Point::new(place.easting_m, place.northing_m);
        let holds = |(_, polygons, bounds): &&(usize, MultiPolygon, Rect)| {
            bounds.contains(&point) && polygons.contains(&point)
        };
        self.pieces.iter().find(holds).map_or(self.rest, |(number, ..)| *number)
    }

    /// How many places of the lattice each stratum has.
    fn counts(&self, ground: &Ground) -> Vec<usize> {
        let mut counts = vec![0; self.names.len()];
        for place in ground.lattice(PLACES) {
            counts[self.number_at(place)] += 1;
        }
        counts
    }

    /// The strata that have ground, with their shares of it, in the order of the file, the rest last.
    pub fn strata(&self, ground: &Ground) -> Vec<Stratum> {
        let counts = self.counts(ground);
        let all = counts.iter().sum::<usize>().max(1) as f64;
        let stratum = |(name, &count): (&String, &usize)| Stratum {
            name: name.clone(),
            share: count as f64 / all,
        };
        let with_ground = self.names.iter().zip(&counts).filter(|(_, count)| **count > 0);
        with_ground.map(stratum).collect()
    }
}

/// So many spots at random, divided among strata by area with at least so many in each, off those there are.
/// Each comes with the name of its stratum; strata stand one after the other.
///
/// # Errors
/// When so many are too many or too few for the strata, or have no room in one of them.
pub fn stratified_places(
    ground: &Ground,
    divided: &DividedGround,
    count: usize,
    least: usize,
    seed: u64,
    there: &[EastNorth],
) -> Result<Vec<(EastNorth, String)>, SamplingError> {
    if count > MOST_SPOTS {
        return Err(SamplingError::TooManyAsked { count });
    }
    let strata = divided.strata(ground);
    let shares: Vec<f64> = strata.iter().map(|stratum| stratum.share).collect();
    let numbers = allot(count, &shares, least)?;
    let mut drawn = Drawn::new(ground, seed);
    let mut taken = there.to_vec();
    let mut spots = Vec::new();
    for (stratum, asked) in strata.iter().zip(numbers) {
        for placed in 0..asked {
            let is_in = |place| divided.name_at(place) == stratum.name;
            let place = drawn.next(&taken, is_in).ok_or_else(|| SamplingError::NoRoom {
                placed,
                asked,
                apart_m: APART_M,
                of: format!(" in the stratum {:?}", stratum.name),
            })?;
            taken.push(place);
            spots.push((place, stratum.name.clone()));
        }
    }
    Ok(spots)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    fn rectangle(west_m: f64, east_m: f64) -> MultiPolygon {
        MultiPolygon(vec![polygon![
            (x: west_m, y: 0.0), (x: east_m, y: 0.0), (x: east_m, y: 100.0), (x: west_m, y: 100.0)
        ]])
    }

    #[test]
    fn each_stratum_gets_its_spots_and_the_first_counts_where_two_overlap() {
        let ground = Ground::inside(&rectangle(0.0, 200.0), 0.0).unwrap();
        let pieces = [
            ("lane".to_owned(), rectangle(0.0, 20.0)),
            ("headland".to_owned(), rectangle(10.0, 60.0)),
        ];
        let divided = DividedGround::new(&pieces, "main ground");
        let strata = divided.strata(&ground);
        let shares: Vec<(&str, f64)> =
            strata.iter().map(|stratum| (stratum.name.as_str(), stratum.share)).collect();
        let expected = [("lane", 0.1), ("headland", 0.2), ("main ground", 0.7)];
        for ((name, share), (wanted, area)) in shares.iter().zip(expected) {
            assert!(*name == wanted && (share - area).abs() < 0.01, "{shares:?}");
        }
        let spots = stratified_places(&ground, &divided, 20, 3, 1, &[]).unwrap();
        let count = |name: &str| spots.iter().filter(|(_, of)| of == name).count();
        assert_eq!([count("lane"), count("headland"), count("main ground")], [3, 4, 13]);
        assert!(spots.iter().all(|(place, name)| divided.name_at(*place) == name));
    }
}
