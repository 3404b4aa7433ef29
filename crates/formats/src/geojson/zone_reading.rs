//! What the properties of a zone file's features say.

use geo::MultiPolygon;
use mapping::FEW_PROBES;
use plan::{BottomFound, MappedZone, MeanFound};
use serde_json::Value;
use survey::{Date, Depth, Pressure, Threshold, UnitSystem};

use super::read_zones::{GIVE, ODD_TEXT};
use crate::plain_text::is_plain;
use crate::values::{kind, shown};

/// What the first zone says of all.
pub(super) struct First {
    pub field: Option<String>,
    pub units: UnitSystem,
    pub visit: Option<Date>,
    pub threshold: Option<Threshold>,
}

/// A feature's properties.
pub(super) struct Said<'v>(pub &'v Value);

impl Said<'_> {
    /// A value that is there and not null.
    fn get(&self, name: &str) -> Option<&Value> {
        self.0.get(name).filter(|value| !value.is_null())
    }

    fn number(&self, name: &str) -> Result<Option<f64>, String> {
        self.get(name)
            .map(|value| {
                let number = value.as_f64().filter(|number| number.is_finite());
                number.ok_or_else(|| format!("{name} is {}, not a number", kind(value)))
            })
            .transpose()
    }

    fn count(&self, name: &str) -> Result<Option<usize>, String> {
        /// No field has more of anything.
        const MOST: u64 = 1_000_000_000;
        self.get(name)
            .map(|value| {
                let number = value.as_u64().filter(|number| *number <= MOST);
                let count = number.and_then(|number| usize::try_from(number).ok());
                count.ok_or_else(|| format!("{name} is {}, not a count", kind(value)))
            })
            .transpose()
    }

    fn text(&self, name: &str) -> Result<Option<&str>, String> {
        self.get(name)
            .map(|value| {
                let text =
                    value.as_str().ok_or_else(|| format!("{name} is {}, not text", kind(value)))?;
                match text.chars().all(is_plain) {
                    true => Ok(text),
                    false => Err(format!("{name} {ODD_TEXT}")),
                }
            })
            .transpose()
    }

    fn yes_or_no(&self, name: &str) -> Result<Option<bool>, String> {
        self.get(name)
            .map(|value| {
                value
                    .as_bool()
                    .ok_or_else(|| format!("{name} is {}, not true or false", kind(value)))
            })
            .transpose()
    }

    /// A depth whose unit stands at the end of the name, below 100 m.
    fn depth(&self, name: &str, units: UnitSystem) -> Result<Option<Depth>, String> {
        match self.any_depth(name, units)? {
            Some(depth) if depth.m() < 0.0 => {
                let number = units.depth(depth);
                Err(format!("{name}_{} is {number}, which is no depth", units.depth_unit()))
            }
            depth => Ok(depth),
        }
    }

    /// A depth that may be negative, as the lower end of an interval may.
    fn any_depth(&self, name: &str, units: UnitSystem) -> Result<Option<Depth>, String> {
        let name = format!("{name}_{}", units.depth_unit());
        let Some(number) = self.number(&name)? else {
            return Ok(None);
        };
        let depth = units.depth_from(number);
        match depth.m().abs() < 100.0 {
            true => Ok(Some(depth)),
            false => Err(format!("{name} is {number}, which is no depth")),
        }
    }

    pub fn first(&self) -> Result<First, String> {
        let has = |units: UnitSystem| self.get(&format!("mean_depth_{}", units.depth_unit()));
        let units = match (has(UnitSystem::Us), has(UnitSystem::Si)) {
            (Some(_), _) => UnitSystem::Us,
            (None, Some(_)) => UnitSystem::Si,
            (None, None) => return Err(missing("mean_depth_in or mean_depth_cm")),
        };
        let visit = self.text("visit_date")?.map(|day| {
            day.parse()
                .map_err(|_| format!("visit_date is {}, not a day like 2025-04-14", shown(day)))
        });
        let pressure = match (self.number("threshold_psi")?, self.number("threshold_kpa")?) {
            (Some(psi), _) => Some((Pressure::from_psi(psi), UnitSystem::Us)),
            (None, Some(kpa)) => Some((Pressure::from_kpa(kpa), UnitSystem::Si)),
            (None, None) => None,
        };
        Ok(First {
            field: self.text("field")?.map(str::to_owned),
            units,
            visit: visit.transpose()?,
            threshold: pressure.map(|(pressure, units)| Threshold::in_units(pressure, units)),
        })
    }

    pub fn zone(
        &self,
        id: &str,
        units: UnitSystem,
        polygons: MultiPolygon,
    ) -> Result<MappedZone, String> {
        let class_no = self.count("class_no")?.ok_or_else(|| missing("class_no"))?;
        if class_no == 0 {
            return Err("class_no is 0; classes are counted from 1".into());
        }
        let mean_depth = self.depth("mean_depth", units)?;
        let probes = self.count("probes")?.unwrap_or(0);
        Ok(MappedZone {
            id: id.to_owned(),
            class_no,
            class_name: self.text("class_name")?.ok_or_else(|| missing("class_name"))?.to_owned(),
            stratum: self.text("stratum")?.map(str::to_owned),
            polygons,
            // Reckoned in the plane, later.
            ground_area_m2: 0.0,
            mean_depth: mean_depth
                .ok_or_else(|| missing(&format!("mean_depth_{}", units.depth_unit())))?,
            probes,
            not_reached: self.count("not_reached")?.unwrap_or(0),
            few_probes: self.yes_or_no("few_probes")?.unwrap_or(probes < FEW_PROBES),
            mean: self.mean(units)?,
            class_confidence: self.confidence()?,
            bottom: self.bottom(units)?,
        })
    }

    fn mean(&self, units: UnitSystem) -> Result<Option<MeanFound>, String> {
        let [mean, low, high] =
            ["estimate", "estimate_low", "estimate_high"].map(|name| self.any_depth(name, units));
        let (Some(mean), Some(low), Some(high)) = (mean?, low?, high?) else {
            return Ok(None);
        };
        if low > high {
            return Err("estimate_low is more than estimate_high".into());
        }
        let method = self.text("estimate_by")?.unwrap_or("unknown").to_owned();
        Ok(Some(MeanFound { mean, low, high, method }))
    }

    fn confidence(&self) -> Result<Option<f64>, String> {
        match self.number("class_confidence_pct")? {
            Some(pct) if !(0.0..=100.0).contains(&pct) => {
                Err(format!("class_confidence_pct is {pct}, not between 0 and 100"))
            }
            pct => Ok(pct.map(|pct| pct / 100.0)),
        }
    }

    fn bottom(&self, units: UnitSystem) -> Result<Option<BottomFound>, String> {
        let Some(profiles) = self.count("bottom_profiles")?.filter(|profiles| *profiles > 0) else {
            return Ok(None);
        };
        let not_passed = self.count("bottom_not_passed")?.unwrap_or(0);
        if not_passed > profiles {
            return Err("bottom_not_passed is more than bottom_profiles".into());
        }
        Ok(Some(BottomFound { median: self.depth("bottom", units)?, profiles, not_passed }))
    }
}

fn missing(name: &str) -> String {
    format!("{name} is missing; {GIVE}")
}
