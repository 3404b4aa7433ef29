//! What makes an interpolation impossible.

/// Why samples or settings cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[expect(missing_docs, reason = "each variant's text says what it is")]
pub enum GeostatError {
    #[error("no samples")]
    NoSamples,
    #[error("sample {index} is not finite, or too far off for a square of its distance")]
    NotFinite { index: usize },
    #[error("samples {first} and {second} are at one place; combine them first")]
    SamePlace { first: usize, second: usize },
    #[error("a power must be above 0 and at most 20, not {power}")]
    Power { power: f64 },
    #[error("the number of neighbours must be at least 1")]
    NoNeighbours,
    #[error("a search radius must be above zero, not {radius_m} m")]
    Radius { radius_m: f64 },
    #[error(
        "a direction needs a finite azimuth and a ratio from 0.01 to 1, not {azimuth_deg}° and {ratio}"
    )]
    Anisotropy { azimuth_deg: f64, ratio: f64 },
    #[error("a variogram model needs sills of 0 or more, not both 0, and a range above 0 m")]
    Variogram,
    #[error("a smoothing length must be 0 m or more, not {smoothing_m} m")]
    Smoothing { smoothing_m: f64 },
    #[error("the smoothness of a Matérn model must be from 0.1 to 10, not {smoothness}")]
    Smoothness { smoothness: f64 },
    #[error(
        "distance classes need at most 1000 finite limits above 0 m, each above the one before"
    )]
    Bins,
    #[error(
        "a direction needs a finite azimuth and a tolerance above 0°, not {azimuth_deg}° and {tolerance_deg}°"
    )]
    Direction { azimuth_deg: f64, tolerance_deg: f64 },
    #[error("a variogram model needs three distance classes, not {classes}")]
    TooFewClasses { classes: usize },
    #[error("all values are equal: there is no variogram to fit")]
    NoVariation,
    #[error("no shape of a variogram model to choose from")]
    NoShapes,
    #[error("an error variance must be from 0 to the nugget, {nugget}, not {error_variance}")]
    ErrorVariance { error_variance: f64, nugget: f64 },
    #[error(
        "sample {sample} is too close to others for this variogram to tell their weights; a nugget, a shorter range or fewer neighbours helps"
    )]
    Singular { sample: usize },
    #[error(
        "{count} samples are too many to krige from all at once, which is at most {most}; krige from the nearest"
    )]
    TooManySamples { count: usize, most: usize },
    #[error("a cutoff must be a number")]
    Cutoff,
    #[error("the samples do not lie so that the trend can be told")]
    NoTrend,
    #[error(
        "a mean of a block needs points that are finite, and weights as many, of 0 or more and not all 0"
    )]
    Block,
    #[error("a block of left-out samples needs a side above 0 m, not {side_m}")]
    BlockSide { side_m: f64 },
    #[error("a grid needs a cell above zero, at least one row and column, and an end")]
    EmptyGrid,
}
