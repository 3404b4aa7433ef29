//! Maps a survey with the libraries alone and prints its zones.
//!
//! ```text
//! cargo run --example map_a_survey
//! ```

use std::error::Error;
use std::path::Path;

use formats::{ReadSettings, read_boundary, read_survey};
use mapping::{MapSettings, map_survey};
use survey::{CheckSettings, UnitSystem, check};

#[expect(clippy::print_stdout, reason = "an example shows its result")]
fn main() -> Result<(), Box<dyn Error>> {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo-data/north-bench");
    let (_, readings) =
        read_survey(&demo.join("visits/2025-04-14.geojson"), &ReadSettings::default())?;
    let (_, boundary) = read_boundary(&demo.join("boundary.geojson"))?;
    let survey = check(&readings, Some(&boundary), &CheckSettings::default())?;
    let units = UnitSystem::Us;
    let map = map_survey(&survey, &MapSettings::new(units))?;
    for zone in &map.zones {
        println!(
            "{:<4}{:>10}  {:>6.2} {}  mean {:>5.1} {}  {} probes",
            zone.id,
            map.classes.name(zone.class),
            units.area(zone.ground_area_m2),
            units.area_unit(),
            units.depth(zone.depth.mean),
            units.depth_unit(),
            zone.probes,
        );
    }
    Ok(())
}
