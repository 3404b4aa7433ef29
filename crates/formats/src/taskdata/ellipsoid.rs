//! Lengths of a degree on WGS 84.
//!
//! With the radii of curvature in the meridian, `M = a (1 − e²) / (1 − e² sin² φ)^(3/2)`, and in the prime
//! vertical, `N = a / √(1 − e² sin² φ)` (Snyder 1987, Map Projections: A Working Manual, USGS Professional
//! Paper 1395, equations 4-18 and 4-20), a degree is `M π/180` north and `N cos φ π/180` east.

/// Semi-major axis and flattening of WGS 84, exact (NGA.STND.0036, 2014, table 3.1).
const A_M: f64 = 6_378_137.0;
const FLATTENING: f64 = 1.0 / 298.257_223_563;

/// Metres in a degree east and in a degree north at a latitude.
pub(super) fn degree_m(lat_deg: f64) -> (f64, f64) {
    let lat = lat_deg.to_radians();
    let e2 = FLATTENING * (2.0 - FLATTENING);
    let sin = libm::sin(lat);
    let root = (1.0 - e2 * sin * sin).sqrt();
    let meridian_m = A_M * (1.0 - e2) / (root * root * root);
    let prime_vertical_m = A_M / root;
    (prime_vertical_m * libm::cos(lat) * 1_f64.to_radians(), meridian_m * 1_f64.to_radians())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// From the formulas by hand: N(0) = a and M(0) = a (1 − e²) = 6 335 439.327 m; at 45° N = 6 388 838.290
    /// m and M = 6 367 381.816 m.
    #[test]
    fn degrees_have_their_length() {
        let (east_m, north_m) = degree_m(0.0);
        assert!((east_m - 111_319.490_8).abs() < 1e-3, "{east_m}");
        assert!((north_m - 110_574.275_8).abs() < 1e-3, "{north_m}");
        let (east_m, north_m) = degree_m(-45.0);
        assert!((east_m - 78_846.835_1).abs() < 1e-3, "{east_m}");
        assert!((north_m - 111_131.777_7).abs() < 1e-3, "{north_m}");
    }
}
