//! What the archive of a season holds.

use rusqlite::{Connection, Result, Row};
use survey::units::tidy;

use crate::archive::{Names, each_file};
use crate::geopackage::is_plain_table;
use crate::input::sha256;
use crate::inspected::{Inspected, InspectedLayer, InspectedZone};
use crate::plain_text::plain;

/// The most visits that are listed.
const MOST_VISITS: usize = 1_000;
/// The most notes about single files.
const MOST_NOTES: usize = 8;

/// Says it of an archive of so many bytes.
pub(super) fn describe(db: &Connection, archive_bytes: usize, found: &mut Inspected) -> Result<()> {
    let by = match (said(db, "program")?, said(db, "version")?) {
        (Some(program), Some(version)) => format!(", written by {program} {version}"),
        _ => String::new(),
    };
    found.format = format!("GeoPackage, the archive of a season{by}");
    found.field = said(db, "field")?;
    found.extent_deg = extent(db)?;
    found.layers.extend(visits(db)?);
    files(db, archive_bytes, found);
    if let [count] =
        all(db, "readings", "SELECT count(*) FROM readings", |row| row.get::<_, i64>(0))?[..]
    {
        found.notes.push(format!(
            "its layer readings has {count} readings, as they were before corrections"
        ));
    }
    found.notes.push("it can be given to a command in the place of the field's folder".into());
    Ok(())
}

/// The rows of a statement about one table, none where that is no plain table.
fn all<T>(
    db: &Connection,
    table: &str,
    sql: &str,
    row: impl FnMut(&Row) -> Result<T>,
) -> Result<Vec<T>> {
    match is_plain_table(db, table)? {
        Some(true) => db.prepare(sql)?.query_map([], row)?.collect(),
        _ => Ok(Vec::new()),
    }
}

/// A value of the table `run_info`.
fn said(db: &Connection, name: &str) -> Result<Option<String>> {
    let sql = format!("SELECT substr(value, 1, 200) FROM run_info WHERE name = '{name}' LIMIT 1");
    let values = all(db, "run_info", &sql, |row| row.get::<_, Option<String>>(0))?;
    Ok(values.into_iter().flatten().next().map(|value| plain(&value)))
}

/// West, south, east and north of all layers, as the table of contents has them.
fn extent(db: &Connection) -> Result<Option<[f64; 4]>> {
    let sql = "SELECT min(min_x), min(min_y), max(max_x), max(max_y) FROM gpkg_contents \
               WHERE table_name IN ('readings', 'field')";
    let bounds = all(db, "gpkg_contents", sql, |row| {
        Ok([row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?])
    })?;
    Ok(bounds.first().and_then(|&[west, south, east, north]: &[Option<f64>; 4]| {
        Some([west?, south?, east?, north?])
    }))
}

/// A line for each visit.
fn visits(db: &Connection) -> Result<Option<InspectedLayer>> {
    let sql = format!(
        "SELECT substr(name, 1, 200), probes, median_cm, median_is_at_least, moisture_mean_pct \
         FROM visits LIMIT {MOST_VISITS}"
    );
    let zones = all(db, "visits", &sql, visit)?;
    Ok((!zones.is_empty()).then(|| InspectedLayer {
        name: "visits".into(),
        quantities: ["probes", "median depth in cm", "soil moisture in percent"]
            .map(str::to_owned)
            .into(),
        zones,
        ..InspectedLayer::default()
    }))
}

fn visit(row: &Row) -> Result<InspectedZone> {
    let name: Option<String> = row.get(0)?;
    let probes: Option<i64> = row.get(1)?;
    let median_cm: Option<f64> = row.get(2)?;
    let at_least = if row.get::<_, Option<bool>>(3)? == Some(true) { ">= " } else { "" };
    let moisture_pct: Option<f64> = row.get(4)?;
    let values = [
        probes.map(|count| format!("{count} probes")),
        median_cm.map(|cm| format!("{at_least}{} cm", tidy(cm, 1))),
        moisture_pct.map(|pct| format!("{} %", tidy(pct, 1))),
    ];
    let values = values.map(Option::unwrap_or_default).into();
    Ok(InspectedZone { name: plain(&name.unwrap_or_default()), values, ..InspectedZone::default() })
}

/// A line for each file, and what is wrong with any.
fn files(db: &Connection, archive_bytes: usize, found: &mut Inspected) {
    let mut names = Names::default();
    let mut problems = Vec::new();
    let mut zones = Vec::new();
    let read = each_file(db, archive_bytes, |row| {
        problems.extend(names.accept(row.name).err());
        let is_whole = sha256(row.content) == row.sha256.to_ascii_lowercase();
        let name = plain(row.name);
        if !is_whole {
            problems.push(format!("file {name} is not the one that was archived"));
        }
        let bytes = format!("{} bytes", row.content.len());
        zones.push(InspectedZone {
            name,
            values: vec![plain(row.part), bytes],
            ..InspectedZone::default()
        });
        Ok(())
    });
    problems.extend(read.err().map(|problem| format!("the archive {problem}")));
    let more = problems.len().saturating_sub(MOST_NOTES);
    problems.truncate(MOST_NOTES);
    if problems.is_empty() {
        found.notes.push("each of its files is the one that was archived".into());
    }
    found.notes.append(&mut problems);
    if more > 0 {
        found.notes.push(format!("{more} more of its files are faulty"));
    }
    found.layers.push(InspectedLayer { name: "files".into(), zones, ..InspectedLayer::default() });
}
