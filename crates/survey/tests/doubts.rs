//! What is odd in a survey is named, and stays in.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use survey::{
    CheckSettings, CheckedSurvey, ConeIndex, Date, Depth, DepthUnit, Insertion, LonLat, Measured,
    NoReading, Outcome, Pressure, Profile, Reading, Severity, Survey, check,
};

/// Thirty-six readings in inches on a square grid of about 30 m, six rows of six.
fn survey(depth_in: impl Fn(usize) -> f64) -> Survey {
    let insertion = |k: usize| {
        let (column, row) = ((k % 6) as f64, (k / 6) as f64);
        let place = LonLat { lon_deg: -95.62 + 3.6e-4 * column, lat_deg: 41.93 + 2.7e-4 * row };
        let outcome = Outcome::Reached(Depth::from_in(depth_in(k)));
        Insertion {
            id: Some(format!("P{k}")),
            depth_unit: Some(DepthUnit::Inches),
            ..Insertion::at(k + 1, place, Measured::Once(outcome))
        }
    };
    Survey { features: 36, insertions: (0..36).map(insertion).collect(), ..Survey::default() }
}

fn marks(k: usize) -> f64 {
    [6.0, 9.0, 6.0, 12.0, 9.0][k % 5]
}

fn checked(survey: &Survey) -> CheckedSurvey {
    check(survey, None, &CheckSettings::default()).unwrap()
}

/// The doubts, without what is said of every such survey.
fn doubts(survey: &Survey) -> Vec<String> {
    let checked = checked(survey);
    let doubtful = |f: &&survey::Finding| f.severity == Severity::Doubt;
    checked.findings().iter().filter(doubtful).map(ToString::to_string).collect()
}

fn assert_one(doubts: &[String], parts: &[&str]) {
    assert_eq!(doubts.len(), 1, "{doubts:?}");
    for part in parts {
        assert!(doubts[0].contains(part), "{part:?} is not in {doubts:?}");
    }
}

#[test]
fn an_ordinary_survey_raises_no_doubt() {
    assert!(doubts(&survey(marks)).is_empty());
}

#[test]
fn a_depth_between_the_marks_of_the_rod() {
    let odd = survey(|k| if k == 7 { 7.5 } else { marks(k) });
    assert_one(&doubts(&odd), &["point P7, feature 8: 7.5 in is on no mark", "every 3 in"]);
}

#[test]
fn inches_that_are_said_to_be_centimetres() {
    let mut wrong = survey(marks);
    for (k, insertion) in wrong.insertions.iter_mut().enumerate() {
        insertion.measured = Measured::Once(Outcome::Reached(Depth::from_cm(marks(k))));
        insertion.depth_unit = Some(DepthUnit::Centimetres);
    }
    assert_one(&doubts(&wrong), &["survey: ", "3-inch marks", "are they inches?"]);
}

#[test]
fn a_reading_that_stands_out_and_may_be_in_the_wrong_unit() {
    // 30 in among readings of 12: 12 × 2.54 = 30.5, centimetres typed as inches.
    let odd = survey(|k| if k == 14 { 30.0 } else { 12.0 });
    assert_one(
        &doubts(&odd),
        &[
            "point P14, feature 15: 30 in (76.2 cm) stands out",
            "median is 12 in (30.5 cm)",
            "centimetres typed as inches?",
        ],
    );
}

#[test]
fn deeper_than_the_rod() {
    let mut odd = survey(marks);
    for k in [3, 9, 20, 31] {
        let probed_to = Depth::from_in(15.0);
        odd.insertions[k].measured = Measured::Once(Outcome::NotReached { probed_to });
    }
    odd.insertions[10].measured = Measured::Once(Outcome::Reached(Depth::from_in(18.0)));
    assert_one(
        &doubts(&odd),
        &["point P10", "18 in (45.7 cm) is deeper than the rod, which ends at 15 in"],
    );

    let rod = CheckSettings { rod: Some(Depth::from_in(15.0)), ..CheckSettings::default() };
    let checked = check(&odd, None, &rod).unwrap();
    assert_eq!((checked.spots().len(), checked.count_findings(Severity::Fault)), (35, 1));
}

#[test]
fn a_walk_no_one_can_take() {
    let mut odd = survey(marks);
    let day: Date = "2025-04-14".parse().unwrap();
    for (k, insertion) in odd.insertions.iter_mut().enumerate() {
        insertion.date = Some(day);
        insertion.time = Some(jiff::civil::time(8 + (k / 30) as i8, (k % 30) as i8 * 2, 0, 0));
    }
    assert!(doubts(&odd).is_empty(), "two minutes a probe");
    odd.insertions[5].time = Some(jiff::civil::time(8, 8, 5, 0));
    odd.insertions[20].time = Some(jiff::civil::time(7, 0, 0, 0));
    let doubts = doubts(&odd);
    assert_eq!(doubts.len(), 2, "{doubts:?}");
    assert!(doubts[0].contains("point P5") && doubts[0].contains("in 5 s: no one walks so fast"));
    assert!(doubts[1].contains("point P20") && doubts[1].contains("before that of the record"));
}

#[test]
fn mixed_cones_instruments_and_poor_positions() {
    let mut odd = survey(marks);
    odd.insertions[0].cone = Some(Depth::from_cm(2.027));
    odd.insertions[1].cone = Some(Depth::from_cm(1.283));
    odd.insertions[2].instrument = Some("red".into());
    odd.insertions[3].instrument = Some("blue".into());
    odd.insertions[4].accuracy_m = Some(40.0);
    let doubts = doubts(&odd);
    assert_eq!(doubts.len(), 3, "{doubts:?}");
    for part in [
        "several cones in one survey (1 with 20.3 mm, 1 with 12.8 mm)",
        "several instruments in one survey (1 of blue, 1 of red)",
        "1 of 36 positions are less accurate than half the spacing",
    ] {
        assert!(doubts.iter().any(|doubt| doubt.contains(part)), "{part}: {doubts:?}");
    }
    // A worn cone is the same cone.
    odd.insertions[1].cone = Some(Depth::from_cm(1.98));
    assert!(!self::doubts(&odd).iter().any(|doubt| doubt.contains("cones")));
}

fn profile(kpa: &[f64]) -> Measured {
    let reading = |(k, &kpa): (usize, &f64)| ConeIndex {
        depth: Depth::from_in(k as f64 + 1.0),
        pressure: Pressure::from_kpa(kpa),
    };
    Measured::Profile(Profile::new(kpa.iter().enumerate().map(reading).collect()).unwrap())
}

#[test]
fn a_dial_read_on_the_wrong_scale() {
    let mut odd = survey(marks);
    for (k, insertion) in odd.insertions.iter_mut().enumerate() {
        let factor = if (12..20).contains(&k) { 2.5 } else { 1.0 };
        let level = factor * (400.0 + 10.0 * (k % 4) as f64);
        insertion.measured = profile(&[level, level * 1.5, level * 2.0]);
    }
    assert_one(
        &doubts(&odd),
        &["8 profiles from point P12 to point P19", "2.5 times", "other cone's scale"],
    );
}

#[test]
fn a_profile_survey_is_mapped_at_any_threshold() {
    let mut profiles = survey(marks);
    for insertion in &mut profiles.insertions {
        insertion.measured = profile(&[500.0, 1000.0, 1500.0, 2000.0]);
    }
    let at = |text: &str| {
        let threshold = Some(text.parse().unwrap());
        let settings = CheckSettings { threshold, ..CheckSettings::default() };
        check(&profiles, None, &settings).unwrap().spots()[0].reading
    };
    // Linear between 3 in (1500 kPa) and 4 in (2000 kPa).
    let Reading::Reached(depth) = at("1750kPa") else { panic!("reached") };
    assert!((depth.inches() - 3.5).abs() < 1e-9);
    assert_eq!(at("2.5MPa"), Reading::NotReached { probed_to: Depth::from_in(4.0) });
    let notes = checked(&profiles);
    let said = notes.findings().iter().any(|f| f.to_string().contains("any threshold"));
    assert!(said && notes.threshold().to_string() == "200 psi");
}

#[test]
fn many_spots_with_several_insertions_are_said_in_one_note() {
    let mut double = survey(marks);
    let mut again = double.insertions.clone();
    for (k, insertion) in again.iter_mut().enumerate() {
        insertion.number += 36;
        let depth = Depth::from_in(marks(k) + 3.0);
        insertion.measured = Measured::Once(Outcome::Reached(depth));
    }
    double.insertions.extend(again);
    let checked = checked(&double);
    let spot = &checked.spots()[0];
    assert_eq!((checked.spots().len(), spot.combined.count), (36, 2));
    assert_eq!(spot.combined.lower_quartile, Some(Depth::from_in(6.0)));
    let Reading::Reached(median) = spot.reading else { panic!("reached") };
    assert!((median.inches() - 7.5).abs() < 1e-9);
    let notes: Vec<String> = checked.findings().iter().map(ToString::to_string).collect();
    assert!(
        notes.iter().any(|n| n.contains("36 spots have several insertions, 72 in all")),
        "{notes:?}"
    );
    assert_eq!(checked.count_without(NoReading::Refused), 0);
    assert_eq!(checked.kept().len(), 72);
}
