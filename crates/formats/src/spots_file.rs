//! What files of planned spots are made from.

use sampling::PlannedSpot;
use serde_json::{Map, Value};
use survey::units::tidy;
use survey::{LonLat, Threshold, UnitSystem, Utm};

use crate::degrees::{DECIMALS, rounded};

/// Planned spots, and how they will be probed.
#[derive(Debug, Clone, Copy)]
pub struct SpotsFile<'a> {
    /// The field's name.
    pub field_name: &'a str,
    /// Units of the depths to be filled in.
    pub units: UnitSystem,
    /// The plane that the spots are in.
    pub utm: Utm,
    /// The pressure that will be read at, where it is known.
    pub threshold: Option<&'a Threshold>,
    /// How many insertions each spot gets.
    pub insertions: usize,
    /// The spots, in walking order.
    pub spots: &'a [PlannedSpot],
}

impl SpotsFile<'_> {
    /// Where a spot is, in degrees to about a millimetre.
    pub fn place(&self, spot: &PlannedSpot) -> LonLat {
        let LonLat { lon_deg, lat_deg } = self.utm.unproject(spot.place);
        LonLat { lon_deg: rounded(lon_deg, DECIMALS), lat_deg: rounded(lat_deg, DECIMALS) }
    }

    /// Name of the column for the depth: `depth_in`.
    pub(crate) fn depth_name(&self) -> String {
        format!("depth_{}", self.units.depth_unit())
    }

    /// Name of the column for the threshold, and its number where it is known.
    pub(crate) fn threshold(&self) -> (&'static str, Option<String>) {
        let pressure = self.threshold.map(Threshold::pressure);
        match self.units {
            UnitSystem::Us => ("threshold_psi", pressure.map(|it| tidy(it.psi(), 2))),
            UnitSystem::Si => ("threshold_kpa", pressure.map(|it| tidy(it.kpa(), 1))),
        }
    }

    /// Whether any spot is in a stratum.
    pub(crate) fn has_strata(&self) -> bool {
        self.spots.iter().any(|spot| spot.stratum.is_some())
    }

    /// What a record of a spot says before it is probed: what is to be read is null.
    pub(crate) fn properties(&self, number: usize, spot: &PlannedSpot) -> Map<String, Value> {
        let (threshold, pressure) = self.threshold();
        let pressure = pressure.and_then(|text| text.parse::<f64>().ok());
        let mut said = Map::new();
        said.insert("point_id".into(), spot.id.as_str().into());
        said.insert("walk_order".into(), number.into());
        said.insert("placed_by".into(), spot.why.words().into());
        if self.has_strata() {
            said.insert("stratum".into(), spot.stratum.as_deref().into());
        }
        said.insert("date".into(), Value::Null);
        said.insert(self.depth_name(), Value::Null);
        said.insert("at_least".into(), Value::Null);
        said.insert(threshold.into(), pressure.into());
        said.insert("moisture_pct".into(), Value::Null);
        said.insert("note".into(), Value::Null);
        said
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use sampling::Why;
    use survey::EastNorth;

    /// Two spots in western Iowa.
    pub fn spots() -> Vec<PlannedSpot> {
        let spot = |id: &str, north_m: f64, why, stratum: Option<&str>| PlannedSpot {
            id: id.into(),
            place: EastNorth { easting_m: 282_750.0, northing_m: 4_645_600.0 + north_m },
            why,
            stratum: stratum.map(str::to_owned),
        };
        vec![
            spot("P001", 0.0, Why::Grid, None),
            spot("A <7>", 40.0, Why::Again, Some("3–6 in, \"low\"")),
        ]
    }

    pub fn utm() -> Utm {
        Utm::for_place(LonLat { lon_deg: -95.62, lat_deg: 41.93 }).unwrap()
    }
}
