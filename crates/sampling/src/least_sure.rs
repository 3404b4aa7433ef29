//! Extra spots where a kriged map is least sure: each is the one of an even lattice that lowers the mean
//! kriging variance of the field most, given those before it.
//!
//! The variance of ordinary kriging does not depend on what will be read, so it can be known beforehand; choosing
//! spots by its mean over the field: Brus and Heuvelink (2007), "Optimization of sample patterns for universal
//! kriging of environmental variables", Geoderma 138:86–95 (from memory; they search all spots at once, here
//! they are added one by one). Two places x and y have the covariance
//!
//! ```text
//! R(x, y) = C(x, y) − aₓ·a_y + uₓ·u_y / (w·w),    a = L⁻¹ c,  w = L⁻¹ 1,  u = 1 − w·a
//! ```
//!
//! once n spots are read, where L L' is the covariance of the readings, nugget included, and c that of a place
//! with them. A spot more at s takes R(x, s)·R(s, y) / (R(s, s) + nugget) from it (Chilès and Delfiner 1999,
//! Geostatistics, section 3.3, from memory). The nugget, what differs from push to push, is in the readings and not in
//! what is mapped.

use geostat::Variogram;
use survey::EastNorth;

use crate::APART_M;
use crate::distance::nearest_m;
use crate::error::SamplingError;
use crate::ground::Ground;

/// Places of the lattice: all pairs of them are kept.
const PLACES: usize = 1_200;

/// The most readings of an earlier visit that are taken in.
pub const MOST_KNOWN: usize = 2_000;

/// Part of the sill that readings differ by at least, so that a smooth model without a nugget can be solved.
const LEAST_NUGGET: f64 = 1e-6;

/// Extra spots where a map is least sure.
#[derive(Debug, Clone, PartialEq)]
pub struct LeastSure {
    /// The spots, the one that helps most first.
    pub places: Vec<EastNorth>,
    /// Mean variance over the field before the first and after each, in squares of the readings' unit, the nugget
    /// left out.
    pub mean_variances: Vec<f64>,
}

/// So many extra spots where a map kriged from spots with this variogram is least sure. `None` where the variogram
/// tells nothing of places: it is all nugget, or there are no readings or too many.
///
/// # Errors
/// When so many have no room.
pub fn least_sure(
    ground: &Ground,
    known: &[EastNorth],
    variogram: &Variogram,
    count: usize,
) -> Result<Option<LeastSure>, SamplingError> {
    if variogram.partial_sill <= 0.0 || known.is_empty() || known.len() > MOST_KNOWN {
        return Ok(None);
    }
    let lattice = ground.lattice(PLACES);
    let nugget = variogram.nugget.max(LEAST_NUGGET * variogram.sill());
    let Some(mut left) = covariances(known, &lattice, variogram, nugget) else { return Ok(None) };
    let mut free: Vec<bool> =
        lattice.iter().map(|&place| nearest_m(place, known) >= APART_M).collect();
    let mut places = Vec::new();
    let mut mean_variances = vec![mean_variance(&left)];
    for placed in 0..count {
        let best = best_place(&left, &free, nugget).ok_or_else(|| SamplingError::NoRoom {
            placed,
            asked: count,
            apart_m: APART_M,
            of: " on the lattice of places that are compared".into(),
        })?;
        free[best] = false;
        places.push(lattice[best]);
        read_at(&mut left, best, nugget);
        mean_variances.push(mean_variance(&left));
    }
    Ok(Some(LeastSure { places, mean_variances }))
}

fn covariance(variogram: &Variogram, a: EastNorth, b: EastNorth) -> f64 {
    let place = |p: EastNorth| [p.easting_m, p.northing_m];
    let squared_m2 = variogram.anisotropy.squared_m2(place(a), place(b));
    variogram.structure_covariance(squared_m2.sqrt())
}

/// The covariances of all pairs of places once some spots are read.
fn covariances(
    known: &[EastNorth],
    places: &[EastNorth],
    variogram: &Variogram,
    nugget: f64,
) -> Option<Vec<Vec<f64>>> {
    let lower = factorised(known, variogram, nugget)?;
    let solved = |mut side: Vec<f64>| {
        for row in 0..side.len() {
            let done: f64 = lower[row][..row].iter().zip(&side).map(|(l, s)| l * s).sum();
            side[row] = (side[row] - done) / lower[row][row];
        }
        side
    };
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let ones = solved(vec![1.0; known.len()]);
    let all = dot(&ones, &ones);
    let sides: Vec<Vec<f64>> = places
        .iter()
        .map(|&place| {
            solved(known.iter().map(|&other| covariance(variogram, place, other)).collect())
        })
        .collect();
    let left: Vec<f64> = sides.iter().map(|side| 1.0 - dot(&ones, side)).collect();
    let mut table = vec![vec![0.0; places.len()]; places.len()];
    for a in 0..places.len() {
        for b in 0..=a {
            let plain = covariance(variogram, places[a], places[b]);
            let value = plain - dot(&sides[a], &sides[b]) + left[a] * left[b] / all;
            table[a][b] = value;
            table[b][a] = value;
        }
    }
    Some(table)
}

/// The lower triangle L of the readings' covariance L L': Cholesky's method.
fn factorised(known: &[EastNorth], variogram: &Variogram, nugget: f64) -> Option<Vec<Vec<f64>>> {
    let mut lower: Vec<Vec<f64>> = Vec::with_capacity(known.len());
    for (row, &place) in known.iter().enumerate() {
        let mut line = vec![0.0; row + 1];
        for column in 0..row {
            let done: f64 = line[..column].iter().zip(&lower[column]).map(|(a, b)| a * b).sum();
            line[column] =
                (covariance(variogram, place, known[column]) - done) / lower[column][column];
        }
        let squares: f64 = line[..row].iter().map(|value| value * value).sum();
        let rest = variogram.partial_sill + nugget - squares;
        if rest <= 0.0 {
            return None;
        }
        line[row] = rest.sqrt();
        lower.push(line);
    }
    Some(lower)
}

fn mean_variance(left: &[Vec<f64>]) -> f64 {
    let sum: f64 = left.iter().enumerate().map(|(k, line)| line[k].max(0.0)).sum();
    sum / left.len() as f64
}

/// The free place whose reading takes most variance away; the first of equals.
fn best_place(left: &[Vec<f64>], free: &[bool], nugget: f64) -> Option<usize> {
    let taken = |k: usize| {
        let squares: f64 = left[k].iter().map(|value| value * value).sum();
        squares / (left[k][k].max(0.0) + nugget)
    };
    let mut best: Option<(usize, f64)> = None;
    for k in (0..left.len()).filter(|&k| free[k]) {
        let gain = taken(k);
        if best.is_none_or(|(_, most)| gain > most) {
            best = Some((k, gain));
        }
    }
    best.map(|(k, _)| k)
}

/// What is left once one more place is read.
fn read_at(left: &mut [Vec<f64>], place: usize, nugget: f64) {
    let own = left[place].clone();
    let variance = own[place].max(0.0) + nugget;
    for (line, &with) in left.iter_mut().zip(&own) {
        for (value, &other) in line.iter_mut().zip(&own) {
            *value -= with * other / variance;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{MultiPolygon, polygon};
    use geostat::{GlobalKriging, Kriging, Sample, Samples, Shape};

    fn ground() -> Ground {
        let ring = polygon![
            (x: 0.0, y: 0.0), (x: 300.0, y: 0.0), (x: 300.0, y: 200.0), (x: 0.0, y: 200.0)
        ];
        Ground::inside(&MultiPolygon(vec![ring]), 5.0).unwrap()
    }

    fn west_half() -> Vec<EastNorth> {
        (0..20)
            .map(|k| EastNorth {
                easting_m: 20.0 + 30.0 * f64::from(k % 4),
                northing_m: 20.0 + 38.0 * f64::from(k / 4),
            })
            .collect()
    }

    fn model(nugget: f64) -> Variogram {
        Variogram::new(Shape::Spherical, nugget, 9.0, 120.0).unwrap()
    }

    /// Without a nugget, what is mapped is what is read: the variances must be those of the crate that kriges.
    #[test]
    fn variances_are_those_of_kriging() {
        let (known, variogram) = (west_half(), model(0.0));
        let places = ground().lattice(60);
        let found = covariances(&known, &places, &variogram, 0.0).unwrap();
        let samples = known.iter().map(|place| Sample {
            easting_m: place.easting_m,
            northing_m: place.northing_m,
            value: 0.0,
        });
        let samples = Samples::new(samples.collect()).unwrap();
        let kriging = Kriging::new(variogram).unwrap();
        let global = GlobalKriging::new(&samples, &kriging).unwrap();
        for (k, place) in places.iter().enumerate() {
            let kriged = global.estimate([place.easting_m, place.northing_m]);
            assert!((found[k][k] - kriged.variance).abs() < 1e-9, "{} {kriged:?}", found[k][k]);
        }
    }

    /// Reading one place more is the same as having had it from the start.
    #[test]
    fn a_reading_added_is_a_reading_known() {
        let (mut known, variogram) = (west_half(), model(2.0));
        let places = ground().lattice(60);
        let mut added = covariances(&known, &places, &variogram, 2.0).unwrap();
        read_at(&mut added, 41, 2.0);
        known.push(places[41]);
        let anew = covariances(&known, &places, &variogram, 2.0).unwrap();
        for (one, other) in added.iter().zip(&anew) {
            assert!(one.iter().zip(other).all(|(a, b)| (a - b).abs() < 1e-9));
        }
    }

    #[test]
    fn spots_go_to_the_empty_half_and_each_lowers_what_is_left() {
        let found = least_sure(&ground(), &west_half(), &model(2.0), 8).unwrap().unwrap();
        assert!(found.places.iter().all(|place| place.easting_m > 110.0), "{:?}", found.places);
        assert!(found.mean_variances.windows(2).all(|pair| pair[1] < pair[0]));
        assert_eq!(found.mean_variances.len(), 9);
    }

    #[test]
    fn a_variogram_of_nugget_alone_tells_nothing() {
        let flat = Variogram::new(Shape::Spherical, 5.0, 0.0, 100.0).unwrap();
        assert_eq!(least_sure(&ground(), &west_half(), &flat, 3), Ok(None));
    }
}
