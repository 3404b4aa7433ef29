//! What a column or property means, by the names that files use.
//!
//! A name is compared in lower case with single underscores for all that is not a letter or digit:
//! `Depth (in)` is `depth_in`. A DBF name is cut to ten characters, hence `MOIST_PCT` and
//! `MOISTURE_P`; a unit that is cut off is not guessed.

use std::mem::discriminant;

use survey::{Depth, DepthUnit};

use crate::columns::Columns;
use crate::pressure_unit::PressureUnit;
use crate::wide_names::wide;

/// Names of a depth, before the unit: `depth_in`, `loose_depth_cm`.
const DEPTH: [&str; 5] =
    ["depth", "loose_depth", "loose_layer", "loose_layer_depth", "threshold_depth"];
/// Names of the depth probed, before the unit.
const PROBED_TO: [&str; 4] = ["max_depth", "probed_to", "probed_depth", "max_dep"];
/// Names of a cone index, before the unit.
pub(crate) const CONE_INDEX: [&str; 8] = [
    "cone_index",
    "ci",
    "cone_resistance",
    "cone_pressure",
    "penetration_resistance",
    "soil_resistance",
    "resistance",
    "pressure",
];
/// Names of a cone index that a DBF's ten characters cut, which takes the unit away.
const CONE_INDEX_CUT: [&str; 4] = ["cone_resis", "cone_press", "penetratio", "soil_resis"];
const THRESHOLD: [&str; 1] = ["threshold"];
const CONE: [&str; 4] = ["cone", "cone_diameter", "cone_size", "cone_base"];
const NOT_REACHED: [&str; 4] = ["at_least", "not_reached", "censored", "not_reache"];
const REACHED: [&str; 2] = ["reached", "threshold_reached"];
/// How the insertion ended, in a word: see `outcome.rs`.
const OUTCOME: [&str; 1] = ["outcome"];
const DATE: [&str; 5] = ["date", "visit_date", "time", "timestamp", "datetime"];
const TIME: [&str; 3] = ["time", "time_of_day", "time_of_da"];
const MOISTURE: [&str; 9] = [
    "moisture_pct",
    "moisture",
    "soil_moisture_pct",
    "soil_moisture",
    "moisture_percent",
    "moist_pct",
    "moist",
    "moisture_p",
    "soil_moist",
];
const ID: [&str; 6] = ["point_id", "probe_id", "spot_id", "point", "id", "name"];
const NOTE: [&str; 4] = ["note", "notes", "comment", "remark"];
const ACCURACY: [&str; 6] = [
    "h_acc_m",
    "accuracy_m",
    "accuracy",
    "horizontal_accuracy_m",
    "horizontal_accuracy",
    "horizontal",
];
const INSTRUMENT: [&str; 4] = ["instrument", "instrument_id", "penetrometer", "penetromet"];
const OPERATOR: [&str; 2] = ["operator", "observer"];
const GROUP: [&str; 1] = ["group"];
const VISIT: [&str; 1] = ["visit"];
const PUSH: [&str; 4] = ["insertion", "push", "replicate", "rep"];
const LONGITUDE: [&str; 4] = ["longitude", "lon", "lng", "long"];
const LATITUDE: [&str; 2] = ["latitude", "lat"];
const EASTING: [&str; 4] = ["easting", "easting_m", "x", "x_m"];
const NORTHING: [&str; 4] = ["northing", "northing_m", "y", "y_m"];

/// What a value is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Role {
    Id,
    Depth(DepthUnit),
    DepthWithoutUnit,
    ProbedTo(DepthUnit),
    NotReached,
    Reached,
    Outcome,
    Threshold(PressureUnit),
    Date,
    Time,
    Moisture,
    Note,
    Accuracy,
    Cone(DepthUnit),
    Instrument,
    Operator,
    Group,
    Visit,
    Push,
    ConeIndex(PressureUnit),
    ConeIndexWithoutUnit,
    ThresholdWithoutUnit,
    ConeIndexAt(PressureUnit, DepthUnit, Depth),
    Longitude,
    Latitude,
    Easting,
    Northing,
}

/// A role that a name has, and how far behind it stands among the names of that role.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Meaning {
    pub role: Role,
    pub rank: usize,
}

/// A name in lower case with single underscores for all that is not a letter or digit.
pub(crate) fn plain(key: &str) -> String {
    let lower = key.to_lowercase();
    let words = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join("_")
}

/// What a name means by itself.
fn known(key: &str) -> Vec<Meaning> {
    let plain = plain(key);
    let lists: [(&[&str], Role); 22] = [
        (&ID, Role::Id),
        (&DEPTH, Role::DepthWithoutUnit),
        (&CONE_INDEX, Role::ConeIndexWithoutUnit),
        (&CONE_INDEX_CUT, Role::ConeIndexWithoutUnit),
        (&THRESHOLD, Role::ThresholdWithoutUnit),
        (&NOT_REACHED, Role::NotReached),
        (&REACHED, Role::Reached),
        (&OUTCOME, Role::Outcome),
        (&DATE, Role::Date),
        (&TIME, Role::Time),
        (&MOISTURE, Role::Moisture),
        (&NOTE, Role::Note),
        (&ACCURACY, Role::Accuracy),
        (&INSTRUMENT, Role::Instrument),
        (&OPERATOR, Role::Operator),
        (&GROUP, Role::Group),
        (&VISIT, Role::Visit),
        (&PUSH, Role::Push),
        (&LONGITUDE, Role::Longitude),
        (&LATITUDE, Role::Latitude),
        (&EASTING, Role::Easting),
        (&NORTHING, Role::Northing),
    ];
    let by_name = lists.iter().filter_map(|(names, role)| {
        let rank = names.iter().position(|name| *name == plain)?;
        Some(Meaning { role: *role, rank })
    });
    let by_unit = quantity(&plain).or_else(|| {
        wide(key).map(|(pressure, unit, depth)| Role::ConeIndexAt(pressure, unit, depth))
    });
    by_name.chain(by_unit.map(|role| Meaning { role, rank: 0 })).collect()
}

/// What a name of a stem and a unit means.
fn quantity(plain: &str) -> Option<Role> {
    let (stem, unit) = plain.rsplit_once('_')?;
    let length = DepthUnit::from_name(unit);
    let pressure = PressureUnit::from_name(unit);
    match (length, pressure) {
        (Some(unit), _) if DEPTH.contains(&stem) => Some(Role::Depth(unit)),
        (Some(unit), _) if PROBED_TO.contains(&stem) => Some(Role::ProbedTo(unit)),
        (Some(unit), _) if CONE.contains(&stem) => Some(Role::Cone(unit)),
        (_, Some(unit)) if THRESHOLD.contains(&stem) => Some(Role::Threshold(unit)),
        (_, Some(unit)) if CONE_INDEX.contains(&stem) => Some(Role::ConeIndex(unit)),
        _ => None,
    }
}

impl Columns {
    /// The columns the user names, with what they are.
    pub(crate) fn named(&self) -> Vec<(&str, Role)> {
        let plain = [
            (&self.not_reached, Role::NotReached),
            (&self.longitude, Role::Longitude),
            (&self.latitude, Role::Latitude),
            (&self.id, Role::Id),
            (&self.date, Role::Date),
            (&self.time, Role::Time),
            (&self.moisture, Role::Moisture),
            (&self.accuracy, Role::Accuracy),
            (&self.instrument, Role::Instrument),
            (&self.operator, Role::Operator),
            (&self.group, Role::Group),
            (&self.note, Role::Note),
        ];
        let mut named: Vec<(&str, Role)> =
            plain.iter().filter_map(|(name, role)| Some((name.as_deref()?, *role))).collect();
        let lengths = [(&self.depth, Role::Depth as fn(_) -> _), (&self.cone, Role::Cone)];
        for (field, role) in lengths {
            named.extend(field.as_ref().map(|field| (field.name.as_str(), role(field.unit))));
        }
        let pressures =
            [(&self.threshold, Role::Threshold as fn(_) -> _), (&self.cone_index, Role::ConeIndex)];
        for (field, role) in pressures {
            named.extend(field.as_ref().map(|field| (field.name.as_str(), role(field.unit))));
        }
        named
    }

    /// What a column or property of this name means: what the user says, or else its own name.
    pub(crate) fn meanings(&self, key: &str) -> Vec<Meaning> {
        let named = self.named();
        let own: Vec<Meaning> = named
            .iter()
            .filter(|(name, _)| *name == key)
            .map(|(_, role)| Meaning { role: *role, rank: 0 })
            .collect();
        if !own.is_empty() {
            return own;
        }
        let taken = |role: &Role| {
            named.iter().any(|(_, other)| discriminant(other) == discriminant(role))
                || (self.depth.is_some() && *role == Role::DepthWithoutUnit)
                || (self.cone_index.is_some() && *role == Role::ConeIndexWithoutUnit)
                || (self.threshold.is_some() && *role == Role::ThresholdWithoutUnit)
                || (self.not_reached.is_some() && *role == Role::Reached)
        };
        known(key).into_iter().filter(|meaning| !taken(&meaning.role)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::columns::DepthField;

    fn roles(columns: &Columns, key: &str) -> Vec<Role> {
        columns.meanings(key).into_iter().map(|meaning| meaning.role).collect()
    }

    #[test]
    fn a_name_tells_what_it_is() {
        let none = Columns::default();
        for (key, role) in [
            ("Depth (in)", Role::Depth(DepthUnit::Inches)),
            ("LOOSE_DEPTH_cm", Role::Depth(DepthUnit::Centimetres)),
            ("Depth", Role::DepthWithoutUnit),
            ("cone_index_MPa", Role::ConeIndex(PressureUnit::Megapascals)),
            ("pressure_kpa", Role::ConeIndex(PressureUnit::Kilopascals)),
            ("threshold psi", Role::Threshold(PressureUnit::Psi)),
            ("MOIST_PCT", Role::Moisture),
            ("MOISTURE_P", Role::Moisture),
            ("ACCURACY_M", Role::Accuracy),
            ("CONE_INDEX", Role::ConeIndexWithoutUnit),
            ("THRESHOLD_", Role::ThresholdWithoutUnit),
            ("group", Role::Group),
        ] {
            assert_eq!(roles(&none, key), [role], "{key}");
        }
        assert_eq!(roles(&none, "time"), [Role::Date, Role::Time]);
        assert_eq!(roles(&none, "hdop"), []);
    }

    #[test]
    fn what_the_user_names_replaces_the_known_names() {
        let depth = DepthField { name: "D200".into(), unit: DepthUnit::Inches };
        let columns = Columns { depth: Some(depth), ..Columns::default() };
        assert_eq!(roles(&columns, "D200"), [Role::Depth(DepthUnit::Inches)]);
        assert_eq!(roles(&columns, "depth_cm"), []);
        assert_eq!(roles(&columns, "point_id"), [Role::Id]);
    }
}
