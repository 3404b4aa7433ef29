//! What is in a file of zones, a plan, places or a raster, of whatever format: as a machine's terminal or a
//! GIS will see it.

mod columns;
mod csv;
mod geojson;
mod geopackage;
mod geotiff;
mod gpx;
mod kml;
mod layer;
mod overlap;
mod places;
mod season;
mod shapefile;
mod sheet;
mod tally;
mod wkb;

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use crate::error::FormatError;
use crate::input::{read_bytes, text};
use crate::inspected::Inspected;
use crate::taskdata::inspect_taskdata;

/// Reads a file of any known format and says what is in it; the content tells the format, not the name.
/// A shapefile may be given by any of its files, TASKDATA as a folder, its main file or a zip archive.
///
/// # Errors
/// When the file cannot be read, is of no known format, or is damaged as a whole.
pub fn inspect(path: &Path) -> Result<Inspected, FormatError> {
    if path.is_dir() {
        return inspect_taskdata(path);
    }
    let path = &main_file(path);
    match recognise(path, &head(path)?)? {
        Kind::Taskdata => inspect_taskdata(path),
        Kind::Geotiff => geotiff::inspect(path),
        Kind::Shapefile => shapefile::inspect(path, &read_bytes(path)?.1),
        Kind::GeoPackage => geopackage::inspect(path, read_bytes(path)?.1),
        kind => {
            let (_, bytes) = read_bytes(path)?;
            let text = text(path, &bytes)?;
            match kind {
                Kind::Kml => kml::inspect(path, text),
                Kind::Gpx => gpx::inspect(path, text),
                Kind::Json => geojson::inspect(path, text),
                _ => csv::inspect(path, text),
            }
        }
    }
}

/// A format.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Taskdata,
    Geotiff,
    Shapefile,
    GeoPackage,
    Kml,
    Gpx,
    Json,
    Table,
}

fn unknown(path: &Path, problem: &str) -> FormatError {
    FormatError::NotInspected { file: path.to_path_buf(), problem: problem.to_owned() }
}

/// The `.shp` beside another file of a shapefile.
fn main_file(path: &Path) -> PathBuf {
    let extension = path.extension().unwrap_or_default().to_ascii_lowercase();
    let is_sibling = ["shx", "dbf", "prj", "cpg"].iter().any(|sibling| extension == *sibling);
    let main = ["shp", "SHP"].map(|extension| path.with_extension(extension));
    match main.into_iter().find(|main| is_sibling && main.is_file()) {
        Some(main) => main,
        None => path.to_path_buf(),
    }
}

/// Bytes that are looked at to tell the format.
const HEAD_BYTES: u64 = 4096;

fn head(path: &Path) -> Result<Vec<u8>, FormatError> {
    let mut head = Vec::new();
    let unreadable = |source| FormatError::Unreadable { file: path.to_path_buf(), source };
    let file = File::open(path).map_err(unreadable)?;
    file.take(HEAD_BYTES).read_to_end(&mut head).map_err(unreadable)?;
    match head.is_empty() {
        true => Err(FormatError::Empty { file: path.to_path_buf() }),
        false => Ok(head),
    }
}

fn recognise(path: &Path, head: &[u8]) -> Result<Kind, FormatError> {
    let starts = |starts: &[&[u8]]| starts.iter().any(|start| head.starts_with(start));
    let has = |tag: &[u8]| head.windows(tag.len()).any(|window| window == tag);
    if starts(&[b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"]) {
        return Ok(Kind::Geotiff);
    }
    if starts(&[b"SQLite format 3\0"]) {
        return Ok(Kind::GeoPackage);
    }
    if starts(&[&9994_u32.to_be_bytes()]) {
        let extension = path.extension().unwrap_or_default().to_ascii_lowercase();
        return match extension == "shx" {
            true => Err(unknown(path, "is the index of a shapefile whose .shp is not beside it")),
            false => Ok(Kind::Shapefile),
        };
    }
    if starts(&[b"PK\x03\x04"]) || has(b"<ISO11783_TaskData") {
        return Ok(Kind::Taskdata);
    }
    for (bytes, what) in OTHERS {
        if head.starts_with(bytes) {
            return Err(unknown(path, &format!("is {what}; {KNOWN}")));
        }
    }
    if head.contains(&0) {
        return Err(unknown(path, &format!("is no text and no known format; {KNOWN}")));
    }
    let text = head.strip_prefix(b"\xef\xbb\xbf").unwrap_or(head).trim_ascii_start();
    match text.first() {
        Some(b'{' | b'[' | 0x1e) => Ok(Kind::Json),
        Some(b'<') if has(b"<kml") || has(b":kml") => Ok(Kind::Kml),
        Some(b'<') if has(b"<gpx") || has(b":gpx") => Ok(Kind::Gpx),
        Some(b'<') => Err(unknown(path, &format!("is XML of an unknown kind; {KNOWN}"))),
        _ => Ok(Kind::Table),
    }
}

const KNOWN: &str = "what can be inspected is TASKDATA, GeoJSON, a shapefile, GeoPackage, KML, GPX, CSV and GeoTIFF";

/// First bytes of other files.
const OTHERS: [(&[u8], &str); 6] = [
    (b"\x1f\x8b", "compressed with gzip"),
    (b"\xff\xfe", "UTF-16 text"),
    (b"\xfe\xff", "UTF-16 text"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"%PDF", "a PDF"),
];
