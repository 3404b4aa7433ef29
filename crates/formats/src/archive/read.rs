//! The files out of an archive that anybody may have made or changed.
//!
//! Only the table `files` is read, and only where it is a plain table. SQLite works on a copy in memory, so
//! that nothing beside the archive is made or changed; `geopackage::opened` bounds its time, and the files
//! may take no more bytes than the archive itself.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use rusqlite::types::ValueRef;
use rusqlite::{Connection, Row};

use super::ArchivedFile;
use super::layout::{FILES, RUN_INFO};
use super::names::{Names, shown};
use crate::error::FormatError;
use crate::geopackage::{is_plain_table, opened};
use crate::input::{InputFile, read_bytes, sha256};
use crate::plain_text::plain;

/// First bytes of a SQLite file (SQLite's file format, section 1.2).
const SQLITE: &[u8; 16] = b"SQLite format 3\0";
/// The most files.
const MOST_FILES: usize = 10_000;
/// What SQLite's limit of a value may not be below, for its own statements.
const LEAST_VALUE_BYTES: usize = 1 << 16;

/// The files of a field's folder, out of an archive. Their names lie below the folder, differ in more than
/// case, and each file is what it was when it was archived.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Archive {
    input: InputFile,
    field_name: Option<String>,
    files: Vec<ArchivedFile>,
}

impl Archive {
    /// The archive itself, as results name it.
    pub fn input(&self) -> &InputFile {
        &self.input
    }

    /// The field's name, where the archive says it.
    pub fn field_name(&self) -> Option<&str> {
        self.field_name.as_deref()
    }

    /// The files by name; at least one.
    pub fn files(&self) -> &[ArchivedFile] {
        &self.files
    }
}

/// Whether a file is the archive of a season, by its content: a GeoPackage with a plain table `files`. A
/// damaged SQLite data base counts as one, so that [`read_archive`] says what is wrong with it. A pipe counts as
/// none, and nothing is taken out of it.
pub fn is_archive(path: &Path) -> bool {
    if !path.is_file() {
        return false;
    }
    let mut head = [0; SQLITE.len()];
    let has_head = File::open(path).and_then(|mut file| file.read_exact(&mut head)).is_ok();
    if !has_head || head != *SQLITE {
        return false;
    }
    let Ok((_, bytes)) = read_bytes(path) else { return true };
    opened(bytes, i32::MAX).and_then(|package| is_season(&package.db)).unwrap_or(true)
}

/// Whether a data base has a plain table of files.
pub(crate) fn is_season(db: &Connection) -> rusqlite::Result<bool> {
    let has_columns = || db.prepare(SELECT).is_ok();
    Ok(is_plain_table(db, FILES.name)? == Some(true) && has_columns())
}

const SELECT: &str = "SELECT name, part, sha256, content FROM files";

/// Reads the files of an archive.
///
/// # Errors
/// When the file cannot be read, is larger than 1 GB, is no GeoPackage or a damaged one, has no plain table
/// of files, or a name in it could lead out of a folder or stand for two files; and when a file is not the
/// one that was archived.
pub fn read_archive(path: &Path) -> Result<Archive, FormatError> {
    let (input, bytes) = read_bytes(path)?;
    let archive = |problem| FormatError::Archive { file: path.to_path_buf(), problem };
    if bytes.is_empty() {
        return Err(FormatError::Empty { file: path.to_path_buf() });
    }
    if !bytes.starts_with(SQLITE) {
        return Err(archive("is no GeoPackage, so no archive of a season".into()));
    }
    let (field_name, files) = files_of(bytes).map_err(archive)?;
    Ok(Archive { input, field_name, files })
}

fn files_of(bytes: Vec<u8>) -> Result<(Option<String>, Vec<ArchivedFile>), String> {
    let size = bytes.len();
    let most = i32::try_from(size.max(LEAST_VALUE_BYTES)).unwrap_or(i32::MAX);
    let db = opened(bytes, most).map_err(unsound)?.db;
    match is_plain_table(&db, FILES.name).map_err(unsound)? {
        None => return Err("is no archive of a season: it has no table `files`".into()),
        Some(false) => return Err("its `files` are no plain table and are not read".into()),
        Some(true) => {}
    }
    let mut names = Names::default();
    let mut files = Vec::new();
    each_file(&db, size, |row| {
        names.accept(row.name)?;
        if sha256(row.content) != row.sha256.to_ascii_lowercase() {
            return Err(format!(
                "file {} is not the one that was archived: its bytes do not have the SHA-256 that stands \
                 beside them",
                shown(row.name)
            ));
        }
        let (part, name) = (row.part.to_owned(), row.name.to_owned());
        files.push(ArchivedFile { part, name, bytes: row.content.to_vec() });
        Ok(())
    })?;
    if files.is_empty() {
        return Err("its table `files` is empty".into());
    }
    files.sort_by(|a, b| a.name.cmp(&b.name));
    Ok((field_name(&db), files))
}

#[expect(clippy::needless_pass_by_value, reason = "as `map_err` hands it over")]
fn unsound(error: rusqlite::Error) -> String {
    format!("is no sound GeoPackage: {}", plain(&error.to_string()))
}

/// A row of the table of files, as it stands there.
pub(crate) struct ArchivedRow<'a> {
    /// The path below the folder.
    pub name: &'a str,
    /// What it is for.
    pub part: &'a str,
    /// The hash that was written beside it.
    pub sha256: &'a str,
    /// Its bytes.
    pub content: &'a [u8],
}

/// Hands over one file after another. Where rows share their pages, as in a damaged archive, they may hold
/// many times what it does: together they may not be larger than it.
pub(crate) fn each_file(
    db: &Connection,
    archive_bytes: usize,
    mut take: impl FnMut(ArchivedRow) -> Result<(), String>,
) -> Result<(), String> {
    let mut left_bytes = archive_bytes;
    let mut statement = db.prepare(SELECT).map_err(unsound)?;
    let mut rows = statement.query([]).map_err(unsound)?;
    for number in 1.. {
        let Some(row) = rows.next().map_err(unsound)? else { break };
        if number > MOST_FILES {
            return Err(format!("holds more than {MOST_FILES} files"));
        }
        let row = archived_row(row, number)?;
        let bytes = row.name.len() + row.part.len() + row.sha256.len() + row.content.len();
        left_bytes = left_bytes
            .checked_sub(bytes)
            .ok_or("is damaged: its files are larger than the archive itself")?;
        take(row)?;
    }
    Ok(())
}

fn archived_row<'a>(row: &'a Row, number: usize) -> Result<ArchivedRow<'a>, String> {
    let value = |column: usize| row.get_ref(column).map_err(unsound);
    let text = |column: usize, what: &str| match value(column)? {
        ValueRef::Text(bytes) => std::str::from_utf8(bytes)
            .map_err(|_| format!("the {what} of file {number} is not UTF-8 text")),
        _ => Err(format!("the {what} of file {number} is not a text")),
    };
    let name = text(0, "name")?;
    let ValueRef::Blob(content) = value(3)? else {
        return Err(format!("file {} has no content", shown(name)));
    };
    Ok(ArchivedRow { name, part: text(1, "part")?, sha256: text(2, "SHA-256")?, content })
}

/// The name of the field, where a plain table says one.
fn field_name(db: &Connection) -> Option<String> {
    if is_plain_table(db, RUN_INFO.name).ok()? != Some(true) {
        return None;
    }
    let sql = "SELECT value FROM run_info WHERE name = 'field' LIMIT 1";
    let name: String = db.query_row(sql, [], |row| row.get(0)).ok()?;
    Some(plain(&name)).filter(|name| !name.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows that share their pages may hold a thousand times what the archive does.
    #[test]
    fn files_larger_than_the_archive_are_not_read() {
        let db = Connection::open_in_memory().unwrap();
        db.execute_batch(
            "CREATE TABLE files (name, part, sha256, content);
             INSERT INTO files VALUES ('a', 'b', 'c', x'000000'), ('d', 'e', 'f', x'000000');",
        )
        .unwrap();
        let mut seen = 0;
        let mut read = |bytes| {
            each_file(&db, bytes, |_| {
                seen += 1;
                Ok(())
            })
        };
        assert_eq!(read(12), Ok(()));
        let problem = read(11).unwrap_err();
        assert!(problem.contains("larger than the archive itself"), "{problem}");
        assert_eq!(seen, 3);
    }
}
