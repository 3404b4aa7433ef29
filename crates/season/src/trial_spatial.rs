//! How alike the changes of near probes are, and what that leaves of the number of probes.
//!
//! A change is the strip's mean and a residual. Moran's I says whether residuals of near probes are alike, a
//! variogram fitted to them how far that reaches. From the variogram come the number of independent probes
//! that would tell a strip's mean as well, and, where a side has a single strip, the standard error of the
//! difference of the two sides' means: √(C̄tt + C̄cc − 2 C̄tc), with C̄ the mean covariance over pairs of probes
//! (Journel and Huijbregts 1978, Mining Geostatistics, chapter II, from memory). That tells ground from
//! ground and never treatment from ground.

use geostat::{Bins, EmpiricalVariogram, Estimator, Sample, Samples, Shape, Variogram, Weighting};
use statistics::{SpatialWeights, effective_size_of_mean, morans_i, student};

use crate::trial_contrast::Treatment;
use crate::trial_strips::{TrialProbe, TrialStrip};

/// From fewer probes no variogram is fitted: common practice.
pub const LEAST_FOR_VARIOGRAM: usize = 30;

/// What the places of the probes say.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialSpatial {
    /// Moran's I of the residuals; `None` of fewer than four probes, or where all are alike.
    pub morans_i: Option<TrialMoran>,
    /// The model fitted to the residuals, in squares of centimetres; `None` where there is none.
    pub variogram: Option<Variogram>,
    /// Why there is no model.
    pub why_none: Option<&'static str>,
    /// The difference over single probes, where a side has one strip.
    pub over_probes: Option<OverProbes>,
}

/// Moran's I of the residuals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrialMoran {
    /// The statistic.
    pub value: f64,
    /// What it is on average where residuals do not depend on places.
    pub expected: f64,
    /// Chance of one at least as far from that.
    pub p: f64,
}

/// Treated less check over single probes: tells ground from ground, not treatment from ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OverProbes {
    /// Mean change of the treated less that of the check probes, centimetres.
    pub difference_cm: f64,
    /// Its standard error under the variogram, centimetres.
    pub standard_error_cm: f64,
    /// Independent probes that would do as well: treated, check.
    pub effective_probes: [f64; 2],
    /// Interval, centimetres, with Student's t at so many degrees of freedom as these probes have.
    pub interval_cm: [f64; 2],
}

/// Looks at the places, and gives each strip the number of its effective probes.
pub(crate) fn spatial(
    probes: &[TrialProbe],
    strips: &mut [TrialStrip],
    confidence: f64,
) -> TrialSpatial {
    let residuals: Vec<f64> =
        probes.iter().map(|probe| probe.change_cm() - strips[probe.strip].change_cm).collect();
    let fitted = variogram(probes, &residuals);
    let model = fitted.as_ref().ok();
    let over_probes = model.and_then(|model| {
        for (k, strip) in strips.iter_mut().enumerate() {
            let places = places(probes, |probe| probe.strip == k);
            strip.effective_probes = Some(effective_size_of_mean(&places, covariance(model)));
        }
        over_probes(probes, strips, model, confidence)
    });
    TrialSpatial {
        morans_i: moran(probes, &residuals),
        variogram: model.copied(),
        why_none: fitted.err(),
        over_probes,
    }
}

fn places(probes: &[TrialProbe], which: impl Fn(&TrialProbe) -> bool) -> Vec<[f64; 2]> {
    probes.iter().filter(|probe| which(probe)).map(|probe| probe.place).collect()
}

fn covariance(model: &Variogram) -> impl Fn(f64) -> f64 + '_ {
    |distance_m| model.sill() - model.semivariance(distance_m)
}

fn variogram(probes: &[TrialProbe], residuals: &[f64]) -> Result<Variogram, &'static str> {
    if probes.len() < LEAST_FOR_VARIOGRAM {
        return Err("there are fewer than 30 probes");
    }
    let sample = |(probe, &value): (&TrialProbe, &f64)| Sample {
        easting_m: probe.place[0],
        northing_m: probe.place[1],
        value,
    };
    let fit = || {
        let samples = Samples::new(probes.iter().zip(residuals).map(sample).collect())?;
        let empirical =
            EmpiricalVariogram::new(&samples, Estimator::Matheron, &Bins::Default, None)?;
        let shapes = [Shape::Spherical, Shape::Exponential];
        empirical.fit_best(&shapes, Weighting::PairsPerSquaredDistance)
    };
    match fit() {
        Ok(fit) if fit.range_at_bound => Err("the residuals do not tell how far likeness reaches"),
        Ok(fit) => Ok(fit.model),
        Err(_) => Err("the residuals are all alike, or too near each other"),
    }
}

/// Neighbours are probes within the distance that leaves none alone.
fn moran(probes: &[TrialProbe], residuals: &[f64]) -> Option<TrialMoran> {
    let places = places(probes, |_| true);
    if places.len() < 4 {
        return None;
    }
    let weights = SpatialWeights::within(&places, least_common_distance_m(&places) * (1.0 + 1e-9));
    let found = morans_i(residuals, &weights)?;
    Some(TrialMoran {
        value: found.statistic,
        expected: found.expected,
        p: found.by_randomisation.p,
    })
}

/// The greatest distance from a place to its nearest neighbour.
fn least_common_distance_m(places: &[[f64; 2]]) -> f64 {
    let nearest = |(k, place): (usize, &[f64; 2])| {
        let others = places.iter().enumerate().filter(|(other, _)| *other != k);
        others.map(|(_, other)| distance_m(*place, *other)).fold(f64::INFINITY, f64::min)
    };
    places.iter().enumerate().map(nearest).fold(0.0, f64::max)
}

fn distance_m([east, north]: [f64; 2], [other_east, other_north]: [f64; 2]) -> f64 {
    let (east_m, north_m) = (east - other_east, north - other_north);
    (east_m * east_m + north_m * north_m).sqrt()
}

fn over_probes(
    probes: &[TrialProbe],
    strips: &[TrialStrip],
    model: &Variogram,
    confidence: f64,
) -> Option<OverProbes> {
    let sides = [Treatment::Treated, Treatment::Check];
    let own = |side| move |strip: &&TrialStrip| strip.treatment == side;
    if sides.iter().all(|side| strips.iter().filter(own(*side)).count() > 1) {
        return None;
    }
    let of = |side| probes.iter().filter(move |probe| strips[probe.strip].treatment == side);
    let [treated, check] =
        sides.map(|side| of(side).map(|probe| probe.place).collect::<Vec<[f64; 2]>>());
    let mean = |side| {
        let changes = || of(side).map(TrialProbe::change_cm);
        changes().sum::<f64>() / changes().count() as f64
    };
    let difference_cm = mean(sides[0]) - mean(sides[1]);
    let between = |a, b| mean_covariance(a, b, model);
    let variance =
        between(&treated, &treated) + between(&check, &check) - 2.0 * between(&treated, &check);
    let effective_probes =
        [&treated, &check].map(|places| effective_size_of_mean(places, covariance(model)));
    let degrees = (effective_probes[0] + effective_probes[1] - 2.0).max(1.0);
    let standard_error_cm = variance.max(0.0).sqrt();
    let reach = student::quantile(f64::midpoint(1.0, confidence), degrees) * standard_error_cm;
    Some(OverProbes {
        difference_cm,
        standard_error_cm,
        effective_probes,
        interval_cm: [difference_cm - reach, difference_cm + reach],
    })
}

/// The mean covariance between a place of one list and a place of another.
fn mean_covariance(one: &[[f64; 2]], other: &[[f64; 2]], model: &Variogram) -> f64 {
    let covariance = covariance(model);
    let sum: f64 =
        one.iter().map(|&a| other.iter().map(|&b| covariance(distance_m(a, b))).sum::<f64>()).sum();
    sum / (one.len() * other.len()) as f64
}
