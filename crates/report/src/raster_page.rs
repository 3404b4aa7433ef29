//! A page with one classed raster on it: probability, standard error. The head, the foot, the base map
//! and the legend are those of the map of depth classes.

use geostat::Raster;
use survey::Reading;

use crate::base_map::{BaseMap, hatch_pattern};
use crate::class_picture::ClassPicture;
use crate::fonts::Weight;
use crate::footer;
use crate::frame::Rect;
use crate::header::Head;
use crate::label_point::is_inside;
use crate::legend::{Legend, LegendPanel, Row, heading};
use crate::marks::Mark;
use crate::page::{WIDE, aspect, sheet};
use crate::palette::Ramp;
use crate::probe_marks::ProbeMarks;
use crate::reliability_chart::{self, ReliabilityClass};
use crate::svg::{Paint, Svg};
use crate::text_block::{self, Paragraph};
use crate::value_classes::ValueClasses;
use crate::wording::{area_text, dates_text};

const GAP: f64 = 40.0;
/// Width of the legend beside a map.
const LEGEND: f64 = 470.0;
/// The least height of the panels below a map, with a chart among them and without.
const STRIP: (f64, f64) = (430.0, 350.0);
/// A field this much wider than high has its map across the whole page.
const ACROSS: f64 = 4.2;
/// From this width on three panels stand in one row beside a map.
const THREE_ABREAST: f64 = 1_000.0;
/// The least height of the panels beside a map.
const COLUMN: f64 = 520.0;

/// A classed raster with what is said of it.
pub(crate) struct RasterPage<'a> {
    pub head: Head<'a>,
    pub raster: &'a Raster,
    pub classes: &'a ValueClasses,
    pub ramp: Ramp<'static>,
    pub legend_title: String,
    /// True area on the ground of each class and of the ground without a value.
    pub areas_m2: &'a [f64],
    pub unmapped_m2: f64,
    /// The mark of a reading.
    pub mark: &'a dyn Fn(Reading) -> Mark,
    /// Whether readings stand beside the marks.
    pub labelled: bool,
    /// What the marks mean.
    pub marks: Vec<(Mark, String)>,
    pub panels: Vec<Panel<'a>>,
}

/// What stands beside or below the map.
pub(crate) enum Panel<'a> {
    Text { title: &'static str, paragraphs: Vec<Paragraph> },
    Reliability(&'a [ReliabilityClass]),
}

impl<'a> Panel<'a> {
    /// Sentences, the first of which may stand out.
    pub fn text(title: &'static str, verdict: &str, sentences: &[String]) -> Self {
        let verdict = (!verdict.is_empty()).then(|| (verdict.to_owned(), Weight::SemiBold));
        let sentences = sentences.iter().map(|text| (text.clone(), Weight::Regular));
        Panel::Text { title, paragraphs: verdict.into_iter().chain(sentences).collect() }
    }

    fn draw(&self, svg: &mut Svg, place: Rect) {
        match self {
            Panel::Text { title, paragraphs } => {
                text_block::draw(svg, title, paragraphs, &text_block::SIZES, place);
            }
            Panel::Reliability(classes) => {
                heading(svg, "Check: one left out", place);
                reliability_chart::draw(svg, classes, place.trim(0.0, 38.0, 0.0, 0.0));
            }
        }
    }
}

/// The page as one SVG document.
pub(crate) fn svg(page: &RasterPage) -> String {
    sheet(&page.head.of_page(), footer::MAP, &summary(page), |svg, body| {
        svg.raw(&hatch_pattern());
        let aspect = aspect(page.head.survey);
        let has_chart = page.panels.iter().any(|panel| matches!(panel, Panel::Reliability(_)));
        let least_strip = if has_chart { STRIP.0 } else { STRIP.1 };
        let legend = legend(page);
        if aspect >= ACROSS {
            let (map, strip) = body.split_top((body.width / aspect + 150.0).max(340.0), GAP);
            draw_map(svg, page, map);
            let (first, rest) = strip.split_left(LEGEND, GAP);
            legend.draw(svg, first);
            draw_panels(svg, page, &rest.columns(page.panels.len(), 30.0));
        } else if aspect >= WIDE {
            let (width, most) = (body.width - LEGEND - GAP, body.height - GAP - least_strip);
            let least = legend.height(LEGEND).min(most);
            let height = (width / aspect + 150.0).clamp(least, most);
            let (top, strip) = body.split_top(height, GAP);
            let (map, side) = top.split_left(width, GAP);
            draw_map(svg, page, map);
            legend.draw(svg, side);
            draw_panels(svg, page, &strip.columns(page.panels.len(), GAP));
        } else {
            let width = (body.height * aspect).clamp(820.0, 1_180.0);
            let (map, column) = body.split_left(width, GAP + 10.0);
            draw_map(svg, page, map);
            let height = legend.height(column.width).min(body.height - GAP - COLUMN);
            let (top, rest) = column.split_top(height, GAP);
            legend.draw(svg, top);
            let places = match page.panels.len() {
                3 if rest.width >= THREE_ABREAST => rest.columns(3, GAP),
                count => two_columns(rest, count),
            };
            draw_panels(svg, page, &places);
        }
    })
}

/// Places for so many panels in two columns, row by row.
fn two_columns(place: Rect, count: usize) -> Vec<Rect> {
    let rows = count.div_ceil(2);
    let height = (place.height - GAP * (rows - 1) as f64) / rows as f64;
    (0..rows)
        .flat_map(|row| {
            let top = place.top + row as f64 * (height + GAP);
            Rect { top, height, ..place }.columns(2, GAP)
        })
        .collect()
}

fn draw_panels(svg: &mut Svg, page: &RasterPage, places: &[Rect]) {
    for (panel, place) in page.panels.iter().zip(places) {
        panel.draw(svg, *place);
    }
}

fn draw_map(svg: &mut Svg, page: &RasterPage, place: Rect) {
    let Head { survey, units, .. } = page.head;
    let base = BaseMap::new(survey.field(), units, place);
    let picture = ClassPicture {
        raster: page.raster,
        classes: page.classes,
        ramp: page.ramp,
        half_width: None,
    };
    base.draw_below(svg);
    picture.draw(svg, &base.view, &base.outline);
    base.draw_above(svg);
    let mut taken = base.free_ground();
    let marks = ProbeMarks::new(survey, units, &base.view, page.mark);
    let marks = if page.labelled { marks } else { marks.unlabelled() };
    marks.take(&mut taken);
    marks.draw(svg, &mut taken, |at| {
        is_inside(&base.outline, at).then(|| picture.colour_at(&base.view, at)).flatten()
    });
}

fn legend<'a>(page: &RasterPage<'a>) -> LegendPanel<'a> {
    let of_class = |class| Row {
        swatch: Paint::fill(page.ramp.class_colour(class, page.classes.len())),
        name: page.classes.name(class).to_owned(),
        note: None,
        area_m2: area(page, class),
        interval: None,
    };
    // Highest first, as one looks for the ground that matters.
    let rows = (0..page.classes.len()).rev().map(of_class);
    let rows = rows.chain([Row::no_value(None, page.unmapped_m2)]).collect();
    let legend = Legend {
        title: page.legend_title.clone(),
        caption: None,
        rows,
        marks: page.marks.iter().map(|(mark, words)| (*mark, words.clone())).collect(),
        names: Vec::new(),
    };
    LegendPanel { field: page.head.survey.field(), units: page.head.units, legend }
}

fn area(page: &RasterPage, class: usize) -> f64 {
    page.areas_m2.get(class).copied().unwrap_or(0.0)
}

/// The page in a few words, for those who cannot see it.
fn summary(page: &RasterPage) -> String {
    let Head { survey, units, .. } = page.head;
    let area_text = |area_m2| area_text(area_m2, survey.field(), units);
    let mut parts = vec![dates_text(survey, units), page.legend_title.clone()];
    parts
        .extend((0..page.classes.len()).map(|class| {
            format!("{}: {}", page.classes.name(class), area_text(area(page, class)))
        }));
    parts.push(format!("no value: {}", area_text(page.unmapped_m2)));
    for panel in &page.panels {
        if let Panel::Text { paragraphs, .. } = panel {
            parts.extend(paragraphs.iter().map(|(text, _)| text.clone()));
        }
    }
    parts.join("; ")
}

#[cfg(test)]
mod tests {
    use crate::testing::{self, Sample, assert_text_is_apart, texts};
    use crate::testing_uncertainty::Uncertain;
    use crate::{error_png, error_svg, probability_png, probability_svg};
    use survey::Depth;

    const LONG: &str =
        "A field with a name that is far too long for a page & has <odd> signs in it";

    fn uncertain(sample: Sample) -> Uncertain {
        Uncertain::new(sample, Depth::from_in(9.5))
    }

    #[test]
    fn text_never_covers_text_in_any_layout() {
        for sample in [
            testing::wide(),
            testing::very_wide(),
            testing::tall(),
            testing::tiny(),
            testing::with_gap(),
            testing::equal(),
            testing::si(),
        ] {
            let page = uncertain(sample);
            assert_text_is_apart(&probability_svg(&page.probability_page(LONG)));
            assert_text_is_apart(&error_svg(&page.error_page(LONG)));
        }
    }

    #[test]
    fn too_much_text_is_cut_and_owned_up_to() {
        let sentence = "a sentence that goes on and on about how the map was made".to_owned();
        let made = vec![sentence; 60];
        for sample in [testing::wide(), testing::very_wide(), testing::tall()] {
            let page = uncertain(sample);
            let page = crate::ErrorPage { made: &made, ..page.error_page("Home") };
            let svg = error_svg(&page);
            assert_text_is_apart(&svg);
            assert!(texts(&svg).iter().any(|(words, _)| words == "…"));
        }
    }

    #[test]
    fn si_pages_speak_of_centimetres_and_hectares_alone() {
        let page = uncertain(testing::si());
        let (page, errors) = (page.probability_page("Feld"), page.error_page("Feld"));
        for svg in [probability_svg(&page), error_svg(&errors)] {
            let words: Vec<String> = texts(&svg).into_iter().map(|(words, _)| words).collect();
            for unit in [" in", " ac", " psi"] {
                let is_wrong = |text: &&String| {
                    let number = text.strip_suffix(unit);
                    number.is_some_and(|number| number.ends_with(|c: char| c.is_ascii_digit()))
                };
                assert_eq!(words.iter().find(is_wrong), None);
            }
            assert!(words.iter().any(|text| text.ends_with(" ha")));
            assert!(words.iter().any(|text| text.contains(" cm")));
        }
    }

    #[test]
    fn classes_stand_in_the_legend_with_ground_and_share() {
        let page = uncertain(testing::wide());
        let words: Vec<String> = texts(&probability_svg(&page.probability_page("Home")))
            .into_iter()
            .map(|(words, _)| words)
            .collect();
        for name in ["0–10 %", "10–25 %", "25–50 %", "50–75 %", "75–90 %", "90–100 %"] {
            let row = words.iter().position(|text| text == name).unwrap();
            assert!(words[row + 1].ends_with(" ac") || words[row + 1] == "none", "{name}");
        }
    }

    #[test]
    fn the_same_page_is_the_same_picture() {
        let (one, other) = (uncertain(testing::tiny()), uncertain(testing::tiny()));
        let draw = |u: &Uncertain| {
            (
                probability_png(&u.probability_page("Home")).unwrap(),
                error_png(&u.error_page("Home")).unwrap(),
            )
        };
        assert!(draw(&one) == draw(&other));
    }

    #[test]
    fn ground_without_a_value_is_hatched_and_said() {
        let page = uncertain(testing::with_gap());
        let words: Vec<String> = texts(&probability_svg(&page.probability_page("Gap")))
            .into_iter()
            .map(|(words, _)| words)
            .collect();
        let row = words.iter().position(|text| text == "no value").unwrap();
        assert!(words[row + 1].ends_with(" ac"), "{}", words[row + 1]);
    }
}
