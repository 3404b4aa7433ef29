//! What is said of strata wherever it is said: in the terminal, on a page.

use survey::UnitSystem;

use crate::method_words::error_text;
use crate::strata::StratumMap;

impl StratumMap {
    /// The stratum in one line: its ground, its probes, how its surface was made and how it did.
    ///
    /// `stratum headland: 2.31 ac, 14 probes (3 never reached); inverse distance, power 2.5; leaving out each probe in
    /// turn: RMSE 2.10 in, of its mean 2.30 in`
    pub fn told(&self, units: UnitSystem) -> String {
        let probes = if self.probed.spots == 1 { "probe" } else { "probes" };
        let not_reached = match self.probed.not_reached {
            0 => String::new(),
            count => format!(" ({count} never reached)"),
        };
        format!(
            "stratum {}: {:.2} {}, {} {probes}{not_reached}; {}",
            self.name,
            units.area(self.ground_area_m2),
            units.area_unit(),
            self.probed.spots,
            self.made(units)
        )
    }

    fn made(&self, units: UnitSystem) -> String {
        let Some(method) = &self.method else {
            return "no value".into();
        };
        let name = method.estimator.told();
        let validation = &method.validation;
        if validation.pairs.is_empty() {
            return format!("{name}; not checked: no probe is within reach of another");
        }
        let mean = match validation.mean_rmse.is_finite() {
            true => format!(", of its mean {}", error_text(validation.mean_rmse, units)),
            false => String::new(),
        };
        format!(
            "{name}; leaving out each probe in turn: RMSE {}{mean}",
            error_text(validation.rmse, units)
        )
    }
}
