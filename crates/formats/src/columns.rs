//! Which column or property of a file is what, where its own name does not tell.

use serde::{Deserialize, Deserializer, de};
use survey::DepthUnit;

use crate::pressure_unit::PressureUnit;

/// A column that holds a depth or another length.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DepthField {
    /// The column's name, exactly as in the file.
    pub name: String,
    /// The unit of its numbers.
    #[serde(deserialize_with = "depth_unit")]
    pub unit: DepthUnit,
}

/// A column that holds a pressure.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PressureField {
    /// The column's name, exactly as in the file.
    pub name: String,
    /// The unit of its numbers.
    #[serde(deserialize_with = "pressure_unit")]
    pub unit: PressureUnit,
}

/// The columns a user names. What is not named is found by the names that files commonly use;
/// what is named is found by that name alone.
///
/// As a table of a settings file:
///
/// ```
/// let columns: formats::Columns = toml::from_str(
///     r#"
///     id = "Point"
///     depth = { name = "D200", unit = "in" }
///     threshold = { name = "Limit", unit = "kPa" }
///     "#,
/// )?;
/// assert_eq!(columns.id.as_deref(), Some("Point"));
/// # Ok::<(), toml::de::Error>(())
/// ```
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Columns {
    /// The depth; of a profile, the depth of each reading.
    pub depth: Option<DepthField>,
    /// Yes where the threshold was not reached.
    pub not_reached: Option<String>,
    /// Longitude, or the coordinate east.
    pub longitude: Option<String>,
    /// Latitude, or the coordinate north.
    pub latitude: Option<String>,
    /// The probe point's name.
    pub id: Option<String>,
    /// The day, or day and time.
    pub date: Option<String>,
    /// The time of day, or day and time.
    pub time: Option<String>,
    /// Soil moisture, percent.
    pub moisture: Option<String>,
    /// The threshold the depth was read at.
    pub threshold: Option<PressureField>,
    /// The cone index of a profile's reading.
    pub cone_index: Option<PressureField>,
    /// The receiver's stated accuracy, metres.
    pub accuracy: Option<String>,
    /// Diameter of the cone's base.
    pub cone: Option<DepthField>,
    /// Which penetrometer.
    pub instrument: Option<String>,
    /// Who pushed.
    pub operator: Option<String>,
    /// What the spot belongs to, such as a treatment.
    pub group: Option<String>,
    /// What was noted beside the reading.
    pub note: Option<String>,
}

impl Columns {
    /// Nothing named.
    pub const NONE: Columns = Columns {
        depth: None,
        not_reached: None,
        longitude: None,
        latitude: None,
        id: None,
        date: None,
        time: None,
        moisture: None,
        threshold: None,
        cone_index: None,
        accuracy: None,
        cone: None,
        instrument: None,
        operator: None,
        group: None,
        note: None,
    };

    /// Names one column as a user types it: `depth=D200:in`, `id=Point`, `cone_index=CI:kPa`.
    ///
    /// # Errors
    /// When the text has no `=`, the word before it is none of the fields of [`Columns`], or a unit is
    /// missing, unknown or too many.
    pub fn set(&mut self, text: &str) -> Result<(), String> {
        let (what, name) = text.split_once('=').ok_or("write WHAT=NAME or WHAT=NAME:UNIT")?;
        if name.is_empty() {
            return Err("the column's name is missing".into());
        }
        let with_unit = || name.rsplit_once(':').ok_or("its unit is missing; write NAME:UNIT");
        let length = || {
            let (name, unit) = with_unit()?;
            let unknown = || format!("unknown unit {unit:?}; use in, cm, mm or m");
            let unit = DepthUnit::from_name(unit).ok_or_else(unknown)?;
            Ok::<_, String>(Some(DepthField { name: name.into(), unit }))
        };
        let pressure = || {
            let (name, unit) = with_unit()?;
            let unknown = || format!("unknown unit {unit:?}; use psi, kPa, MPa or bar");
            let unit = PressureUnit::from_name(unit).ok_or_else(unknown)?;
            Ok::<_, String>(Some(PressureField { name: name.into(), unit }))
        };
        let plain = || Some(name.to_owned());
        match what.trim() {
            "depth" => self.depth = length()?,
            "cone" => self.cone = length()?,
            "threshold" => self.threshold = pressure()?,
            "cone_index" => self.cone_index = pressure()?,
            "not_reached" => self.not_reached = plain(),
            "longitude" => self.longitude = plain(),
            "latitude" => self.latitude = plain(),
            "id" => self.id = plain(),
            "date" => self.date = plain(),
            "time" => self.time = plain(),
            "moisture" => self.moisture = plain(),
            "accuracy" => self.accuracy = plain(),
            "instrument" => self.instrument = plain(),
            "operator" => self.operator = plain(),
            "group" => self.group = plain(),
            "note" => self.note = plain(),
            other => return Err(format!("{other:?} is not known; use one of {KNOWN}")),
        }
        Ok(())
    }

    /// Names the column of the depth.
    pub fn set_depth(&mut self, name: &str, unit: DepthUnit) {
        self.depth = Some(DepthField { name: name.into(), unit });
    }

    /// Names the column of what a spot belongs to.
    pub fn set_group(&mut self, name: &str) {
        self.group = Some(name.into());
    }
}

/// What may be named, for messages.
const KNOWN: &str = "depth, not_reached, longitude, latitude, id, date, time, moisture, threshold, \
                     cone_index, accuracy, cone, instrument, operator, group, note";

fn depth_unit<'de, D: Deserializer<'de>>(deserializer: D) -> Result<DepthUnit, D::Error> {
    let name = String::deserialize(deserializer)?;
    DepthUnit::from_name(&name)
        .ok_or_else(|| de::Error::custom(format!("unknown unit {name:?}; use in, cm, mm or m")))
}

fn pressure_unit<'de, D: Deserializer<'de>>(deserializer: D) -> Result<PressureUnit, D::Error> {
    let name = String::deserialize(deserializer)?;
    PressureUnit::from_name(&name).ok_or_else(|| {
        de::Error::custom(format!("unknown unit {name:?}; use psi, kPa, MPa or bar"))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_column_is_named_as_a_user_types_it() {
        let mut columns = Columns::default();
        columns.set("depth=D: 200:in").unwrap();
        columns.set("id=Point=1").unwrap();
        columns.set("cone_index=CI:kPa").unwrap();
        let depth = DepthField { name: "D: 200".into(), unit: DepthUnit::Inches };
        assert_eq!(columns.depth, Some(depth));
        assert_eq!(columns.id.as_deref(), Some("Point=1"));
        for (text, part) in [
            ("depth", "WHAT=NAME"),
            ("depth=D200", "unit is missing"),
            ("depth=D200:psi", "use in, cm"),
            ("deep=D200:in", "one of depth,"),
            ("id=", "name is missing"),
        ] {
            assert!(columns.set(text).unwrap_err().contains(part), "{text}");
        }
    }

    #[test]
    fn mistakes_in_the_settings_are_named() {
        let error = |text: &str| toml::from_str::<Columns>(text).unwrap_err().to_string();
        assert!(error("dept = \"x\"").contains("unknown field `dept`"));
        assert!(error("depth = { name = \"D\", unit = \"feet\" }").contains("use in, cm, mm or m"));
        assert!(error("depth = { name = \"D\" }").contains("unit"));
        assert!(error("cone_index = { name = \"D\", unit = \"in\" }").contains("use psi"));
    }
}
