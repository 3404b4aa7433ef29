//! Every format in gives the same survey of the same field.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use std::path::{Path, PathBuf};

use formats::{ReadSettings, read_survey};
use survey::{Depth, Insertion, Measured, Outcome, Severity, Survey, Utm};

mod shapes;

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name)
}

fn read(path: &Path, settings: &ReadSettings) -> Survey {
    read_survey(path, settings).unwrap_or_else(|error| panic!("{error}")).1
}

fn plain(name: &str) -> Survey {
    read(&data(name), &ReadSettings::default())
}

/// A survey of a text in a file of that name.
fn of_text(name: &str, text: &str, settings: &ReadSettings) -> Survey {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, text).unwrap();
    read(&path, settings)
}

/// What every format can say.
fn essence(survey: &Survey) -> Vec<Insertion> {
    let only = |insertion: &Insertion| Insertion {
        number: 0,
        time: None,
        moisture_pct: None,
        note: None,
        ..insertion.clone()
    };
    survey.insertions.iter().map(only).collect()
}

fn faults(survey: &Survey) -> Vec<String> {
    let faults = survey.findings.iter().filter(|finding| finding.severity == Severity::Fault);
    faults.map(ToString::to_string).collect()
}

#[test]
fn five_points_are_the_same_in_every_format() {
    let expected = plain("survey.geojson");
    assert_eq!(expected.findings, []);
    assert_eq!(expected.name.as_deref(), Some("five points"));
    let outcomes: Vec<&Measured> = expected.insertions.iter().map(|i| &i.measured).collect();
    let reached = |inches| Measured::Once(Outcome::Reached(Depth::from_in(inches)));
    let beyond = Measured::Once(Outcome::NotReached { probed_to: Depth::from_in(18.0) });
    let stone = Measured::Once(Outcome::Refused);
    assert_eq!(outcomes, [&reached(9.0), &reached(7.5), &beyond, &stone, &reached(6.0)]);
    for name in [
        "survey_separated.geojsons",
        "survey_lines.geojsonl",
        "survey.csv",
        "survey_semicolon.csv",
        "survey.tsv",
        "survey.gpx",
    ] {
        let survey = plain(name);
        assert_eq!(survey.findings, [], "{name}");
        assert_eq!(essence(&survey), essence(&expected), "{name}");
        if name != "survey.gpx" {
            let rest = |survey: &Survey| -> Vec<_> {
                survey.insertions.iter().map(|i| (i.moisture_pct, i.note.clone())).collect()
            };
            assert_eq!(rest(&survey), rest(&expected), "{name}");
        }
    }
    let times = plain("survey.gpx").insertions[2].time.unwrap();
    assert_eq!(times.to_string(), "15:03:00");
}

#[test]
fn readings_are_joined_to_waypoints_by_name() {
    let settings = ReadSettings { join: Some(data("readings.csv")), ..ReadSettings::default() };
    let (files, joined) = read_survey(&data("places.gpx"), &settings).unwrap();
    assert_eq!(files.len(), 2);
    let mut insertions = essence(&joined);
    insertions.reverse();
    assert_eq!(insertions, essence(&plain("survey.geojson")));
    assert_eq!(joined.findings.len(), 0, "{:?}", joined.findings);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("r.csv");
    std::fs::write(&path, "point_id,depth_in\nP1,9\nP9,6\n").unwrap();
    let settings = ReadSettings { join: Some(path), ..ReadSettings::default() };
    let unmatched = faults(&read(&data("places.gpx"), &settings));
    assert_eq!(unmatched.len(), 5, "{unmatched:?}");
    assert_eq!(unmatched[0], "point P9, line 3: no waypoint is named so; left out");
    assert!(unmatched[1].starts_with("point P2, waypoint 2: no line of"), "{unmatched:?}");
}

#[test]
fn a_shapefile_is_the_same_survey() {
    let folder = tempfile::tempdir().unwrap();
    let expected = plain("survey.geojson");
    let path = shapes::write(folder.path(), &expected, |place| [place.lon_deg, place.lat_deg]);
    let survey = read(&path, &ReadSettings::default());
    assert_eq!(survey.findings.len(), 1);
    assert!(survey.findings[0].problem.contains("no .prj"), "{:?}", survey.findings);
    assert_eq!(essence(&survey), essence(&expected));
    std::fs::write(path.with_extension("prj"), shapes::WGS_84).unwrap();
    assert_eq!(read(&path, &ReadSettings::default()).findings, []);
    std::fs::write(path.with_extension("prj"), "LOCAL_CS[\"mine\"]").unwrap();
    let error = read_survey(&path, &ReadSettings::default()).unwrap_err().to_string();
    assert!(error.contains(".prj: does not describe"), "{error}");
}

#[test]
fn a_shapefile_in_a_plane_is_converted_by_its_prj() {
    let folder = tempfile::tempdir().unwrap();
    let expected = plain("survey.geojson");
    let utm = Utm::for_place(expected.insertions[0].place).unwrap();
    let path = shapes::write(folder.path(), &expected, |place| {
        let there = utm.project(place).unwrap();
        [there.easting_m, there.northing_m]
    });
    std::fs::write(path.with_extension("prj"), shapes::UTM_15_N).unwrap();
    let (files, survey) = read_survey(&path, &ReadSettings::default()).unwrap();
    assert_eq!(files.len(), 3);
    assert_places(&survey, &expected);
    assert!(survey.findings[0].problem.contains("UTM_Zone_15N"), "{:?}", survey.findings);
}

fn assert_places(survey: &Survey, expected: &Survey) {
    assert_eq!(survey.insertions.len(), expected.insertions.len(), "{:?}", survey.findings);
    for (a, b) in survey.insertions.iter().zip(&expected.insertions) {
        assert!((a.place.lon_deg - b.place.lon_deg).abs() < 1e-8, "{a:?}");
        assert!((a.place.lat_deg - b.place.lat_deg).abs() < 1e-8, "{a:?}");
    }
}

#[test]
fn coordinates_of_a_plane_need_their_system() {
    let expected = plain("survey.geojson");
    let utm = Utm::for_place(expected.insertions[0].place).unwrap();
    let mut table = String::from("id,easting,northing,depth_cm\n");
    for insertion in &expected.insertions {
        let there = utm.project(insertion.place).unwrap();
        table += &format!("a,{},{},20\n", there.easting_m, there.northing_m);
    }
    for code in ["EPSG:32615", "EPSG:26915"] {
        let settings = ReadSettings { crs: Some(code.parse().unwrap()), ..Default::default() };
        let survey = of_text("utm.csv", &table, &settings);
        assert_places(&survey, &expected);
        assert_eq!(survey.findings.len(), 1);
        let done = &survey.findings[0].done;
        assert_eq!(done.contains("NAD 83"), code == "EPSG:26915", "{done}");
    }
    // The same coordinates in GeoJSON with the old member `crs`, behind the features.
    let there = utm.project(expected.insertions[0].place).unwrap();
    let old = format!(
        r#"{{"type": "FeatureCollection", "features": [{{"type": "Feature", "properties":
        {{"depth_in": 9}}, "geometry": {{"type": "Point", "coordinates": [{}, {}]}}}}],
        "crs": {{"type": "name", "properties": {{"name": "urn:ogc:def:crs:EPSG::32615"}}}}}}"#,
        there.easting_m, there.northing_m
    );
    let survey = of_text("old.geojson", &old, &ReadSettings::default());
    assert!((survey.insertions[0].place.lon_deg + 95.62).abs() < 1e-8);
}

#[test]
fn profiles_are_the_same_long_wide_and_in_lists() {
    let expected = plain("profiles.geojson");
    assert_eq!(expected.findings, []);
    assert_eq!(expected.insertions.len(), 2);
    let Measured::Profile(profile) = &expected.insertions[0].measured else {
        panic!("{expected:?}");
    };
    assert_eq!(profile.readings().len(), 5);
    assert!((profile.peak().pressure.psi() - 210.0).abs() < 1e-9);
    for name in ["profiles_long.csv", "profiles_wide.csv"] {
        let survey = plain(name);
        assert_eq!(survey.findings, [], "{name}");
        assert_eq!(essence(&survey), essence(&expected), "{name}");
    }
}

#[test]
fn what_is_odd_in_a_profile_is_told() {
    let head = "point_id,lon,lat,depth_in,cone_index_psi,cone_index_kpa\n";
    let lines = "A,1,2,1,50,345\nA,1,2,1,60,414\nA,1,2,2,70,700\nA,1,2,3,,\nB,1,2,9,,\n";
    let survey = of_text("p.csv", &format!("{head}{lines}"), &ReadSettings::default());
    let faults = faults(&survey);
    assert_eq!(faults.len(), 3, "{faults:?}");
    assert!(faults[0].starts_with("point A, line 2: 1 depths of its profile are read more than"));
    assert!(faults[1].starts_with("point A, line 4: cone_index_psi and cone_index_kpa differ"));
    assert!(faults[2].starts_with("line 5: a depth without a cone index"), "{faults:?}");
    // A single depth of another point stays one.
    assert_eq!(survey.insertions.len(), 2);
    let nine = Measured::Once(Outcome::Reached(Depth::from_in(9.0)));
    assert_eq!(survey.insertions[1].measured, nine);
    let lists = r#"{"type": "FeatureCollection", "features": [
        {"type": "Feature", "geometry": {"type": "Point", "coordinates": [1, 2]},
         "properties": {"depth_in": [1, 2], "ci_psi": [1, 2, 3]}},
        {"type": "Feature", "geometry": {"type": "Point", "coordinates": [1, 2]},
         "properties": {"depth_in": [1, 2], "ci_psi": [1, 2]}}]}"#;
    let survey = of_text("p.geojson", lists, &ReadSettings::default());
    let text = survey.findings[0].to_string();
    assert_eq!(text, "feature 1: ci_psi has 3 values, depth_in 2; left out");
}

#[test]
fn lines_that_cannot_be_read_are_told_by_their_number() {
    let text = "id,lon,lat,depth_in,date\n\na,1,2,3\nb,x,2,3,\nc,,2,3,\nd,1,2,\"3\n4\",\n\
                e,1,2,nine,\nf,0,0,3,\ng,1,2,3,14/04/2025\nh,1,2,stone,\ni,1,2,3,2025-04-14T7:15\n";
    let survey = of_text("bad.csv", text, &ReadSettings::default());
    let expected = [
        "line 3: has 4 fields, the header 5; left out",
        "point b, line 4: lon is the text \"x\", not a number; left out",
        "point c, line 5: lon is empty; left out",
        "point d, line 6: depth_in is the text \"3\\n4\", not a number; left out",
        "point e, line 8: depth_in is the text \"nine\", not a number; left out",
        "point f, line 9: its place is 0, 0, as receivers write without a fix; left out",
        "point g, line 10: date is the text \"14/04/2025\", not a date like 2025-04-14; left out",
    ];
    assert_eq!(faults(&survey), expected);
    assert_eq!(survey.insertions.len(), 2);
    assert_eq!(survey.insertions[1].time.unwrap().to_string(), "07:15:00");
}

#[test]
fn a_waypoint_without_a_reading_is_told() {
    let waypoint = |n: usize, text: &str| format!("<wpt lat='4{n}' lon='1'>{text}</wpt>");
    let text = format!(
        "<gpx>{}{}{}{}<wpt lat='91,5' lon='1'><name>9in</name></wpt></gpx>",
        waypoint(1, "<name>A</name><cmt>9</cmt>"),
        waypoint(2, "<name>012</name>"),
        waypoint(3, "<name>C</name><cmt>9in</cmt><desc>12in</desc>"),
        waypoint(4, "<name>D</name><cmt>9in</cmt><desc>22.9 cm</desc>"),
    );
    let survey = of_text("w.gpx", &text, &ReadSettings::default());
    let expected = [
        "waypoint 1: cmt is \"9\": a depth without a unit; write it like 9in or 23cm; left out",
        "waypoint 2: has no reading in its name, comment or description; left out",
        "waypoint 3: its texts give two depths that differ; left out",
        "waypoint 5: lat is the text \"91,5\", not a number; left out",
    ];
    assert_eq!(faults(&survey), expected);
    assert_eq!(survey.insertions.len(), 1);
}

/// Why a text in a file of that name cannot be read.
fn error_of(name: &str, text: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, text).unwrap();
    read_survey(&path, &ReadSettings::default()).unwrap_err().to_string()
}

#[test]
fn a_pressure_without_its_unit_is_refused() {
    let profile = "id,lon,lat,depth_in,cone_index\nA,1,2,1,50\nA,1,2,2,70\n";
    let error = error_of("p.csv", profile);
    let part =
        "column \"cone_index\" does not say its unit; give --column cone_index=cone_index:psi";
    assert!(error.contains(part), "{error}");
    let mut settings = ReadSettings::default();
    settings.columns.set("cone_index=cone_index:psi").unwrap();
    assert_eq!(of_text("p.csv", profile, &settings).insertions.len(), 1);
    let error = error_of("t.csv", "lon,lat,depth_in,threshold_\n1,2,9,300\n");
    assert!(error.contains("--column threshold=threshold_:psi"), "{error}");
    // Nothing stands there, or the unit stands in another column.
    for text in [
        "lon,lat,depth_in,cone_index,threshold\n1,2,9,,\n",
        "lon,lat,depth_in,cone_index,cone_index_psi,threshold,threshold_kpa\n1,2,9,5,5,7,7\n",
    ] {
        assert_eq!(of_text("o.csv", text, &ReadSettings::default()).insertions.len(), 1);
    }
}

#[test]
fn a_date_on_the_first_line_of_a_profile_is_of_all_its_lines() {
    let mut text = String::from("point_id,lon,lat,date,depth_in,cone_index_psi\n");
    for point in 0..20 {
        for (date, depth) in [("2025-04-14", 1), ("", 2), ("", 3)] {
            text += &format!("P{point},1,2.{point},{date},{depth},{depth}0\n");
        }
    }
    let survey = of_text("p.csv", &text, &ReadSettings::default());
    assert_eq!((survey.insertions.len(), survey.findings.len()), (20, 1));
    let note = "40 lines of profiles have no date";
    assert!(survey.findings[0].problem.starts_with(note), "{:?}", survey.findings);
}

#[test]
fn two_times_of_day_are_two_insertions_unless_depth_grows() {
    let of = |lines: &[(&str, u32)]| {
        let mut text = String::from("point_id,lon,lat,time,depth_in,cone_index_psi\n");
        for (time, depth) in lines {
            text += &format!("P1,1,2,2025-04-14T{time},{depth},{depth}0\n");
        }
        text
    };
    let (early, late) = ("09:30", "09:45");
    let two = of(&[(early, 1), (late, 2), (early, 3), (late, 4), (early, 5), (late, 6)]);
    let two = of_text("p.csv", &two, &ReadSettings::default());
    assert_eq!(two.findings, []);
    let depths: Vec<usize> = two
        .insertions
        .iter()
        .map(|insertion| match &insertion.measured {
            Measured::Profile(profile) => profile.readings().len(),
            Measured::Once(_) => 0,
        })
        .collect();
    assert_eq!(depths, [3, 3]);
    assert_eq!(two.insertions[1].time.unwrap().to_string(), "09:45:00");
    let one = of(&[("09:30:01", 1), ("09:30:02", 2), ("09:30:04", 3)]);
    assert_eq!(of_text("p.csv", &one, &ReadSettings::default()).insertions.len(), 1);
    let unclear = error_of("p.csv", &of(&[(early, 1), (late, 2), (early, 3)]));
    assert!(unclear.contains("several times of day"), "{unclear}");
}

#[test]
fn two_latitudes_that_differ_are_told() {
    let text = "lat,latitude,longitude,depth_in\n41.93,41.931,-95.6,9\n41.93,41.930001,-95.6,9\n";
    let survey = of_text("l.csv", text, &ReadSettings::default());
    assert_eq!(survey.insertions.len(), 1);
    assert_eq!(faults(&survey), ["line 2: latitude is 41.931, lat is 41.93; left out"]);
}

#[test]
fn what_a_comma_is_is_told_by_other_numbers_of_the_file() {
    let head = "lon;lat;depth_cm;cone_mm;threshold_kpa\n";
    let clear =
        of_text("e.csv", &format!("{head}8,5;41,930;22,5;5;1,379\n"), &ReadSettings::default());
    assert!((clear.insertions[0].threshold.unwrap().kpa() - 1.379).abs() < 1e-9);
    let unclear = error_of("e.csv", &format!("{head}8.5;41.930;22.5;5;1,379\n"));
    let part = "threshold_kpa is 1,379: a decimal or a thousands comma?";
    assert!(unclear.contains(part), "{unclear}");
}

#[test]
fn a_hole_in_a_list_is_told() {
    let text = r#"{"type": "FeatureCollection", "features": [
        {"type": "Feature", "geometry": {"type": "Point", "coordinates": [1, 2]},
         "properties": {"depth_in": [1, 2, 3, 4, 5], "ci_psi": [50, null, null, 90, null]}}]}"#;
    let survey = of_text("p.geojson", text, &ReadSettings::default());
    let expected =
        "feature 1: 2 depths without a cone index, in a profile; left out of the profile";
    assert_eq!(faults(&survey), [expected]);
}

#[test]
fn a_crs_within_a_feature_or_its_geometry_counts() {
    let crs = |code: &str| {
        format!(r#", "crs": {{"type": "name", "properties": {{"name": "EPSG:{code}"}}}}"#)
    };
    let feature = |of_feature: &str, of_geometry: &str| {
        format!(
            r#"{{"type": "Feature"{of_feature}, "geometry": {{"type": "Point",
            "coordinates": [1, 2]{of_geometry}}}, "properties": {{"depth_in": 9}}}}"#
        )
    };
    let text = format!(
        r#"{{"type": "FeatureCollection", "features": [{}, {}, {}]}}"#,
        feature(&crs("4326"), &crs("4326")),
        feature(&crs("26915"), ""),
        feature("", &crs("26915")),
    );
    let survey = of_text("f.geojson", &text, &ReadSettings::default());
    assert_eq!((survey.insertions.len(), faults(&survey).len()), (1, 2));
}

#[test]
fn why_every_record_fails_goes_before_a_missing_depth() {
    let text = r#"{"type": "FeatureCollection", "features": [{"type": "Ftr"}]}"#;
    let error = error_of("f.geojson", text);
    assert!(error.contains("feature 1: its type is the text \"Ftr\""), "{error}");
}

#[test]
fn a_table_names_what_it_lacks() {
    let error = error_of;
    for (name, text, part) in [
        ("a.csv", "a,b\n1,2\n", "no columns for longitude and latitude; it has a, b"),
        ("a.csv", "x,y,depth_in\n1,2,3\n", "columns x, y hold coordinates in a plane"),
        ("a.csv", "lon,lat,depth_in\n", "holds no lines with readings"),
        ("a.csv", "lon,lat,depth_in,depth_in\n1,2,3,4\n", "two columns are called \"depth_in\""),
        (
            "a.csv",
            "lon,lat,D200,row\n1,2,0,7\n1,2,18,7\n1,2,3,7\n",
            "D200 holds 0 to 18 in steps of 3: inches? then give --depth-field \"D200\" --depth-unit in",
        ),
        (
            "a.csv",
            "lon,lat,depth\n1,2,10\n1,2,45\n",
            "depth holds 10 to 45 in steps of 5: centimetres?",
        ),
        ("a.gpx", "<gpx></gpx>", "holds no waypoints"),
        (
            "a.gpx",
            "<gpx><wpt lat='1' lon='2'><name>1</name></wpt></gpx>",
            "none of its 1 waypoints",
        ),
        ("a.gpx", "<gpx><wpt lat='1'", "not XML"),
        ("a.kml", "<kml/>", "KML"),
        ("a.zip", "PK\u{3}\u{4}", "a zip archive"),
        (
            "a.geojson",
            "{\"type\": \"FeatureCollection\", \"features\": 3}",
            "not JSON: invalid type",
        ),
    ] {
        let error = error(name, text);
        assert!(error.contains(part), "{part:?} is not in {error:?}");
    }
}
