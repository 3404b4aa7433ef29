//! The tables of an archive: their columns, and in plain words what these hold. The tables are made from
//! this list, and the table `about` is this list, so that the two cannot disagree.

use rusqlite::{Connection, Result, params};

/// A table of an archive.
pub(super) struct Table {
    /// Its name.
    pub name: &'static str,
    /// The type of its geometries, where it is a layer.
    pub geometry: Option<&'static str>,
    /// What a row is.
    pub what: &'static str,
    /// Its columns behind `fid` and the geometry.
    columns: &'static [Column],
}

/// A column: its name, its type (table 1 of the standard), its unit, and what it holds.
struct Column(&'static str, &'static str, &'static str, &'static str);

impl Table {
    /// Makes the table, and explains it in the table `about`.
    pub fn create(&self, db: &Connection) -> Result<()> {
        let geometry = self.geometry.map(|kind| format!(",\n  geom {kind}")).unwrap_or_default();
        let columns: String = self
            .columns
            .iter()
            .map(|Column(name, kind, ..)| format!(",\n  \"{name}\" {kind}"))
            .collect();
        db.execute_batch(&format!(
            "CREATE TABLE {} (\n  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL{geometry}{columns}\n)",
            self.name
        ))?;
        self.explain(db)
    }

    fn explain(&self, db: &Connection) -> Result<()> {
        let mut insert = db.prepare_cached(&ABOUT.insertion())?;
        let none = None::<&str>;
        insert.execute(params![self.name, none, none, self.what])?;
        if self.geometry.is_some() {
            let meaning = "the place on WGS 84 (EPSG:4326), longitude first";
            insert.execute(params![self.name, "geom", "degrees", meaning])?;
        }
        for Column(name, _, unit, meaning) in self.columns {
            let unit = Some(unit).filter(|unit| !unit.is_empty());
            insert.execute(params![self.name, name, unit, meaning])?;
        }
        Ok(())
    }

    /// The statement that adds a row; `fid` counts by itself.
    pub fn insertion(&self) -> String {
        let values = self.columns.len() + usize::from(self.geometry.is_some());
        format!("INSERT INTO {} VALUES (NULL{})", self.name, ", ?".repeat(values))
    }
}

/// What each table and column holds.
pub(super) const ABOUT: Table = Table {
    name: "about",
    geometry: None,
    what: "what each table and column of this file holds, for whoever opens it later; where column_name is \
           empty, the row is about the table",
    columns: &[
        Column("table_name", "TEXT", "", "name of the table"),
        Column("column_name", "TEXT", "", "name of the column, empty for the table as a whole"),
        Column("unit", "TEXT", "", "unit of the numbers in the column"),
        Column("meaning", "TEXT", "", "what stands there"),
    ],
};

/// Every insertion.
pub(super) const READINGS: Table = Table {
    name: "readings",
    geometry: Some("POINT"),
    what: "each push of the cone penetrometer into the ground as its file has it, before corrections; the \
           depth where the gauge first reached the threshold pressure is the depth of the loose layer",
    columns: &[
        Column("visit", "TEXT", "", "name of the visit in the table visits"),
        Column("file", "TEXT", "", "name in the table files of the file it was read from"),
        Column(
            "record",
            "INTEGER",
            "",
            "its place in that file, the first is 1; for text, the line",
        ),
        Column("point_id", "TEXT", "", "name of the probe point, where the file has one"),
        Column("date", "DATE", "", "day it was taken"),
        Column(
            "time",
            "TEXT",
            "",
            "time of day as the file has it, local unless it says otherwise",
        ),
        Column("measured", "TEXT", "", "single depth, or profile: cone index at several depths"),
        Column(
            "outcome",
            "TEXT",
            "",
            "reached: depth_cm is where the threshold was first reached; not reached: the gauge stayed below \
             it down to probed_to_cm, and the true depth is greater; refused: a stone or root stopped the \
             rod, no reading; skipped: the spot was passed over, no reading",
        ),
        Column(
            "depth_cm",
            "REAL",
            "cm",
            "depth where the threshold was reached, empty if it was not",
        ),
        Column("probed_to_cm", "REAL", "cm", "depth the rod went to, where that is known"),
        Column("depth_as_read", "REAL", "see unit_as_read", "depth_cm as the file has it"),
        Column("probed_to_as_read", "REAL", "see unit_as_read", "probed_to_cm as the file has it"),
        Column("unit_as_read", "TEXT", "", "unit of the file: in, cm, mm or m"),
        Column("threshold_kpa", "REAL", "kPa", "pressure the depth was read at"),
        Column(
            "threshold_from",
            "TEXT",
            "",
            "file: the file says it; check: it was taken to be so",
        ),
        Column("moisture_pct", "REAL", "percent", "soil moisture as the file has it"),
        Column("accuracy_m", "REAL", "m", "accuracy of the place that the receiver stated"),
        Column("cone_mm", "REAL", "mm", "diameter of the cone's base"),
        Column("instrument", "TEXT", "", "which penetrometer"),
        Column("operator", "TEXT", "", "who pushed"),
        Column("group", "TEXT", "", "what the spot belongs to, such as a treatment"),
        Column("note", "TEXT", "", "what the file notes beside the reading"),
        Column(
            "used",
            "BOOLEAN",
            "",
            "1 where the check of the visit kept it, 0 where it left it out",
        ),
        Column("corrected", "BOOLEAN", "", "1 where the table edits changed it before it was used"),
    ],
};

/// The readings of profiles.
pub(super) const PROFILE_READINGS: Table = Table {
    name: "profile_readings",
    geometry: None,
    what: "cone index at each depth of the readings that are profiles",
    columns: &[
        Column("reading", "INTEGER", "", "fid of the row of the table readings"),
        Column("depth_cm", "REAL", "cm", "depth below the surface of the soil"),
        Column("cone_index_kpa", "REAL", "kPa", "force on the cone over the area of its base"),
    ],
};

/// The field's outline.
pub(super) const FIELD: Table = Table {
    name: "field",
    geometry: Some("MULTIPOLYGON"),
    what: "outline of the field as its file has it",
    columns: &[
        Column("name", "TEXT", "", "name of the field"),
        Column("area_ha", "REAL", "ha", "area on the ground, holes left out"),
        Column("area_ac", "REAL", "ac", "the same in international acres"),
    ],
};

/// The visits.
pub(super) const VISITS: Table = Table {
    name: "visits",
    geometry: None,
    what: "each walk through the field, with a summary of its checked readings",
    columns: &[
        Column("name", "TEXT", "", "name of the visit: its first day"),
        Column("file", "TEXT", "", "name in the table files of the file that holds it"),
        Column("first_day", "DATE", "", "its first day"),
        Column("last_day", "DATE", "", "its last day"),
        Column("insertions", "INTEGER", "", "rows of the table readings, left out or not"),
        Column(
            "probes",
            "INTEGER",
            "",
            "spots with a reading that was used; of several pushes the median",
        ),
        Column("not_reached", "INTEGER", "", "probes where the threshold was not reached"),
        Column("refused", "INTEGER", "", "spots where a stone or root stopped the rod"),
        Column("skipped", "INTEGER", "", "spots that were passed over"),
        Column(
            "median_cm",
            "REAL",
            "cm",
            "median depth of the probes (Kaplan-Meier, 1958, which takes those that did not reach for what \
             they are)",
        ),
        Column(
            "median_is_at_least",
            "BOOLEAN",
            "",
            "1 where the median is only known to be greater",
        ),
        Column("lower_quartile_cm", "REAL", "cm", "a quarter of the probes is less deep"),
        Column("upper_quartile_cm", "REAL", "cm", "a quarter is deeper; empty where not reached"),
        Column("threshold_kpa", "REAL", "kPa", "pressure that ends the loose layer"),
        Column("sustained_cm", "REAL", "cm", "length that a profile must stay at or above it"),
        Column("moisture_mean_pct", "REAL", "percent", "mean soil moisture, where it was recorded"),
        Column("moisture_min_pct", "REAL", "percent", "lowest"),
        Column("moisture_max_pct", "REAL", "percent", "highest"),
        Column("spacing_m", "REAL", "m", "median distance of a probe to its nearest neighbour"),
    ],
};

/// What was found in the visits.
pub(super) const FINDINGS: Table = Table {
    name: "findings",
    geometry: None,
    what: "what was found when the readings of a visit were checked, and what was done about it",
    columns: &[
        Column("visit", "TEXT", "", "name of the visit in the table visits"),
        Column(
            "severity",
            "TEXT",
            "",
            "note: worth knowing; doubt: may be wrong, used as it stands; fault: left out or changed",
        ),
        Column("text", "TEXT", "", "what it is about, what was found, what was done"),
    ],
};

/// The settings of the season.
pub(super) const SETTINGS: Table = Table {
    name: "settings",
    geometry: None,
    what: "what the season's results were made with",
    columns: &[
        Column("key", "TEXT", "", "name of the setting"),
        Column("value", "TEXT", "", "its value, with its unit where it has one"),
    ],
};

/// The corrections.
pub(super) const EDITS: Table = Table {
    name: "edits",
    geometry: None,
    what: "corrections of single readings; the readings in this file are as they were before",
    columns: &[
        Column("line", "INTEGER", "", "line in the list of corrections"),
        Column("visit", "DATE", "", "a day of the visit that it corrects"),
        Column("point", "TEXT", "", "name of the probe point, or # and the number of its record"),
        Column("field", "TEXT", "", "which value is corrected; its name ends in its unit"),
        Column("old", "TEXT", "", "value before"),
        Column("new", "TEXT", "", "value after"),
        Column("who", "TEXT", "", "who says so"),
        Column("why", "TEXT", "", "for what reason"),
    ],
};

/// The files themselves.
pub(super) const FILES: Table = Table {
    name: "files",
    geometry: None,
    what: "the files of the field's folder, byte for byte: all else in this file can be made from them",
    columns: &[
        Column("name", "TEXT", "", "path below the field's folder, parts separated by /"),
        Column(
            "part",
            "TEXT",
            "",
            "what it is for: settings, boundary, visit, edits, weather and so on",
        ),
        Column("sha256", "TEXT", "", "SHA-256 of its bytes (FIPS 180-4), in hexadecimal"),
        Column("bytes", "INTEGER", "bytes", "how long it is"),
        Column("content", "BLOB", "", "its bytes"),
    ],
};

/// The results.
pub(super) const RESULTS: Table = Table {
    name: "results",
    geometry: None,
    what: "files that were made from the season, which this file does not hold; the hash tells whether one \
           at hand is the same",
    columns: &[
        Column("name", "TEXT", "", "name of the file"),
        Column("sha256", "TEXT", "", "SHA-256 of its bytes (FIPS 180-4), in hexadecimal"),
    ],
};

/// What the archive is.
pub(super) const RUN_INFO: Table = Table {
    name: "run_info",
    geometry: None,
    what: "what this file is, and what made it",
    columns: &[
        Column("name", "TEXT", "", "what is said"),
        Column("value", "TEXT", "", "how it is"),
    ],
};
