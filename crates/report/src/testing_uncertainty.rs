//! Made-up rasters of probability and standard error for the tests, with pages of them.

use geostat::Raster;
use survey::{CheckedSurvey, Depth, UnitSystem};

use crate::error_page::ErrorPage;
use crate::probability_page::ProbabilityPage;
use crate::reliability_chart::ReliabilityClass;
use crate::testing::Sample;
use crate::value_classes::ValueClasses;

/// A sample with what a page of probability and one of standard error need.
pub(crate) struct Uncertain {
    sample: Sample,
    limit: Depth,
    probability: Raster,
    error_cm: Raster,
    error_classes: ValueClasses,
    probability_areas_m2: [f64; 6],
    error_areas_m2: Vec<f64>,
    made: Vec<String>,
    checked: Vec<String>,
    reliability: Vec<ReliabilityClass>,
}

impl Uncertain {
    pub fn new(sample: Sample, limit: Depth) -> Self {
        let depth_cm = &sample.map.depth_cm;
        let values = depth_cm.values.iter();
        let chance = |depth_cm: f64| 1.0 / (1.0 + libm::exp((depth_cm - limit.cm()) / 5.0));
        let probability =
            Raster { grid: depth_cm.grid, values: values.map(|&cm| chance(cm)).collect() };
        let error_cm = error_by_distance(depth_cm, &sample.survey);
        let error_classes = ValueClasses::standard_error(&error_cm, sample.map.classes.units());
        let ground_m2 = sample.map.field_area_m2 - sample.map.unmapped.ground_area_m2;
        let areas = areas_m2(&probability, &ValueClasses::probability(), ground_m2);
        let class = |mean_probability, probes, thinner| ReliabilityClass {
            mean_probability,
            probes,
            thinner,
        };
        Uncertain {
            limit,
            probability_areas_m2: areas.try_into().expect("six classes"),
            error_areas_m2: areas_m2(&error_cm, &error_classes, ground_m2),
            probability,
            error_cm,
            error_classes,
            made: vec![
                "Indicator kriging of \"thinner than the limit\" at 96 of 108 probes; 12 that stopped \
                 above it were left out."
                    .into(),
                "Variogram of the indicator: spherical, range 330 ft, nugget 41 % of the sill.".into(),
                "Assumption: probes that stopped early are like the others.".into(),
            ],
            checked: vec![
                "Brier score 0.141, of a constant 0.198: skill 0.29.".into(),
                "Leave-one-out check over 96 probes.".into(),
            ],
            reliability: vec![
                class(0.04, 31, 2),
                class(0.17, 18, 3),
                class(0.38, 20, 9),
                class(0.62, 14, 8),
                class(0.81, 9, 7),
                class(0.95, 4, 4),
            ],
            sample,
        }
    }

    pub fn units(&self) -> UnitSystem {
        self.sample.map.classes.units()
    }

    pub fn probability_page<'a>(&'a self, title: &'a str) -> ProbabilityPage<'a> {
        ProbabilityPage {
            title,
            survey: &self.sample.survey,
            units: self.units(),
            limit: self.limit,
            probability: &self.probability,
            class_areas_m2: self.probability_areas_m2,
            unmapped_m2: self.sample.map.unmapped.ground_area_m2,
            verdict: "Better than one chance for the whole field: 29 % less squared error.",
            checked: &self.checked,
            made: &self.made,
            reliability: &self.reliability,
        }
    }

    pub fn error_page<'a>(&'a self, title: &'a str) -> ErrorPage<'a> {
        ErrorPage {
            title,
            survey: &self.sample.survey,
            units: self.units(),
            error_cm: &self.error_cm,
            classes: &self.error_classes,
            class_areas_m2: &self.error_areas_m2,
            unmapped_m2: self.sample.map.unmapped.ground_area_m2,
            verdict: "The errors hold: of 95 % intervals 94 % had the reading in them.",
            checked: &self.checked,
            made: &self.made,
        }
    }
}

/// Errors that grow with the distance to the nearest probe, where there is a depth.
fn error_by_distance(depth_cm: &Raster, survey: &CheckedSurvey) -> Raster {
    let grid = depth_cm.grid;
    let error = |k: usize| {
        let (row, column) = (k / grid.columns(), k % grid.columns());
        let squared = |spot: &survey::Spot| {
            let east = spot.position.easting_m - grid.easting_m(column);
            let north = spot.position.northing_m - grid.northing_m(row);
            east * east + north * north
        };
        let nearest = survey.spots().iter().map(squared).fold(f64::INFINITY, f64::min).sqrt();
        5.0 + 6.0 * (nearest / survey.spacing_m()).min(1.5)
    };
    let values = depth_cm.values.iter().enumerate();
    let values = values.map(|(k, cm)| if cm.is_nan() { f64::NAN } else { error(k) });
    Raster { grid, values: values.collect() }
}

/// Ground of each class: its cells' share of the field.
fn areas_m2(raster: &Raster, classes: &ValueClasses, ground_m2: f64) -> Vec<f64> {
    let mut cells = vec![0.0; classes.len()];
    for class in raster.values.iter().filter_map(|&value| classes.class_of(value)) {
        cells[class] += 1.0;
    }
    let all: f64 = cells.iter().sum();
    cells.into_iter().map(|count| count / all * ground_m2).collect()
}
