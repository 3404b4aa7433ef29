//! Writes recording pages into a folder: for any field in both systems of units, and for the demo field
//! with spots to go to. `cargo run --package report --example record_page -- FOLDER`

use std::error::Error;
use std::path::PathBuf;

use report::{RecordPage, RecordSpot, record_page};
use serde_json::Value;
use survey::{LonLat, UnitSystem};

const BOUNDARY: &str = include_str!("../../../demo-data/north-bench/boundary.geojson");
const VISIT: &str = include_str!("../../../demo-data/north-bench/visits/2025-04-14.geojson");

fn main() -> Result<(), Box<dyn Error>> {
    let folder: PathBuf = std::env::args_os().nth(1).ok_or("which folder?")?.into();
    std::fs::create_dir_all(&folder)?;
    let any_field = RecordPage::new(UnitSystem::Us);
    let metric = RecordPage::new(UnitSystem::Si);
    let planned = RecordPage {
        field: Some("North Bench".into()),
        outline: outline()?,
        spots: spots()?,
        spacing_m: Some(60.0),
        ..RecordPage::new(UnitSystem::Us)
    };
    for (name, page) in
        [("any-field-us", any_field), ("any-field-si", metric), ("north-bench", planned)]
    {
        std::fs::write(folder.join(name).with_extension("html"), record_page(&page)?)?;
    }
    Ok(())
}

fn outline() -> Result<Vec<Vec<LonLat>>, Box<dyn Error>> {
    let file: Value = serde_json::from_str(BOUNDARY)?;
    let rings = file["features"][0]["geometry"]["coordinates"].as_array().ok_or("no rings")?;
    let ring = |ring: &Value| ring.as_array()?.iter().map(place).collect();
    Ok(rings.iter().filter_map(ring).collect())
}

/// Every tenth spot of a visit of the demo field.
fn spots() -> Result<Vec<RecordSpot>, Box<dyn Error>> {
    let file: Value = serde_json::from_str(VISIT)?;
    let features = file["features"].as_array().ok_or("no features")?;
    let spot = |feature: &Value| {
        let id = feature["properties"]["point_id"].as_str()?.into();
        Some(RecordSpot { id, place: place(&feature["geometry"]["coordinates"])? })
    };
    Ok(features.iter().step_by(10).filter_map(spot).collect())
}

fn place(position: &Value) -> Option<LonLat> {
    Some(LonLat { lon_deg: position[0].as_f64()?, lat_deg: position[1].as_f64()? })
}
