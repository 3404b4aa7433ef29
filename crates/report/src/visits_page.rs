//! The maps of all visits of a season beside one another.

use mapping::DepthMap;
use survey::{CheckedSurvey, Depth, UnitSystem};

use crate::base_map::{NO_VALUE, hatch_pattern};
use crate::error::ReportError;
use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::header::PageHead;
use crate::labels::Taken;
use crate::marks::Mark;
use crate::notice::Notice;
use crate::page::{aspect_of, sheet};
use crate::palette::{HAIRLINE, INK, PAPER, SOFT_INK, class_colour};
use crate::png_file::picture;
use crate::probe_marks::ProbeMarks;
use crate::season_page::SeasonDepth;
use crate::svg::{Anchor, Paint, Svg, Type};
use crate::view::View;
use crate::visit_facts::VisitFacts;
use crate::visits_layout::{per_page, places};
use crate::wording::{area_text, count_text, from_to, moisture_range};
use crate::{compass, outline, scale_bar};

/// What the pages of all visits show.
#[derive(Debug, Clone, Copy)]
pub struct VisitsPage<'a> {
    /// Headline, the field's name for instance. Shortened where it does not fit.
    pub title: &'a str,
    /// Units of the page.
    pub units: UnitSystem,
    /// Whether the soil was equally moist over the season: the first line.
    pub moisture: Notice<'a>,
    /// The visits by day: one field, one grid and the same depth classes. At least one.
    pub visits: &'a [VisitMap<'a>],
}

/// One visit with its map.
#[derive(Debug, Clone, Copy)]
pub struct VisitMap<'a> {
    /// When, how many probes, how moist.
    pub facts: &'a VisitFacts,
    /// The readings.
    pub survey: &'a CheckedSurvey,
    /// Their map.
    pub map: &'a DepthMap,
    /// Median of the depths.
    pub median: Option<SeasonDepth>,
}

const GAP: f64 = 30.0;
/// From a map to the first line below it, and from line to line.
const CAPTION: f64 = 30.0;
const LINE: f64 = 27.0;
/// Sizes of a visit's day and of what else is said of it.
const DAY: f64 = 23.0;
const SIZE: f64 = 20.0;
/// Room of the scale bar and the arrow beside the legend.
const SCALE: f64 = 560.0;
const SWATCH: f64 = 46.0;
/// Height of the legend's rows.
const ROW: f64 = 36.0;

const FOOT: (&str, &str) = (
    "Before you compare",
    "Readings of different days differ by moisture first: look at the moisture below each map. A thinner \
     loose layer in drier soil is no evidence of compaction. Dig and look before treating. Call before you \
     dig (811 in the US). Follow local rules and a licensed or certified adviser.",
);

/// The pages as SVG documents of the map page's size, fonts by name ("Inter"): up to twelve maps on each,
/// none without a visit.
pub fn visits_svg(page: &VisitsPage) -> Vec<String> {
    if page.visits.is_empty() {
        return Vec::new();
    }
    let per_page = per_page(page.visits.len());
    let sheets = page.visits.chunks(per_page);
    let count = sheets.len();
    sheets.enumerate().map(|(k, visits)| sheet_of(page, visits, (k + 1, count))).collect()
}

/// The pages as PNG pictures that say their resolution.
///
/// # Errors
/// When there is no memory for a picture.
pub fn visits_png(page: &VisitsPage) -> Result<Vec<Vec<u8>>, ReportError> {
    visits_svg(page).iter().map(|svg| picture(svg)).collect()
}

/// One page: its number and how many there are.
fn sheet_of(page: &VisitsPage, visits: &[VisitMap], (number, count): (usize, usize)) -> String {
    let first = &page.visits[0];
    let field = first.survey.field();
    let threshold = first.survey.threshold().to_string();
    let of = if count > 1 { format!(", page {number} of {count}") } else { String::new() };
    let subtitle = format!("Visit by visit: where {threshold} is first reached{of}");
    let head =
        PageHead { title: page.title, subtitle: &subtitle, facts: facts(page), utm: field.utm() };
    sheet(&head, FOOT, &summary(page, visits), |svg, body| {
        svg.raw(&hatch_pattern());
        let body = page.moisture.draw(svg, body, 26.0);
        let legend = legend(page, body.width - SCALE);
        let legend_height = (legend.len() as f64 * ROW + 8.0).max(72.0);
        let (maps, foot) = body.split_top(body.height - legend_height - 24.0, 24.0);
        // All pages have the scale of the fullest.
        let most = per_page(page.visits.len());
        let aspect = aspect_of(field.polygons());
        let roomy = places(most, aspect, caption_height(3), GAP, maps);
        let lines = captions(page, roomy[0].width);
        let height = caption_height(lines.iter().map(Vec::len).max().unwrap_or(3));
        let places = places(most, aspect, height, GAP, maps);
        for (k, (visit, place)) in visits.iter().zip(&places).enumerate() {
            let room = map_room(*place, height);
            let foot = draw_visit(svg, page, visit, k, room);
            draw_caption(svg, &caption(page, visit, place.width), foot, place.width);
        }
        draw_legend(svg, &legend, foot);
        let view = View::fit(field.polygons(), map_room(places[0], height));
        let left = (foot.right() - SCALE + 30.0, foot.bottom() - 8.0);
        scale_bar::draw(svg, left, 300.0, view.scale, page.units);
        let middle = view.in_plane(places[0].middle());
        compass::draw(svg, (foot.right() - 16.0, foot.bottom() - 8.0), field.utm(), middle);
    })
}

/// Room of the map above its caption.
fn map_room(place: Rect, caption: f64) -> Rect {
    place.trim(4.0, 4.0, 4.0, caption)
}

/// Height of so many lines below a map.
fn caption_height(lines: usize) -> f64 {
    CAPTION + LINE * (lines as f64 - 1.0) + 8.0
}

/// Draws a map into a rectangle and returns the middle of its foot.
fn draw_visit(
    svg: &mut Svg,
    page: &VisitsPage,
    visit: &VisitMap,
    number: usize,
    room: Rect,
) -> (f64, f64) {
    let field = visit.survey.field().polygons();
    let view = View::fit(field, room);
    let rings = outline::rings(field, &view);
    let path = outline::path(&rings);
    svg.raw(&format!(
        r#"<clipPath id="visit-{number}"><path d="{path}" clip-rule="evenodd"/></clipPath>"#
    ));
    svg.raw(&format!(r#"<g clip-path="url(#visit-{number})">"#));
    let classes = visit.map.classes.len();
    for zone in &visit.map.zones {
        let paint = Paint::fill(class_colour(zone.class, classes)).edge(PAPER, 1.4);
        svg.path(&outline::path(&outline::rings(&zone.polygons, &view)), paint);
    }
    let unmapped = outline::rings(&visit.map.unmapped.polygons, &view);
    svg.path(&outline::path(&unmapped), Paint::pattern(NO_VALUE));
    svg.raw("</g>");
    svg.path(&path, Paint::stroke(INK, 2.4));
    let marks = ProbeMarks::new(visit.survey, page.units, &view, Mark::of).unlabelled();
    marks.draw(svg, &mut Taken::new(room), |_| None);
    // Close below the field, which is lower than its room where that is narrow.
    let lowest = rings.iter().flatten().map(|at| at.1).fold(room.top, f64::max);
    (room.middle().0, lowest)
}

fn draw_caption(svg: &mut Svg, lines: &[String], (middle, top): (f64, f64), room: f64) {
    for (k, words) in lines.iter().enumerate() {
        let style = match k {
            0 => Type::semi_bold(DAY),
            1 => Type::regular(SIZE),
            _ => Type::regular(SIZE).colour(SOFT_INK),
        };
        let words = fonts::shorten(words, style.size, style.weight, room);
        let base = top + CAPTION + LINE * k as f64;
        svg.text(&words, (middle, base), style.anchor(Anchor::Middle));
    }
}

/// The captions of all visits, so that all pages have equal maps.
fn captions(page: &VisitsPage, width: f64) -> Vec<Vec<String>> {
    page.visits.iter().map(|visit| caption(page, visit, width)).collect()
}

/// When, how moist, and what was read; in more and shorter lines below a narrow map.
fn caption(page: &VisitsPage, visit: &VisitMap, width: f64) -> Vec<String> {
    let fits = |words: &String| fonts::width(words, SIZE, Weight::Regular) <= width;
    let day = visit.facts.day_text(page.units);
    let moisture = match visit.facts.moisture {
        None => ["soil moisture not recorded".to_owned(), "moisture unknown".to_owned()],
        Some(moisture) => [moisture_range(moisture), visit.facts.mean_moisture_text()]
            .map(|text| format!("moisture {text}")),
    };
    let [long, short] = moisture;
    let moisture = if fits(&long) { long } else { short };
    let probes = count_text(visit.facts.probes, "probe");
    let Some(median) = visit.median else { return vec![day, moisture, probes] };
    let sign = if median.is_at_least { "≥ " } else { "" };
    let depth = page.units.depth_text(Depth::from_cm(median.depth_cm));
    let median = format!("median {sign}{depth}");
    let both = format!("{probes}, {median}");
    match fits(&both) {
        true => vec![day, moisture, both],
        false => vec![day, moisture, probes, median],
    }
}

/// What stands before a name of the legend.
enum Sample {
    Ground(Paint),
    Mark(Mark),
}

/// Names with their samples in rows, each with its place from the left.
fn legend(page: &VisitsPage, width: f64) -> Vec<Vec<(f64, Sample, String)>> {
    let visit = &page.visits[0];
    let has = |is: &dyn Fn(&CheckedSurvey) -> bool| page.visits.iter().any(|v| is(v.survey));
    let classes = &visit.map.classes;
    let class = |k| (Sample::Ground(Paint::fill(class_colour(k, classes.len()))), classes.name(k));
    let threshold = visit.survey.threshold().to_string();
    let mut others = vec![
        (Sample::Ground(Paint::pattern(NO_VALUE)), "no value".to_owned()),
        (Sample::Mark(Mark::Reached), format!("probe: {threshold} reached")),
    ];
    if has(&|survey| survey.not_reached() > 0) {
        others.push((Sample::Mark(Mark::NotReached), "not reached: deeper".into()));
    }
    if has(&|survey| !survey.without_reading().is_empty()) {
        others.push((Sample::Mark(Mark::NoReading), "no reading".into()));
    }
    let mut rows: Vec<Vec<(f64, Sample, String)>> = vec![Vec::new()];
    let mut left = 0.0;
    for (sample, name) in (0..classes.len()).map(class).chain(others) {
        let sample_width = if matches!(sample, Sample::Ground(_)) { SWATCH } else { 20.0 };
        let name = fonts::shorten(&name, SIZE, Weight::Regular, width - SWATCH - 10.0);
        let own = sample_width + 10.0 + fonts::width(&name, SIZE, Weight::Regular);
        if left > 0.0 && left + own > width {
            rows.push(Vec::new());
            left = 0.0;
        }
        if let Some(row) = rows.last_mut() {
            row.push((left, sample, name));
        }
        left += own + 26.0;
    }
    rows
}

fn draw_legend(svg: &mut Svg, rows: &[Vec<(f64, Sample, String)>], place: Rect) {
    for (k, row) in rows.iter().enumerate() {
        let middle = place.top + (k as f64 + 0.5) * ROW;
        for (left, sample, name) in row {
            let left = place.left + left;
            let width = match sample {
                Sample::Ground(paint) => {
                    let swatch = Rect::new(left, middle - 13.0, SWATCH, 26.0);
                    svg.rect(swatch, paint.edge(HAIRLINE, 1.2));
                    SWATCH
                }
                Sample::Mark(mark) => {
                    mark.draw(svg, (left + 10.0, middle), 7.0);
                    20.0
                }
            };
            let at = (left + width + 10.0, middle + SIZE * 0.36);
            svg.text(name, at, Type::regular(SIZE));
        }
    }
}

fn facts(page: &VisitsPage) -> Vec<(&'static str, String)> {
    let (first, last) = (&page.visits[0], &page.visits[page.visits.len() - 1]);
    let mut facts = Vec::new();
    if let (Some((first, _)), Some((last, _))) = (first.facts.days, last.facts.days) {
        facts.push(("From, to", from_to(first.min(last), last.max(first), page.units)));
    }
    let field = first.survey.field();
    facts.push(("Visits", page.visits.len().to_string()));
    facts.push(("Field", area_text(field.ground_area_m2(), field, page.units)));
    facts
}

/// The page in a few words, for those who cannot see it.
fn summary(page: &VisitsPage, visits: &[VisitMap]) -> String {
    let captions = visits.iter().map(|visit| caption(page, visit, f64::INFINITY).join(", "));
    std::iter::once(page.moisture.words.to_owned()).chain(captions).collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{self, Sample, assert_on_page, assert_text_is_apart, joined};
    use crate::testing_season::{facts_of_visits, maps_of_visits, visits_page};

    const LONG: &str =
        "A field with a name that is far too long for a page & has <odd> signs in it";

    fn pages(samples: &[Sample], count: usize) -> Vec<String> {
        let facts = facts_of_visits(count);
        visits_svg(&visits_page(LONG, &maps_of_visits(samples, &facts)))
    }

    #[test]
    fn text_never_covers_text_in_any_layout() {
        let samples = [
            testing::wide(),
            testing::very_wide(),
            testing::tall(),
            testing::tiny(),
            testing::si(),
        ];
        for sample in samples {
            for count in [1, 2, 9, 12] {
                let all = pages(std::slice::from_ref(&sample), count);
                assert_eq!(all.len(), 1);
                assert_text_is_apart(&all[0]);
                assert_on_page(&all[0]);
            }
        }
    }

    #[test]
    fn many_visits_take_several_pages_and_each_visit_stands_once() {
        let all = pages(&[testing::wide(), testing::with_gap()], 40);
        assert_eq!(all.len(), 4);
        let words: Vec<String> = all.iter().map(|svg| joined(svg)).collect();
        assert!(words[3].contains("page 4 of 4"), "{}", words[3]);
        let probes = |k: usize| format!("{} probes", 108 - k);
        for k in 0..40 {
            let times: usize = words.iter().map(|page| page.matches(&probes(k)).count()).sum();
            assert_eq!(times, 1, "{k}");
        }
    }

    #[test]
    fn no_visit_makes_no_page() {
        assert!(pages(&[testing::tiny()], 0).is_empty());
    }

    #[test]
    fn each_map_has_its_moisture_or_says_that_there_is_none() {
        let words = joined(&pages(&[testing::wide()], 6)[0]);
        assert_eq!(words.matches("moisture").count(), 6 + moisture_words(), "{words}");
        assert!(words.contains("soil moisture not recorded"), "{words}");
        assert!(words.contains("moisture 34 % (30–39 %)"), "{words}");
    }

    /// Mentions in the sentences above and below the maps.
    fn moisture_words() -> usize {
        crate::testing_change::DRIER.words.matches("moisture").count()
            + FOOT.1.matches("moisture").count()
    }

    #[test]
    fn narrow_maps_have_more_and_shorter_lines() {
        let words = joined(&pages(&[testing::tall()], 9)[0]);
        assert!(words.contains("moisture 34 %") && !words.contains("(30–39 %)"), "{words}");
        assert!(words.contains("108 probes median 9 in"), "{words}");
    }

    #[test]
    fn marks_that_do_not_occur_are_not_explained() {
        let words = joined(&pages(&[testing::equal()], 2)[0]);
        assert!(!words.contains("not reached: deeper") && !words.contains("no reading"), "{words}");
        let words = joined(&pages(&[testing::wide()], 2)[0]);
        assert!(words.contains("not reached: deeper") && words.contains("no reading"), "{words}");
    }

    #[test]
    fn the_same_visits_give_the_same_pictures() {
        let samples = [testing::tiny()];
        let facts = facts_of_visits(2);
        let maps = maps_of_visits(&samples, &facts);
        let draw = || visits_png(&visits_page("Home", &maps)).unwrap();
        assert!(draw() == draw());
    }
}
