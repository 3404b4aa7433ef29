//! Distances in the plane, by a square root, which is exact to the last bit on every machine.

use survey::EastNorth;

/// Distance between two places, metres.
pub fn distance_m(a: EastNorth, b: EastNorth) -> f64 {
    squared_m2(a, b).sqrt()
}

/// Its square.
pub(crate) fn squared_m2(a: EastNorth, b: EastNorth) -> f64 {
    let (east, north) = (a.easting_m - b.easting_m, a.northing_m - b.northing_m);
    east * east + north * north
}

/// Distance to the nearest of some places, metres; infinite where there is none.
pub fn nearest_m(place: EastNorth, others: &[EastNorth]) -> f64 {
    let nearest = others.iter().map(|&other| squared_m2(place, other));
    nearest.fold(f64::INFINITY, f64::min).sqrt()
}
