//! A variogram estimated from samples and fitted.

use geostat::{
    Anisotropy, Bins, Direction, EmpiricalVariogram, Estimator, GeostatError, Sample, Samples,
    Shape, Variogram, VariogramFit, Weighting,
};

/// The shapes a variogram is fitted with, in the order that decides ties.
pub const SHAPES: [Shape; 3] = [Shape::Spherical, Shape::Exponential, Shape::Gaussian];

/// Semivariances by distance, Matheron's, in 15 equal classes up to a third of the diagonal of the
/// samples' bounding box, and the model of [`SHAPES`] with the least sum of squares weighted by
/// N / h². Given a direction, distances are those of the anisotropy: metres along the direction.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedVariogram {
    /// The semivariances, in squares of the samples' unit.
    pub empirical: EmpiricalVariogram,
    /// The fit; its model has no direction.
    pub fit: VariogramFit,
    /// The model with its direction.
    pub model: Variogram,
    /// Where there is a direction, the semivariances along and across it by true distance, each with its
    /// azimuth in degrees clockwise from north: what the direction was taken for can be seen there.
    pub directions: Vec<(f64, EmpiricalVariogram)>,
    /// How many samples it was estimated from.
    pub samples: usize,
    /// Their variance, in squares of their unit.
    pub variance: f64,
}

impl FittedVariogram {
    /// Estimates and fits.
    ///
    /// # Errors
    /// When all samples are equal, or they make fewer than three classes of distance.
    pub fn new(samples: &Samples, anisotropy: Anisotropy) -> Result<Self, GeostatError> {
        let stretched = |sample: &Sample| {
            let [easting_m, northing_m] = anisotropy.stretch([sample.easting_m, sample.northing_m]);
            Sample { easting_m, northing_m, ..*sample }
        };
        let stretched = Samples::new(samples.as_slice().iter().map(stretched).collect())?;
        let empirical =
            EmpiricalVariogram::new(&stretched, Estimator::Matheron, &Bins::Default, None)?;
        let fit = empirical.fit_best(&SHAPES, Weighting::PairsPerSquaredDistance)?;
        let model = Variogram { anisotropy, ..fit.model };
        let mean = samples.mean();
        let squares = samples.as_slice().iter().map(|s| (s.value - mean) * (s.value - mean));
        let variance = squares.sum::<f64>() / (samples.len() - 1) as f64;
        let directions = directions(samples, anisotropy)?;
        let count = samples.len();
        Ok(FittedVariogram { empirical, fit, model, directions, samples: count, variance })
    }

    /// Name of the model's shape.
    pub fn shape_name(&self) -> &'static str {
        match self.model.shape {
            Shape::Spherical => "spherical",
            Shape::Exponential => "exponential",
            Shape::Gaussian => "Gaussian",
            Shape::Matern { .. } => "Matérn",
        }
    }

    /// The nugget as a share of the sill.
    pub fn nugget_share(&self) -> f64 {
        self.model.nugget / self.model.sill()
    }
}

/// Half a right angle: each pair of samples counts along the direction or across it.
const TOLERANCE_DEG: f64 = 45.0;

fn directions(
    samples: &Samples,
    anisotropy: Anisotropy,
) -> Result<Vec<(f64, EmpiricalVariogram)>, GeostatError> {
    if anisotropy.is_none() {
        return Ok(Vec::new());
    }
    let along = |turn_deg: f64| {
        let azimuth_deg = (anisotropy.azimuth_deg() + turn_deg).rem_euclid(180.0);
        let direction = Direction { azimuth_deg, tolerance_deg: TOLERANCE_DEG };
        let semivariances =
            EmpiricalVariogram::new(samples, Estimator::Matheron, &Bins::Default, Some(direction))?;
        Ok((azimuth_deg, semivariances))
    };
    [0.0, 90.0].into_iter().map(along).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Stretching by a half across makes a grid of 10 m by 20 m one of 20 m each way: the model's range
    /// is that along the direction, whichever way the grid lies.
    #[test]
    fn the_range_is_along_the_direction() {
        let value = |i: u32, j: u32| f64::from((i * i + 3 * j * j + i * j) % 11);
        let samples = |turned: bool| {
            let at = |k: u32| {
                let (i, j) = (k % 9, k / 9);
                let (across_m, along_m) = (10.0 * f64::from(i), 20.0 * f64::from(j));
                let (easting_m, northing_m) =
                    if turned { (along_m, across_m) } else { (across_m, along_m) };
                Sample { easting_m, northing_m, value: value(i, j) }
            };
            Samples::new((0..81).map(at).collect()).unwrap()
        };
        let of = |azimuth_deg, turned| {
            let anisotropy = Anisotropy::new(azimuth_deg, 0.5).unwrap();
            FittedVariogram::new(&samples(turned), anisotropy).unwrap()
        };
        let (north, east) = (of(0.0, false), of(90.0, true));
        assert!((north.model.range_m - east.model.range_m).abs() < 1e-6 * north.model.range_m);
        // The nearest pairs are 20 m apart either way.
        assert!((north.empirical.classes[0].distance_m - 20.0).abs() < 1e-9);
        assert_eq!(north.model.anisotropy.ratio(), 0.5);
        // Along it the nearest are 20 m apart, or 22.4 m one row over; across it 10 m.
        let nearest = |k: usize| (east.directions[k].0, east.directions[k].1.classes[0].distance_m);
        assert_eq!(nearest(1), (0.0, 10.0));
        assert!(nearest(0).0 == 90.0 && (20.0..22.4).contains(&nearest(0).1));
    }

    #[test]
    fn equal_samples_have_no_variogram() {
        let at = |k: u32| Sample { easting_m: f64::from(k), northing_m: 0.0, value: 3.0 };
        let samples = Samples::new((0..60).map(at).collect()).unwrap();
        let fitted = FittedVariogram::new(&samples, Anisotropy::NONE);
        assert_eq!(fitted, Err(GeostatError::NoVariation));
    }
}
