//! Leave-one-out cross-validation: each sample is estimated from the others.
//!
//! A residual is the observed value minus the estimate. ME, MAE and RMSE are the mean, the mean
//! absolute value and the root of the mean square of the residuals. The skill compares them with
//! the plainest map there is, the mean of the other samples everywhere:
//! 1 − Σ residual² / Σ (observed − mean of the others)². It is 1 for a perfect map and 0 or less
//! for one that tells no more than the mean does (the mean-square-error skill score: Murphy 1988,
//! Monthly Weather Review 116:2417–2424, from memory, with a left-out mean as its reference).

use rayon::prelude::*;

use crate::blocks::MOST_LANES;
use crate::error::GeostatError;
use crate::idw_left_out::LeftOut;
use crate::neighbours::{Neighbour, NeighbourIndex, Search};
use crate::power::Power;
use crate::sample::Samples;

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
}

impl CrossValidation {
    /// Skill against the mean of the other samples: see the module's text. NaN where all samples
    /// are equal or none could be estimated.
    pub fn skill(&self) -> f64 {
        1.0 - (self.rmse / self.mean_rmse).powi(2)
    }

    fn new(samples: &Samples, estimates: &[f64]) -> Self {
        let pairs: Vec<ObservedEstimated> = samples
            .as_slice()
            .iter()
            .zip(estimates)
            .enumerate()
            .filter(|(_, (_, estimated))| estimated.is_finite())
            .map(|(index, (sample, &estimated))| ObservedEstimated {
                index,
                observed: sample.value,
                estimated,
            })
            .collect();
        let count = pairs.len() as f64;
        let residuals = || pairs.iter().map(|pair| pair.observed - pair.estimated);
        let (mean, all) = (samples.mean(), samples.len() as f64);
        // The mean of the others is off by n/(n−1) times what the mean of all is off by.
        let from_mean = pairs.iter().map(|p| (p.observed - mean) * all / (all - 1.0));
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
/// A sample farther than `reach_m` from every other is not estimated: a map with that reach would
/// have no value there.
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
    search.check()?;
    let powers = powers.iter().map(|&p| Power::new(p)).collect::<Result<Vec<_>, _>>()?;
    let reach_m2 = reach_m.map_or(f64::MAX, |reach_m| reach_m * reach_m);
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
            let of_powers = room.estimates(&powers);
            let of_lane = |lane: usize| match room.least_m2(lane) <= reach_m2 {
                false => vec![f64::NAN; powers.len()],
                true => of_powers.iter().map(|estimates| estimates[lane]).collect(),
            };
            (0..group.len()).map(of_lane).collect::<Vec<Vec<f64>>>()
        })
        .flatten_iter()
        .collect();
    let of_power = |k: usize| estimates.iter().map(|of_sample| of_sample[k]).collect::<Vec<_>>();
    Ok((0..powers.len()).map(|k| CrossValidation::new(samples, &of_power(k))).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::Sample;

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
        let cv = &leave_one_out_idw(&samples, &index, Search::EVERYTHING, None, &[1.0]).unwrap()[0];
        assert_eq!(cv.isolated, 1);
        assert!(cv.rmse.is_nan());
    }
}
