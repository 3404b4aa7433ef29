//! A survey as records of named values, under the names the readers know: what the GeoJSON and the
//! CSV of a cleaned survey share.
//!
//! - Each insertion is one record; the depths and the pressures of a profile are two lists.
//! - A text is written without blanks around it, since readers drop those; an empty one is left out.
//! - A depth is in the unit the survey gives it in, a pressure in psi, kPa, MPa or bar, whichever
//!   is shortest; where no number of such a unit gives the value exactly, it is in metres or pascals.
//! - `outcome` says how an insertion without a profile ended: `reached`, `not_reached`, `stone` or
//!   `skipped`; the readers take it before what a note seems to say.

use serde_json::Value;
use survey::{ConeIndex, Depth, DepthUnit, Insertion, LonLat, Measured, Outcome, Pressure, Survey};

use crate::exact_number::{self, value};
use crate::pressure_unit::PressureUnit;

/// All names in the order they are written.
pub(crate) const NAMES: [&str; 28] = [
    "point_id",
    "date",
    "time",
    "depth_in",
    "depth_cm",
    "depth_mm",
    "depth_m",
    "cone_index_psi",
    "cone_index_kpa",
    "cone_index_mpa",
    "cone_index_bar",
    "cone_index_pa",
    "outcome",
    "at_least",
    "threshold_psi",
    "threshold_kpa",
    "threshold_mpa",
    "threshold_bar",
    "threshold_pa",
    "moisture_pct",
    "accuracy_m",
    "cone_mm",
    "cone_in",
    "cone_m",
    "instrument",
    "operator",
    "group",
    "note",
];

/// One insertion: a place and what is known there, in the order of [`NAMES`].
pub(crate) struct InsertionRecord {
    pub(crate) place: LonLat,
    pub(crate) said: Vec<(&'static str, Value)>,
}

/// The insertions of a survey, in its order.
pub(crate) fn records(survey: &Survey) -> Vec<InsertionRecord> {
    let unit = survey.insertions.iter().find_map(|insertion| insertion.depth_unit);
    let unit = unit.unwrap_or(DepthUnit::Centimetres);
    survey.insertions.iter().map(|insertion| record(insertion, unit)).collect()
}

/// One insertion; `unit` is the one a depth has that is not there.
fn record(insertion: &Insertion, unit: DepthUnit) -> InsertionRecord {
    let unit = insertion.depth_unit.unwrap_or(unit);
    let mut said = match &insertion.measured {
        Measured::Once(outcome) => once(*outcome, unit),
        Measured::Profile(profile) => lists(profile.readings(), unit),
    };
    said.extend(common(insertion));
    said.sort_by_key(|(name, _)| NAMES.iter().position(|known| known == name));
    InsertionRecord { place: insertion.place, said }
}

/// What a single outcome says.
fn once(outcome: Outcome, unit: DepthUnit) -> Vec<(&'static str, Value)> {
    let word = |word: &str| ("outcome", Value::from(word));
    match outcome {
        Outcome::Reached(depth) => vec![depth_named(depth, unit), word("reached")],
        Outcome::NotReached { probed_to } => {
            vec![depth_named(probed_to, unit), word("not_reached"), ("at_least", true.into())]
        }
        Outcome::Refused => vec![(depth_name(unit), Value::Null), word("stone")],
        Outcome::Skipped => vec![(depth_name(unit), Value::Null), word("skipped")],
    }
}

/// The depths of a profile and its cone indices, each as a list in one unit.
fn lists(readings: &[ConeIndex], unit: DepthUnit) -> Vec<(&'static str, Value)> {
    let is_exact = |reading: &ConeIndex| exact_number::depth(reading.depth, unit).1 == unit;
    let unit = if readings.iter().all(is_exact) { unit } else { DepthUnit::Metres };
    let depths = readings.iter().map(|reading| exact_number::depth(reading.depth, unit).0);
    let pressures: Vec<Pressure> = readings.iter().map(|reading| reading.pressure).collect();
    let (pressure_unit, numbers) = exact_number::pressures(&pressures);
    let name = match pressure_unit {
        PressureUnit::Psi => "cone_index_psi",
        PressureUnit::Kilopascals => "cone_index_kpa",
        PressureUnit::Megapascals => "cone_index_mpa",
        PressureUnit::Bars => "cone_index_bar",
        PressureUnit::Pascals => "cone_index_pa",
    };
    vec![
        (depth_name(unit), depths.map(value).collect()),
        (name, numbers.into_iter().map(value).collect()),
    ]
}

/// What every insertion may say beside its reading; what is not known is left out.
fn common(insertion: &Insertion) -> Vec<(&'static str, Value)> {
    let text = |text: &Option<String>| {
        let trimmed = text.as_deref().map(str::trim).filter(|text| !text.is_empty());
        trimmed.map(Value::from)
    };
    [
        ("point_id", text(&insertion.id)),
        ("date", insertion.date.map(|date| date.to_string().into())),
        ("time", insertion.time.map(|time| time.to_string().into())),
        ("moisture_pct", insertion.moisture_pct.map(value)),
        ("accuracy_m", insertion.accuracy_m.map(value)),
        ("instrument", text(&insertion.instrument)),
        ("operator", text(&insertion.operator)),
        ("group", text(&insertion.group)),
        ("note", text(&insertion.note)),
    ]
    .into_iter()
    .filter_map(|(name, value)| Some((name, value?)))
    .chain(insertion.threshold.map(threshold))
    .chain(insertion.cone.map(cone))
    .collect()
}

fn depth_named(depth: Depth, unit: DepthUnit) -> (&'static str, Value) {
    let (number, unit) = exact_number::depth(depth, unit);
    (depth_name(unit), value(number))
}

fn depth_name(unit: DepthUnit) -> &'static str {
    match unit {
        DepthUnit::Inches => "depth_in",
        DepthUnit::Centimetres => "depth_cm",
        DepthUnit::Millimetres => "depth_mm",
        DepthUnit::Metres => "depth_m",
    }
}

fn threshold(pressure: Pressure) -> (&'static str, Value) {
    let (unit, numbers) = exact_number::pressures(&[pressure]);
    let name = match unit {
        PressureUnit::Psi => "threshold_psi",
        PressureUnit::Kilopascals => "threshold_kpa",
        PressureUnit::Megapascals => "threshold_mpa",
        PressureUnit::Bars => "threshold_bar",
        PressureUnit::Pascals => "threshold_pa",
    };
    (name, value(numbers[0]))
}

/// The cone's diameter in millimetres or inches, whichever is shorter: 12.83 mm, 0.75 in.
fn cone(diameter: Depth) -> (&'static str, Value) {
    [("cone_mm", DepthUnit::Millimetres), ("cone_in", DepthUnit::Inches)]
        .into_iter()
        .filter_map(|(name, wanted)| {
            let (number, unit) = exact_number::depth(diameter, wanted);
            (unit == wanted).then(|| (name, value(number)))
        })
        .min_by_key(|(_, number)| number.to_string().len())
        .unwrap_or_else(|| ("cone_m", value(diameter.m())))
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use survey::Profile;

    /// One insertion of each kind.
    pub(crate) fn every_kind() -> Survey {
        let place = LonLat { lon_deg: -95.5, lat_deg: 42.0 };
        let once = |number, outcome| Insertion::at(number, place, Measured::Once(outcome));
        let reading = |inches, psi| ConeIndex {
            depth: Depth::from_in(inches),
            pressure: Pressure::from_psi(psi),
        };
        let profile = Profile::new(vec![reading(1.0, 50.0), reading(2.0, 125.0)]).unwrap();
        let text = |text: &str| Some(text.to_owned());
        let full = Insertion {
            id: text("P1"),
            place: LonLat { lon_deg: -95.619_999_999_999_99, lat_deg: 41.93 },
            threshold: Some(Pressure::from_psi(200.0)),
            date: Some("2025-04-14".parse().unwrap()),
            time: Some("09:30".parse().unwrap()),
            moisture_pct: Some(21.5),
            depth_unit: Some(DepthUnit::Inches),
            accuracy_m: Some(0.02),
            cone: Some(DepthUnit::Millimetres.depth(12.83)),
            instrument: text("dial"),
            operator: text("Åsa"),
            group: text(" strip, no-till "),
            note: text("dry\nand \"loose\""),
            ..once(1, Outcome::Reached(Depth::from_in(7.5)))
        };
        let deep = Insertion {
            threshold: Some(Pressure::from_kpa(2000.0)),
            depth_unit: Some(DepthUnit::Centimetres),
            ..once(2, Outcome::NotReached { probed_to: Depth::from_cm(45.0) })
        };
        let stone = Insertion { cone: Some(Depth::from_in(0.75)), ..once(3, Outcome::Refused) };
        let skipped = Insertion { note: text("gate"), id: text(" "), ..once(4, Outcome::Skipped) };
        let pushed = Insertion {
            id: text("P5"),
            depth_unit: Some(DepthUnit::Inches),
            ..Insertion::at(5, place, Measured::Profile(profile))
        };
        Survey {
            name: text("North \"Bench\""),
            features: 5,
            insertions: vec![full, deep, stone, skipped, pushed],
            ..Survey::default()
        }
    }

    #[test]
    fn every_name_has_its_place() {
        for record in records(&every_kind()) {
            let places = record.said.iter().map(|(name, _)| NAMES.iter().position(|n| n == name));
            assert!(places.is_sorted_by(|a, b| a.is_some() && a < b));
        }
    }
}
