//! Writes a made-up plan in all formats into a folder, with what the files must say as `expected.json`, for
//! other programs to read.
//!
//! ```text
//! cargo run --package formats --example write_plan_files -- FOLDER
//! ```

use std::error::Error;
use std::path::Path;

use formats::{Output, PlanFileSettings, plan_files, write_files};
use geo::{MultiPolygon, Polygon};
use plan::{Dose, Part, Plan};
use serde_json::{Value, json};

#[path = "../tests/plans/mod.rs"]
mod plans;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).ok_or("name a folder")?;
    let plan = plans::sample();
    let mut files = plan_files(&plan, &PlanFileSettings::default())?;
    let expected = serde_json::to_vec_pretty(&expected(&plan))?;
    files.push(Output { name: "expected.json".into(), bytes: expected });
    write_files(Path::new(&folder), &files, true)?;
    Ok(())
}

/// What other programs must find, from the plan itself.
fn expected(plan: &Plan) -> Value {
    json!({
        "epsg": plan.utm.epsg(),
        "operations": plan.operations.iter().map(|o| o.slug.as_str()).collect::<Vec<_>>(),
        "parts": plan.parts.iter().map(part).collect::<Vec<_>>(),
        "plane_area_m2": plan.parts.iter().map(|part| area_m2(&part.polygons)).sum::<f64>(),
    })
}

fn part(part: &Part) -> Value {
    json!({
        "id": part.id,
        "action": part.marked_action(),
        "class_name": part.class_name,
        "ground_area_m2": part.ground_area_m2,
        "plane_area_m2": area_m2(&part.polygons),
        "polygons": part.polygons.0.len(),
        "holes": part.polygons.iter().map(|polygon| polygon.interiors().len()).sum::<usize>(),
        "doses": part.doses.iter().map(|dose| dose.map_or(0.0, amount)).collect::<Vec<_>>(),
    })
}

/// Centimetres, kg/ha or L/ha.
fn amount(dose: Dose) -> f64 {
    match dose {
        Dose::Depth(depth) => depth.cm(),
        Dose::Mass(rate) => rate.kg_per_ha(),
        Dose::Volume(rate) => rate.l_per_ha(),
    }
}

/// The made-up parts are rectangles with rectangular holes.
fn area_m2(polygons: &MultiPolygon) -> f64 {
    let rectangle = |polygon: &Polygon| {
        let sides = |ring: &geo::LineString| {
            let (a, b) = (ring.0[0], ring.0[2]);
            ((b.x - a.x) * (b.y - a.y)).abs()
        };
        sides(polygon.exterior()) - polygon.interiors().iter().map(sides).sum::<f64>()
    };
    polygons.iter().map(rectangle).sum()
}
