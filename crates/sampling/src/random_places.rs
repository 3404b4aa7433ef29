//! Spots at random: every place of the ground alike, but not within [`APART_M`] of another spot.

use statistics::Random;
use survey::EastNorth;

use crate::distance::nearest_m;
use crate::error::SamplingError;
use crate::ground::Ground;
use crate::{APART_M, MOST_SPOTS};

/// Places that are drawn for one spot before the ground counts as full.
const MOST_TRIES: usize = 50_000;

/// Draws places one by one.
pub(crate) struct Drawn<'g> {
    ground: &'g Ground,
    random: Random,
    /// Area of the rectangles around the parts, each with those before it.
    areas_m2: Vec<f64>,
}

impl<'g> Drawn<'g> {
    pub fn new(ground: &'g Ground, seed: u64) -> Self {
        let mut sum = 0.0;
        let areas_m2 = ground.parts().iter().map(|part| {
            sum += (part.east_m - part.west_m) * (part.north_m - part.south_m);
            sum
        });
        Drawn { ground, random: Random::new(seed), areas_m2: areas_m2.collect() }
    }

    /// At least 0 and below 1, every multiple of 2⁻⁵³ alike.
    fn uniform(&mut self) -> f64 {
        (self.random.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A place in the rectangle around a part, chosen by its area, where it falls into that part: so each
    /// place of the ground is drawn alike.
    fn try_once(&mut self) -> Option<EastNorth> {
        let all = self.areas_m2.last().copied().unwrap_or(0.0);
        let at = self.uniform() * all;
        let number = self.areas_m2.partition_point(|&upto| upto <= at);
        let (east, north) = (self.uniform(), self.uniform());
        let part = self.ground.parts().get(number)?;
        let place = EastNorth {
            easting_m: part.west_m + east * (part.east_m - part.west_m),
            northing_m: part.south_m + north * (part.north_m - part.south_m),
        };
        (self.ground.part_at(place) == Some(number)).then_some(place)
    }

    /// A place that is wanted and off all others; `None` where none turns up.
    pub fn next(
        &mut self,
        others: &[EastNorth],
        is_wanted: impl Fn(EastNorth) -> bool,
    ) -> Option<EastNorth> {
        (0..MOST_TRIES).find_map(|_| {
            let place = self.try_once()?;
            (is_wanted(place) && nearest_m(place, others) >= APART_M).then_some(place)
        })
    }
}

/// So many spots at random, off those there are; the same seed gives the same spots.
///
/// # Errors
/// When so many are too many, or have no room.
pub fn random_places(
    ground: &Ground,
    count: usize,
    seed: u64,
    there: &[EastNorth],
) -> Result<Vec<EastNorth>, SamplingError> {
    if count > MOST_SPOTS {
        return Err(SamplingError::TooManyAsked { count });
    }
    let mut drawn = Drawn::new(ground, seed);
    let mut all = there.to_vec();
    for placed in 0..count {
        let place = drawn.next(&all, |_| true).ok_or_else(|| SamplingError::NoRoom {
            placed,
            asked: count,
            apart_m: APART_M,
            of: String::new(),
        })?;
        all.push(place);
    }
    Ok(all.split_off(there.len()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{MultiPolygon, polygon};

    #[test]
    fn every_quarter_of_a_field_of_two_parts_gets_its_share() {
        // A square of 100 m and a triangle of the same area far away.
        let square = polygon![(x: 0.0, y: 0.0), (x: 100.0, y: 0.0), (x: 100.0, y: 100.0), (x: 0.0, y: 100.0)];
        let triangle = polygon![(x: 900.0, y: 0.0), (x: 1100.0, y: 0.0), (x: 900.0, y: 100.0)];
        let ground = Ground::inside(&MultiPolygon(vec![square, triangle]), 0.0).unwrap();
        let mut drawn = Drawn::new(&ground, 3);
        let places: Vec<EastNorth> =
            (0..4_000).map(|_| drawn.next(&[], |_| true).unwrap()).collect();
        let share = |is_in: fn(&EastNorth) -> bool| {
            places.iter().filter(|place| is_in(place)).count() as f64 / 4_000.0
        };
        // Four standard errors of a share of a half and of an eighth.
        assert!((share(|p| p.easting_m < 500.0) - 0.5).abs() < 0.032);
        let low_west = share(|p| p.easting_m < 50.0 && p.northing_m < 50.0);
        assert!((low_west - 0.125).abs() < 0.021, "{low_west}");
        // Of the triangle a quarter of its area lies beyond half its length.
        let tip = share(|p| p.easting_m > 1_000.0);
        assert!((tip - 0.125).abs() < 0.021, "{tip}");
    }

    #[test]
    fn a_full_field_takes_no_more() {
        let small =
            polygon![(x: 0.0, y: 0.0), (x: 6.0, y: 0.0), (x: 6.0, y: 6.0), (x: 0.0, y: 6.0)];
        let ground = Ground::inside(&MultiPolygon(vec![small]), 1.0).unwrap();
        let error = random_places(&ground, 40, 1, &[]).unwrap_err();
        assert!(matches!(error, SamplingError::NoRoom { asked: 40, placed: 3..=9, .. }), "{error}");
        assert_eq!(random_places(&ground, 3, 1, &[]).unwrap().len(), 3);
    }
}
