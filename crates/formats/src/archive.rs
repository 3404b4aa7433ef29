//! A season in one file: a GeoPackage 1.4.0 (OGC 12-128r19) that keeps the files of a field's folder byte for
//! byte, and beside them what they say, as tables that any GIS shows.
//!
//! | table | one row is |
//! |---|---|
//! | `readings` | a push of the rod as its file has it, before corrections; a point |
//! | `field` | the outline, where there is one |
//! | `profile_readings` | a depth of a reading that is a profile, where there is one |
//! | `visits` | a visit with a summary of its checked readings |
//! | `findings` | what was found in a visit |
//! | `settings` | a setting of the season |
//! | `edits` | a correction |
//! | `results` | a result that was made from it, by name and hash |
//! | `files` | a file of the folder: name, part, hash, bytes |
//! | `run_info` | what made the archive |
//! | `about` | what a table or a column holds, in plain words and with its unit |
//!
//! Only `files` is read back: the other tables are made from it. So a season can be moved, kept and taken
//! up again as one file, and who has no `loosedepth` still has its readings.
//!
//! The same season gives the same bytes: see `geopackage`.

mod collect;
mod layout;
mod names;
mod outline;
mod read;
mod readings;
mod unpack;
mod visits;

use layout::{ABOUT, EDITS, FILES, RESULTS, RUN_INFO, SETTINGS, Table};
pub(crate) use names::Names;
pub use read::{Archive, is_archive, read_archive};
pub(crate) use read::{each_file, is_season};
use rusqlite::{Result as SqliteResult, params};
use survey::{Boundary, CheckedSurvey, Date, Edit, Survey};
pub use unpack::unpack;

use crate::error::FormatError;
use crate::geopackage::{Contents, count, geopackage};
use crate::input::{MOST_MB, sha256};

/// A file of the field's folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ArchivedFile {
    /// What it is for: settings, boundary, strata, visit, edits, rates, weather.
    pub part: String,
    /// Its path below the field's folder, parts separated by `/`.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// A visit of the season.
#[derive(Debug, Clone, Copy)]
pub struct ArchivedVisit<'a> {
    /// What it is called.
    pub name: &'a str,
    /// The name of its archived file.
    pub file: &'a str,
    /// What the file says, before corrections. Where visits share a file it is the same for all of them;
    /// a reading is then listed with the visit that has its day.
    pub survey: &'a Survey,
    /// The checked survey.
    pub checked: &'a CheckedSurvey,
}

/// What an archive is made from.
#[derive(Debug, Clone, Copy)]
pub struct SeasonArchive<'a> {
    /// The program's version.
    pub version: &'a str,
    /// The field's name.
    pub field_name: &'a str,
    /// The day it is made; `None` takes the last day of its visits.
    pub created: Option<Date>,
    /// The files of the field's folder, in any order.
    pub files: &'a [ArchivedFile],
    /// The visits, by date.
    pub visits: &'a [ArchivedVisit<'a>],
    /// The outline, as its file has it.
    pub boundary: Option<&'a Boundary>,
    /// Settings and their values, as texts.
    pub settings: &'a [(String, String)],
    /// The corrections.
    pub edits: &'a [Edit],
    /// Name and SHA-256 of each result.
    pub results: &'a [(String, String)],
}

/// How the files come out of the archive without this program.
const WITHOUT_PROGRAM: &str =
    "with the sqlite3 shell: SELECT writefile(replace(name, '/', '-'), content) FROM files";

/// A season as the bytes of a GeoPackage.
///
/// # Errors
/// [`FormatError::Unarchivable`] when a file's name could not be written on every system, lies outside of
/// the folder or stands for two files, or when the archive is larger than 1 GB;
/// [`FormatError::GeoPackage`] when SQLite refuses, for want of memory.
pub fn season_geopackage(season: &SeasonArchive) -> Result<Vec<u8>, FormatError> {
    let unarchivable = |problem: String| FormatError::Unarchivable { problem };
    let mut names = Names::default();
    season.files.iter().try_for_each(|file| names.accept(&file.name)).map_err(unarchivable)?;
    let last_day = season.visits.iter().filter_map(|visit| Some(visit.checked.dates()?.1)).max();
    let bytes = geopackage(season.created.or(last_day), |contents| fill(contents, season))?;
    match bytes.len() as u64 > MOST_MB << 20 {
        true => Err(unarchivable(format!("it is larger than {MOST_MB} MB"))),
        false => Ok(bytes),
    }
}

fn fill(contents: &Contents, season: &SeasonArchive) -> SqliteResult<()> {
    ABOUT.create(contents.db)?;
    readings::write(contents, season.visits)?;
    if let Some(boundary) = season.boundary {
        outline::write(contents, season.field_name, boundary)?;
    }
    visits::write(contents, season.visits)?;
    write_pairs(contents, &SETTINGS, pairs(season.settings))?;
    write_edits(contents, season.edits)?;
    write_pairs(contents, &RESULTS, pairs(season.results))?;
    write_files(contents, season.files)?;
    let created = season.created.map(|day| day.to_string());
    let said = [
        ("program", Some("loosedepth")),
        ("version", Some(season.version)),
        ("field", Some(season.field_name)),
        ("created", created.as_deref()),
        ("files_without_the_program", Some(WITHOUT_PROGRAM)),
    ];
    write_pairs(
        contents,
        &RUN_INFO,
        said.into_iter().filter_map(|(name, value)| Some((name, value?))),
    )?;
    contents.attributes(ABOUT.name, ABOUT.what)
}

fn pairs(pairs: &[(String, String)]) -> impl Iterator<Item = (&str, &str)> {
    pairs.iter().map(|(name, value)| (name.as_str(), value.as_str()))
}

/// A table of two texts.
fn write_pairs<'a>(
    contents: &Contents,
    table: &Table,
    pairs: impl Iterator<Item = (&'a str, &'a str)>,
) -> SqliteResult<()> {
    table.create(contents.db)?;
    let mut insert = contents.db.prepare(&table.insertion())?;
    for (name, value) in pairs {
        insert.execute(params![shown_text(name), shown_text(value)])?;
    }
    contents.attributes(table.name, table.what)
}

fn write_edits(contents: &Contents, edits: &[Edit]) -> SqliteResult<()> {
    EDITS.create(contents.db)?;
    let mut insert = contents.db.prepare(&EDITS.insertion())?;
    for edit in edits {
        let Edit { line, visit, point, field, old, new, who, why } = edit;
        let visit = visit.map(|day| day.to_string());
        let [point, field, old, new, who, why] =
            [point, field, old, new, who, why].map(|text| shown_text(text));
        insert.execute(params![count(*line), visit, point, field, old, new, who, why])?;
    }
    contents.attributes(EDITS.name, EDITS.what)
}

/// The files by name, so that their order does not matter.
fn write_files(contents: &Contents, files: &[ArchivedFile]) -> SqliteResult<()> {
    FILES.create(contents.db)?;
    let mut insert = contents.db.prepare(&FILES.insertion())?;
    let mut sorted: Vec<&ArchivedFile> = files.iter().collect();
    sorted.sort_by(|a, b| a.name.cmp(&b.name));
    for ArchivedFile { part, name, bytes } in sorted {
        insert.execute(params![name, part, sha256(bytes), count(bytes.len()), bytes])?;
    }
    contents.attributes(FILES.name, FILES.what)
}

/// A text without NULs, at which programs written in C end it.
fn shown_text(text: &str) -> String {
    text.replace('\0', "")
}
