//! Writes a plan made by hand in every form into a folder, with the truth for other programs to compare.
//!
//! ```text
//! cargo run --package formats --example write_plan -- FOLDER
//! ```
//!
//! `v3-type1/TASKDATA` and so on hold the same plan, `v3-type1.zip` the same folder as an archive;
//! `expected.json` says what must be found in them.

#[path = "support/sample_plan.rs"]
mod sample_plan;

use std::error::Error;
use std::path::Path;

use formats::{Output, TaskdataSettings, Version, Zones, taskdata, taskdata_zip, write_files};
use geo::{Coord, LineString};
use plan::{Dose, Operation, OperationKind, Plan};
use sample_plan::{NAMES, sample_plan};
use serde_json::{Value, json};
use survey::EastNorth;

const VARIANTS: [(&str, Version, Zones); 6] = [
    ("v3-type1", Version::V3, Zones::GridType1),
    ("v3-type2", Version::V3, Zones::GridType2),
    ("v3-polygons", Version::V3, Zones::Polygons),
    ("v4-type1", Version::V4, Zones::GridType1),
    ("v4-type2", Version::V4, Zones::GridType2),
    ("v4-polygons", Version::V4, Zones::Polygons),
];

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).ok_or("name a folder")?;
    let folder = Path::new(&folder);
    let plan = sample_plan()?;
    for (name, version, zones) in VARIANTS {
        let settings = TaskdataSettings { version, zones, cell_m: None };
        let made = taskdata(&plan, &settings, "0.1.0")?;
        write_files(&folder.join(name), &made.files, true)?;
        let archive = Output { name: format!("{name}.zip"), bytes: taskdata_zip(&made.files) };
        write_files(folder, &[archive], true)?;
    }
    let expected = Output {
        name: "expected.json".into(),
        bytes: format!("{:#}\n", expected(&plan)).into_bytes(),
    };
    write_files(folder, &[expected], true)?;
    Ok(())
}

/// What every file must hold.
fn expected(plan: &Plan) -> Value {
    json!({
        "epsg": plan.utm.epsg(),
        "field": NAMES[0].1,
        "farm": NAMES[1].1,
        "grower": NAMES[2].1,
        "cell_m": plan.swath_m,
        "parts": parts(plan),
        "tasks": plan.operations.iter().enumerate().map(|(k, o)| task(plan, k, o)).collect::<Vec<_>>(),
    })
}

fn parts(plan: &Plan) -> Vec<Value> {
    let place = |c: &Coord| json!([c.x, c.y]);
    let degrees = |c: &Coord| {
        let place = plan.utm.unproject(EastNorth::from(*c));
        json!([place.lon_deg, place.lat_deg])
    };
    let rings = |ring_of: &dyn Fn(&Coord) -> Value, part: &plan::Part| -> Value {
        let ring = |ring: &LineString| ring.0.iter().map(ring_of).collect::<Value>();
        let polygon = |polygon: &geo::Polygon| -> Value {
            std::iter::once(polygon.exterior()).chain(polygon.interiors()).map(ring).collect()
        };
        part.polygons.iter().map(polygon).collect()
    };
    let name = |at: usize| NAMES.get(4 + at).map_or("Z1 check 1", |(_, name)| name);
    let part = |(at, part): (usize, &plan::Part)| {
        json!({
            "name": name(at),
            "area_m2": part.ground_area_m2,
            "polygons_m": rings(&place, part),
            "polygons_deg": rings(&degrees, part),
        })
    };
    plan.parts.iter().enumerate().map(part).collect()
}

/// The doses in millimetres, kg/ha or L/ha, none where a part is left alone.
fn task(plan: &Plan, index: usize, operation: &Operation) -> Value {
    let (name, product, unit) = match &operation.kind {
        OperationKind::Loosen => ("Loosen", None, "mm"),
        OperationKind::AmendMass { .. } => ("Spread gypsum & lime", Some(NAMES[3].1), "kg/ha"),
        OperationKind::AmendVolume { product } => ("Task", Some(product.as_str()), "L/ha"),
    };
    let doses = plan.parts.iter().map(|part| part.doses[index].map(number));
    json!({
        "name": name,
        "product": product,
        "unit": unit,
        "doses": doses.collect::<Vec<_>>(),
        "out_of_field": number(operation.out_of_field),
        "position_lost": number(operation.signal_lost),
    })
}

fn number(dose: Dose) -> f64 {
    match dose {
        Dose::Depth(depth) => depth.m() * 1e3,
        Dose::Mass(rate) => rate.kg_per_ha(),
        Dose::Volume(rate) => rate.l_per_ha(),
    }
}
