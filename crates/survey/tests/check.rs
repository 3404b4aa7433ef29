//! What `check` keeps, leaves out, combines and refuses.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use geo::{MultiPolygon, polygon};
use survey::{
    Boundary, CheckSettings, CheckedSurvey, DateRange, Depth, DepthUnit, FieldOrigin, Insertion,
    LonLat, Measured, NoReading, Outcome, Pressure, Reading, Severity, Survey, SurveyError,
    Threshold, UnitSystem, check,
};

/// About 10 m at this latitude.
const STEP_DEG: f64 = 1e-4;

/// A survey of readings in inches on a line of places about 10 m apart.
fn survey(outcomes: &[Outcome]) -> Survey {
    let insertion = |(k, &outcome): (usize, &Outcome)| {
        let place = LonLat { lon_deg: -95.62 + k as f64 * STEP_DEG, lat_deg: 41.93 };
        Insertion {
            id: Some(format!("P{}", k + 1)),
            threshold: Some(Pressure::from_psi(200.0)),
            date: Some("2025-04-14".parse().unwrap()),
            moisture_pct: Some(30.0),
            depth_unit: Some(DepthUnit::Inches),
            ..Insertion::at(k + 1, place, Measured::Once(outcome))
        }
    };
    let insertions: Vec<Insertion> = outcomes.iter().enumerate().map(insertion).collect();
    Survey { features: insertions.len(), insertions, ..Survey::default() }
}

fn reached(inches: f64) -> Outcome {
    Outcome::Reached(Depth::from_in(inches))
}

fn beyond(inches: f64) -> Outcome {
    Outcome::NotReached { probed_to: Depth::from_in(inches) }
}

fn five() -> Survey {
    survey(&[reached(3.0), reached(6.0), reached(9.0), beyond(18.0), reached(6.0)])
}

/// A boundary around the first `places` places.
fn around(places: usize) -> Boundary {
    let east = -95.62 + (places as f64 - 0.5) * STEP_DEG;
    let polygons = MultiPolygon::from(polygon![
        (x: -95.6201, y: 41.9295), (x: east, y: 41.9295), (x: east, y: 41.9305),
        (x: -95.6201, y: 41.9305), (x: -95.6201, y: 41.9295),
    ]);
    Boundary { name: None, polygons }
}

fn checked(survey: &Survey) -> CheckedSurvey {
    check(survey, None, &CheckSettings::default()).unwrap()
}

fn faults(checked: &CheckedSurvey) -> Vec<String> {
    let fault = |f: &&survey::Finding| f.severity == Severity::Fault;
    checked.findings().iter().filter(fault).map(ToString::to_string).collect()
}

#[test]
fn not_reached_stones_and_skipped_are_kept_apart() {
    let mut survey = five();
    survey.insertions[0].measured = Measured::Once(Outcome::Refused);
    survey.insertions[4].measured = Measured::Once(Outcome::Skipped);
    let checked = checked(&survey);
    assert_eq!(checked.spots().len(), 3);
    assert_eq!(checked.not_reached(), 1);
    assert_eq!(checked.count_without(NoReading::Refused), 1);
    assert_eq!(checked.count_without(NoReading::Skipped), 1);
    assert!(!checked.has_faults());
}

#[test]
fn without_a_boundary_the_hull_is_widened_by_half_the_spacing_and_it_is_said() {
    let checked = checked(&five());
    let half = checked.spacing_m() / 2.0;
    assert_eq!(checked.field().origin(), FieldOrigin::HullOfProbes { widened_m: half });
    assert!(checked.field().distance_m(checked.spots()[0].position) == 0.0);
    assert!(
        checked.findings().iter().any(|f| f.to_string().starts_with("boundary: none was given"))
    );
    // Five places in a line, 33.2 m long, widened on all sides: a rectangle with round ends.
    let area = 4.0 * 8.29 * 2.0 * half + std::f64::consts::PI * half * half;
    assert!((checked.field().ground_area_m2() / area - 1.0).abs() < 0.05);
}

#[test]
fn a_reading_outside_the_boundary_is_left_out_with_its_distance() {
    let checked = check(&five(), Some(&around(3)), &CheckSettings::default()).unwrap();
    assert_eq!(checked.spots().len(), 4, "the fourth is 4.1 m outside, within the tolerance");
    let faults = faults(&checked);
    assert_eq!(faults.len(), 1);
    assert!(
        faults[0].starts_with("point P5, feature 5: 12.")
            && faults[0].ends_with("m outside the boundary; left out"),
        "{faults:?}"
    );
}

#[test]
fn readings_at_one_spot_become_their_median() {
    let mut survey = five();
    for k in [1, 2] {
        survey.insertions[k].place = survey.insertions[0].place;
    }
    let checked = checked(&survey);
    assert_eq!(checked.spots().len(), 3);
    assert_eq!(checked.spots()[0].reading, Reading::Reached(Depth::from_in(6.0)));
    assert_eq!(checked.spots()[0].combined.count, 3);
    assert!(!checked.has_faults());
    let note = checked.findings().iter().map(ToString::to_string).find(|f| f.contains("one spot"));
    assert!(note.unwrap().starts_with("point P1, feature 1: point P2, point P3 within 0.5 m"));
}

#[test]
fn a_median_that_rests_on_not_reached_is_not_reached() {
    let mut survey = five();
    survey.insertions[4].place = survey.insertions[3].place;
    let checked = checked(&survey);
    let expected = Reading::NotReached { probed_to: Depth::from_in(12.0) };
    assert_eq!(checked.spots()[3].reading, expected);
}

#[test]
fn absurd_records_are_left_out_and_named() {
    let mut survey = survey(&[reached(3.0); 8]);
    survey.insertions[0].measured = Measured::Once(reached(-3.0));
    survey.insertions[1].measured = Measured::Once(reached(300.0));
    survey.insertions[2].place = survey.insertions[2].place.swapped();
    survey.insertions[3].place.lat_deg = f64::NAN;
    survey.insertions[4].place = LonLat { lon_deg: 0.0, lat_deg: 0.0 };
    let checked = checked(&survey);
    assert_eq!(checked.spots().len(), 3);
    let faults = faults(&checked);
    for (fault, text) in faults.iter().zip([
        "-3 in is negative",
        "300 in is deeper",
        "swapped?",
        "NaN",
        "no position",
    ]) {
        assert!(fault.contains(text), "{fault}");
    }
}

#[test]
fn several_dates_are_not_averaged() {
    let mut survey = five();
    survey.insertions[0].date = Some("2025-05-01".parse().unwrap());
    let refuse = |settings: &CheckSettings| check(&survey, None, settings).unwrap_err();
    assert!(matches!(refuse(&CheckSettings::default()), SurveyError::MixedDates { count: 2, .. }));
    let of = |text: &str| CheckSettings {
        dates: Some(text.parse::<DateRange>().unwrap()),
        ..CheckSettings::default()
    };
    assert_eq!(check(&survey, None, &of("2025-04-14")).unwrap().spots().len(), 4);
    assert_eq!(check(&survey, None, &of("2025-04-14..2025-05-01")).unwrap().spots().len(), 5);
    assert!(matches!(refuse(&of("2024-04-14")), SurveyError::NoSuchDate { .. }));
    assert!("2025-05-01..2025-04-14".parse::<DateRange>().is_err());
}

#[test]
fn several_thresholds_are_not_mixed() {
    let mut survey = five();
    survey.insertions[0].threshold = Some(Pressure::from_psi(300.0));
    let error = check(&survey, None, &CheckSettings::default()).unwrap_err();
    assert!(error.to_string().contains("4 at 200 psi, 1 at 300 psi"), "{error}");
    let at = |psi| CheckSettings {
        threshold: Some(Threshold::in_units(Pressure::from_psi(psi), UnitSystem::Us)),
        ..CheckSettings::default()
    };
    let checked = check(&survey, None, &at(200.0)).unwrap();
    assert_eq!((checked.spots().len(), faults(&checked).len()), (4, 0));
    assert!(
        checked.findings()[0].to_string().contains("1 of 5 records were read at other thresholds")
    );
    assert!(matches!(check(&survey, None, &at(250.0)), Err(SurveyError::NoSuchThreshold { .. })));
}

#[test]
fn what_the_file_does_not_say_is_said_to_be_assumed() {
    let mut survey = five();
    for insertion in &mut survey.insertions {
        insertion.threshold = None;
        insertion.moisture_pct = None;
    }
    survey.insertions[0].depth_unit = Some(DepthUnit::Centimetres);
    let checked = checked(&survey);
    let notes: Vec<String> = checked.findings().iter().map(ToString::to_string).collect();
    for text in
        ["do not say their threshold; taken as read at 200 psi", "no soil moisture", "mixed units"]
    {
        assert!(notes.iter().any(|note| note.contains(text)), "{text}: {notes:?}");
    }
    assert!(!checked.has_faults());
}

#[test]
fn fewer_than_three_readings_are_no_map() {
    let two = survey(&[reached(3.0), reached(-6.0), Outcome::Refused, reached(6.0)]);
    let error = check(&two, None, &CheckSettings::default()).unwrap_err().to_string();
    assert!(error.starts_with("2 usable readings"), "{error}");
    assert!(error.contains("1 stopped by stones") && error.contains("negative"), "{error}");
}

#[test]
fn a_survey_of_another_field_is_refused() {
    let mut far = five();
    for insertion in &mut far.insertions {
        insertion.place.lat_deg += 0.1;
    }
    let error = check(&far, Some(&around(3)), &CheckSettings::default()).unwrap_err().to_string();
    assert!(error.contains("11.1 km from the boundary"), "{error}");

    let mut swapped = five();
    for insertion in &mut swapped.insertions {
        insertion.place = insertion.place.swapped();
    }
    assert!(check(&swapped, None, &CheckSettings::default()).is_err());
}

#[test]
fn swapped_coordinates_that_are_on_earth_are_recognised_by_the_boundary() {
    // Where longitude and latitude are both below 90 only the boundary can tell.
    let polygons = MultiPolygon::from(polygon![
        (x: 10.0, y: 50.0), (x: 10.01, y: 50.0), (x: 10.01, y: 50.01), (x: 10.0, y: 50.01), (x: 10.0, y: 50.0),
    ]);
    let boundary = Boundary { name: None, polygons };
    let mut survey = five();
    for (k, insertion) in survey.insertions.iter_mut().enumerate() {
        insertion.place = LonLat { lon_deg: 50.001 + k as f64 * 1e-3, lat_deg: 10.002 };
    }
    let error = check(&survey, Some(&boundary), &CheckSettings::default()).unwrap_err().to_string();
    assert!(error.contains("swapped"), "{error}");
}

#[test]
fn boundaries_that_enclose_nothing_or_cross_themselves_are_refused() {
    let with = |corners: &[(f64, f64)]| {
        let ring = geo::LineString::from(corners.to_vec());
        let polygons = MultiPolygon::from(geo::Polygon::new(ring, Vec::new()));
        check(&five(), Some(&Boundary { name: None, polygons }), &CheckSettings::default())
    };
    let crossing =
        [(-95.62, 41.93), (-95.61, 41.94), (-95.61, 41.93), (-95.62, 41.94), (-95.62, 41.93)];
    let error = with(&crossing).unwrap_err();
    assert!(
        error.is_of_boundary() && error.to_string().contains("lines meet near longitude -95.615"),
        "{error}"
    );
    let flat = [(-95.62, 41.93), (-95.61, 41.93), (-95.62, 41.93), (-95.62, 41.93)];
    assert!(with(&flat).unwrap_err().is_of_boundary());
    let huge = [(-95.0, 41.0), (-93.0, 41.0), (-93.0, 43.0), (-95.0, 43.0), (-95.0, 41.0)];
    assert!(with(&huge).unwrap_err().to_string().contains("at most 100 km"));
    let off_earth = [(-95.0, 41.0), (-395.0, 41.0), (-95.0, 43.0), (-95.0, 41.0)];
    let error = with(&off_earth).unwrap_err();
    assert!(error.is_of_boundary() && error.to_string().contains("outside the UTM grid"));
}

#[test]
fn the_plane_of_a_field_without_a_boundary_is_that_of_most_readings() {
    // Five readings west of 96° W, four east of it, and two strays far away.
    let mut survey = survey(&[reached(6.0); 11]);
    for (k, insertion) in survey.insertions.iter_mut().enumerate() {
        let lon_deg = match k {
            0..5 => -96.001 + k as f64 * STEP_DEG,
            5..9 => -95.9997 + k as f64 * STEP_DEG,
            _ => -60.0 + k as f64,
        };
        insertion.place = LonLat { lon_deg, lat_deg: 41.93 };
    }
    let checked = checked(&survey);
    assert_eq!((checked.spots().len(), faults(&checked).len()), (9, 2));
    let utm = checked.field().utm();
    let back = utm.unproject(checked.spots()[0].position);
    assert!((back.lon_deg - -96.001).abs() < 1e-8, "{back:?} in {}", utm.name());
    assert!(checked.field().distance_m(checked.spots()[8].position) == 0.0);
}

#[test]
fn a_stray_does_not_stretch_a_field_without_a_boundary() {
    let mut survey = survey(&[reached(6.0); 12]);
    survey.insertions[11].place.lat_deg += 0.25;
    let checked = checked(&survey);
    assert_eq!(checked.spots().len(), 11);
    assert!(
        faults(&checked)[0].contains("27.8 km from the other readings"),
        "{:?}",
        faults(&checked)
    );
}

#[test]
fn readings_without_a_date_beside_dated_ones_are_said() {
    let mut survey = five();
    survey.insertions[2].date = None;
    let notes: Vec<String> = checked(&survey).findings().iter().map(ToString::to_string).collect();
    assert!(
        notes.iter().any(|n| n.contains("1 of 5 records have no date; taken as of 2025-04-14"))
    );
}
