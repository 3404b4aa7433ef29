//! The layers and tables of a GeoPackage.
//!
//! Only plain tables that the table of contents names are read: a view or a virtual table may hold anything.

use std::path::Path;

use geojson::JsonObject;
use rusqlite::Connection;
use rusqlite::types::ValueRef;
use serde_json::Value;

use super::layer;
use super::season;
use super::sheet::{Row, Shape, Sheet};
use super::wkb::shape;
use crate::archive::is_season;
use crate::error::FormatError;
use crate::geopackage::{Opened, is_plain_table, opened};
use crate::inspected::Inspected;
use crate::plain_text::plain;

/// The most layers and tables that are looked at, and rows of each.
const MOST_TABLES: i64 = 200;
const MOST_ROWS: i64 = 20_001;
/// The largest value.
const MOST_BYTES: i32 = 64 << 20;
/// A table's values may take so many times the file's bytes: no more than once in a sound file, whose text
/// may be UTF-16. In a damaged one many rows may share their pages.
const MOST_TIMES: usize = 2;
pub(super) fn inspect(path: &Path, bytes: Vec<u8>) -> Result<Inspected, FormatError> {
    read(bytes).map_err(|error| {
        let problem = format!("is no sound GeoPackage: {}", plain(&error.to_string()));
        FormatError::NotInspected { file: path.to_path_buf(), problem }
    })
}

fn read(bytes: Vec<u8>) -> rusqlite::Result<Inspected> {
    let size = bytes.len();
    let Opened { db, has_log } = opened(bytes, MOST_BYTES)?;
    let mut found = Inspected { format: "GeoPackage".into(), ..Inspected::default() };
    if has_log {
        found.notes.push("it keeps a write-ahead log; what stands only there is not seen".into());
    }
    if is_season(&db)? {
        season::describe(&db, size, &mut found)?;
        return Ok(found);
    }
    for table in tables(&db)? {
        let Some(is_plain) = is_plain_table(&db, &table.name)? else {
            found.notes.push(format!("layer {} is named but not there", plain(&table.name)));
            continue;
        };
        if !is_plain {
            found
                .notes
                .push(format!("layer {} is no plain table; it is not read", plain(&table.name)));
            continue;
        }
        let sheet = sheet(&db, &table, MOST_TIMES * size)?;
        match table.geometry {
            Some(_) => layer::add(&sheet, &mut found),
            None => {
                let rows = sheet.rows.len() + sheet.left_out;
                found.notes.push(format!("table {} has {rows} records", plain(&table.name)));
                run_info(&sheet, &mut found);
            }
        }
    }
    if found.layers.is_empty() {
        found.notes.push("it has no layer of shapes".into());
    }
    Ok(found)
}

/// A table of the contents.
struct Table {
    name: String,
    /// The column of shapes, where there is one, and its coordinate system.
    geometry: Option<(String, i64)>,
}

fn tables(db: &Connection) -> rusqlite::Result<Vec<Table>> {
    let sql = "SELECT c.table_name, g.column_name, g.srs_id FROM gpkg_contents c \
               LEFT JOIN gpkg_geometry_columns g ON g.table_name = c.table_name \
               WHERE c.data_type IN ('features', 'attributes') ORDER BY c.rowid LIMIT ?1";
    let mut statement = db.prepare(sql)?;
    let rows = statement.query_map([MOST_TABLES], |row| {
        let column: Option<String> = row.get(1)?;
        let srs: Option<i64> = row.get(2)?;
        Ok(Table { name: row.get(0)?, geometry: column.zip(srs) })
    })?;
    rows.collect()
}

fn sheet(db: &Connection, table: &Table, most_bytes: usize) -> rusqlite::Result<Sheet> {
    let mut left_bytes = most_bytes;
    let mut sheet = Sheet::new(&table.name);
    sheet.system = match &table.geometry {
        Some((_, 4326)) | None => None,
        Some((_, srs)) => format!("EPSG:{srs}").parse().ok(),
    };
    let quoted = table.name.replace('"', "\"\"");
    let mut statement = db.prepare(&format!("SELECT * FROM \"{quoted}\" LIMIT {MOST_ROWS}"))?;
    let names = column_names(db, &table.name)?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let mut values = JsonObject::new();
        let mut place = Shape::None;
        for (k, name) in names.iter().enumerate() {
            let value = row.get_ref(k)?;
            let bytes = match value {
                ValueRef::Text(bytes) | ValueRef::Blob(bytes) => bytes.len(),
                ValueRef::Integer(_) | ValueRef::Real(_) | ValueRef::Null => 0,
            };
            left_bytes = left_bytes.checked_sub(bytes).ok_or_else(|| {
                let problem = format!("the values of {} are larger than the file", table.name);
                rusqlite::Error::InvalidParameterName(problem)
            })?;
            match (value, &table.geometry) {
                (ValueRef::Blob(blob), Some((column, _))) if column == name => place = shape(blob),
                (value, _) => {
                    values.insert(name.clone(), json(value));
                }
            }
        }
        sheet.push(Row { name: None, shape: place, values });
    }
    Ok(sheet)
}

/// The names of a table's columns. Asked as values: a name of a statement that is no text would end the program.
fn column_names(db: &Connection, table: &str) -> rusqlite::Result<Vec<String>> {
    let mut statement = db.prepare("SELECT name FROM pragma_table_info(?1) ORDER BY cid")?;
    statement.query_map([table], |row| row.get(0))?.collect()
}

fn json(value: ValueRef) -> Value {
    match value {
        ValueRef::Integer(number) => number.into(),
        ValueRef::Real(number) => number.into(),
        ValueRef::Text(text) => String::from_utf8_lossy(text).into(),
        ValueRef::Null | ValueRef::Blob(_) => Value::Null,
    }
}

/// The field's name and stamps from a table of names and values, as ours has one.
fn run_info(sheet: &Sheet, found: &mut Inspected) {
    let said = |row: &Row, name: &str| row.values.get(name).and_then(Value::as_str).map(plain);
    let field = sheet.rows.iter().find(|row| said(row, "name").as_deref() == Some("field"));
    found.field = found.field.take().or_else(|| said(field?, "value"));
    let is_stamp = |row: &&Row| said(row, "name").as_deref() == Some("stamp");
    let stamps = sheet.rows.iter().filter(is_stamp).filter_map(|row| said(row, "value"));
    found.notes.extend(stamps.take(8).map(|stamp| format!("it is stamped: {stamp}")));
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows that share their pages may hold a thousand times what the file does.
    #[test]
    fn values_larger_than_the_file_are_not_read() {
        let db = Connection::open_in_memory().unwrap();
        db.execute_batch("CREATE TABLE t (a); INSERT INTO t VALUES ('four'), ('five'), (6);")
            .unwrap();
        let table = Table { name: "t".into(), geometry: None };
        assert_eq!(sheet(&db, &table, 8).unwrap().rows.len(), 3);
        let problem = sheet(&db, &table, 7).map(|_| ()).unwrap_err().to_string();
        assert!(problem.contains("the values of t are larger than the file"), "{problem}");
    }
}
