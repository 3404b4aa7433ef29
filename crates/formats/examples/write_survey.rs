//! Writes a made-up survey as GeoJSON, CSV and GeoPackage into a folder, for other programs to read.
//!
//! ```text
//! cargo run --package formats --example write_survey -- FOLDER
//! ```

use std::error::Error;
use std::path::Path;

use formats::{Output, survey_csv, survey_geojson, survey_geopackage, write_files};
use survey::{
    CheckSettings, ConeIndex, Depth, DepthUnit, Insertion, LonLat, Measured, Outcome, Pressure,
    Profile, Survey, check,
};

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).ok_or("name a folder")?;
    let survey = made_up_survey()?;
    let settings = CheckSettings { sustained: Depth::from_in(0.0), ..CheckSettings::default() };
    let checked = check(&survey, None, &settings)?;
    let files = [
        Output { name: "survey.geojson".into(), bytes: survey_geojson(&survey).into_bytes() },
        Output { name: "survey.csv".into(), bytes: survey_csv(&survey).into_bytes() },
        Output { name: "survey.gpkg".into(), bytes: survey_geopackage(&survey, &checked)? },
    ];
    write_files(Path::new(&folder), &files, true)?;
    Ok(())
}

/// Sixty places 20 m apart in six rows; every fifth is a profile, and some are not reached, stopped
/// by a stone, skipped, or off the Earth.
fn made_up_survey() -> Result<Survey, String> {
    let insertions = (0..60_u8).map(insertion).collect::<Result<Vec<_>, String>>()?;
    let name = Some("Made up, for reading".into());
    Ok(Survey { name, features: insertions.len(), insertions, ..Survey::default() })
}

fn insertion(index: u8) -> Result<Insertion, String> {
    let (row, column) = (f64::from(index / 10), f64::from(index % 10));
    let place = LonLat { lon_deg: -95.62 + column * 0.000_24, lat_deg: 41.93 + row * 0.000_18 };
    let inches = 5.0 + f64::from(index % 7) * 0.5;
    let measured = match index {
        7 => Measured::Once(Outcome::NotReached { probed_to: Depth::from_in(18.0) }),
        13 => Measured::Once(Outcome::Refused),
        26 => Measured::Once(Outcome::Skipped),
        _ if index.is_multiple_of(5) => Measured::Profile(profile(inches)?),
        _ => Measured::Once(Outcome::Reached(Depth::from_in(inches))),
    };
    let place = match index {
        31 => LonLat { lat_deg: 95.0, ..place },
        _ => place,
    };
    let has_depth = !matches!(index, 13 | 26);
    let is_profile = matches!(measured, Measured::Profile(_));
    Ok(Insertion {
        id: Some(format!("P{index:02}")),
        threshold: (!is_profile).then(|| Pressure::from_psi(200.0)),
        date: "2025-04-14".parse().ok(),
        moisture_pct: Some(20.5),
        depth_unit: has_depth.then_some(DepthUnit::Inches),
        cone: Some(Depth::from_in(0.5)),
        operator: Some("Åsa \"A\", Jr.".into()),
        note: (index == 3).then(|| "two\nlines".into()),
        ..Insertion::at(usize::from(index) + 1, place, measured)
    })
}

/// 25 psi per inch, so that 200 psi lies at 8 in, from 1 in down to the depth plus 6 in.
fn profile(inches: f64) -> Result<Profile, String> {
    let readings = (1..=24_u8).map(f64::from).take_while(|depth| *depth <= inches + 6.0);
    let reading = |depth: f64| ConeIndex {
        depth: Depth::from_in(depth),
        pressure: Pressure::from_psi(25.0 * depth),
    };
    Profile::new(readings.map(reading).collect())
}
