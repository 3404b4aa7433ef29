//! What makes a file unreadable as a whole, or a result unwritable.

use std::path::PathBuf;

/// Why a file could not be read or written. Each text begins with the file.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[expect(missing_docs, reason = "each variant's text says what it is")]
pub enum FormatError {
    #[error("{}: cannot be read", file.display())]
    Unreadable { file: PathBuf, source: std::io::Error },
    #[error("{}: the file is empty", file.display())]
    Empty { file: PathBuf },
    #[error("{}: not UTF-8 text, so not GeoJSON", file.display())]
    NotText { file: PathBuf },
    #[error("{}: not JSON: {problem} at line {line}, column {column}; a survey or boundary is a GeoJSON file", file.display())]
    NotJson { file: PathBuf, problem: String, line: usize, column: usize },
    #[error(
        "{}: {found}, not a GeoJSON FeatureCollection of points; export the readings as GeoJSON again",
        file.display()
    )]
    NotACollection { file: PathBuf, found: String },
    #[error("{}: holds no points, its first feature is a {kind}; is it the boundary?", file.display())]
    NoPoints { file: PathBuf, kind: String },
    #[error("{}: the FeatureCollection has no features", file.display())]
    NoFeatures { file: PathBuf },
    #[error(
        "{}: its crs member says {crs}; coordinates must be WGS 84 longitude and latitude in degrees \
         (RFC 7946), so convert the file first",
        file.display()
    )]
    WrongCrs { file: PathBuf, crs: String },
    #[error(
        "{}: no property of a known name holds the depth; the features have {found}. Name it with \
         --depth-field NAME --depth-unit in|cm",
        file.display()
    )]
    NoDepth { file: PathBuf, found: String },
    #[error(
        "{}: property {field:?} does not say its unit; give --depth-field {field} --depth-unit in|cm",
        file.display()
    )]
    NoDepthUnit { file: PathBuf, field: String },
    #[error("{}: no feature has the property {field:?}; they have {found}", file.display())]
    NoSuchField { file: PathBuf, field: String, found: String },
    #[error("{}: none of its {features} features is a usable point; {first}", file.display())]
    NothingUsable { file: PathBuf, features: usize, first: String },
    #[error("{}: {problem}; a boundary is one Polygon or MultiPolygon", file.display())]
    NotABoundary { file: PathBuf, problem: String },
    #[error("{} is a file; --out needs a folder", folder.display())]
    FolderIsFile { folder: PathBuf },
    #[error(
        "{} already holds {names}; give --replace to replace, or another folder", folder.display()
    )]
    Exists { folder: PathBuf, names: String },
    #[error("{} is a folder, where a result must go; move it away", path.display())]
    FileIsFolder { path: PathBuf },
    #[error("{}: cannot be written", file.display())]
    Unwritable { file: PathBuf, source: std::io::Error },
    #[error("zone {id} could not be written as a valid polygon: {problem}")]
    InvalidZone { id: String, problem: String },
}
