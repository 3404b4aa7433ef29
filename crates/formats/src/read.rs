//! A survey from a file of any format that readings come in.
//!
//! The whole file is held while it is read, and beside it one record and what was read so far: some
//! 260 bytes an insertion and its texts, 24 a reading of a profile. A file has at most 1 GB and five
//! million records, so that none takes more than some 5 GB (reckoned). Measured with the example `read_a_survey` in
//! release mode (`/usr/bin/time -v`, x86-64 Linux, November 2026): GeoJSON of 250 MB and a million
//! points 0.53 GB and 3.5 s; a table of 160 MB, three million lines and 125 000 profiles 0.35 GB and
//! 5.1 s; 4.9 million lines of the shortest kind 1.3 GB and 3.1 s.

use std::path::{Path, PathBuf};

use survey::{CoordinateSystem, RecordKind, Survey};

use crate::collector::Collector;
use crate::columns::Columns;
use crate::error::FormatError;
use crate::geojson::{is_sequence, read_collection, read_sequence};
use crate::gpx::{self, Waypoints, read_waypoints};
use crate::input::{InputFile, read_bytes, text};
use crate::join::{Places, read_joined};
use crate::recognise::{Format, recognise};
use crate::record::{Numbers, RecordSink};
use crate::shapefile::{self, Beside, read_points, read_shapefile};
use crate::table::{Table, read_table};

/// What a user says of a file of readings.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ReadSettings {
    /// Which column or property is what.
    pub columns: Columns,
    /// The coordinate system, where it is not WGS 84 longitude and latitude and the file does not
    /// say so.
    pub crs: Option<CoordinateSystem>,
    /// A table with the readings, by the names of the points that the file gives the places of.
    pub join: Option<PathBuf>,
}

/// Reads a survey. The format is told by the file's content: GeoJSON, as a collection or a sequence;
/// a table of text; waypoints of GPX; points of a shapefile. A record that cannot be read is left
/// out with a finding. The files read are given with the survey, its own first.
///
/// # Errors
/// When the file is of no such format, its coordinate system is not known, no column holds a depth
/// with a known unit, or no record is usable.
pub fn read_survey(
    path: &Path,
    settings: &ReadSettings,
) -> Result<(Vec<InputFile>, Survey), FormatError> {
    let (input, bytes) = read_bytes(path)?;
    if bytes.is_empty() {
        return Err(FormatError::Empty { file: path.to_path_buf() });
    }
    let format = recognise(path, &bytes)?;
    let beside = match format {
        Format::Shapefile => Some(Beside::read(path)?),
        _ => None,
    };
    let source = Source { path, bytes: &bytes, format, beside: beside.as_ref(), settings };
    let mut inputs = vec![input];
    let (mut collector, stated) = match &settings.join {
        None => source.survey()?,
        Some(readings) => {
            let (table, bytes) = read_bytes(readings)?;
            inputs.push(table);
            source.joined(readings, &bytes)?
        }
    };
    let crs = source.crs(stated, &mut collector)?;
    let survey = collector.finish(path, crs.as_ref())?;
    if let Some(Beside { dbf, prj }) = beside {
        inputs.extend(dbf.map(|(file, _)| file));
        inputs.extend(prj.map(|(file, _)| file));
    }
    Ok((inputs, survey))
}

/// A file to be read.
struct Source<'s> {
    path: &'s Path,
    bytes: &'s [u8],
    format: Format,
    beside: Option<&'s Beside>,
    settings: &'s ReadSettings,
}

/// Something read, and the coordinate system the file states.
type WithCrs<T> = (T, Option<CoordinateSystem>);

impl<'s> Source<'s> {
    fn text(&self) -> Result<&'s str, FormatError> {
        text(self.path, self.bytes)
    }

    /// Readings and places from this file.
    fn survey(&self) -> Result<WithCrs<Collector<'s>>, FormatError> {
        let columns = &self.settings.columns;
        match (self.format, self.beside) {
            (Format::GeoJson, _) => {
                let mut collector = Collector::new(columns, RecordKind::Feature, Numbers::Json);
                let (name, crs) = self.geojson(&mut collector)?;
                collector.name(name);
                Ok((collector, crs))
            }
            (Format::Gpx, _) => Ok((self.waypoints()?, None)),
            (Format::Shapefile, Some(beside)) => {
                let collector = read_shapefile(self.path, self.bytes, beside, columns)?;
                Ok((collector, self.prj()))
            }
            _ => {
                let has_crs = self.settings.crs.is_some();
                Ok((read_table(self.path, self.text()?, columns, has_crs)?, None))
            }
        }
    }

    fn geojson(&self, sink: &mut dyn RecordSink) -> Result<WithCrs<Option<String>>, FormatError> {
        let text = self.text()?;
        if is_sequence(text) {
            read_sequence(self.path, text, sink)?;
            return Ok((None, None));
        }
        let collection = read_collection(self.path, text, sink)?;
        Ok((collection.name, collection.crs))
    }

    fn waypoints(&self) -> Result<Collector<'s>, FormatError> {
        // Waypoints have no columns: what the user says of columns is not about them.
        static NO_COLUMNS: Columns = Columns::NONE;
        let mut collector = Collector::new(&NO_COLUMNS, RecordKind::Waypoint, gpx::NUMBERS);
        let found = read_waypoints(self.path, self.text()?, false, &mut collector)?;
        let file = || self.path.to_path_buf();
        if found.waypoints == 0 {
            return Err(FormatError::NoRecords { file: file(), kind: "waypoint" });
        }
        if found.with_reading == 0 {
            let waypoints = found.waypoints;
            return Err(FormatError::NoReadingInWaypoints { file: file(), waypoints });
        }
        collector.header(&["depth_in".to_owned()]);
        if self.settings.columns != NO_COLUMNS {
            collector.note("waypoints have no columns", "the names of columns are not used");
        }
        note_lines(&found, &mut collector);
        Ok(collector)
    }

    /// Places from this file, readings from a table.
    fn joined(
        &self,
        readings: &'s Path,
        table: &[u8],
    ) -> Result<WithCrs<Collector<'s>>, FormatError> {
        let columns = &self.settings.columns;
        let file = || self.path.to_path_buf();
        let (kind, places, crs) = match self.format {
            Format::GeoJson => {
                let mut places = Places::new(columns, Numbers::Json);
                let (_, crs) = self.geojson(&mut places)?;
                (RecordKind::Feature, places, crs)
            }
            Format::Gpx => {
                let mut places = Places::new(columns, gpx::NUMBERS);
                let found = read_waypoints(self.path, self.text()?, true, &mut places)?;
                if found.waypoints == 0 {
                    return Err(FormatError::NoRecords { file: file(), kind: "waypoint" });
                }
                (RecordKind::Waypoint, places, None)
            }
            Format::Shapefile => {
                let mut places = Places::new(columns, shapefile::NUMBERS);
                let dbf = self.beside.and_then(|beside| beside.dbf.as_ref());
                let dbf = dbf.map(|(_, bytes)| bytes.as_slice());
                read_points(self.path, self.bytes, dbf, &mut places)?;
                (RecordKind::Shape, places, self.prj())
            }
            Format::Table => {
                let table = Table::new(self.path, self.text()?, columns)?;
                table.check_id(self.path, columns)?;
                let has_crs = self.settings.crs.is_some();
                let place = table.place_columns(self.path, columns, has_crs)?;
                let mut places = Places::new(columns, table.numbers());
                table.read(Some(place), &mut places);
                (RecordKind::Line, places, None)
            }
        };
        if recognise(readings, table)? != Format::Table {
            return Err(FormatError::OtherFormat {
                file: readings.to_path_buf(),
                what: "not a table of text",
                next: "--join takes a CSV with the readings",
            });
        }
        let text = text(readings, table)?;
        Ok((read_joined(readings, text, columns, kind, places)?, crs))
    }

    fn prj(&self) -> Option<CoordinateSystem> {
        self.beside?.prj.as_ref().map(|(_, system)| system.clone())
    }

    /// The coordinate system: what the file states, or else what the user says.
    fn crs(
        &self,
        stated: Option<CoordinateSystem>,
        collector: &mut Collector,
    ) -> Result<Option<CoordinateSystem>, FormatError> {
        let asked = self.settings.crs.clone();
        match (stated, asked) {
            (Some(stated), Some(asked)) if stated != asked => Err(FormatError::TwoCrs {
                file: self.path.to_path_buf(),
                stated: stated.to_string(),
                asked: asked.to_string(),
            }),
            (None, None) => {
                if self.format == Format::Shapefile {
                    collector.note("there is no .prj", "taken as WGS 84 longitude and latitude");
                }
                Ok(None)
            }
            (stated, asked) => Ok(stated.or(asked)),
        }
    }
}

fn note_lines(found: &Waypoints, collector: &mut Collector) {
    if found.lines > 0 {
        let problem = format!("there are {} routes and tracks", found.lines);
        collector.note(problem, "not read; readings are waypoints");
    }
}
