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
    #[error("the readings cannot be interpolated")]
    Interpolation(#[from] geostat::GeostatError),
}
