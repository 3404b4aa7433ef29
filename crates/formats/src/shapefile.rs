//! Points of an Esri shapefile: Esri Shapefile Technical Description (July 1998). The header is 100
//! bytes (page 4), a record's header 8 (page 5), a point 20 (page 6), one with a measure 28 (page 10),
//! one with a height 36 (page 15); a null shape has no place (page 6).
//!
//! Records are read one after another, as the main file has them; the index `.shx` is not needed. The
//! values stand in the `.dbf` in the same order (page 25), the coordinate system in the `.prj`.

use std::path::{Path, PathBuf};

use survey::{CoordinateSystem, RecordKind};

use crate::collector::Collector;
use crate::columns::Columns;
use crate::dbf::Dbf;
use crate::error::FormatError;
use crate::input::{InputFile, read_bytes};
use crate::record::{Comma, Numbers, Record, RecordSink};

/// How a `.dbf` gives numbers.
pub(crate) const NUMBERS: Numbers = Numbers::Text { comma: Comma::Separator };

pub(crate) const HEADER_BYTES: usize = 100;

/// What stands beside a `.shp`.
pub(crate) struct Beside {
    pub dbf: Option<(InputFile, Vec<u8>)>,
    pub prj: Option<(InputFile, CoordinateSystem)>,
}

impl Beside {
    /// Reads the `.dbf` and the `.prj`, in lower or upper case, where they are.
    pub(crate) fn read(path: &Path) -> Result<Beside, FormatError> {
        let dbf = beside(path, "dbf").map(|path| read_bytes(&path)).transpose()?;
        let prj = match beside(path, "prj") {
            Some(prj) => {
                let (input, bytes) = read_bytes(&prj)?;
                let text = String::from_utf8_lossy(&bytes);
                let system = CoordinateSystem::from_wkt(text.trim_start_matches('\u{feff}'))
                    .map_err(|problem| FormatError::UnknownCrs { file: prj, problem })?;
                Some((input, system))
            }
            None => None,
        };
        Ok(Beside { dbf, prj })
    }
}

fn beside(path: &Path, extension: &str) -> Option<PathBuf> {
    [extension.to_owned(), extension.to_ascii_uppercase()]
        .into_iter()
        .map(|extension| path.with_extension(extension))
        .find(|path| path.is_file())
}

/// Reads the points of a shapefile with their values.
pub(crate) fn read_points(
    path: &Path,
    shp: &[u8],
    dbf: Option<&[u8]>,
    sink: &mut dyn RecordSink,
) -> Result<(), FormatError> {
    let damaged =
        |problem: String| FormatError::NotAShapefile { file: path.to_path_buf(), problem };
    let kind = shp.get(32..36).and_then(|bytes| bytes.try_into().ok()).map(i32::from_le_bytes);
    match kind {
        None => return Err(damaged("it is cut short".into())),
        Some(1 | 11 | 21) => {}
        Some(other) => {
            let kind = shape_name(other).to_owned();
            return Err(FormatError::NoPoints { file: path.to_path_buf(), record: "shape", kind });
        }
    }
    let table = dbf.map(Dbf::new).transpose().map_err(damaged)?;
    let table =
        table.ok_or_else(|| damaged("the .dbf with the readings is not beside it".into()))?;
    let mut at = HEADER_BYTES;
    let mut index = 0;
    while at < shp.len() {
        let content = content(shp, at).ok_or_else(|| {
            damaged(format!("shape {} is cut short; copy the file again", index + 1))
        })?;
        at += 8 + content.len();
        match table.record(index) {
            Some(Ok(properties)) => {
                let coordinates = point(content);
                sink.record(Record { number: index + 1, id: None, coordinates, properties });
            }
            Some(Err(problem)) => sink.fault(index + 1, problem),
            None => sink.fault(index + 1, "has no record in the .dbf".into()),
        }
        index += 1;
    }
    Ok(())
}

/// Reads a survey from a shapefile.
pub(crate) fn read_shapefile<'c>(
    path: &Path,
    shp: &[u8],
    beside: &Beside,
    columns: &'c Columns,
) -> Result<Collector<'c>, FormatError> {
    let mut collector = Collector::new(columns, RecordKind::Shape, NUMBERS);
    let dbf = beside.dbf.as_ref().map(|(_, bytes)| bytes.as_slice());
    if let Some(table) = dbf.and_then(|bytes| Dbf::new(bytes).ok()) {
        collector.header(&table.names());
    }
    read_points(path, shp, dbf, &mut collector)?;
    match collector.is_untouched() {
        true => Err(FormatError::NoRecords { file: path.to_path_buf(), kind: "shape" }),
        false => Ok(collector),
    }
}

/// The content of the record whose header begins at a byte.
pub(crate) fn content(shp: &[u8], at: usize) -> Option<&[u8]> {
    let header = shp.get(at..at.checked_add(8)?)?;
    let words = i32::from_be_bytes(header[4..8].try_into().ok()?);
    let bytes = usize::try_from(words).ok()?.checked_mul(2)?;
    shp.get(at + 8..(at + 8).checked_add(bytes)?)
}

pub(crate) fn point(content: &[u8]) -> Result<(f64, f64), String> {
    let kind = content.get(..4).and_then(|bytes| bytes.try_into().ok()).map(i32::from_le_bytes);
    match kind {
        Some(1 | 11 | 21) => {}
        Some(0) => return Err("is a null shape, without a place".into()),
        Some(other) => return Err(format!("is a {}, not a Point", shape_name(other))),
        None => return Err("is empty".into()),
    }
    let number = |at: usize| {
        let bytes: Option<[u8; 8]> = content.get(at..at + 8).and_then(|b| b.try_into().ok());
        bytes.map(f64::from_le_bytes).filter(|number| number.is_finite())
    };
    match (number(4), number(12)) {
        (Some(east), Some(north)) => Ok((east, north)),
        _ => Err("its coordinates are not two numbers".into()),
    }
}

pub(crate) fn shape_name(kind: i32) -> &'static str {
    match kind {
        0 => "null shape",
        1 | 11 | 21 => "Point",
        3 | 13 | 23 => "PolyLine",
        5 | 15 | 25 => "Polygon",
        8 | 18 | 28 => "MultiPoint",
        31 => "MultiPatch",
        _ => "shape of unknown kind",
    }
}
