//! A GeoPackage that anybody may have made, opened to be read: a copy in memory, so that nothing beside the
//! file is made or changed.

use std::sync::atomic::{AtomicU64, Ordering};

use rusqlite::limits::Limit;
use rusqlite::{Connection, OptionalExtension, Result};

/// Steps of SQLite's machine for the whole file, in thousands: some seconds.
const MOST_STEPS: u64 = 2_000_000;

/// A data base in memory.
pub(crate) struct Opened {
    /// The data base; its time is bounded, and it cannot be changed.
    pub db: Connection,
    /// Whether the file keeps a write-ahead log beside it: what stands only there is not seen.
    pub has_log: bool,
}

/// Opens the bytes of a GeoPackage, of which no value may be longer than `most_value_bytes`.
///
/// # Errors
/// When it is no SQLite data base, or has no table of contents.
pub(crate) fn opened(mut bytes: Vec<u8>, most_value_bytes: i32) -> Result<Opened> {
    let mut has_log = false;
    // SQLite's file format, section 1.3: 2 at these places asks for a log file beside the file.
    if let Some(versions) = bytes.get_mut(18..20)
        && versions == [2, 2]
    {
        versions.fill(1);
        has_log = true;
    }
    let mut db = Connection::open_in_memory()?;
    db.deserialize_read_exact("main", &*bytes, bytes.len(), true)?;
    drop(bytes);
    bound(&db, most_value_bytes)?;
    let sql = "SELECT count(*) FROM sqlite_master WHERE name = 'gpkg_contents'";
    match db.query_row(sql, [], |row| row.get::<_, i64>(0))? {
        0 => Err(rusqlite::Error::InvalidParameterName("it has no table gpkg_contents".into())),
        _ => Ok(Opened { db, has_log }),
    }
}

/// Nothing in the file makes SQLite work without end or fill the memory.
fn bound(db: &Connection, most_value_bytes: i32) -> Result<()> {
    db.execute_batch(
        "PRAGMA trusted_schema = OFF; PRAGMA query_only = ON; PRAGMA cell_size_check = ON;",
    )?;
    db.set_limit(Limit::SQLITE_LIMIT_LENGTH, most_value_bytes)?;
    db.set_limit(Limit::SQLITE_LIMIT_ATTACHED, 0)?;
    let steps = AtomicU64::new(0);
    db.progress_handler(1_000, Some(move || steps.fetch_add(1, Ordering::Relaxed) > MOST_STEPS));
    Ok(())
}

/// Whether a table keeps its rows itself; `None` where there is none of that name.
pub(crate) fn is_plain_table(db: &Connection, name: &str) -> Result<Option<bool>> {
    let sql = "SELECT type = 'table' AND rootpage > 0 FROM sqlite_master WHERE name = ?1";
    let Some(keeps_rows) = db.query_row(sql, [name], |row| row.get::<_, bool>(0)).optional()?
    else {
        return Ok(None);
    };
    // Columns of a number above 1 are reckoned from others.
    let sql = "SELECT count(*) FROM pragma_table_xinfo(?1) WHERE hidden > 1";
    let reckoned: i64 = db.query_row(sql, [name], |row| row.get(0))?;
    Ok(Some(keeps_rows && reckoned == 0))
}
