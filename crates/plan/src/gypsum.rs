//! Gypsum that a sodic soil needs.
//!
//! `GR = 8.6 · F · D · ρb · CEC · (ESPi − ESPf) / p`, in Mg/ha, with the depth D to be treated in m, the
//! bulk density ρb in Mg/m³, the cation exchange capacity CEC in cmolc/kg, the exchangeable sodium
//! percentages found, `ESPi`, and wanted, `ESPf`, the purity p in percent, and F for the sodium that
//! calcium does not replace, 1.1 to 1.3: North Dakota State University Extension (page not known). 8.6 is
//! the equivalent mass of gypsum, 86 g/molc, in the units of the others.
//!
//! It helps to work out a rate and is no soil test: the basis must be on record all the same.

use serde::Deserialize;
use survey::Length;
use survey::units::tidy;

use crate::plan::Dose;
use crate::quantity::Rate;
use crate::rate::MassRate;
use crate::typed::Typed;

/// What the requirement is worked out from.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct GypsumTable {
    /// Cation exchange capacity, cmolc/kg, which is meq/100 g.
    cec: f64,
    /// Exchangeable sodium percentage found.
    esp_now: f64,
    /// Exchangeable sodium percentage wanted.
    esp_wanted: f64,
    /// Depth to be treated.
    depth: Typed<Length>,
    /// Mg/m³, which is g/cm³.
    bulk_density: f64,
    /// F.
    #[serde(default = "usual_efficiency")]
    efficiency: f64,
    #[serde(default = "pure")]
    purity_pct: f64,
}

/// That of the published example.
fn usual_efficiency() -> f64 {
    1.1
}

fn pure() -> f64 {
    100.0
}

/// Values taken for F.
const EFFICIENCY: std::ops::RangeInclusive<f64> = 1.1..=1.3;

impl GypsumTable {
    /// The rate of gypsum as it is spread, and how it was worked out.
    pub fn requirement(&self) -> Result<(Rate, String), String> {
        self.check()?;
        let depth_m = self.depth.0.m();
        let GypsumTable { cec, esp_now, esp_wanted, bulk_density, efficiency, purity_pct, .. } =
            *self;
        let mg_per_ha =
            8.6 * efficiency * depth_m * bulk_density * cec * (esp_now - esp_wanted) / purity_pct;
        let rate = MassRate::from_kg_per_ha(mg_per_ha * 1_000.0);
        let working = format!(
            "gypsum requirement (NDSU Extension): GR = 8.6 · F · D · ρb · CEC · (ESPi − ESPf) / p = 8.6 · \
             {} · {} m · {} Mg/m³ · {} cmolc/kg · ({} − {}) % / {} % = {} Mg/ha = {} ton/ac (short tons)",
            tidy(efficiency, 3),
            tidy(depth_m, 4),
            tidy(bulk_density, 3),
            tidy(cec, 3),
            tidy(esp_now, 3),
            tidy(esp_wanted, 3),
            tidy(purity_pct, 3),
            tidy(mg_per_ha, 3),
            tidy(short_tons_per_ac(rate), 3),
        );
        let rate = Rate { dose: Dose::Mass(rate), number: mg_per_ha, unit: "t/ha".into() };
        Ok((rate, working))
    }

    /// Whether the helper stands outside the range that was published for it.
    pub fn caution(&self) -> Option<String> {
        (!EFFICIENCY.contains(&self.efficiency)).then(|| {
            format!(
                "gypsum: efficiency factor {} is outside 1.1 to 1.3 (NDSU Extension)",
                tidy(self.efficiency, 3)
            )
        })
    }

    fn check(&self) -> Result<(), String> {
        let ranges = [
            ("cec", self.cec, 0.1, 200.0, "cmolc/kg"),
            ("esp_now", self.esp_now, 0.0, 100.0, "%"),
            ("esp_wanted", self.esp_wanted, 0.0, 100.0, "%"),
            ("depth", self.depth.0.m(), 0.01, 2.0, "m"),
            ("bulk_density", self.bulk_density, 0.2, 2.2, "Mg/m³"),
            ("efficiency", self.efficiency, 0.5, 3.0, ""),
            ("purity_pct", self.purity_pct, 1.0, 100.0, "%"),
        ];
        for (key, value, least, most, unit) in ranges {
            if !(least..=most).contains(&value) {
                let text = format!("{key} = {value} must be from {least} to {most} {unit}");
                return Err(text.trim_end().to_owned());
            }
        }
        match self.esp_now > self.esp_wanted {
            true => Ok(()),
            false => Err(format!(
                "esp_now ({}) is not above esp_wanted ({}): no gypsum is needed",
                tidy(self.esp_now, 3),
                tidy(self.esp_wanted, 3)
            )),
        }
    }
}

fn short_tons_per_ac(rate: MassRate) -> f64 {
    use survey::units::{KG_PER_SHORT_TON, M2_PER_AC, M2_PER_HA};
    rate.kg_per_ha() * M2_PER_AC / M2_PER_HA / KG_PER_SHORT_TON
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(text: &str) -> GypsumTable {
        toml::from_str(text).unwrap()
    }

    const EXAMPLE: &str =
        "cec = 20\nesp_now = 15\nesp_wanted = 5\ndepth = \"0.3m\"\nbulk_density = 1.3";

    /// The published example: 7.379 Mg/ha, 3.292 short tons per acre.
    #[test]
    fn the_published_example_comes_out() {
        let (rate, working) = table(EXAMPLE).requirement().unwrap();
        let Dose::Mass(rate) = rate.dose else { panic!("gypsum goes by mass") };
        assert!((rate.kg_per_ha() - 7_378.8).abs() < 1e-6);
        assert!((short_tons_per_ac(rate) - 3.292).abs() < 5e-4);
        assert!(
            working.ends_with("/ 100 % = 7.379 Mg/ha = 3.292 ton/ac (short tons)"),
            "{working}"
        );
        assert_eq!(table(EXAMPLE).caution(), None);
    }

    #[test]
    fn less_pure_gypsum_is_more_gypsum() {
        let (rate, _) = table(&format!("{EXAMPLE}\npurity_pct = 80")).requirement().unwrap();
        let Dose::Mass(rate) = rate.dose else { panic!("gypsum goes by mass") };
        assert!((rate.kg_per_ha() - 9_223.5).abs() < 1e-6);
    }

    #[test]
    fn numbers_that_mean_nothing_are_refused() {
        for (from, to, part) in [
            ("esp_now = 15", "esp_now = 5", "no gypsum is needed"),
            ("cec = 20", "cec = 0", "cec = 0 must be from 0.1 to 200 cmolc/kg"),
            ("\"0.3m\"", "\"30m\"", "depth = 30 must be"),
            ("= 1.3", "= 1300", "bulk_density = 1300 must be"),
            ("= 1.3", "= nan", "bulk_density = NaN must be"),
        ] {
            let problem = table(&EXAMPLE.replace(from, to)).requirement().unwrap_err();
            assert!(problem.contains(part), "{problem}");
        }
        let odd = table(&format!("{EXAMPLE}\nefficiency = 1.6"));
        assert!(odd.caution().unwrap().contains("outside 1.1 to 1.3"));
    }
}
