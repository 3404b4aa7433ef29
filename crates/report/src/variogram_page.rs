//! The page of a variogram: the chart, what it means in plain words, and how methods compare.

use geostat::{EmpiricalVariogram, Variogram};
use survey::{CheckedSurvey, UnitSystem};

use crate::error::ReportError;
use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::group_style::{GroupStyle, MOST_GROUPS};
use crate::header::Head;
use crate::legend::heading;
use crate::method_panel::{self, MethodCheck};
use crate::page::sheet;
use crate::palette::INK;
use crate::png_file::picture;
use crate::svg::{Paint, Svg, Type, number};
use crate::text_block::{self, Paragraph};
use crate::variogram_chart::{self, BEHIND, POINT, Shape};
use crate::variogram_words::{cautions, direction_text, meaning, model, verdict};
use crate::wording::count_text;

const PANEL: f64 = 560.0;
const GAP: f64 = 40.0;
const HEADING: f64 = 40.0;
const SIZE: f64 = 21.0;
const ROW: f64 = 32.0;
/// Sizes of the text, which has more room than on a map.
const LARGE: [f64; 7] = [24.0, 23.0, 22.0, 21.0, 20.0, 19.0, 18.0];
/// Room of a line's sample.
const SAMPLE: f64 = 56.0;

const FOOT: (&str, &str) = (
    "Before you trust it",
    "A variogram describes the readings of this visit. One wrong reading or position can bend it. Where \
     the threshold was not reached, the lower bound counts, so differences look smaller. A curve that fits \
     is no proof of a good map.",
);

/// What a page of a variogram shows.
#[derive(Debug, Clone, Copy)]
pub struct VariogramPage<'a> {
    /// Headline, the field's name for instance. Shortened where it does not fit.
    pub title: &'a str,
    /// The survey.
    pub survey: &'a CheckedSurvey,
    /// Units of the page.
    pub units: UnitSystem,
    /// Semivariances by distance, all directions together, square centimetres.
    pub empirical: &'a EmpiricalVariogram,
    /// The same by direction; no more than six are drawn. May be empty.
    pub directions: &'a [DirectionalVariogram<'a>],
    /// The fitted model, square centimetres.
    pub model: &'a Variogram,
    /// Its name: `spherical`.
    pub model_name: &'a str,
    /// How many readings the variogram stands for.
    pub samples: usize,
    /// Their variance, square centimetres.
    pub variance_cm2: f64,
    /// Sentences on how it was estimated and fitted.
    pub made: &'a [String],
    /// Methods compared by cross-validation; may be empty.
    pub methods: &'a [MethodCheck<'a>],
}

/// Semivariances of pairs in one direction.
#[derive(Debug, Clone, Copy)]
pub struct DirectionalVariogram<'a> {
    /// The direction, degrees clockwise from north.
    pub azimuth_deg: f64,
    /// Semivariances by distance, square centimetres.
    pub empirical: &'a EmpiricalVariogram,
}

/// The page as one SVG document of the map page's size, fonts by name ("Inter").
pub fn variogram_svg(page: &VariogramPage) -> String {
    let head = Head {
        title: page.title,
        subtitle: "Variogram: how unlike readings are, by the distance between them",
        survey: page.survey,
        units: page.units,
    };
    let words = words(page);
    let summary: Vec<&str> = words.iter().map(|(text, _)| text.as_str()).collect();
    sheet(&head.of_page(), FOOT, &summary.join(" "), |svg, body| {
        let (chart, panel) = body.split_left(body.width - PANEL - GAP, GAP);
        variogram_chart::draw(svg, page, chart);
        draw_panel(svg, page, &words, panel);
    })
}

/// The page as a PNG picture that says its resolution.
///
/// # Errors
/// When there is no memory for the picture.
pub fn variogram_png(page: &VariogramPage) -> Result<Vec<u8>, ReportError> {
    picture(&variogram_svg(page))
}

/// The verdict, what makes it doubtful, then what it means and how it was made.
fn words(page: &VariogramPage) -> Vec<Paragraph> {
    let strong = std::iter::once(verdict(page)).chain(cautions(page));
    let plain = meaning(page).into_iter().chain([model(page)]).chain(page.made.iter().cloned());
    let strong = strong.map(|text| (text, Weight::SemiBold));
    strong.chain(plain.map(|text| (text, Weight::Regular))).collect()
}

/// Text above, lines and methods below, which have the height that they need.
fn draw_panel(svg: &mut Svg, page: &VariogramPage, words: &[Paragraph], place: Rect) {
    let lines = lines(page);
    let lines_height = HEADING + lines.len() as f64 * ROW;
    let methods_height = match page.methods.len() {
        0 => 0.0,
        count => GAP + HEADING + method_panel::height(count),
    };
    let text_height = place.height - GAP - lines_height - methods_height;
    let text = Rect { height: text_height, ..place };
    let foot = text_block::draw(svg, "What it says", words, &LARGE, text);
    let rest = place.trim(0.0, foot - place.top + 0.75 * GAP, 0.0, 0.0);
    draw_lines(svg, &lines, rest);
    if !page.methods.is_empty() {
        let methods = rest.trim(0.0, lines_height + GAP, 0.0, 0.0);
        heading(svg, "Check: one left out, typical error (RMSE)", methods);
        let rows = methods.trim(0.0, HEADING, 0.0, 0.0);
        method_panel::draw(svg, page.methods, page.units, rows);
    }
}

/// What a line or point of the chart looks like.
enum Sample {
    Points(crate::palette::Rgb),
    Model,
    Dashes,
    Direction(usize),
    Nothing,
}

fn lines(page: &VariogramPage) -> Vec<(Sample, String)> {
    let drawn = page.directions.len().min(MOST_GROUPS);
    let mut all = match drawn {
        0 => vec![
            (Sample::Points(POINT), "a class of distances; larger: more pairs".to_owned()),
            (Sample::Model, format!("model, {}", page.model_name.trim())),
        ],
        _ => vec![(Sample::Points(BEHIND), "all directions; larger: more pairs".to_owned())],
    };
    all.extend(page.directions[..drawn].iter().enumerate().map(|(k, direction)| {
        (Sample::Direction(k), format!("along {}", direction_text(direction.azimuth_deg)))
    }));
    if drawn < page.directions.len() {
        let rest = count_text(page.directions.len() - drawn, "more direction");
        all.push((Sample::Nothing, format!("{rest}: not drawn")));
    }
    all.push((Sample::Dashes, "variance of all readings".to_owned()));
    all
}

fn draw_lines(svg: &mut Svg, lines: &[(Sample, String)], place: Rect) {
    heading(svg, "Lines", place);
    for (k, (sample, words)) in lines.iter().enumerate() {
        let middle = place.top + HEADING + (k as f64 + 0.5) * ROW;
        let left = place.left;
        match sample {
            Sample::Points(colour) => {
                for (x, radius) in [(10.0, 5.0), (38.0, 10.0)] {
                    svg.circle((left + x, middle), radius, Paint::fill(*colour));
                }
            }
            Sample::Model => {
                svg.line((left, middle), (left + SAMPLE, middle), Paint::stroke(INK, 4.0));
            }
            Sample::Dashes => {
                for start in [0.0, 22.0, 44.0] {
                    let end = (start + 14.0_f64).min(SAMPLE);
                    let (from, to) = ((left + start, middle), (left + end, middle));
                    svg.line(from, to, Paint::stroke(INK, 2.0));
                }
            }
            Sample::Direction(k) => {
                let style = GroupStyle::of(*k);
                style.draw_sample(svg, (left, middle), SAMPLE);
                draw_shape(svg, *k, (left + SAMPLE / 2.0, middle), Paint::fill(style.colour));
            }
            Sample::Nothing => {}
        }
        let room = place.width - SAMPLE - 16.0;
        let words = fonts::shorten(words, SIZE, Weight::Regular, room);
        svg.text(&words, (left + SAMPLE + 16.0, middle + SIZE * 0.36), Type::regular(SIZE));
    }
}

/// A direction's point.
fn draw_shape(svg: &mut Svg, direction: usize, (x, y): (f64, f64), paint: Paint) {
    /// Half its width.
    const HALF: f64 = 9.0;
    match Shape::of(direction) {
        Shape::Circle => svg.circle((x, y), HALF, paint),
        Shape::Square => svg.rect(Rect::new(x - HALF, y - HALF, 2.0 * HALF, 2.0 * HALF), paint),
        Shape::Triangle => {
            let [left, right, top, foot] = [x - HALF, x + HALF, y - HALF, y + HALF].map(number);
            svg.path(&format!("M{left} {foot}L{right} {foot}L{} {top}Z", number(x)), paint);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{self, assert_text_is_apart, texts};
    use crate::testing_variogram::{Structured, near, slanted, variogram};
    use geostat::Shape as ModelShape;

    fn words_of(page: &VariogramPage) -> String {
        let texts = texts(&variogram_svg(page));
        texts.into_iter().map(|(words, _)| words).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn text_never_covers_text() {
        let long = "W".repeat(200);
        for sample in [testing::wide(), testing::tall(), testing::tiny(), testing::si()] {
            let page = Structured::spherical(sample);
            assert_text_is_apart(&variogram_svg(&page.page(&long, &[])));
            let near_sill = VariogramPage { variance_cm2: 114.0, ..page.page("Home", &[]) };
            assert_text_is_apart(&variogram_svg(&near_sill));
        }
    }

    #[test]
    fn much_to_say_leaves_room_for_lines_and_methods() {
        let page = Structured::spherical(testing::wide());
        let made = vec!["a sentence that goes on and on about how it was fitted".to_owned(); 60];
        let svg = variogram_svg(&VariogramPage { made: &made, ..page.page("Home", &[]) });
        assert_text_is_apart(&svg);
        assert!(svg.contains("ordinary kriging (used)"));
    }

    #[test]
    fn nugget_sill_and_range_stand_with_their_units() {
        let page = Structured::spherical(testing::wide());
        let words = words_of(&page.page("Home", &[]));
        for text in [
            "nugget 6.2 in²",
            "sill 17.8 in²",
            "sample variance 16.7 in²",
            "range 361 ft",
            "Semivariance, in²",
            "Distance between probes, ft",
            "Readings farther apart than 361 ft are no longer alike.",
            "Nugget share 35 %",
        ] {
            assert!(words.contains(text), "{text}: {words}");
        }
        let page = Structured::spherical(testing::si());
        let words = words_of(&page.page("Feld", &[]));
        for text in ["nugget 40 cm²", "range 110 m", "Semivariance, cm²", "probes, m"] {
            assert!(words.contains(text), "{text}: {words}");
        }
    }

    #[test]
    fn few_probes_and_much_nugget_are_warned_of() {
        let model = variogram(ModelShape::Exponential, 90.0, 20.0, 60.0);
        let page = Structured::new(testing::wide(), model, 260.0);
        let said = |samples| words_of(&VariogramPage { samples, ..page.page("Home", &[]) });
        assert!(said(75).contains("75 probes: few for a variogram"));
        assert!(said(49).contains("49 probes: too few for a variogram"));
        assert!(!said(100).contains("for a variogram;"));
        assert!(said(100).contains("More than 75 % nugget"));
        let page = Structured::spherical(testing::wide());
        assert!(!words_of(&page.page("Home", &[])).contains("More than 75 % nugget"));
    }

    #[test]
    fn directions_have_their_lines_and_many_are_no_crash() {
        let model = slanted(variogram(ModelShape::Spherical, 30.0, 80.0, 200.0));
        let page = Structured::new(testing::wide(), model, 300.0);
        let along = near(&model, 1.0, 300.0);
        let directions: Vec<DirectionalVariogram> = (0..8)
            .map(|k| DirectionalVariogram { azimuth_deg: 22.5 * f64::from(k), empirical: &along })
            .collect();
        let svg = variogram_svg(&page.page("Home", &directions));
        assert_text_is_apart(&svg);
        for text in ["along 0° (N–S)", "along 45° (NE–SW)", "along 112.5°", "2 more directions"]
        {
            assert!(svg.contains(text), "{text}");
        }
    }

    #[test]
    fn a_nugget_alone_and_one_class_are_drawn() {
        let nugget = variogram(ModelShape::Spherical, 30.0, 0.0, 200.0);
        let mut page = Structured::new(testing::tiny(), nugget, 20.0);
        page.empirical.classes.truncate(1);
        assert!(words_of(&page.page("Tiny", &[])).contains("distance tells nothing"));
        page.empirical.classes.clear();
        assert_text_is_apart(&variogram_svg(&page.page("Tiny", &[])));
    }

    #[test]
    fn a_range_beyond_the_distances_looked_at_is_not_drawn_but_said() {
        let page = Structured::new(
            testing::wide(),
            variogram(ModelShape::Spherical, 40.0, 75.0, 900.0),
            260.0,
        );
        let words = words_of(&page.page("Home", &[]));
        assert!(
            words.contains("beyond the chart") && words.contains("lies beyond them"),
            "{words}"
        );
    }

    #[test]
    fn the_same_variogram_gives_the_same_page() {
        let draw = || variogram_svg(&Structured::spherical(testing::wide()).page("Home", &[]));
        assert_eq!(draw(), draw());
    }
}
