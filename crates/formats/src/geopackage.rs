//! The survey as a GeoPackage 1.4.0: OGC 12-128r19, one SQLite file that GIS programs open.
//!
//! | table | one row is |
//! |---|---|
//! | `probes` | a spot of the checked survey: its combined reading, with `depth_cm` the depth probed where `outcome` is `not_reached` |
//! | `insertions` | an insertion as read, left out or not |
//! | `profiles` | a reading of a profile; `insertion` is the `fid` of its insertion |
//! | `findings` | something found, and what was done about it |
//! | `run_info` | a name and a value: threshold, days, counts |
//!
//! The two point layers are WGS 84, longitude first (clause 2.1.3.1: whatever EPSG's axis order). There
//! is no R-tree: its triggers need functions that plain SQLite lacks, and a survey is small.
//!
//! The same survey gives the same bytes: the data base is made in memory, nothing is ever deleted from
//! it, and `last_change` is the first day of the visit, or 1970 where there is none.

mod geometry;
mod opened;
mod rows;

pub(crate) use geometry::{SRS_ID, multi_polygon, point};
pub(crate) use opened::{Opened, is_plain_table, opened};
pub(crate) use rows::{cm, count, kpa, mm};
use rusqlite::{Connection, params};
use survey::{CheckedSurvey, Date, LonLat, Survey};

use crate::error::FormatError;

const CORE_TABLES: &str = include_str!("geopackage/core.sql");
const SURVEY_TABLES: &str = include_str!("geopackage/survey.sql");

/// A survey, as read and as checked, as the bytes of a GeoPackage.
///
/// # Errors
/// [`FormatError::GeoPackage`] when SQLite refuses, for want of memory.
pub fn survey_geopackage(survey: &Survey, checked: &CheckedSurvey) -> Result<Vec<u8>, FormatError> {
    geopackage(checked.dates().map(|(first, _)| first), |contents| {
        let db = contents.db;
        db.execute_batch(SURVEY_TABLES)?;
        let places = rows::probes(db, checked)?;
        let bounds = bounds_of(&places);
        contents.features(
            "probes",
            "POINT",
            "spots of the checked survey with their readings",
            bounds,
        )?;
        let places = rows::insertions(db, survey)?;
        contents.features("insertions", "POINT", "every insertion as read", bounds_of(&places))?;
        contents.attributes("profiles", "readings of cone-index profiles")?;
        rows::findings(db, checked.findings())?;
        contents.attributes("findings", "what was found in the survey, and what was done")?;
        rows::run_info(db, survey, checked)?;
        contents.attributes("run_info", "how the survey was checked")
    })
}

/// A GeoPackage with the standard's own tables, filled with others, as bytes.
pub(crate) fn geopackage(
    last_change: Option<Date>,
    fill: impl FnOnce(&Contents) -> rusqlite::Result<()>,
) -> Result<Vec<u8>, FormatError> {
    let bytes = || {
        let mut db = Connection::open_in_memory()?;
        db.execute_batch("PRAGMA page_size = 4096; PRAGMA encoding = 'UTF-8';")?;
        let transaction = db.transaction()?;
        transaction.execute_batch(CORE_TABLES)?;
        // As clause 1.1.3.1.1 writes times.
        let day = last_change.map_or("1970-01-01".into(), |day| day.to_string());
        let last_change = format!("{day}T00:00:00.000Z");
        fill(&Contents { db: &transaction, last_change })?;
        transaction.commit()?;
        Ok(db.serialize("main")?.to_vec())
    };
    bytes().map_err(|source: rusqlite::Error| FormatError::GeoPackage { source: Box::new(source) })
}

/// West, south, east and north of some places.
pub(crate) fn bounds_of(places: &[LonLat]) -> [Option<f64>; 4] {
    let [west, east] = ends(places.iter().map(|place| place.lon_deg));
    let [south, north] = ends(places.iter().map(|place| place.lat_deg));
    [west, south, east, north]
}

/// The table of contents (clause 1.1.3) in the making.
pub(crate) struct Contents<'a> {
    /// The data base.
    pub db: &'a Connection,
    last_change: String,
}

impl Contents<'_> {
    /// Enters a table of geometries of one type in WGS 84.
    pub fn features(
        &self,
        table: &str,
        geometry: &str,
        what: &str,
        bounds: [Option<f64>; 4],
    ) -> rusqlite::Result<()> {
        self.enter(table, "features", what, bounds, Some(SRS_ID))?;
        let sql = "INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', ?2, ?3, 0, 0)";
        self.db.execute(sql, params![table, geometry, SRS_ID])?;
        Ok(())
    }

    /// Enters a table without places.
    pub fn attributes(&self, table: &str, what: &str) -> rusqlite::Result<()> {
        self.enter(table, "attributes", what, [None; 4], None)
    }

    fn enter(
        &self,
        table: &str,
        data_type: &str,
        what: &str,
        [west, south, east, north]: [Option<f64>; 4],
        srs_id: Option<i32>,
    ) -> rusqlite::Result<()> {
        let sql = "INSERT INTO gpkg_contents VALUES (?1, ?2, ?1, ?3, ?4, ?5, ?6, ?7, ?8, ?9)";
        let last_change = &self.last_change;
        self.db.execute(
            sql,
            params![table, data_type, what, last_change, west, south, east, north, srs_id],
        )?;
        Ok(())
    }
}

/// The least and the greatest of some numbers, those that are not finite aside.
fn ends(numbers: impl Iterator<Item = f64>) -> [Option<f64>; 2] {
    numbers.filter(|number| number.is_finite()).fold([None, None], |[least, greatest], number| {
        [
            Some(least.map_or(number, |least: f64| least.min(number))),
            Some(greatest.map_or(number, |greatest: f64| greatest.max(number))),
        ]
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use survey::{
        CheckSettings, ConeIndex, Depth, Insertion, Measured, Outcome, Pressure, Profile, check,
    };

    fn survey() -> Survey {
        let at = |number: usize, lon_deg: f64, measured| Insertion {
            id: Some(format!("P{number}, \"Å\"")),
            date: Some("2025-04-14".parse().unwrap()),
            ..Insertion::at(number, LonLat { lon_deg, lat_deg: 41.93 }, measured)
        };
        let reading =
            |cm, kpa| ConeIndex { depth: Depth::from_cm(cm), pressure: Pressure::from_kpa(kpa) };
        let profile = Profile::new(vec![reading(10.0, 500.0), reading(20.0, 2500.0)]).unwrap();
        let seven = Outcome::Reached(Depth::from_in(7.0));
        Survey {
            name: Some("North Bench".into()),
            features: 4,
            insertions: vec![
                at(1, -95.620, Measured::Once(seven)),
                at(
                    2,
                    -95.619,
                    Measured::Once(Outcome::NotReached { probed_to: Depth::from_cm(45.0) }),
                ),
                at(3, -95.618, Measured::Profile(profile)),
                at(4, -95.617, Measured::Once(Outcome::Refused)),
            ],
            ..Survey::default()
        }
    }

    fn package() -> Vec<u8> {
        let survey = survey();
        let checked = check(&survey, None, &CheckSettings::default()).unwrap();
        survey_geopackage(&survey, &checked).unwrap()
    }

    fn opened(bytes: &[u8]) -> Connection {
        let mut db = Connection::open_in_memory().unwrap();
        db.deserialize_read_exact("main", bytes, bytes.len(), true).unwrap();
        db
    }

    #[test]
    fn the_same_survey_gives_the_same_bytes_without_a_free_page() {
        let bytes = package();
        assert!(bytes == package(), "two runs differ");
        assert_eq!(&bytes[..16], b"SQLite format 3\0");
        // SQLite's file format, section 1.3: application id at 68, user version at 60, free pages at 36.
        assert_eq!(&bytes[68..72], b"GPKG");
        assert_eq!(bytes[60..64], 10_400_u32.to_be_bytes());
        assert_eq!(bytes[36..40], [0; 4]);
    }

    #[test]
    fn every_insertion_and_reading_has_a_row() {
        let db = opened(&package());
        let count = |table: &str| -> i64 {
            db.query_row(&format!("SELECT count(*) FROM {table}"), [], |row| row.get(0)).unwrap()
        };
        assert_eq!(["probes", "insertions", "profiles"].map(count), [3, 4, 2]);
        let text = |sql: &str| -> String { db.query_row(sql, [], |row| row.get(0)).unwrap() };
        assert_eq!(text("PRAGMA integrity_check"), "ok");
        assert_eq!(
            text("SELECT group_concat(outcome) FROM insertions"),
            "reached,not_reached,profile,stone"
        );
        assert_eq!(text("SELECT depth_cm || outcome FROM probes WHERE fid = 1"), "17.78reached");
        assert_eq!(text("SELECT hex(geom) FROM insertions WHERE fid = 1").len(), 2 * 29);
        assert_eq!(text("SELECT max(last_change) FROM gpkg_contents"), "2025-04-14T00:00:00.000Z");
        assert_eq!(text("SELECT value FROM run_info WHERE name = 'threshold_psi'"), "200");
    }

    #[test]
    fn findings_say_whom_they_are_about() {
        let survey = survey();
        let mut with_stray = survey.clone();
        with_stray.insertions[3].place.lat_deg = 95.0;
        let checked = check(&with_stray, None, &CheckSettings::default()).unwrap();
        let db = opened(&survey_geopackage(&with_stray, &checked).unwrap());
        let sql = "SELECT severity, subject, text FROM findings WHERE severity = 'fault'";
        let row = |row: &rusqlite::Row| Ok((row.get(0)?, row.get(1)?, row.get(2)?));
        let found: (String, String, String) = db.query_row(sql, [], row).unwrap();
        assert_eq!((found.0.as_str(), found.1.as_str()), ("fault", "point P4, \"Å\", feature 4"));
        assert!(found.2.ends_with("; left out"), "{}", found.2);
    }
}
