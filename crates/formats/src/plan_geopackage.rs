//! A plan as a GeoPackage: see `geopackage` for the standard and what makes the bytes the same.
//!
//! | table | one row is |
//! |---|---|
//! | `zones` | a part of the plan with its outline in WGS 84 and the dose of each operation, in both units |
//! | `operations` | an operation with its totals |
//! | `run_info` | a name and a value: field, visit, stamps, warnings, cautions, workings |

use geo::BoundingRect;
use plan::{Basis, Operation, OperationKind};
use rusqlite::types::Value;
use rusqlite::{Connection, Result, params, params_from_iter};
use survey::UnitSystem;
use survey::units::{M2_PER_AC, M2_PER_HA};

use crate::degrees::rounded;
use crate::error::FormatError;
use crate::geopackage::{geopackage, multi_polygon};
use crate::plain_text::plain;
use crate::plan_rows::{Measure, Row, Rows};

const TABLES: &str = "
CREATE TABLE operations (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  operation TEXT,
  name TEXT,
  product TEXT,
  unit TEXT,
  unit_us TEXT,
  treated_ha REAL,
  total REAL,
  total_unit TEXT,
  fills INTEGER,
  cost REAL,
  currency TEXT,
  laboratory TEXT,
  soil_test_date DATE,
  soil_test_method TEXT,
  recommended_by TEXT
);
CREATE TABLE run_info (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  name TEXT,
  value TEXT
);";

/// The bytes of the GeoPackage.
pub(crate) fn plan_geopackage(rows: &Rows) -> std::result::Result<Vec<u8>, FormatError> {
    geopackage(rows.plan.visit, |contents| {
        create_zones(contents.db, rows)?;
        contents.db.execute_batch(TABLES)?;
        zones(contents.db, rows)?;
        contents.features("zones", "MULTIPOLYGON", "what to do where", bounds(rows))?;
        for (operation, measure) in rows.operations() {
            insert_operation(contents.db, operation, measure)?;
        }
        contents.attributes("operations", "what is done, and what it takes")?;
        run_info(contents.db, rows)?;
        contents.attributes("run_info", "what the plan rests on, and what to know")
    })
}

fn bounds(rows: &Rows) -> [Option<f64>; 4] {
    let frames: Vec<_> = rows.rows.iter().filter_map(|row| row.degrees.bounding_rect()).collect();
    let least = |of: fn(&geo::Rect) -> f64| frames.iter().map(of).reduce(f64::min);
    let most = |of: fn(&geo::Rect) -> f64| frames.iter().map(of).reduce(f64::max);
    [least(|f| f.min().x), least(|f| f.min().y), most(|f| f.max().x), most(|f| f.max().y)]
}

/// Slugs are letters, digits and `_`, so that names of columns need no escape within their quotes.
fn create_zones(db: &Connection, rows: &Rows) -> Result<()> {
    let doses: String =
        rows.dose_names().iter().map(|name| format!(",\n  \"{name}\" REAL")).collect();
    db.execute_batch(&format!(
        "CREATE TABLE zones (\n  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,\n  geom MULTIPOLYGON,\n  \
         part_id TEXT,\n  zone_id TEXT,\n  class_no INTEGER,\n  class_name TEXT,\n  check_strip INTEGER,\n  \
         \"action\" TEXT,\n  area_ha REAL,\n  area_ac REAL,\n  few_probes BOOLEAN{doses}\n);"
    ))
}

fn zones(db: &Connection, rows: &Rows) -> Result<()> {
    let columns = 10 + rows.dose_names().len();
    let marks = vec!["?"; columns].join(", ");
    let mut insert = db.prepare(&format!("INSERT INTO zones VALUES (NULL, {marks})"))?;
    for row in &rows.rows {
        insert.execute(params_from_iter(zone(rows, row)))?;
    }
    Ok(())
}

fn zone(rows: &Rows, row: &Row) -> Vec<Value> {
    let part = row.part;
    let text = |text: &str| Value::Text(plain(text));
    let mut values = vec![
        Value::Blob(multi_polygon(&row.degrees)),
        text(&part.id),
        text(&part.zone_id),
        integer(part.class_no),
        text(&part.class_name),
        part.check_strip.map_or(Value::Null, integer),
        text(&part.marked_action()),
        Value::Real(rounded(part.ground_area_m2 / M2_PER_HA, 6)),
        Value::Real(rounded(part.ground_area_m2 / M2_PER_AC, 6)),
        Value::Integer(i64::from(part.few_probes)),
    ];
    values.extend(rows.dose_numbers(row).into_iter().map(Value::Real));
    values
}

fn integer(number: usize) -> Value {
    Value::Integer(i64::try_from(number).unwrap_or(i64::MAX))
}

fn insert_operation(db: &Connection, operation: &Operation, measure: Measure) -> Result<()> {
    let (product, total_unit) = match &operation.kind {
        OperationKind::Loosen => (None, None),
        OperationKind::AmendMass { product } => (Some(plain(product)), Some("kg")),
        OperationKind::AmendVolume { product } => (Some(plain(product)), Some("L")),
    };
    let basis = operation.basis.as_ref();
    let said = |of: fn(&Basis) -> &String| basis.map(|basis| plain(of(basis)));
    let sql = "INSERT INTO operations VALUES \
               (NULL, ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15)";
    db.execute(
        sql,
        params![
            operation.slug,
            plain(&operation.name),
            product,
            measure.unit(UnitSystem::Si),
            measure.unit(UnitSystem::Us),
            rounded(operation.treated_m2 / M2_PER_HA, 6),
            operation.total.map(|total| rounded(total, 3)),
            total_unit,
            operation.fills,
            operation.cost.as_ref().map(|(cost, _)| rounded(*cost, 2)),
            operation.cost.as_ref().map(|(_, currency)| plain(currency)),
            said(|basis| &basis.lab),
            basis.map(|basis| basis.date.to_string()),
            said(|basis| &basis.method),
            said(|basis| &basis.recommended_by),
        ],
    )?;
    Ok(())
}

fn run_info(db: &Connection, rows: &Rows) -> Result<()> {
    let plan = rows.plan;
    let mut said = vec![("plan", plan.name.clone()), ("field", plan.field_name.clone())];
    said.extend(plan.farm.clone().map(|farm| ("farm", farm)));
    said.extend(plan.grower.clone().map(|grower| ("grower", grower)));
    said.extend(plan.visit.map(|day| ("visit_date", day.to_string())));
    for (name, sentences) in [
        ("stamp", &plan.stamps),
        ("warning", &plan.warnings),
        ("caution", &plan.cautions),
        ("stop_rule", &plan.stop_rules),
        ("hazard", &plan.hazards),
        ("working", &plan.workings),
    ] {
        said.extend(sentences.iter().map(|sentence| (name, sentence.clone())));
    }
    let mut insert = db.prepare("INSERT INTO run_info (name, value) VALUES (?1, ?2)")?;
    for (name, value) in said {
        insert.execute(params![name, plain(&value)])?;
    }
    Ok(())
}
