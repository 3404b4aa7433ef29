//! Cross-validation: samples are left out, one or a block at a time, and estimated from the others.
//!
//! A residual is the observed value minus the estimate. ME, MAE and RMSE are the mean, the mean
//! absolute value and the root of the mean square of the residuals. The skill compares them with
//! the plainest map there is, the mean of the other samples everywhere:
//! 1 − Σ residual² / Σ (observed − mean of the others)². It is 1 for a perfect map and 0 or less
//! for one that tells no more than the mean does (the mean-square-error skill score: Murphy 1988,
//! Monthly Weather Review 116:2417–2424, from memory, with a left-out mean as its reference).
//!
//! Where estimates come with a variance, of the *observed* value with all its error, two more figures
//! tell whether it can be believed: the mean squared deviation ratio, MSDR, the mean of residual² /
//! variance, near 1 where the variances are right (Webster and Oliver 2007, Geostatistics for
//! Environmental Scientists, chapter 8, from memory), and the share of samples within the central 80 %
//! and 95 % of a normal distribution around their estimate.

use rayon::prelude::*;

use crate::blocks::MOST_LANES;
use crate::error::GeostatError;
use crate::idw_left_out::LeftOut;
use crate::neighbours::{Neighbour, NeighbourIndex, Search};
use crate::power::Power;
use crate::sample::{Sample, Samples};

/// How well one setting estimates the samples it has not seen.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossValidation {
    /// Observed and estimated value of each sample that could be estimated, in sample order.
    pub pairs: Vec<ObservedEstimated>,
    /// Mean residual.
    pub me: f64,
    /// Mean absolute residual.
    pub mae: f64,
    /// Root mean square residual.
    pub rmse: f64,
    /// Root mean square residual of the mean of the other samples, over the same samples.
    pub mean_rmse: f64,
    /// Samples that no other sample could estimate.
    pub isolated: usize,
}

/// A sample's value and its estimate from the others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ObservedEstimated {
    /// Number of the sample.
    pub index: usize,
    /// Its value.
    pub observed: f64,
    /// The estimate without it.
    pub estimated: f64,
    /// Variance of the observed value around the estimate, in squares of the unit, where the method
    /// has one.
    pub variance: Option<f64>,
}

impl CrossValidation {
    /// Skill against the mean of the other samples: see the module's text. NaN where all samples
    /// are equal or none could be estimated.
    pub fn skill(&self) -> f64 {
        let ratio = self.rmse / self.mean_rmse;
        1.0 - ratio * ratio
    }

    /// Mean squared deviation ratio. NaN without variances; infinite or NaN where one is 0.
    pub fn msdr(&self) -> f64 {
        let ratio = |pair: &ObservedEstimated| {
            let residual = pair.observed - pair.estimated;
            residual * residual / pair.variance.unwrap_or(f64::NAN)
        };
        self.pairs.iter().map(ratio).sum::<f64>() / self.pairs.len() as f64
    }

    /// Share of the samples within the central 80 % of a normal distribution around their estimate:
    /// 1.2816 standard deviations, the normal quantile of 0.9, to either side. NaN without variances.
    pub fn coverage_80(&self) -> f64 {
        self.coverage(1.281_551_565_544_600_4)
    }

    /// The same of the central 95 %: 1.9600 standard deviations, the quantile of 0.975.
    pub fn coverage_95(&self) -> f64 {
        self.coverage(1.959_963_984_540_054)
    }

    fn coverage(&self, deviations: f64) -> f64 {
        let is_within = |pair: &&ObservedEstimated| {
            let deviation = pair.variance.map_or(f64::NAN, f64::sqrt);
            (pair.observed - pair.estimated).abs() <= deviations * deviation
        };
        match self.pairs.iter().all(|pair| pair.variance.is_some()) {
            true => self.pairs.iter().filter(is_within).count() as f64 / self.pairs.len() as f64,
            false => f64::NAN,
        }
    }

    /// Leaves out one sample after the other and estimates it by the mean of the others: the plainest
    /// map there is. A single sample is isolated.
    pub fn of_mean(samples: &Samples) -> Self {
        let (mean, all) = (samples.mean(), samples.len() as f64);
        let of_others = |sample: &Sample| mean - (sample.value - mean) / (all - 1.0);
        let estimate = |sample: &Sample| match samples.len() {
            1 => (f64::NAN, None),
            _ => (of_others(sample), None),
        };
        let estimates: Vec<_> = samples.as_slice().iter().map(estimate).collect();
        CrossValidation::leaving_one_out(samples, &estimates)
    }

    /// The same leaving one out, over some of the samples only, by number; the others count as isolated.
    /// So several methods can be compared over the same samples.
    pub fn only(&self, samples: &Samples, keep: impl Fn(usize) -> bool) -> Self {
        let mut estimates = vec![(f64::NAN, None); samples.len()];
        for pair in self.pairs.iter().filter(|pair| keep(pair.index)) {
            estimates[pair.index] = (pair.estimated, pair.variance);
        }
        CrossValidation::leaving_one_out(samples, &estimates)
    }

    /// From an estimate for each sample, NaN where there is none, and its variance.
    pub(crate) fn leaving_one_out(samples: &Samples, estimates: &[(f64, Option<f64>)]) -> Self {
        let (mean, all) = (samples.mean(), samples.len() as f64);
        // The mean of the others is off by n/(n−1) times what the mean of all is off by.
        let from_mean = |index: usize| (samples.as_slice()[index].value - mean) * all / (all - 1.0);
        CrossValidation::new(samples, estimates, from_mean)
    }

    /// The same, given how much a sample differs from the mean of those it is estimated from.
    pub(crate) fn new(
        samples: &Samples,
        estimates: &[(f64, Option<f64>)],
        from_mean: impl Fn(usize) -> f64,
    ) -> Self {
        let pair = |(index, (sample, &(estimated, variance))): (usize, (&Sample, &(f64, _)))| {
            ObservedEstimated { index, observed: sample.value, estimated, variance }
        };
        let pairs: Vec<ObservedEstimated> = samples
            .as_slice()
            .iter()
            .zip(estimates)
            .enumerate()
            .map(pair)
            .filter(|pair| pair.estimated.is_finite())
            .collect();
        let count = pairs.len() as f64;
        let residuals = || pairs.iter().map(|pair| pair.observed - pair.estimated);
        let from_mean = pairs.iter().map(|pair| from_mean(pair.index));
        CrossValidation {
            me: residuals().sum::<f64>() / count,
            mae: residuals().map(f64::abs).sum::<f64>() / count,
            rmse: (residuals().map(|r| r * r).sum::<f64>() / count).sqrt(),
            mean_rmse: (from_mean.map(|r| r * r).sum::<f64>() / count).sqrt(),
            isolated: samples.len() - pairs.len(),
            pairs,
        }
    }
}

/// Leaves out one sample after the other and estimates it by inverse-distance weighting, for each
/// of several powers, from one search per sample. The results stand in the order of the powers.
///
/// A sample farther than `reach_m` from every other is not estimated: a map with that
/// [`Reach`](crate::Reach) would have no value there. The reach is by plain distance, also where the
/// index is stretched.
///
/// # Errors
/// When a power or the search cannot be used: see [`Idw::new`](crate::Idw::new).
pub fn leave_one_out_idw(
    samples: &Samples,
    index: &NeighbourIndex,
    search: Search,
    reach_m: Option<f64>,
    powers: &[f64],
) -> Result<Vec<CrossValidation>, GeostatError> {
    leave_one_out_smoothed_idw(samples, index, search, reach_m, 0.0, powers)
}

/// [`leave_one_out_idw`] of a surface smoothed by a length in metres.
///
/// # Errors
/// When a power, the search or the length cannot be used: see [`Idw::smoothed`](crate::Idw::smoothed).
pub fn leave_one_out_smoothed_idw(
    samples: &Samples,
    index: &NeighbourIndex,
    search: Search,
    reach_m: Option<f64>,
    smoothing_m: f64,
    powers: &[f64],
) -> Result<Vec<CrossValidation>, GeostatError> {
    search.check()?;
    if !(smoothing_m >= 0.0 && smoothing_m.is_finite()) {
        return Err(GeostatError::Smoothing { smoothing_m });
    }
    let powers = powers.iter().map(|&p| Power::new(p)).collect::<Result<Vec<_>, _>>()?;
    // Where the index is stretched, what is nearest in it need not be.
    let is_stretched = !index.anisotropy().is_none();
    let plain = (reach_m.is_some() && is_stretched).then(|| NeighbourIndex::new(samples));
    let places: Vec<[f64; 2]> =
        (0..samples.len()).map(|number| index.stretched_place(number)).collect();
    let estimates: Vec<Vec<f64>> = (0..samples.len().div_ceil(MOST_LANES))
        .into_par_iter()
        .map_init(Default::default, |(room, found): &mut (LeftOut, Vec<Neighbour>), group| {
            let group = group * MOST_LANES..samples.len().min((group + 1) * MOST_LANES);
            match search == Search::EVERYTHING {
                true => room.set_everything(samples, &places, group.start),
                false => {
                    room.clear();
                    for (lane, left_out) in group.clone().enumerate() {
                        let place = index.place(left_out);
                        index.find_but(place, search, Some(left_out), found);
                        room.set(lane, samples, found);
                    }
                }
            }
            let nearest_m2: [f64; MOST_LANES] = std::array::from_fn(|lane| room.least_m2(lane));
            room.smooth(smoothing_m * smoothing_m);
            let of_powers = room.estimates(&powers);
            let mut is_reached = |lane: usize| {
                let Some(reach_m) = reach_m else { return true };
                let nearest_m2 = plain.as_ref().map_or(nearest_m2[lane], |plain| {
                    let left_out = group.start + lane;
                    let place = plain.place(left_out);
                    plain.find_but(place, Search::nearest(1), Some(left_out), found);
                    found.first().map_or(f64::INFINITY, |nearest| nearest.squared_m2)
                });
                reach_m >= 0.0 && nearest_m2 <= reach_m * reach_m
            };
            let of_lane = |lane: usize| match nearest_m2[lane].is_finite() && is_reached(lane) {
                false => vec![f64::NAN; powers.len()],
                true => of_powers.iter().map(|estimates| estimates[lane]).collect(),
            };
            (0..group.len()).map(of_lane).collect::<Vec<Vec<f64>>>()
        })
        .flatten_iter()
        .collect();
    let of_power =
        |k: usize| estimates.iter().map(|of_sample| (of_sample[k], None)).collect::<Vec<_>>();
    let of_powers = (0..powers.len()).map(of_power);
    Ok(of_powers.map(|of_power| CrossValidation::leaving_one_out(samples, &of_power)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_samples_estimate_each_other() {
        let at = |easting_m, value| Sample { easting_m, northing_m: 0.0, value };
        let samples = Samples::new(vec![at(0.0, 3.0), at(10.0, 9.0), at(90.0, 1.0)]).unwrap();
        let index = NeighbourIndex::new(&samples);
        let search = Search::nearest(1);
        let result = leave_one_out_idw(&samples, &index, search, Some(50.0), &[2.0]).unwrap();
        let cv = &result[0];
        // 3 is estimated as 9 and 9 as 3; the third has nothing within 50 m.
        assert_eq!((cv.me, cv.mae, cv.rmse, cv.isolated), (0.0, 6.0, 6.0, 1));
        // Means of the others: 5 and 2, so the mean is off by −2 and 7: (4 + 49) / 2.
        assert!((cv.mean_rmse - 26.5_f64.sqrt()).abs() < 1e-12);
        assert!((cv.skill() - (1.0 - 36.0 / 26.5)).abs() < 1e-12);
    }

    #[test]
    fn a_reach_is_by_plain_distance() {
        let at = |easting_m, northing_m, value| Sample { easting_m, northing_m, value };
        // The second is nearer to the first than the third, but not in the stretched distance.
        let samples =
            Samples::new(vec![at(0.0, 0.0, 3.0), at(0.0, 20.0, 9.0), at(30.0, 0.0, 1.0)]).unwrap();
        let east = crate::Anisotropy::new(90.0, 0.5).unwrap();
        let index = NeighbourIndex::stretched(&samples, east);
        let with = |reach_m| {
            leave_one_out_idw(&samples, &index, Search::nearest(1), Some(reach_m), &[2.0])
        };
        let cv = &with(20.0).unwrap()[0];
        assert_eq!((cv.isolated, cv.pairs[0].estimated, cv.pairs[1].estimated), (1, 1.0, 3.0));
        assert_eq!(with(19.9).unwrap()[0].isolated, 3);
        assert_eq!(with(-20.0).unwrap()[0].isolated, 3);
        assert_eq!(with(f64::INFINITY).unwrap()[0].isolated, 0);
    }

    /// By hand: the left-out value at 0 is estimated from 10 m and 20 m away, with weights
    /// 1 / (100 + 64) and 1 / (400 + 64).
    #[test]
    fn smoothing_evens_the_weights_out() {
        let at = |easting_m, value| Sample { easting_m, northing_m: 0.0, value };
        let samples = Samples::new(vec![at(0.0, 3.0), at(10.0, 9.0), at(20.0, 1.0)]).unwrap();
        let index = NeighbourIndex::new(&samples);
        for search in [Search::EVERYTHING, Search::nearest(2)] {
            let of = leave_one_out_smoothed_idw(&samples, &index, search, None, 8.0, &[2.0, 3.0]);
            let estimated = of.unwrap()[0].pairs[0].estimated;
            let by_hand = (9.0 / 164.0 + 1.0 / 464.0) / (1.0 / 164.0 + 1.0 / 464.0);
            assert!((estimated - by_hand).abs() < 1e-12, "{estimated} {by_hand}");
        }
        let search = Search::EVERYTHING;
        assert!(leave_one_out_smoothed_idw(&samples, &index, search, None, -1.0, &[2.0]).is_err());
    }

    #[test]
    fn methods_are_compared_over_the_same_samples() {
        let at = |easting_m, value| Sample { easting_m, northing_m: 0.0, value };
        let samples = Samples::new(vec![at(0.0, 3.0), at(10.0, 9.0), at(90.0, 1.0)]).unwrap();
        let mean = CrossValidation::of_mean(&samples);
        let estimated: Vec<f64> = mean.pairs.iter().map(|pair| pair.estimated).collect();
        assert!((estimated[0] - 5.0).abs() + (estimated[2] - 6.0).abs() < 1e-12);
        assert!((mean.skill()).abs() < 1e-12);
        let two = mean.only(&samples, |index| index < 2);
        assert_eq!((two.pairs.len(), two.isolated), (2, 1));
        assert!((two.rmse - 26.5_f64.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn deviations_are_counted_in_their_standard_deviations() {
        let at = |easting_m| Sample { easting_m, northing_m: 0.0, value: 0.0 };
        let samples = Samples::new((0..4).map(|k| at(f64::from(k))).collect()).unwrap();
        let estimates = [1.0, -1.5, 3.8, 4.2].map(|estimated| (estimated, Some(4.0)));
        let cv = CrossValidation::leaving_one_out(&samples, &estimates);
        // (1 + 2.25 + 14.44 + 17.64) / (4 · 4); limits 2.563 and 3.920.
        assert!((cv.msdr() - 35.33 / 16.0).abs() < 1e-12);
        assert_eq!((cv.coverage_80(), cv.coverage_95()), (0.5, 0.75));
        let without = CrossValidation::leaving_one_out(&samples, &[(1.0, None); 4]);
        assert!(without.msdr().is_nan() && without.coverage_95().is_nan());
    }

    #[test]
    fn equal_samples_leave_no_skill_to_speak_of() {
        let at = |easting_m| Sample { easting_m, northing_m: 0.0, value: 45.72 };
        let samples = Samples::new((0..7).map(|k| at(f64::from(k * k))).collect()).unwrap();
        let index = NeighbourIndex::new(&samples);
        let cv = &leave_one_out_idw(&samples, &index, Search::EVERYTHING, None, &[2.0]).unwrap()[0];
        assert_eq!((cv.rmse, cv.mean_rmse), (0.0, 0.0));
        assert!(cv.skill().is_nan());
    }

    #[test]
    fn a_single_sample_has_no_cross_validation() {
        let samples =
            Samples::new(vec![Sample { easting_m: 0.0, northing_m: 0.0, value: 1.0 }]).unwrap();
        let index = NeighbourIndex::new(&samples);
        for search in [Search::EVERYTHING, Search::nearest(1)] {
            for reach_m in [None, Some(f64::INFINITY)] {
                let cv = &leave_one_out_idw(&samples, &index, search, reach_m, &[1.0]).unwrap()[0];
                assert_eq!(cv.isolated, 1);
                assert!(cv.rmse.is_nan());
            }
        }
    }
}
