//! How far a change can be off, from the changes at spots probed on both visits.
//!
//! The changes at the spots are kriged, the nugget taken for error of the probes: so the mean change of the
//! ground around a place is about normal with mean K and standard error s (see `geostat`'s kriging on the
//! nugget). The map's change M is another estimate of the same, since it passes through single probes. The
//! half width h is such that M ± h holds the mean change with the confidence asked for:
//! Φ((M − K + h)/s) − Φ((M − K − h)/s) = confidence. Where M is K it is the usual z·s.
//!
//! A variogram fitted to some hundred changes often has too small a nugget, and its errors are then too
//! small. So each change is estimated from the others, and where these errors are greater than their
//! variances say, s is multiplied by the root of the mean squared deviation ratio. In made-up fields
//! intervals of 95 % held 94 to 95 % of the cells' true changes with it, 90 % without it
//! (`change_coverage_tests.rs`).

use std::f64::consts::SQRT_2;

use geostat::{
    Anisotropy, GeostatError, GlobalKriging, KrigedRaster, Kriging, NeighbourIndex, Raster, Sample,
    Samples, Search, leave_one_out_kriging,
};
use mapping::{
    FEW_SPOTS_OF_KRIGING, FittedVariogram, LEAST_SPOTS_OF_KRIGING, MANY_NEIGHBOURS_OF_KRIGING,
};

use crate::pairs::Pairs;

/// The changes of pairs at their earlier places, centimetres, "not reached" at the depth probed, as the maps
/// have it; `None` where there is no pair.
pub(crate) fn changes_as_samples(pairs: &Pairs) -> Option<Samples> {
    let sample = |pair: &crate::pairs::Pair| Sample {
        easting_m: pair.earlier_place.easting_m,
        northing_m: pair.earlier_place.northing_m,
        value: pair.as_read_cm(),
    };
    Samples::new(pairs.pairs.iter().map(sample).collect()).ok()
}

/// The variogram of changes, where there are enough of them and one can be fitted.
pub(crate) fn change_variogram(
    samples: &Samples,
    anisotropy: Anisotropy,
) -> Option<FittedVariogram> {
    match samples.len() >= LEAST_SPOTS_OF_KRIGING {
        true => FittedVariogram::new(samples, anisotropy).ok(),
        false => None,
    }
}

/// How far the change of each cell can be off.
pub(crate) struct KrigedHalfWidth {
    /// Half the width of the interval around the change of each cell, centimetres.
    pub half_width_cm: Raster,
    /// The variogram it rests on.
    pub variogram: FittedVariogram,
    /// What standard errors were multiplied by: see the module's text.
    pub widened: f64,
}

impl KrigedHalfWidth {
    /// `None` where changes are too few or cannot be kriged.
    pub fn new(
        samples: &Samples,
        anisotropy: Anisotropy,
        change_cm: &Raster,
        confidence: f64,
    ) -> Option<Self> {
        let variogram = change_variogram(samples, anisotropy)?;
        let kriging = kriging(&variogram, samples.len()).ok()?;
        let left_out = leave_one_out_kriging(samples, &NeighbourIndex::new(samples), &kriging);
        let ratio = left_out.ok()?.msdr();
        let widened = if ratio > 1.0 { ratio.sqrt() } else { 1.0 };
        let kriged = kriged(samples, &kriging, change_cm).ok()?;
        let variance = kriged.variance?;
        let half = |((&change, &mean), &variance): ((&f64, &f64), &f64)| {
            half_width(change - mean, widened * variance.max(0.0).sqrt(), confidence)
        };
        let cells = change_cm.values.iter().zip(&kriged.value.values).zip(&variance.values);
        let values = cells.map(half).collect();
        let half_width_cm = Raster { grid: change_cm.grid, values };
        Some(KrigedHalfWidth { half_width_cm, variogram, widened })
    }
}

/// Kriging that takes the nugget for error, from all samples or the nearest of many.
fn kriging(fitted: &FittedVariogram, samples: usize) -> Result<Kriging, GeostatError> {
    let kriging = Kriging::new(fitted.model)?.with_error_variance(fitted.model.nugget)?;
    match samples <= FEW_SPOTS_OF_KRIGING {
        true => Ok(kriging),
        false => kriging.with_search(Search::nearest(MANY_NEIGHBOURS_OF_KRIGING)),
    }
}

/// The mean change around each cell that has one.
fn kriged(
    samples: &Samples,
    kriging: &Kriging,
    change_cm: &Raster,
) -> Result<KrigedRaster, GeostatError> {
    let grid = change_cm.grid;
    let wanted =
        |row: usize, column: usize| !change_cm.values[row * grid.columns() + column].is_nan();
    match kriging.search() == Search::EVERYTHING {
        true => Ok(GlobalKriging::new(samples, kriging)?.fill(grid, true, wanted)),
        false => kriging.fill(samples, &NeighbourIndex::new(samples), grid, true, wanted),
    }
}

/// The half width of an interval around a value that is `off` from the mean of a normal distribution with a
/// standard error, so that it holds a share of it. NaN where one is.
fn half_width(off: f64, standard_error: f64, share: f64) -> f64 {
    let off = off.abs();
    if off.is_nan() || standard_error.is_nan() {
        return f64::NAN;
    }
    if standard_error <= 0.0 {
        return off;
    }
    // Φ(a) − Φ(−b) = (erf(a/√2) + erf(b/√2)) / 2.
    let held = |half: f64| {
        let scaled = |distance: f64| libm::erf(distance / (standard_error * SQRT_2));
        f64::midpoint(scaled(half - off), scaled(half + off))
    };
    // Far off, only the far end counts.
    let (mut low, mut high) = (off, off + MOST_ERRORS * standard_error);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        match held(middle) < share {
            true => low = middle,
            false => high = middle,
        }
    }
    high
}

/// A normal value is farther from its mean than so many standard errors in 1 of 10^15 cases.
const MOST_ERRORS: f64 = 8.0;

/// The width is found to a thousandth of a standard error.
const HALVINGS: usize = 13;

#[cfg(test)]
mod tests {
    use super::*;

    /// Quantiles of the normal distribution: 1.959964 of 0.975 and 1.644854 of 0.95 (NIST e-Handbook,
    /// 1.3.6.7.1).
    #[test]
    fn the_half_width_is_two_sided_at_the_mean_and_one_sided_far_from_it() {
        assert!((half_width(0.0, 2.0, 0.95) - 2.0 * 1.959_964).abs() < 2e-3);
        assert!((half_width(-50.0, 2.0, 0.95) - (50.0 + 2.0 * 1.644_854)).abs() < 2e-3);
        assert_eq!(half_width(-3.0, 0.0, 0.95), 3.0);
        assert!(half_width(f64::NAN, 1.0, 0.95).is_nan());
        assert!(half_width(0.0, f64::NAN, 0.95).is_nan());
    }

    /// Φ(2) − Φ(−1) = 0.977250 − 0.158655 = 0.818595 (NIST e-Handbook, 1.3.6.7.1).
    #[test]
    fn the_half_width_between_is_by_hand() {
        let half = half_width(0.5, 1.0, 0.818_595);
        assert!((half - 1.5).abs() < 1e-3, "{half}");
    }

    #[test]
    fn few_changes_have_no_variogram() {
        let at = |k: u32| Sample {
            easting_m: f64::from(k % 7) * 10.0,
            northing_m: f64::from(k / 7) * 10.0,
            value: f64::from(k * k % 11),
        };
        let of = |count: u32| Samples::new((0..count).map(at).collect()).unwrap();
        assert!(change_variogram(&of(49), Anisotropy::NONE).is_none());
        assert!(change_variogram(&of(50), Anisotropy::NONE).is_some());
    }
}
