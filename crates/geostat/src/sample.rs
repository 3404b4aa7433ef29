//! Samples: values at places of a plane.

use crate::error::GeostatError;

/// One value at one place, metres east and north of any origin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Metres east.
    pub easting_m: f64,
    /// Metres north.
    pub northing_m: f64,
    /// The value, in any unit.
    pub value: f64,
}

/// Coordinates beyond this are refused: squares of distances must be numbers.
pub(crate) const FARTHEST_M: f64 = 1e100;

/// Samples that can be interpolated: at least one, all finite and with coordinates of at most 1e100 m,
/// no two at one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Samples(Vec<Sample>);

impl Samples {
    /// Checks and takes samples; their order is kept and decides ties.
    ///
    /// # Errors
    /// When there is none, one is not finite, or two are at the same place.
    pub fn new(samples: Vec<Sample>) -> Result<Self, GeostatError> {
        if samples.is_empty() {
            return Err(GeostatError::NoSamples);
        }
        check_finite(&samples)?;
        let mut order: Vec<usize> = (0..samples.len()).collect();
        let key = |&i: &usize| (samples[i].easting_m, samples[i].northing_m, i);
        order.sort_by(|a, b| key(a).partial_cmp(&key(b)).expect("finite"));
        let same = |pair: &&[usize]| {
            let (a, b) = (samples[pair[0]], samples[pair[1]]);
            (a.easting_m, a.northing_m) == (b.easting_m, b.northing_m)
        };
        match order.windows(2).find(same) {
            Some(pair) => Err(GeostatError::SamePlace { first: pair[0], second: pair[1] }),
            None => Ok(Samples(samples)),
        }
    }

    /// Checks and takes samples of which several may be at one place: each such place becomes one
    /// sample, where the first of them stands in the order, with the mean of their values. Beside it, how
    /// many made each sample.
    ///
    /// A mean of several has less error than one value, but counts as one here; whoever knows the
    /// variance of the errors can do better.
    ///
    /// # Errors
    /// When there is none or one is not finite.
    pub fn averaging_repeats(samples: &[Sample]) -> Result<(Self, Vec<usize>), GeostatError> {
        check_finite(samples)?;
        let place = |i: usize| (samples[i].easting_m, samples[i].northing_m);
        let mut order: Vec<usize> = (0..samples.len()).collect();
        order.sort_by(|&a, &b| (place(a), a).partial_cmp(&(place(b), b)).expect("all are finite"));
        let mut groups: Vec<&[usize]> = order.chunk_by(|&a, &b| place(a) == place(b)).collect();
        groups.sort_by_key(|group| group[0]);
        let averaged = groups.iter().map(|group| {
            let first = samples[group[0]];
            let sum: f64 = group.iter().map(|&i| samples[i].value - first.value).sum();
            Sample { value: first.value + sum / group.len() as f64, ..first }
        });
        Ok((Samples::new(averaged.collect())?, groups.iter().map(|group| group.len()).collect()))
    }

    /// The samples in their order.
    pub fn as_slice(&self) -> &[Sample] {
        &self.0
    }

    /// How many.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Never true: there is at least one.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Mean of the values; exactly that value where all are equal.
    pub fn mean(&self) -> f64 {
        let origin = self.0[0].value;
        let sum: f64 = self.0.iter().map(|sample| sample.value - origin).sum();
        origin + sum / self.len() as f64
    }
}

fn check_finite(samples: &[Sample]) -> Result<(), GeostatError> {
    let finite = |s: &Sample| {
        let is_near = |coordinate_m: f64| coordinate_m.abs() <= FARTHEST_M;
        is_near(s.easting_m) && is_near(s.northing_m) && s.value.is_finite()
    };
    match samples.iter().position(|sample| !finite(sample)) {
        Some(index) => Err(GeostatError::NotFinite { index }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_at_one_place_become_their_mean_where_the_first_stood() {
        let at = |easting_m, value| Sample { easting_m, northing_m: 5.0, value };
        let given = [at(9.0, 1.0), at(0.0, 4.0), at(9.0, 2.0), at(0.0, 7.0), at(9.0, 6.0)];
        let (samples, counts) = Samples::averaging_repeats(&given).unwrap();
        assert_eq!(samples.as_slice(), [at(9.0, 3.0), at(0.0, 5.5)]);
        assert_eq!(counts, [3, 2]);
        assert_eq!(Samples::averaging_repeats(&[]), Err(GeostatError::NoSamples));
    }
}
