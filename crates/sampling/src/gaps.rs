//! Extra spots in the widest gaps: each goes where the nearest spot is farthest.
//!
//! Greedy farthest-point placing: Gonzalez (1985), "Clustering to minimize the maximum intercluster distance",
//! Theoretical Computer Science 38:293–306, from memory; what it leaves is at most twice the least possible.

use survey::EastNorth;

use crate::APART_M;
use crate::MOST_SPOTS;
use crate::distance::squared_m2;
use crate::error::SamplingError;
use crate::ground::Ground;

/// Places of the lattice that gaps are sought on.
const PLACES: usize = 20_000;

/// Extra spots in gaps.
#[derive(Debug, Clone, PartialEq)]
pub struct Gaps {
    /// The spots, the one in the widest gap first.
    pub places: Vec<EastNorth>,
    /// How far the farthest ground was from every spot before, metres; infinite where there was none.
    pub before_m: f64,
    /// How far it is now.
    pub after_m: f64,
}

/// So many extra spots, each where the nearest of those there are and those before it is farthest.
///
/// # Errors
/// When so many are too many, or have no room.
pub fn widest_gaps(
    ground: &Ground,
    there: &[EastNorth],
    count: usize,
) -> Result<Gaps, SamplingError> {
    if count > MOST_SPOTS {
        return Err(SamplingError::TooManyAsked { count });
    }
    let lattice = ground.lattice(PLACES);
    let nearest = |&place: &EastNorth| {
        let squares = there.iter().map(|&other| squared_m2(place, other));
        squares.fold(f64::INFINITY, f64::min)
    };
    let mut gaps_m2: Vec<f64> = lattice.iter().map(nearest).collect();
    let mut places = Vec::new();
    let before_m = widest(&gaps_m2).map_or(f64::INFINITY, |(_, gap)| gap.sqrt());
    for placed in 0..count {
        let found = widest(&gaps_m2).filter(|(_, gap)| *gap >= APART_M * APART_M);
        let (at, _) = found.ok_or_else(|| SamplingError::NoRoom {
            placed,
            asked: count,
            apart_m: APART_M,
            of: " in the gaps".into(),
        })?;
        let place = lattice[at];
        for (gap, &other) in gaps_m2.iter_mut().zip(&lattice) {
            *gap = gap.min(squared_m2(place, other));
        }
        places.push(place);
    }
    let after_m = widest(&gaps_m2).map_or(f64::INFINITY, |(_, gap)| gap.sqrt());
    Ok(Gaps { places, before_m, after_m })
}

/// The widest gap, the first of equals.
fn widest(gaps_m2: &[f64]) -> Option<(usize, f64)> {
    let wider = |best: Option<(usize, f64)>, (at, &gap): (usize, &f64)| match best {
        Some((_, most)) if gap <= most => best,
        _ => Some((at, gap)),
    };
    gaps_m2.iter().enumerate().fold(None, wider)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{MultiPolygon, polygon};

    #[test]
    fn the_farthest_corner_comes_first() {
        let ring = polygon![
            (x: 0.0, y: 0.0), (x: 100.0, y: 0.0), (x: 100.0, y: 100.0), (x: 0.0, y: 100.0)
        ];
        let ground = Ground::inside(&MultiPolygon(vec![ring]), 0.0).unwrap();
        let there = [EastNorth { easting_m: 10.0, northing_m: 10.0 }];
        let gaps = widest_gaps(&ground, &there, 3).unwrap();
        let first = gaps.places[0];
        assert!(first.easting_m > 99.0 && first.northing_m > 99.0, "{first:?}");
        assert!((gaps.before_m - 90.0 * 2.0_f64.sqrt()).abs() < 1.0, "{}", gaps.before_m);
        assert!(gaps.after_m < gaps.before_m / 1.5);
        // The other two corners are farthest then.
        let is_corner = |place: &EastNorth| (place.easting_m - place.northing_m).abs() > 98.0;
        assert!(gaps.places[1..].iter().all(is_corner), "{:?}", gaps.places);
    }
}
