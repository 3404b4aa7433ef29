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
    #[error("{}: larger than {most} MB; split it", file.display())]
    TooLarge { file: PathBuf, most: u64 },
    #[error("{}: holds more than {most} million records; split it", file.display())]
    TooManyRecords { file: PathBuf, most: usize },
    #[error("{}: not UTF-8 text (line {line}); save it as UTF-8", file.display())]
    NotText { file: PathBuf, line: usize },
    #[error("{}: {what}; {next}", file.display())]
    OtherFormat { file: PathBuf, what: &'static str, next: &'static str },
    #[error("{}: not JSON: {problem} at line {line}, column {column}", file.display())]
    NotJson { file: PathBuf, problem: String, line: usize, column: usize },
    #[error(
        "{}: {found}, not a GeoJSON FeatureCollection of points; export the readings as GeoJSON again",
        file.display()
    )]
    NotACollection { file: PathBuf, found: String },
    #[error("{}: holds no points, its first {record} is a {kind}; is it the boundary?", file.display())]
    NoPoints { file: PathBuf, record: &'static str, kind: String },
    #[error("{}: the FeatureCollection has no features", file.display())]
    NoFeatures { file: PathBuf },
    #[error("{}: holds no {kind}s with readings", file.display())]
    NoRecords { file: PathBuf, kind: &'static str },
    #[error(
        "{}: its crs member says {crs}, which is no EPSG code; coordinates must be WGS 84 longitude \
         and latitude in degrees (RFC 7946), so convert the file first",
        file.display()
    )]
    WrongCrs { file: PathBuf, crs: String },
    #[error("{}: {problem}; convert the file to WGS 84 longitude and latitude first", file.display())]
    UnknownCrs { file: PathBuf, problem: String },
    #[error("{}: states {stated}, --crs says {asked}; leave --crs out", file.display())]
    TwoCrs { file: PathBuf, stated: String, asked: String },
    #[error(
        "{}: no columns for longitude and latitude; it has {found}. Name them `longitude` and \
         `latitude`, or give [columns] in the settings file",
        file.display()
    )]
    NoPlace { file: PathBuf, found: String },
    #[error(
        "{}: columns {columns} hold coordinates in a plane; say of which with --crs EPSG:…, for \
         example --crs EPSG:32615",
        file.display()
    )]
    PlaneWithoutCrs { file: PathBuf, columns: String },
    #[error("{}: two columns are called {name:?}; rename one", file.display())]
    ColumnTwice { file: PathBuf, name: String },
    #[error("{}: no column holds the points' names, to join by; it has {found}", file.display())]
    NoId { file: PathBuf, found: String },
    #[error("{}: not XML: {problem} at line {line}", file.display())]
    NotXml { file: PathBuf, problem: String, line: usize },
    #[error(
        "{}: none of its {waypoints} waypoints has a reading in its name, comment or description; \
         write it like `d=9in`, `>=18in`, `23 cm`, `stone`, or give the readings with --join FILE.csv",
        file.display()
    )]
    NoReadingInWaypoints { file: PathBuf, waypoints: usize },
    #[error("{}: not a sound shapefile: {problem}", file.display())]
    NotAShapefile { file: PathBuf, problem: String },
    #[error(
        "{}: no {} of a known name holds the depth; the {kind}s have {found}. Name it with \
         --depth-field NAME --depth-unit in|cm{proposal}",
        file.display(), holder(kind)
    )]
    NoDepth { file: PathBuf, kind: &'static str, found: String, proposal: String },
    #[error(
        "{}: {field:?} does not say its unit; give --depth-field {field:?} --depth-unit in|cm{proposal}",
        file.display()
    )]
    NoDepthUnit { file: PathBuf, field: String, proposal: String },
    #[error(
        "{}: column {field:?} does not say its unit; give --column {what}={field}:psi or \
         {what}={field}:kPa",
        file.display()
    )]
    NoPressureUnit { file: PathBuf, field: String, what: &'static str },
    #[error(
        "{}: no {kind} has the {} {field:?}; they have {found}", file.display(), holder(kind)
    )]
    NoSuchField { file: PathBuf, kind: &'static str, field: String, found: String },
    #[error("{}: none of its {records} {kind}s is a usable point; {first}", file.display())]
    NothingUsable { file: PathBuf, records: usize, kind: &'static str, first: String },
    #[error("{}: {problem}; a boundary is one Polygon or MultiPolygon", file.display())]
    NotABoundary { file: PathBuf, problem: String },
    #[error(
        "{}: {problem}; it must be a FeatureCollection of polygons, each with a text `{property}` that says which \
         {what} it is",
        file.display()
    )]
    NotAreas { file: PathBuf, problem: String, what: &'static str, property: &'static str },
    #[error("{}: two features have the zone_id {id:?}; give each its own", file.display())]
    ZoneIdTwice { file: PathBuf, id: String },
    #[error("{}: {problem}", file.display())]
    TrialAreas { file: PathBuf, problem: String },
    #[error("{}: {problem}", file.display())]
    NotZones { file: PathBuf, problem: String },
    #[error(transparent)]
    Rates(Box<plan::PlanError>),
    #[error("{}: {problem}", file.display())]
    NotInspected { file: PathBuf, problem: String },
    #[error("{}: {problem}", file.display())]
    Edits { file: PathBuf, problem: String },
    #[error("{}: {problem}", file.display())]
    Weather { file: PathBuf, problem: String },
    #[error("{}: none of its {lines} lines tells the weather of a day; {first}", file.display())]
    NoWeather { file: PathBuf, lines: usize, first: String },
    #[error("{}: {problem}", file.display())]
    Archive { file: PathBuf, problem: String },
    #[error("the archive cannot be made: {problem}")]
    Unarchivable { problem: String },
    #[error("{} is not empty; the files of an archive need a folder of their own", folder.display())]
    NotEmpty { folder: PathBuf },
    #[error("{} is a file; --out needs a folder", folder.display())]
    FolderIsFile { folder: PathBuf },
    #[error(
        "{} already holds {names}; give --replace to replace, or another folder", folder.display()
    )]
    Exists { folder: PathBuf, names: String },
    #[error("{} is there already; give --replace to replace it, or another name", path.display())]
    FileExists { path: PathBuf },
    #[error("{} is a folder, where a result must go; move it away", path.display())]
    FileIsFolder { path: PathBuf },
    #[error("{}: cannot be written", file.display())]
    Unwritable { file: PathBuf, source: std::io::Error },
    #[error("zone {id} could not be written as a valid polygon: {problem}")]
    InvalidZone { id: String, problem: String },
    #[error("the plan cannot be written: {problem}")]
    Plan { problem: String },
    #[error("the TASKDATA could not be made: {problem}")]
    Taskdata { problem: String },
    #[error("{}: not sound TASKDATA: {problem}", file.display())]
    NotTaskdata { file: PathBuf, problem: String },
    #[error("the GeoPackage could not be made")]
    GeoPackage { source: Box<dyn std::error::Error + Send + Sync> },
}

/// What holds the values of a record: a feature has properties, the others columns.
fn holder(kind: &str) -> &'static str {
    match kind {
        "feature" => "property",
        _ => "column",
    }
}
