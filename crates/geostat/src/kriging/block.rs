//! Means over a block or a zone.
//!
//! The mean of a block is estimated with the mean, over points that stand for it, of their covariances
//! with each sample, and its variance from their mean covariance with each other: Isaaks and Srivastava
//! (1989), chapter 13; Goovaerts (1997), section 5.8 (from memory). Below the spacing of the points
//! the nugget averages out, so neither covariance holds it: the mean of a block has no nugget, and
//! whether that is error or variation makes no difference.

use rayon::prelude::*;

use crate::cholesky::{Lanes, WIDTH};
use crate::error::GeostatError;
use crate::kriging::system::{Places, TERMS, covariances};
use crate::kriging::{GlobalKriging, Kriged};

/// Places and weights of Gauss's rule with four points on −1..1, exact for polynomials to degree 7:
/// ±√(3/7 ∓ (2/7)√(6/5)) with (18 ± √30)/36.
fn gauss_4() -> [(f64, f64); 4] {
    let (root, spread) = (30.0_f64.sqrt(), 2.0 / 7.0 * (6.0_f64 / 5.0).sqrt());
    let (near, far) = ((3.0 / 7.0 - spread).sqrt(), (3.0 / 7.0 + spread).sqrt());
    let (heavy, light) = ((18.0 + root) / 36.0, (18.0 - root) / 36.0);
    [(-far, light), (-near, heavy), (near, heavy), (far, light)]
}

impl GlobalKriging {
    /// The mean of a rectangle around a place, so many metres east to west and north to south, by 4 × 4
    /// points of Gauss and Legendre's rule.
    ///
    /// # Errors
    /// When a number is not finite.
    pub fn cell(
        &self,
        middle: [f64; 2],
        [width_m, height_m]: [f64; 2],
    ) -> Result<Kriged, GeostatError> {
        let (mut points, mut weights) = (Vec::new(), Vec::new());
        for (east, of_east) in gauss_4() {
            for (north, of_north) in gauss_4() {
                points.push([middle[0] + east * width_m / 2.0, middle[1] + north * height_m / 2.0]);
                weights.push(of_east * of_north);
            }
        }
        self.block(&points, Some(&weights))
    }

    /// The mean of a block or a zone that is given by points, all alike or with weights in any unit.
    /// The root of the variance is the standard error of the mean.
    ///
    /// With m points and n samples it takes m n + m²/2 covariances and n² products, and room for
    /// m + n numbers. Some 500 points spread evenly, say every tenth cell of a map, give the mean
    /// of a zone as well as all of them; 10 000 take about a second.
    ///
    /// # Errors
    /// When there is no point, or points or weights cannot be used.
    pub fn block(
        &self,
        points: &[[f64; 2]],
        weights: Option<&[f64]>,
    ) -> Result<Kriged, GeostatError> {
        let weights = shares(points, weights)?;
        let system = &self.system;
        let variogram = system.kriging.variogram();
        let stretched: Vec<_> = points.iter().map(|&p| system.places.stretch(p)).collect();
        let with_sample = |s: usize| {
            let mut sums = [0.0; WIDTH];
            for (&at, &weight) in stretched.iter().zip(&weights) {
                let covariances = covariances(variogram, system.places.squares(s, at));
                add(&mut sums, weight, covariances);
            }
            sums
        };
        let strips: Vec<Lanes> =
            (0..system.places.strips()).into_par_iter().map(with_sample).collect();
        let side = system.made_up(strips.into_iter().flatten());
        let mut trend = [0.0; TERMS];
        for (&point, &weight) in points.iter().zip(&weights) {
            let at = system.trend_at(point);
            for k in 0..TERMS {
                trend[k] += weight * at[k];
            }
        }
        let within = self.within(points, &weights);
        Ok(system.estimate_side(&self.dual, side, trend, within))
    }

    /// Mean covariance of the points of a block with each other.
    fn within(&self, points: &[[f64; 2]], weights: &[f64]) -> f64 {
        let variogram = self.system.kriging.variogram();
        let places = Places::new(&variogram.anisotropy, points);
        let mut of_lanes: Vec<Lanes> = vec![[0.0; WIDTH]; places.strips()];
        for (m, &weight) in weights.iter().enumerate() {
            of_lanes[m / WIDTH][m % WIDTH] = weight;
        }
        // Each pair once: a strip with itself holds them twice, with later strips once.
        let of_point = |m: usize| {
            let at = places.stretched(m);
            let mut sums = [0.0; WIDTH];
            for (s, of_lanes) in of_lanes.iter().enumerate().skip(m / WIDTH) {
                let twice = if s == m / WIDTH { 1.0 } else { 2.0 };
                let covariances = covariances(variogram, places.squares(s, at));
                for lane in 0..WIDTH {
                    sums[lane] += twice * of_lanes[lane] * covariances[lane];
                }
            }
            weights[m] * sums.iter().sum::<f64>()
        };
        let of_points: Vec<f64> = (0..points.len()).into_par_iter().map(of_point).collect();
        of_points.iter().sum()
    }
}

fn add(sums: &mut Lanes, weight: f64, covariances: Lanes) {
    for lane in 0..WIDTH {
        sums[lane] += weight * covariances[lane];
    }
}

/// Weights that add up to 1.
fn shares(points: &[[f64; 2]], weights: Option<&[f64]>) -> Result<Vec<f64>, GeostatError> {
    let weights = weights.map_or_else(|| vec![1.0; points.len()], <[f64]>::to_vec);
    let sum: f64 = weights.iter().sum();
    let sound = weights.len() == points.len()
        && weights.iter().all(|&weight| weight >= 0.0)
        && sum > 0.0
        && sum.is_finite()
        && points.as_flattened().iter().all(|c| c.is_finite());
    match sound {
        true => Ok(weights.into_iter().map(|weight| weight / sum).collect()),
        false => Err(GeostatError::Block),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gauss_is_exact_to_degree_7() {
        for degree in 0..=7 {
            let sum: f64 = gauss_4().iter().map(|&(at, weight)| weight * at.powi(degree)).sum();
            let expected = if degree % 2 == 0 { 2.0 / f64::from(degree + 1) } else { 0.0 };
            assert!((sum - expected).abs() < 1e-15, "{degree}: {sum}");
        }
    }
}
