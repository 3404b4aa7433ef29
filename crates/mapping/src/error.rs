//! What makes a map impossible.

/// Why a checked survey could not be mapped with some settings.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[expect(missing_docs, reason = "each variant's text says what it is")]
pub enum MappingError {
    #[error(
        "class limits must be {least} to {most} depths from 0.01 to 1000, each at least 0.01 greater than the one before, \
         not {given}"
    )]
    Limits { given: String, least: usize, most: usize },
    #[error(
        "a cell of {cell_m} m makes {cells} cells, and a {what} holds at most {most}; use a cell of \
         {advised_m} m or more"
    )]
    TooManyCells { cell_m: f64, cells: String, what: &'static str, most: String, advised_m: f64 },
    #[error("a cell must be a whole number of millimetres and at least 0.1 m, not {cell_m} m")]
    Cell { cell_m: f64 },
    #[error("a cell of {cell_m:?} m is wider than the field, which is {field_m:.0} m across")]
    WideCell { cell_m: f64, field_m: f64 },
    #[error(
        "no cell of the map is within the reach of {reach_m} m of a reading; give a greater --reach or a \
         smaller --cell"
    )]
    NothingMapped { reach_m: f64 },
    #[error("the reach must be above zero, not {reach_m} m")]
    Reach { reach_m: f64 },
    #[error("the smallest zone cannot be less than nothing ({area_m2} m²)")]
    SmallestZone { area_m2: f64 },
    #[error("the swath must be a width above zero, not {width_m} m; give another --swath")]
    Swath { width_m: f64 },
    #[error("the narrowest zone must be a width, not {width_m} m; give another --narrowest-zone")]
    Narrowest { width_m: f64 },
    #[error(
        "no zone can be {} wide in a field that is {} across; give a smaller --narrowest-zone, or 0m for none",
        both(*width_m), both(*field_m)
    )]
    NarrowestBeyondField { width_m: f64, field_m: f64 },
    #[error("the heading must be from 0 to 360 degrees clockwise from north, not {heading_deg}")]
    Heading { heading_deg: f64 },
    #[error(
        "the cells of zones must be as wide as the map's, {}, or wider, up to the field's {}, not {}; see --zone-cells \
         and --cell",
        both(*least_m), both(*field_m), both(*cells_m)
    )]
    ZoneCells { cells_m: f64, least_m: f64, field_m: f64 },
    #[error(
        "--heading alone changes nothing; give --swath, --narrowest-zone or --zone-cells with it"
    )]
    HeadingAlone,
    #[error("--zone-cells swath needs the width of --swath")]
    CellsOfNoSwath,
    #[error("a map has at least one zone; give --most-zones 1 or more")]
    NoZones,
    #[error(
        "--border-tolerance must be from 0 to {most_m} m, which is {} cells of {cell_m} m, not {tolerance_m} m; \
         give a smaller one, or a greater --cell",
        crate::zone_settings::MOST_BORDER_TOLERANCE_CELLS
    )]
    BorderTolerance { tolerance_m: f64, most_m: f64, cell_m: f64 },
    #[error(
        "kriging needs a variogram, and {spots} readings are too few for one: it takes {least}, better 100; \
         use --method idw"
    )]
    FewForKriging { spots: usize, least: usize },
    #[error("the readings cannot be kriged; use --method idw")]
    NoKriging { source: geostat::GeostatError },
    #[error("--method {method} has no use for {option}; leave it out")]
    OptionOfOther { option: &'static str, method: &'static str },
    #[error(
        "--probability normal needs the variance of kriging, and the map is made by {method}; use --method \
         kriging, or another --probability"
    )]
    NormalWithoutVariance { method: &'static str },
    #[error("{what}, so nothing tells how likely the loose layer is thinner elsewhere; {next}")]
    OneKindOfIndicator { what: String, next: String },
    #[error(
        "indicator kriging needs {least} readings of which it is known whether they are thinner, not {known}; use \
         --probability auto"
    )]
    FewForIndicators { known: usize, least: usize },
    #[error(
        "indicator kriging needs {least} readings on each side of the depth, and there are {fewer} on one; use \
         --probability auto"
    )]
    FewOfAKind { fewer: usize, least: usize },
    #[error("no variogram fits the indicators; use --probability auto")]
    NoIndicatorKriging { source: geostat::GeostatError },
    #[error("--realisations must be 0 for none, or from {least} to {most}, not {given}")]
    Realisations { given: usize, least: usize, most: usize },
    #[error("--thinner-than must be above 0")]
    NoLimit,
    #[error("the areas of the depth classes cannot be simulated; use --realisations 0")]
    NoSimulation { source: geostat::GeostatError },
    #[error("stratum {name:?}: {problem}")]
    Stratum { name: String, problem: String },
    #[error(
        "a field can have {most} strata, and the file names more; give parts of one stratum one name"
    )]
    TooManyStrata { most: usize },
    #[error("no stratum lies in this field; is the file of another field?")]
    StrataElsewhere,
    #[error("every reading lies in a stratum, none on the main ground; leave --strata out")]
    NothingOnMainGround,
    #[error(
        "{option} is worked out for a field as a whole, which strata are not; leave {option} or --strata out"
    )]
    NotWithStrata { option: &'static str },
    #[error("earlier zone {id}: {problem}")]
    EarlierZone { id: String, problem: String },
    #[error("there are more than {most} earlier zones; give a zones.geojson of this program")]
    TooManyEarlierZones { most: usize },
    #[error("no earlier zone lies in this field; is the file of another field?")]
    EarlierZonesElsewhere,
    #[error("the readings cannot be interpolated")]
    Interpolation(#[from] geostat::GeostatError),
}

/// A distance in both systems, for messages that do not know their reader.
fn both(distance_m: f64) -> String {
    let text = |units: survey::UnitSystem| units.distance_text(distance_m);
    format!("{} ({})", text(survey::UnitSystem::Us), text(survey::UnitSystem::Si))
}
