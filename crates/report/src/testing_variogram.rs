//! A made-up variogram with its page for the tests.

use geostat::{Anisotropy, DistanceClass, EmpiricalVariogram, Estimator, Shape, Variogram};

use crate::method_panel::MethodCheck;
use crate::testing::Sample;
use crate::variogram_page::{DirectionalVariogram, VariogramPage};

/// A sample with a variogram that lies near its model.
pub(crate) struct Structured {
    pub sample: Sample,
    pub model: Variogram,
    pub empirical: EmpiricalVariogram,
    made: Vec<String>,
}

impl Structured {
    pub fn new(sample: Sample, model: Variogram, cutoff_m: f64) -> Self {
        let made = vec![
            "Semivariances by Matheron, 15 classes up to a third of the field's diagonal.".into(),
            "Fitted by least squares, weighted by pairs over distance squared.".into(),
        ];
        let empirical = near(&model, 1.0, cutoff_m);
        Structured { sample, model, empirical, made }
    }

    pub fn spherical(sample: Sample) -> Self {
        Structured::new(sample, variogram(Shape::Spherical, 40.0, 75.0, 110.0), 260.0)
    }

    pub fn page<'a>(
        &'a self,
        title: &'a str,
        directions: &'a [DirectionalVariogram<'a>],
    ) -> VariogramPage<'a> {
        VariogramPage {
            title,
            survey: &self.sample.survey,
            units: self.sample.map.classes.units(),
            empirical: &self.empirical,
            directions,
            model: &self.model,
            model_name: "spherical",
            samples: self.sample.survey.spots().len(),
            variance_cm2: 108.0,
            made: &self.made,
            methods: &METHODS,
        }
    }
}

const METHODS: [MethodCheck; 3] = [
    MethodCheck { name: "field mean", rmse_cm: 12.6, chosen: false },
    MethodCheck { name: "inverse distance, power 3.25", rmse_cm: 11.2, chosen: false },
    MethodCheck { name: "ordinary kriging", rmse_cm: 10.9, chosen: true },
];

pub(crate) fn variogram(shape: Shape, nugget: f64, partial_sill: f64, range_m: f64) -> Variogram {
    Variogram::new(shape, nugget, partial_sill, range_m).unwrap()
}

/// The same model, longest along the north-east.
pub(crate) fn slanted(model: Variogram) -> Variogram {
    Variogram { anisotropy: Anisotropy::new(45.0, 0.5).unwrap(), ..model }
}

/// Fifteen classes that lie near a model whose distances count so many times.
pub(crate) fn near(model: &Variogram, stretch: f64, cutoff_m: f64) -> EmpiricalVariogram {
    let class = |k: usize| {
        let distance_m = cutoff_m * (k as f64 + 0.55) / 15.0;
        let off = 1.0 + 0.12 * ((k * 37 % 11) as f64 / 5.0 - 1.0);
        DistanceClass {
            pairs: 12 + 46 * k - 2 * k * k,
            distance_m,
            semivariance: off * model.semivariance(distance_m * stretch),
        }
    };
    EmpiricalVariogram {
        estimator: Estimator::Matheron,
        cutoff_m,
        classes: (0..15).map(class).collect(),
    }
}
