//! What is said of a method wherever it is said: in the terminal, in a file, on a page.

use geostat::SectorKind;
use survey::units::tidy;
use survey::{Depth, UnitSystem};

use crate::fitted_variogram::FittedVariogram;
use crate::method::{Errors, Estimator, Method, MethodKind, Tried};
use crate::settings::{LEAST_SPOTS_OF_KRIGING, MethodChoice, SPOTS_FOR_A_GOOD_VARIOGRAM};

impl Tried {
    /// What it is: `field mean`, `inverse distance, power 3.25`, `kriging`.
    pub fn name(&self) -> String {
        match self.power {
            Some(power) => format!("{}, power {}", self.kind.name(), tidy(power, 3)),
            None => self.kind.name().into(),
        }
    }
}

impl Estimator {
    /// What it is, in short: `inverse distance, power 2.5`.
    pub(crate) fn told(&self) -> String {
        match self {
            Estimator::InverseDistance { power, .. } => {
                format!("{}, power {}", self.kind().name(), tidy(*power, 3))
            }
            Estimator::Mean => "its mean everywhere".into(),
            Estimator::Kriging(variogram) => {
                format!("ordinary kriging, {} variogram", variogram.shape_name())
            }
        }
    }
}

impl Method {
    /// The leave-one-out errors of the best of each kind that was tried, the least first, where there was
    /// a choice to make: `kriging 2.9 in, inverse distance 3 in, field mean 3.4 in`.
    pub fn comparison(&self, units: UnitSystem) -> Option<String> {
        let best = self.best_of_kinds();
        let is_compared = |choice| matches!(choice, MethodChoice::Auto | MethodChoice::Kriging);
        let mut known: Vec<(MethodKind, Errors)> = best
            .iter()
            .filter_map(|tried| Some((tried.kind, tried.errors.clone().ok()?)))
            .collect();
        if !is_compared(self.asked) || known.iter().any(|(_, errors)| errors.rmse.is_nan()) {
            return None;
        }
        known.sort_by(|a, b| a.1.rmse.total_cmp(&b.1.rmse));
        let words = known
            .iter()
            .map(|(kind, errors)| format!("{} {}", kind.name(), error_text(errors.rmse, units)));
        Some(words.collect::<Vec<_>>().join(", "))
    }

    /// Why the method was taken, where cross-validation had the choice.
    pub fn reason(&self, spots: usize, units: UnitSystem) -> Option<String> {
        if self.asked != MethodChoice::Auto {
            return None;
        }
        let name = self.estimator.kind().name();
        if spots < LEAST_SPOTS_OF_KRIGING {
            return Some(format!(
                "{name}, since fewer than {LEAST_SPOTS_OF_KRIGING} readings are too few to choose by"
            ));
        }
        Some(match self.comparison(units) {
            Some(comparison) => {
                format!("{name}, by the least error when each reading is left out: {comparison}")
            }
            None => format!("{name}, since no reading is within reach of another"),
        })
    }

    /// Which readings take part, beyond how many: direction, sectors, smoothing.
    pub fn options(&self, units: UnitSystem) -> Vec<String> {
        let around = &self.neighbourhood;
        let mut all = Vec::new();
        if !around.anisotropy.is_none() {
            all.push(format!(
                "readings along {}° count as nearer: distances across count {} times",
                tidy(around.anisotropy.azimuth_deg(), 1),
                tidy(1.0 / around.anisotropy.ratio(), 2)
            ));
        }
        if let Some(sectors) = around.sectors {
            let name = match sectors.kind {
                SectorKind::Quadrants => "quadrant",
                SectorKind::Octants => "octant",
            };
            all.push(format!("at most {} from each {name}", sectors.most));
        }
        if around.smoothing_m > 0.0 {
            all.push(format!(
                "smoothed by {}: not exact at the readings",
                units.distance_text(around.smoothing_m)
            ));
        }
        all
    }

    /// What makes the method doubtful.
    pub fn cautions(&self) -> Vec<String> {
        let mut all = Vec::new();
        if let Estimator::Kriging(variogram) = &self.estimator {
            all.extend(variogram.cautions());
        }
        for tried in &self.tried {
            if let Err(problem) = &tried.errors {
                all.push(format!("{} could not be tried: {problem}", tried.kind.name()));
            }
        }
        all
    }
}

impl FittedVariogram {
    /// What makes the variogram doubtful, of depths or of indicators.
    pub fn cautions(&self) -> Vec<String> {
        let mut all = Vec::new();
        if self.samples < SPOTS_FOR_A_GOOD_VARIOGRAM {
            all.push(format!(
                "{} readings are few for a variogram: {SPOTS_FOR_A_GOOD_VARIOGRAM} to 150 are wanted",
                self.samples
            ));
        }
        if self.fit.range_at_bound {
            all.push("the readings do not tell the variogram's range".into());
        }
        if self.fit.is_badly_conditioned() {
            all.push("the variogram is nearly without a nugget: kriging may be unsteady".into());
        }
        all
    }
}

/// An error with its unit, two decimals: methods often differ in the second.
pub fn error_text(cm: f64, units: UnitSystem) -> String {
    format!("{:.2} {}", units.depth(Depth::from_cm(cm)), units.depth_unit())
}
