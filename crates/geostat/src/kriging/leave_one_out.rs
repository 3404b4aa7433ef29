//! Samples estimated without themselves.
//!
//! With all samples nothing needs to be solved anew. Let Q be the samples' part of the inverse of the
//! whole matrix of the equations, C⁻¹ − C⁻¹F S⁻¹FᵀC⁻¹. Leaving out sample i, the residual is
//! (Q z)ᵢ / Qᵢᵢ and the variance 1 / Qᵢᵢ: Dubrule (1983), "Cross validation of kriging in a unique
//! neighborhood", Mathematical Geology 15:687–699 (from memory). Leaving out a block B of samples, the
//! residuals are `Q_BB⁻¹ (Q z)_B` and their variances the diagonal of `Q_BB⁻¹`, which follows in the
//! same way from the inverse of a matrix in blocks. Q z is the weights b of the dual form.
//!
//! The variance is that of the observed value, so it includes the error variance.

use rayon::prelude::*;

use crate::cholesky::{Cholesky, Lanes, WIDTH};
use crate::cross_validation::CrossValidation;
use crate::error::GeostatError;
use crate::kriging::system::dot;
use crate::kriging::{GlobalKriging, Kriging};
use crate::neighbours::{NeighbourIndex, Search};
use crate::sample::Samples;

/// Where the others do not tell the trend, a left-out sample's variance has no limit: beyond so many
/// sills it has no estimate.
pub(crate) const MOST_SILLS: f64 = 1e10;

/// Leaves out one sample after the other and estimates it by kriging from those that the search
/// finds among the others: in closed form where that is all of them. Samples that cannot be estimated
/// for want of neighbours are counted as isolated.
///
/// # Errors
/// When the equations have no solution: see [`GlobalKriging::new`].
pub fn leave_one_out_kriging(
    samples: &Samples,
    index: &NeighbourIndex,
    kriging: &Kriging,
) -> Result<CrossValidation, GeostatError> {
    if kriging.search() == Search::EVERYTHING && samples.len() > kriging.coefficients() {
        return Ok(GlobalKriging::new(samples, kriging)?.leave_one_out());
    }
    let estimate = |(left_out, sample): (usize, &crate::Sample)| {
        let (place, mut found) = ([sample.easting_m, sample.northing_m], Vec::new());
        index.find_but(place, kriging.search(), Some(left_out), &mut found);
        let kriged = kriging.estimate_from(samples, &mut found, place)?;
        Ok((kriged.value, Some(kriged.variance + kriging.error_variance())))
    };
    let estimates: Vec<Result<_, GeostatError>> =
        samples.as_slice().par_iter().enumerate().map(estimate).collect();
    let estimates = estimates.into_iter().collect::<Result<Vec<_>, _>>()?;
    Ok(CrossValidation::leaving_one_out(samples, &estimates))
}

impl GlobalKriging {
    /// Leaves out one sample after the other, in closed form.
    pub fn leave_one_out(&self) -> CrossValidation {
        let diagonal = self.inverse_diagonal();
        let trend = self.system.explained_trend();
        let least = 1.0 / (MOST_SILLS * self.kriging().variogram().sill());
        let estimate = |i: usize| {
            let q = diagonal[i] - self.system.schur().quadratic_form(trend[i]);
            let residual = self.dual_weight(i) / q;
            match q > least {
                true => (self.samples.as_slice()[i].value - residual, Some(1.0 / q)),
                false => (f64::NAN, None),
            }
        };
        let estimates: Vec<_> = (0..self.samples.len()).map(estimate).collect();
        CrossValidation::leaving_one_out(&self.samples, &estimates)
    }

    /// Diagonal of C⁻¹, made up to whole strips: the sums of squares of the columns of U⁻ᵀ.
    fn inverse_diagonal(&self) -> Vec<f64> {
        let rows = self.system.factor.padded_rows();
        let of_strip = |sides: &mut Vec<Lanes>, s: usize| {
            sides.fill([0.0; WIDTH]);
            for lane in 0..WIDTH {
                sides[s * WIDTH + lane][lane] = 1.0;
            }
            self.system.factor.forward_from(s, sides);
            let mut sums = [0.0; WIDTH];
            for side in &sides[s * WIDTH..] {
                for lane in 0..WIDTH {
                    sums[lane] += side[lane] * side[lane];
                }
            }
            sums
        };
        let room = || vec![[0.0; WIDTH]; rows];
        let strips: Vec<Lanes> =
            (0..rows / WIDTH).into_par_iter().map_init(room, of_strip).collect();
        strips.into_iter().flatten().collect()
    }

    /// Estimates of some samples from all others, with variances of the observed values; `None` where
    /// the others do not tell the trend. It takes room for as many columns as samples are left out.
    pub(crate) fn leave_out(&self, left_out: &[usize]) -> Option<Vec<(f64, f64)>> {
        if self.samples.len() - left_out.len() < self.kriging().coefficients() {
            return None;
        }
        let row = self.inverse_rows(left_out);
        let least = 1.0 / (MOST_SILLS * self.kriging().variogram().sill());
        let factor = Cholesky::new(left_out.len(), least, row).ok()?;
        let mut residuals = vec![[0.0]; factor.padded_rows()];
        for (residual, &i) in residuals.iter_mut().zip(left_out) {
            *residual = [self.dual_weight(i)];
        }
        factor.forward(&mut residuals);
        factor.backward(&mut residuals);
        let estimate = |k: usize| {
            let mut unit = vec![[0.0]; factor.padded_rows()];
            unit[k] = [1.0];
            factor.forward(&mut unit);
            let variance = unit.iter().map(|[u]| u * u).sum();
            (self.samples.as_slice()[left_out[k]].value - residuals[k][0], variance)
        };
        Some((0..left_out.len()).map(estimate).collect())
    }

    /// Rows of the part of Q that belongs to some samples: row m in the columns of strip s.
    fn inverse_rows(&self, of: &[usize]) -> impl Fn(usize, usize) -> Lanes + Sync {
        let sets = self.inverse_columns(of);
        let trend = self.system.explained_trend();
        let schur = self.system.schur();
        let of_trend: Vec<_> = of.iter().map(|&i| schur.forward(trend[i])).collect();
        move |m: usize, s: usize| {
            let mut row = [0.0; WIDTH];
            for (side, of_row) in sets[s].iter().zip(&sets[m / WIDTH]) {
                for lane in 0..WIDTH {
                    row[lane] += of_row[m % WIDTH] * side[lane];
                }
            }
            for (lane, other) in of_trend.iter().skip(s * WIDTH).take(WIDTH).enumerate() {
                row[lane] -= dot(of_trend[m], *other);
            }
            row
        }
    }

    /// The part of Q that belongs to some samples.
    pub(crate) fn inverse_of(&self, of: &[usize]) -> Vec<Vec<f64>> {
        let row = self.inverse_rows(of);
        let strips = 0..of.len().div_ceil(WIDTH);
        let whole = |m: usize| strips.clone().flat_map(|s| row(m, s)).take(of.len()).collect();
        (0..of.len()).into_par_iter().map(whole).collect()
    }

    /// (Q z)ᵢ.
    pub(crate) fn dual_weight(&self, i: usize) -> f64 {
        self.dual.weights[i / WIDTH][i % WIDTH]
    }

    /// Columns of U⁻ᵀ, side by side in sets.
    fn inverse_columns(&self, columns: &[usize]) -> Vec<Vec<Lanes>> {
        let set = |columns: &[usize]| {
            let mut sides = vec![[0.0; WIDTH]; self.system.factor.padded_rows()];
            for (lane, &column) in columns.iter().enumerate() {
                sides[column][lane] = 1.0;
            }
            self.system.factor.forward(&mut sides);
            sides
        };
        columns.par_chunks(WIDTH).map(set).collect()
    }
}
