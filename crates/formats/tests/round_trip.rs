//! A survey written as GeoJSON and as CSV reads back to the same insertions, to the last bit.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use std::fs;

use formats::{PressureUnit, ReadSettings, read_survey, survey_csv, survey_geojson};
use proptest::option;
use proptest::prelude::*;
use survey::{
    ConeIndex, Depth, DepthUnit, Insertion, LonLat, Measured, Outcome, Pressure, Profile, Survey,
};

const DEPTH_UNITS: [DepthUnit; 4] =
    [DepthUnit::Inches, DepthUnit::Centimetres, DepthUnit::Millimetres, DepthUnit::Metres];
const PRESSURE_UNITS: [PressureUnit; 5] = [
    PressureUnit::Psi,
    PressureUnit::Kilopascals,
    PressureUnit::Megapascals,
    PressureUnit::Bars,
    PressureUnit::Pascals,
];

/// A number as users type it, with few decimals, or any from some arithmetic.
fn number(end: f64) -> impl Strategy<Value = f64> {
    let typed = (0..1000_u32, 0..4)
        .prop_map(move |(n, decimals)| f64::from(n) / 10_f64.powi(decimals) % end);
    prop_oneof![3 => typed, 1 => 0.0..end]
}

/// A number above zero.
fn positive(end: f64) -> impl Strategy<Value = f64> {
    number(end).prop_map(|number| number + 0.25)
}

fn depth_unit() -> impl Strategy<Value = DepthUnit> {
    prop::sample::select(DEPTH_UNITS.to_vec())
}

fn pressure() -> impl Strategy<Value = Pressure> {
    let unit = prop::sample::select(PRESSURE_UNITS.to_vec());
    // Up to 100 MPa, the most a threshold can be.
    (unit, positive(5000.0)).prop_map(|(unit, number)| match unit.pressure(number) {
        pressure if pressure.pa() <= 1e8 => pressure,
        _ => unit.pressure(number / 5000.0),
    })
}

/// Text of all that makes trouble in files, without blanks around it.
fn text() -> impl Strategy<Value = Option<String>> {
    let piece = prop::sample::select(vec![
        "P1",
        "7",
        "0",
        " ",
        ",",
        ";",
        "\t",
        "\"",
        "\"\"",
        "'",
        "\\",
        "\n",
        "\r\n",
        "\r",
        "é",
        "深さ",
        "\u{1f33e}",
        "NA",
        "n/a",
        "null",
        "-",
        "stone",
        "no stone",
        "skipped",
        ">=18",
        "{",
        "}",
        "#",
        "=1+1",
        "true",
        "\u{feff}",
    ]);
    let text = prop::collection::vec(piece, 1..6).prop_map(|pieces| pieces.concat());
    let usable = |text: &String| !text.trim().is_empty();
    option::of(text.prop_map(|text| text.trim().to_owned()).prop_filter("has text", usable))
}

fn measured() -> impl Strategy<Value = (Measured, Option<DepthUnit>)> {
    let at = || (depth_unit(), number(100.0));
    let reached = at().prop_map(|(unit, number)| {
        (Measured::Once(Outcome::Reached(unit.depth(number))), Some(unit))
    });
    let not_reached = at().prop_map(|(unit, number)| {
        let outcome = Outcome::NotReached { probed_to: unit.depth(number) };
        (Measured::Once(outcome), Some(unit))
    });
    let none = prop::sample::select(vec![Outcome::Refused, Outcome::Skipped])
        .prop_map(|outcome| (Measured::Once(outcome), None));
    prop_oneof![reached, not_reached, none, profile()]
}

/// A profile in one unit of depth and one of pressure.
fn profile() -> impl Strategy<Value = (Measured, Option<DepthUnit>)> {
    let steps = prop::collection::vec((positive(10.0), number(5000.0)), 1..12);
    let pressure_unit = prop::sample::select(PRESSURE_UNITS.to_vec());
    (depth_unit(), pressure_unit, steps).prop_map(|(unit, pressure_unit, steps)| {
        let mut depth = 0.0;
        let readings = steps.into_iter().map(|(step, pressure)| {
            depth += step;
            ConeIndex { depth: unit.depth(depth), pressure: pressure_unit.pressure(pressure) }
        });
        let profile = Profile::new(readings.collect()).unwrap();
        (Measured::Profile(profile), Some(unit))
    })
}

prop_compose! {
    fn insertion()(
        (measured, depth_unit) in measured(),
        lon_deg in prop_oneof![-180.0..-1.0_f64, Just(-95.62), Just(-95.5)],
        lat_deg in prop_oneof![0.5..90.0_f64, Just(41.93), Just(0.1 + 0.2)],
        texts in [text(), text(), text(), text(), text()],
        threshold in option::of(pressure()),
        day in option::of((1_i8..13, 1_i8..29)),
        time in option::of((0_i8..24, 0_i8..60, 0_i8..60)),
        moisture_pct in option::of(number(100.0)),
        accuracy_m in option::of(number(30.0)),
        cone in option::of((depth_unit(), positive(20.0))),
    ) -> Insertion {
        let [id, instrument, operator, group, note] = texts;
        let is_profile = matches!(measured, Measured::Profile(_));
        let date = day.map(|(month, day)| jiff::civil::date(2025, month, day));
        let time = time.map(|(hour, minute, second)| jiff::civil::time(hour, minute, second, 0));
        let cone: Option<Depth> = cone.map(|(unit, number)| unit.depth(number));
        let threshold = threshold.filter(|_| !is_profile);
        Insertion {
            id, threshold, date, time, moisture_pct, depth_unit, accuracy_m, cone,
            instrument, operator, group, note,
            ..Insertion::at(1, LonLat { lon_deg, lat_deg }, measured)
        }
    }
}

fn survey() -> impl Strategy<Value = Survey> {
    let insertions = prop::collection::vec(insertion(), 1..12);
    (text(), insertions).prop_map(|(name, insertions)| Survey {
        name,
        features: insertions.len(),
        insertions,
        ..Survey::default()
    })
}

/// What our readers make of a text, without the records' numbers.
fn read_back(file: &str, text: &str) -> Survey {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(file);
    fs::write(&path, text).unwrap();
    let (_, mut survey) = read_survey(&path, &ReadSettings::default()).unwrap();
    for insertion in &mut survey.insertions {
        insertion.number = 1;
    }
    survey
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn geojson_reads_back_to_the_same_survey(survey in survey()) {
        let text = survey_geojson(&survey);
        let again = read_back("survey.geojson", &text);
        prop_assert_eq!(&again.insertions, &survey.insertions, "{}", text);
        prop_assert_eq!(again.name, survey.name);
        prop_assert_eq!(again.findings, vec![]);
    }

    #[test]
    fn csv_reads_back_to_the_same_insertions(survey in survey()) {
        let text = survey_csv(&survey);
        let again = read_back("survey.csv", &text);
        prop_assert_eq!(&again.insertions, &survey.insertions, "{}", text);
        prop_assert_eq!(again.findings, vec![]);
    }
}
