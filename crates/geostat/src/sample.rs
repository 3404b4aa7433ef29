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

/// Samples that can be interpolated: at least one, all finite, no two at one place.
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
        let finite =
            |s: &Sample| s.easting_m.is_finite() && s.northing_m.is_finite() && s.value.is_finite();
        if let Some(index) = samples.iter().position(|sample| !finite(sample)) {
            return Err(GeostatError::NotFinite { index });
        }
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
