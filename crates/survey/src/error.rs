//! What makes a survey or a boundary unusable as a whole. A fault in one record is a
//! [`Finding`](crate::Finding) instead.

use crate::position::LonLat;
use crate::units::tidy;

/// Why no checked survey could be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[expect(missing_docs, reason = "each variant's text says what it is")]
pub enum SurveyError {
    /// Something wrong with the boundary, told apart from the same fault of the survey.
    #[error(transparent)]
    Boundary(Box<SurveyError>),
    #[error(
        "{} lies outside the UTM grid (84° north to 80° south); are longitude and latitude in \
         degrees, longitude first?",
        lonlat(place)
    )]
    OutsideUtm { place: LonLat },
    #[error(
        "{} lies too far from the middle of the field's UTM zone; does it belong to this field?",
        lonlat(place)
    )]
    FarFromField { place: LonLat },
    #[error("{ring} of the boundary has {positions} positions; a closed ring needs at least 4")]
    ShortRing { ring: String, positions: usize },
    #[error(
        "the boundary is not a valid area: {problem}; draw it again so that no line crosses another"
    )]
    InvalidBoundary { problem: String },
    #[error("the boundary encloses no ground; check that its corners are a field apart")]
    EmptyBoundary,
    #[error("the boundary spans {span_km:.0} km; it must be one field, at most 100 km across")]
    HugeBoundary { span_km: f64 },
    #[error(
        "the survey is {} from the boundary: no reading lies in the field{}; is it the right \
         boundary?",
        distance(*distance_m),
        if *swapped_fits { " (with longitude and latitude swapped they would)" } else { "" }
    )]
    FarFromBoundary { distance_m: f64, swapped_fits: bool },
    #[error(
        "the survey is nowhere near the boundary{}; is it the right boundary?",
        if *swapped_fits { ": its longitudes and latitudes are swapped" } else { "" }
    )]
    SurveyElsewhere { swapped_fits: bool },
    #[error(
        "{usable} usable readings, and a map needs at least 3: {features} features hold \
         {refused} stopped by stones, {skipped} skipped and {left_out} left out{}",
        first_finding.as_ref().map(|text| format!("; the first: {text}")).unwrap_or_default()
    )]
    TooFewReadings {
        usable: usize,
        features: usize,
        refused: usize,
        skipped: usize,
        left_out: usize,
        first_finding: Option<String>,
    },
    #[error(
        "readings at several thresholds in one file ({list}); a map has one: choose it with \
         --threshold, the others are then left out"
    )]
    MixedThresholds { list: String },
    #[error(
        "no reading was taken at {asked}; the file has {list}, and a depth read at one threshold \
         says nothing of another's"
    )]
    NoSuchThreshold { asked: String, list: String },
    #[error(
        "readings of {count} dates in one file ({list}); a map shows one visit: choose it with \
         --date, for example --date {first}, or --date {first}..{second} for a visit of several days"
    )]
    MixedDates { count: usize, list: String, first: String, second: String },
    #[error("no reading is of {asked}; the file has {list}")]
    NoSuchDate { asked: String, list: String },
}

impl SurveyError {
    /// Whether the boundary is at fault, and not the survey.
    pub fn is_of_boundary(&self) -> bool {
        matches!(self, SurveyError::Boundary(_))
    }
}

/// A place as it is written in messages.
fn lonlat(place: &LonLat) -> String {
    format!("longitude {}, latitude {}", place.lon_deg, place.lat_deg)
}

/// A distance on the ground as it is written in messages.
pub(crate) fn distance(distance_m: f64) -> String {
    match distance_m < 1_000.0 {
        true => format!("{} m", tidy(distance_m, 1)),
        false => format!("{:.1} km", distance_m / 1e3),
    }
}
