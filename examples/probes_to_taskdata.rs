//! The whole story with the libraries alone: from a file of probe readings to a TASKDATA folder for the
//! tractor, and what its terminal will see.
//!
//! ```text
//! cargo run --example probes_to_taskdata
//! ```

use std::error::Error;
use std::path::Path;

use formats::{
    Output, ReadSettings, TaskdataSettings, ZoneFile, inspect_taskdata, read_boundary, read_rates,
    read_survey, read_zones, taskdata, write_files, zones_geojson,
};
use mapping::{MapSettings, ZoneSettings, map_survey};
use plan::{PlanSettings, make_plan};
use survey::{CheckSettings, Length, UnitSystem, check};

#[expect(clippy::print_stdout, reason = "an example shows its result")]
fn main() -> Result<(), Box<dyn Error>> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let field = root.join("demo-data/north-bench");
    let results = root.join("target/probes_to_taskdata");

    // Readings in, checked: only a checked survey can be mapped.
    let (_, readings) =
        read_survey(&field.join("visits/2025-04-14.geojson"), &ReadSettings::default())?;
    let (_, boundary) = read_boundary(&field.join("boundary.geojson"))?;
    let survey = check(&readings, Some(&boundary), &CheckSettings::default())?;

    // Zones that a machine of 30 ft can follow from west to east, seven at the most.
    let swath: Length = "30ft".parse()?;
    let zones = ZoneSettings {
        swath_m: Some(swath.m()),
        heading_deg: Some(90.0),
        most: Some(7),
        ..ZoneSettings::default()
    };
    let map = map_survey(&survey, &MapSettings { zones, ..MapSettings::new(UnitSystem::Us) })?;
    for zone in &map.zones {
        let mark = if zone.has_few_probes() { "*" } else { "" };
        println!("{}{mark}: {}, {} probes", zone.id, map.classes.name(zone.class), zone.probes);
    }
    let file = ZoneFile {
        field_name: "North Bench",
        survey_file: "2025-04-14.geojson",
        survey: &survey,
        map: &map,
    };
    let zones = Output { name: "zones.geojson".into(), bytes: zones_geojson(&file)?.into() };
    write_files(&results, &[zones], true)?;

    // What to do in them. A set depth needs the measured bottom of the tight layer, a rate its soil test.
    let (_, zones) = read_zones(&results.join("zones.geojson"))?;
    let (_, rates) = read_rates(&field.join("rates.toml"))?;
    let plan = make_plan(&zones, &rates, PlanSettings::default())?;
    for line in plan.stamps.iter().chain(&plan.warnings) {
        println!("{line}");
    }

    // Out to the machine, and back as its terminal will read it.
    let made = taskdata(&plan, &TaskdataSettings::default(), env!("CARGO_PKG_VERSION"))?;
    write_files(&results, &made.files, true)?;
    let seen = inspect_taskdata(&results.join("TASKDATA"))?;
    println!("{}, field {}", seen.format, seen.field.as_deref().unwrap_or("without a name"));
    for task in &seen.layers {
        println!("task {}", task.name);
        for zone in &task.zones {
            println!("  {}: {}", zone.name, zone.values.join(", "));
        }
        task.defaults.iter().for_each(|line| println!("  {line}"));
    }
    Ok(())
}
