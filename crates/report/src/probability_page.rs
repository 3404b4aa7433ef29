//! The page of probability: how likely the loose layer is thinner than a depth.

use geostat::Raster;
use survey::{CheckedSurvey, Depth, UnitSystem};

use crate::error::ReportError;
use crate::header::Head;
use crate::legend::{depth_unit_name, no_reading};
use crate::marks::Mark;
use crate::palette::PROBABILITY;
use crate::png_file::picture;
use crate::raster_page::{self, Panel, RasterPage};
use crate::reliability_chart::ReliabilityClass;
use crate::value_classes::ValueClasses;
use crate::wording::count_text;

/// What a page of probability shows.
#[derive(Debug, Clone, Copy)]
pub struct ProbabilityPage<'a> {
    /// Headline, the field's name for instance. Shortened where it does not fit.
    pub title: &'a str,
    /// The survey.
    pub survey: &'a CheckedSurvey,
    /// Units of the page.
    pub units: UnitSystem,
    /// The depth in question.
    pub limit: Depth,
    /// Probability from 0 to 1 that the loose layer is thinner, NaN where nothing is known.
    pub probability: &'a Raster,
    /// True area on the ground of each of the six classes of [`ValueClasses::probability`], square
    /// metres.
    pub class_areas_m2: [f64; 6],
    /// True area on the ground without a value, square metres.
    pub unmapped_m2: f64,
    /// One sentence that says how far the map can be trusted; may be empty.
    pub verdict: &'a str,
    /// Sentences on how well it did in cross-validation: Brier score, skill.
    pub checked: &'a [String],
    /// Sentences on how it was made: method, assumption, probes used and left out.
    pub made: &'a [String],
    /// Probabilities that cross-validation gave the probes, against what was read there; may be empty.
    pub reliability: &'a [ReliabilityClass],
}

/// The page as one SVG document of the map page's size, fonts by name ("Inter").
pub fn probability_svg(page: &ProbabilityPage) -> String {
    let limit = page.units.depth_text(page.limit);
    let threshold = page.survey.threshold().to_string();
    let subtitle = format!(
        "Chance that the loose layer is thinner than {limit} ({threshold} reached above it)"
    );
    let mut panels = vec![
        Panel::text("How to read it", "", &how_to_read(&limit)),
        Panel::text("How it was made", "", page.made),
        Panel::text("How sure", page.verdict, page.checked),
    ];
    if !page.reliability.is_empty() {
        panels.insert(2, Panel::Reliability(page.reliability));
    }
    raster_page::svg(&RasterPage {
        head: Head {
            title: page.title,
            subtitle: &subtitle,
            survey: page.survey,
            units: page.units,
        },
        raster: page.probability,
        classes: &ValueClasses::probability(),
        ramp: PROBABILITY,
        legend_title: format!("Chance of < {limit}"),
        areas_m2: &page.class_areas_m2,
        unmapped_m2: page.unmapped_m2,
        mark: &|reading| Mark::against(reading, page.limit),
        labelled: true,
        marks: marks(page, &limit),
        panels,
    })
}

/// The page as a PNG picture that says its resolution.
///
/// # Errors
/// When there is no memory for the picture.
pub fn probability_png(page: &ProbabilityPage) -> Result<Vec<u8>, ReportError> {
    picture(&probability_svg(page))
}

fn how_to_read(limit: &str) -> [String; 3] {
    [
        format!(
            "Of 100 places in ground of 75–90 %, between 75 and 90 should have less than {limit} of \
             loose soil, if the chances are right."
        ),
        "Dark ground: probably thin. Pale ground: probably not. Near 50 % the probes cannot tell: \
         probe there before you decide."
            .into(),
        "A chance is of one place and not of an area's mean.".into(),
    ]
}

/// What the marks mean, with how many there are; those that do not occur are left out.
fn marks(page: &ProbabilityPage, limit: &str) -> Vec<(Mark, String)> {
    let threshold = page.survey.threshold().to_string();
    let unit = depth_unit_name(page.units);
    let words = [
        (Mark::Thinner, format!("read thinner than {limit} (number: {unit})")),
        (Mark::Reached, format!("read {limit} or deeper")),
        (Mark::NotReached, format!("{threshold} not reached (+), {limit} or deeper")),
        (Mark::Unknown, format!("rod stopped above {limit}, {threshold} not reached: unknown")),
    ];
    let count = |mark| {
        let spots = page.survey.spots().iter();
        spots.filter(|spot| Mark::against(spot.reading, page.limit) == mark).count()
    };
    let rows = words.into_iter().map(|(mark, words)| (mark, words, count(mark)));
    let rows = rows.filter(|&(mark, _, count)| count > 0 || mark == Mark::Thinner);
    let rows = rows.map(|(mark, words, count)| match count {
        0 => (mark, format!("{words}: no probe")),
        _ => (mark, format!("{words}: {}", count_text(count, "probe"))),
    });
    rows.chain(no_reading(page.survey)).collect()
}
