//! Which format a file is of, told by what is in it.

use std::path::Path;

use crate::error::FormatError;

/// A format that readings come in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Format {
    GeoJson,
    Gpx,
    Table,
    Shapefile,
}

/// Shapefile's first four bytes, the number 9994, big-endian (Esri Shapefile Technical Description,
/// July 1998, page 4).
const SHAPEFILE: [u8; 4] = 9994_u32.to_be_bytes();

/// The format of a file's bytes.
///
/// # Errors
/// When the bytes are of a format that no readings come in; the text says what to do.
pub(crate) fn recognise(path: &Path, bytes: &[u8]) -> Result<Format, FormatError> {
    let refuse =
        |what, next| Err(FormatError::OtherFormat { file: path.to_path_buf(), what, next });
    let extension = path.extension().unwrap_or_default().to_ascii_lowercase();
    if bytes.starts_with(&SHAPEFILE) {
        return match extension == "shx" {
            true => refuse("the index of a shapefile", "give the .shp file beside it"),
            false => Ok(Format::Shapefile),
        };
    }
    if extension == "dbf" {
        return refuse("the table of a shapefile", "give the .shp file beside it");
    }
    for (start, what, next) in OTHERS {
        if bytes.starts_with(start) {
            return refuse(what, next);
        }
    }
    let head = &bytes[..bytes.len().min(4096)];
    if head.contains(&0) {
        return match head.iter().filter(|&&byte| byte == 0).count() * 3 > head.len() {
            true => refuse("perhaps UTF-16 text", "save it as UTF-8"),
            false => refuse("not text", "give GeoJSON, CSV, GPX or a shapefile"),
        };
    }
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes).trim_ascii_start();
    match text.first() {
        Some(b'{' | b'[' | 0x1e) => Ok(Format::GeoJson),
        Some(b'<') if head.windows(4).any(|tag| tag == b"<gpx") => Ok(Format::Gpx),
        Some(b'<') if head.windows(4).any(|tag| tag == b"<kml") => {
            refuse("KML", "readings come as GeoJSON, CSV, GPX or a shapefile")
        }
        Some(b'<') if head.windows(5).any(|tag| tag.ends_with(b":gpx")) => Ok(Format::Gpx),
        Some(b'<') => refuse("XML that is not GPX", "give GeoJSON, CSV, GPX or a shapefile"),
        _ => Ok(Format::Table),
    }
}

/// First bytes of files that are often given by mistake, what they are, and what to do.
const OTHERS: [(&[u8], &str, &str); 7] = [
    (b"PK\x03\x04", "a zip archive or a spreadsheet", "unpack it, or save the sheet as CSV"),
    (b"\x1f\x8b", "compressed with gzip", "unpack it"),
    (b"\xff\xfe", "UTF-16 text", "save it as UTF-8"),
    (b"\xfe\xff", "UTF-16 text", "save it as UTF-8"),
    (b"SQLite format 3\0", "a data base such as a GeoPackage", "export the readings as GeoJSON"),
    (b"%PDF", "a PDF", "give the readings as GeoJSON, CSV, GPX or a shapefile"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet", "save the sheet as CSV"),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn content_decides_not_the_name() {
        let format = |name: &str, bytes: &[u8]| recognise(Path::new(name), bytes).ok();
        assert_eq!(format("a.csv", b"\xef\xbb\xbf {\"type\": 1}"), Some(Format::GeoJson));
        assert_eq!(format("a.geojson", b"lon,lat\n"), Some(Format::Table));
        assert_eq!(format("a.txt", b"<?xml version='1.0'?><gpx/>"), Some(Format::Gpx));
        assert_eq!(format("a", b"\x00\x00\x27\x0a\x00"), Some(Format::Shapefile));
        for bytes in [&b"PK\x03\x04"[..], b"\xff\xfe{\0", b"{\0\"\0a\0", b"<kml/>", b"a\x00bcdef"] {
            assert_eq!(format("a.csv", bytes), None, "{bytes:?}");
        }
    }
}
