//! A plan as shapefiles in WGS 84, one for each operation: Esri Shapefile Technical Description (July
//! 1998), and dBASE III for the table. Displays take one numeric column for the rate (common practice).
//!
//! | column | what |
//! |---|---|
//! | `ZONE` | number of the part, from 1 |
//! | `NAME` | name of the part, at most 32 characters |
//! | `ACTION` | what is to be done, at most 80 characters |
//! | `RATE`, `UNIT` | the dose in the plan's units, and the unit: `14`, `in` |
//! | `DEPTH_CM`, `DEPTH_IN` or `KG_HA`, `LB_AC` or `L_HA`, `GAL_AC` | the dose in both units |
//! | `AREA_HA`, `AREA_AC` | area on the ground |
//!
//! Nothing is lost in silence: a number too wide for its column is an error, texts are ASCII (see
//! `plain_text`) for displays that do not read the `.cpg`.

use geo::{BoundingRect, LineString, MultiPolygon, Rect};
use plan::Operation;
use survey::units::{M2_PER_AC, M2_PER_HA};
use survey::{Date, UnitSystem};

use crate::dbf_writer::{Column, Value, dbf};
use crate::error::FormatError;
use crate::plain_text::ascii;
use crate::plan_rows::{Measure, Row, Rows};
use crate::write::Output;

/// Longitude and latitude in WGS 84, as Esri writes it.
const WGS_84: &str = "GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",SPHEROID[\"WGS_1984\",6378137.0,298.257223563]],PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]]";

/// Page 4.
const FILE_CODE: i32 = 9994;
const VERSION: i32 = 1000;
const POLYGON: i32 = 5;
const HEADER_BYTES: usize = 100;

/// The files of each operation, in the plan's order.
pub(crate) fn plan_shapefiles(rows: &Rows) -> Result<Vec<Output>, FormatError> {
    let mut files = Vec::new();
    let shapes: Vec<Vec<u8>> = rows.rows.iter().map(|row| shape(&row.degrees)).collect();
    for (index, (operation, measure)) in rows.operations().enumerate() {
        let table = table(rows, index, measure).map_err(|problem| too_wide(operation, &problem))?;
        let frame = frame(rows);
        let parts = [
            ("shp", main_file(&shapes, frame)?),
            ("shx", index_file(&shapes, frame)?),
            ("dbf", table),
            ("prj", WGS_84.into()),
            ("cpg", b"UTF-8".to_vec()),
        ];
        files.extend(
            parts.map(|(ending, bytes)| Output {
                name: format!("{}.{ending}", operation.slug),
                bytes,
            }),
        );
    }
    Ok(files)
}

fn too_wide(operation: &Operation, problem: &str) -> FormatError {
    FormatError::Plan { problem: format!("{}.dbf: {problem}", operation.slug) }
}

/// West, south, east and north of all parts.
fn frame(rows: &Rows) -> [f64; 4] {
    let frames = rows.rows.iter().filter_map(|row| row.degrees.bounding_rect());
    let whole = frames.reduce(|a, b| {
        Rect::new(
            (a.min().x.min(b.min().x), a.min().y.min(b.min().y)),
            (a.max().x.max(b.max().x), a.max().y.max(b.max().y)),
        )
    });
    whole.map_or([0.0; 4], |frame| [frame.min().x, frame.min().y, frame.max().x, frame.max().y])
}

/// A polygon's record without its header (page 8): outer rings clockwise, holes the other way.
fn shape(polygons: &MultiPolygon) -> Vec<u8> {
    let rings: Vec<&LineString> = polygons
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
        .collect();
    let frame = polygons.bounding_rect();
    let frame = frame.map_or([0.0; 4], |f| [f.min().x, f.min().y, f.max().x, f.max().y]);
    let points: usize = rings.iter().map(|ring| ring.0.len()).sum();
    let mut bytes = POLYGON.to_le_bytes().to_vec();
    bytes.extend(frame.iter().flat_map(|number| number.to_le_bytes()));
    bytes.extend([rings.len(), points].iter().flat_map(|count| (*count as i32).to_le_bytes()));
    let mut first = 0_i32;
    for ring in &rings {
        bytes.extend(first.to_le_bytes());
        first += ring.0.len() as i32;
    }
    // Rows have them counter-clockwise and holes clockwise.
    for place in rings.iter().flat_map(|ring| ring.0.iter().rev()) {
        bytes.extend([place.x, place.y].iter().flat_map(|degrees| degrees.to_le_bytes()));
    }
    bytes
}

/// Page 3. A length counts words of two bytes.
fn header(bytes: usize, [west, south, east, north]: [f64; 4]) -> Result<Vec<u8>, FormatError> {
    let words = i32::try_from(bytes / 2).map_err(|_| FormatError::Plan {
        problem: "its outlines take more than the 4 GB of a shapefile".into(),
    })?;
    let mut header = FILE_CODE.to_be_bytes().to_vec();
    header.extend([0; 20]);
    header.extend(words.to_be_bytes());
    header.extend([VERSION, POLYGON].iter().flat_map(|number| number.to_le_bytes()));
    header.extend([west, south, east, north].iter().flat_map(|number| number.to_le_bytes()));
    // No heights and no measures.
    header.extend([0; 32]);
    Ok(header)
}

fn main_file(shapes: &[Vec<u8>], frame: [f64; 4]) -> Result<Vec<u8>, FormatError> {
    let length = HEADER_BYTES + shapes.iter().map(|shape| 8 + shape.len()).sum::<usize>();
    let mut file = header(length, frame)?;
    for (number, shape) in (1_i32..).zip(shapes) {
        file.extend(number.to_be_bytes());
        file.extend(((shape.len() / 2) as i32).to_be_bytes());
        file.extend(shape);
    }
    Ok(file)
}

/// Where each record begins and how long it is (page 24).
fn index_file(shapes: &[Vec<u8>], frame: [f64; 4]) -> Result<Vec<u8>, FormatError> {
    let mut file = header(HEADER_BYTES + 8 * shapes.len(), frame)?;
    let mut at = HEADER_BYTES;
    for shape in shapes {
        file.extend([at, shape.len()].iter().flat_map(|bytes| ((bytes / 2) as i32).to_be_bytes()));
        at += 8 + shape.len();
    }
    Ok(file)
}

fn table(rows: &Rows, operation: usize, measure: Measure) -> Result<Vec<u8>, String> {
    let (si, us) = dose_columns(measure);
    let columns = [
        Column::number("ZONE", 4, 0),
        Column::text("NAME", 32),
        Column::text("ACTION", 80),
        Column::number("RATE", 12, 3),
        Column::text("UNIT", 8),
        si,
        us,
        Column::number("AREA_HA", 10, 3),
        Column::number("AREA_AC", 10, 3),
    ];
    let records: Vec<Vec<Value>> = (1_u32..)
        .zip(&rows.rows)
        .map(|(number, row)| record(rows, row, number, operation, measure))
        .collect();
    dbf(&columns, &records, last_update(rows.plan.visit))
}

fn dose_columns(measure: Measure) -> (Column, Column) {
    match measure {
        Measure::Depth => (Column::number("DEPTH_CM", 8, 2), Column::number("DEPTH_IN", 8, 2)),
        Measure::Mass => (Column::number("KG_HA", 12, 3), Column::number("LB_AC", 12, 3)),
        Measure::Volume => (Column::number("L_HA", 12, 3), Column::number("GAL_AC", 12, 3)),
    }
}

fn record(rows: &Rows, row: &Row, number: u32, operation: usize, measure: Measure) -> Vec<Value> {
    let (part, units, si) = (row.part, rows.plan.units, row.amounts[operation]);
    vec![
        Value::Number(f64::from(number)),
        Value::Text(ascii(&part.id)),
        Value::Text(ascii(&part.marked_action())),
        Value::Number(measure.number(si, units)),
        Value::Text(measure.unit(units).into()),
        Value::Number(measure.number(si, UnitSystem::Si)),
        Value::Number(measure.number(si, UnitSystem::Us)),
        Value::Number(part.ground_area_m2 / M2_PER_HA),
        Value::Number(part.ground_area_m2 / M2_PER_AC),
    ]
}

/// The day in the table's header: the visit's, never the clock's, so that the same plan gives the same
/// bytes; the first day of 1980 without one.
fn last_update(visit: Option<Date>) -> Date {
    visit.unwrap_or(jiff::civil::date(1980, 1, 1))
}
