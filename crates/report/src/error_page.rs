//! The page of standard error: how far the map may be off at each place.

use geostat::Raster;
use survey::{CheckedSurvey, UnitSystem};

use crate::error::ReportError;
use crate::header::Head;
use crate::legend::no_reading;
use crate::marks::Mark;
use crate::palette::STANDARD_ERROR;
use crate::png_file::picture;
use crate::raster_page::{self, Panel, RasterPage};
use crate::value_classes::ValueClasses;

/// What a page of standard error shows.
#[derive(Debug, Clone, Copy)]
pub struct ErrorPage<'a> {
    /// Headline, the field's name for instance. Shortened where it does not fit.
    pub title: &'a str,
    /// The survey.
    pub survey: &'a CheckedSurvey,
    /// Units of the page.
    pub units: UnitSystem,
    /// Standard error of the loose-layer depth, centimetres, NaN where nothing is known.
    pub error_cm: &'a Raster,
    /// Its classes: see [`ValueClasses::standard_error`].
    pub classes: &'a ValueClasses,
    /// True area on the ground of each class, square metres.
    pub class_areas_m2: &'a [f64],
    /// True area on the ground without a value, square metres.
    pub unmapped_m2: f64,
    /// One sentence that says how far the errors can be trusted; may be empty.
    pub verdict: &'a str,
    /// Sentences on how well intervals held in cross-validation.
    pub checked: &'a [String],
    /// Sentences on how it was made: method, variogram, probes used.
    pub made: &'a [String],
}

/// The page as one SVG document of the map page's size, fonts by name ("Inter").
pub fn error_svg(page: &ErrorPage) -> String {
    raster_page::svg(&RasterPage {
        head: Head {
            title: page.title,
            subtitle: "Standard error of the loose-layer depth: how far the map may be off",
            survey: page.survey,
            units: page.units,
        },
        raster: page.error_cm,
        classes: page.classes,
        ramp: STANDARD_ERROR,
        legend_title: "Standard error".into(),
        areas_m2: page.class_areas_m2,
        unmapped_m2: page.unmapped_m2,
        mark: &Mark::of,
        labelled: false,
        marks: marks(page),
        panels: vec![
            Panel::text("How to read it", "", &how_to_read()),
            Panel::text("How it was made", "", page.made),
            Panel::text("How sure", page.verdict, page.checked),
        ],
    })
}

/// The page as a PNG picture that says its resolution.
///
/// # Errors
/// When there is no memory for the picture.
pub fn error_png(page: &ErrorPage) -> Result<Vec<u8>, ReportError> {
    picture(&error_svg(page))
}

fn how_to_read() -> [String; 3] {
    // Shares of a normal distribution within one and two standard deviations.
    [
        "The depth at a place lies within one standard error of the map at about two places in three, \
         and within two at about 19 in 20, where errors are spread like a bell."
            .into(),
        "Dark ground is far from probes. One more probe tells most where it is darkest.".into(),
        "The error depends on where the probes are and on the variogram. It says nothing of a wrong \
         reading or a wrong position."
            .into(),
    ]
}

fn marks(page: &ErrorPage) -> Vec<(Mark, String)> {
    let threshold = page.survey.threshold().to_string();
    let mut rows = vec![(Mark::Reached, format!("probe: {threshold} reached"))];
    if page.survey.not_reached() > 0 {
        let words = format!("probe: {threshold} not reached; its lower bound was used");
        rows.push((Mark::NotReached, words));
    }
    rows.extend(no_reading(page.survey));
    rows
}
