//! The page of a trial: whether treated strips changed more than strips left alone.

use geo::MultiPolygon;
use survey::{Depth, Field, UnitSystem};

use crate::base_map::{BaseMap, FIELD};
use crate::error::ReportError;
use crate::estimate::{Estimate, PairedSpot};
use crate::estimate_chart::{self, EstimateChart, interval_text};
use crate::fonts::{self, CAP_HEIGHT, Weight};
use crate::frame::Rect;
use crate::header::PageHead;
use crate::label_point::{is_inside, roomiest};
use crate::labels::{Taken, around};
use crate::legend::{depth_unit_name, draw_caption, heading};
use crate::marks::Mark;
use crate::notice::Notice;
use crate::outline;
use crate::page::{WIDE, aspect_of, sheet};
use crate::palette::{INK, PAPER, Rgb, SOFT_INK};
use crate::png_file::picture;
use crate::probe_marks::ProbeMarks;
use crate::strip_chart::{self, TREATED};
use crate::svg::{Anchor, Paint, Svg, Type};
use crate::text_block::{self, SIZES, words};
use crate::visit_facts::{VisitFacts, facts_of_two, moisture_caption};
use crate::wording::{area_text, change_text, count_text};

/// What a page of a trial shows.
#[derive(Debug, Clone, Copy)]
pub struct TrialPage<'a> {
    /// Headline, the field's name for instance. Shortened where it does not fit.
    pub title: &'a str,
    /// The field.
    pub field: &'a Field,
    /// Units of the page.
    pub units: UnitSystem,
    /// The visit before the treatment and the one after.
    pub visits: [&'a VisitFacts; 2],
    /// Whether the soil was equally moist; a warning is stamped over the verdict.
    pub moisture: Notice<'a>,
    /// What was done on the treated strips: `subsoiled`.
    pub treatment: &'a str,
    /// The strips.
    pub strips: &'a [TrialStrip<'a>],
    /// Spots that both visits read, in strips and elsewhere.
    pub pairs: &'a [PairedSpot],
    /// Change on treated ground minus change on checks.
    pub effect: Option<Estimate>,
    /// An effect that is smaller is not worth it, centimetres, where someone has said.
    pub matters_cm: Option<f64>,
    /// What it comes to, one sentence.
    pub verdict: &'a str,
    /// What would settle it: more strips, more probes, equal moisture. May be empty.
    pub to_settle: &'a [String],
    /// Further sentences: tests, how it was made. The most important first.
    pub notes: &'a [String],
}

/// One strip of a trial.
#[derive(Debug, Clone, Copy)]
pub struct TrialStrip<'a> {
    /// Its name on the map: `T1`, `C2`.
    pub name: &'a str,
    /// Whether it was left alone.
    pub is_check: bool,
    /// Its outline in the field's plane.
    pub polygons: &'a MultiPolygon,
    /// Mean of its probes' changes, centimetres, later minus earlier; NaN without any.
    pub mean_change_cm: f64,
    /// The changes themselves, centimetres; may be empty.
    pub changes_cm: &'a [f64],
    /// How many probes it has.
    pub probes: usize,
}

const GAP: f64 = 40.0;
/// Sizes of the verdict, the largest that fits in two lines.
const VERDICT: [f64; 4] = [42.0, 38.0, 34.0, 30.0];
/// Height of the panels below a wide map.
const STRIP: f64 = 372.0;
/// Width of the chart of strips beside a wide map.
const CHART: f64 = 760.0;
/// Width of the panel of the effect.
const EFFECT: f64 = 620.0;
/// Room of a heading and the line below it.
const HEADING: f64 = 64.0;
/// A field this much wider than high has its map across the whole page.
const ACROSS: f64 = 3.6;
const SIZE: f64 = 21.0;
const ROW: f64 = 32.0;
const SAMPLE: f64 = 46.0;
/// Ground of treated strips: pale blue, with a full edge; checks are white with a dashed one.
const TREATED_GROUND: Rgb = Rgb(0xcc, 0xe3, 0xf0);
const FIELD_GROUND: Rgb = Rgb(0xe6, 0xe8, 0xeb);
/// Sizes of a strip's name, the larger where there is room.
const NAMES: [f64; 3] = [30.0, 24.0, 20.0];

const FOOT: (&str, &str) = (
    "Before you act on it",
    "A trial on one field and in one season tells of that field and season. Strips that were not chosen by \
     lot may differ for other reasons. Dig and look before treating more. Call before you dig (811 in the \
     US). Follow local rules and a licensed or certified adviser.",
);

/// The page as one SVG document of the map page's size, fonts by name ("Inter").
pub fn trial_svg(page: &TrialPage) -> String {
    let treatment = match page.treatment.trim() {
        "" => "treated",
        words => words,
    };
    let subtitle = format!("Trial: {treatment}, against strips left alone");
    let names = ["Before · moisture", "After · moisture"];
    let mut facts = facts_of_two(names, page.visits, page.units);
    let checks = page.strips.iter().filter(|strip| strip.is_check).count();
    let treated = page.strips.len() - checks;
    facts.push(("Strips", format!("{treated} treated, {}", count_text(checks, "check"))));
    facts.push(("Field", area_text(page.field.ground_area_m2(), page.field, page.units)));
    let head = PageHead { title: page.title, subtitle: &subtitle, facts, utm: page.field.utm() };
    sheet(&head, FOOT, &summary(page), |svg, body| {
        let body = page.moisture.draw(svg, body, 22.0);
        let body = draw_verdict(svg, page, body);
        match aspect_of(page.field.polygons()) {
            aspect if aspect >= ACROSS => draw_across(svg, page, body, aspect),
            aspect if aspect >= WIDE => draw_wide(svg, page, body),
            aspect => draw_tall(svg, page, body, aspect),
        }
    })
}

/// The page as a PNG picture that says its resolution.
///
/// # Errors
/// When there is no memory for the picture.
pub fn trial_png(page: &TrialPage) -> Result<Vec<u8>, ReportError> {
    picture(&trial_svg(page))
}

/// The verdict over everything else; returns what is left of the place.
fn draw_verdict(svg: &mut Svg, page: &TrialPage, place: Rect) -> Rect {
    let fits =
        |size: &f64| fonts::wrap(page.verdict, *size, Weight::SemiBold, place.width).len() <= 2;
    let size = VERDICT.into_iter().find(fits).unwrap_or(VERDICT[VERDICT.len() - 1]);
    let lines = fonts::wrap_to(page.verdict, size, Weight::SemiBold, place.width, 2);
    for (k, line) in lines.iter().enumerate() {
        let base = place.top + size * (0.95 + 1.22 * k as f64);
        svg.text(line, (place.left, base), Type::semi_bold(size));
    }
    let height = lines.len() as f64 * size * 1.22 + 20.0;
    if lines.is_empty() { place } else { place.trim(0.0, height, 0.0, 0.0) }
}

/// The map with the chart beside it, words below.
fn draw_wide(svg: &mut Svg, page: &TrialPage, body: Rect) {
    let (top, strip) = body.split_top(body.height - GAP - STRIP, GAP);
    let (map, side) = top.split_left(top.width - CHART - GAP, GAP);
    draw_map(svg, page, map);
    draw_strips(svg, page, side);
    let (effect, words) = strip.split_left(EFFECT, GAP);
    draw_effect(svg, page, effect);
    draw_words(svg, page, &words.columns(2, GAP));
}

/// The map across the page, everything else below.
fn draw_across(svg: &mut Svg, page: &TrialPage, body: Rect, aspect: f64) {
    let most = body.height - GAP - 640.0;
    let (map, strip) = body.split_top((body.width / aspect + 150.0).clamp(340.0, most), GAP);
    draw_map(svg, page, map);
    let (chart, rest) = strip.split_left(CHART - 60.0, GAP);
    draw_strips(svg, page, chart);
    let (effect, words) = rest.split_left(EFFECT - 20.0, GAP);
    draw_effect(svg, page, effect);
    let (first, second) = words.split_top((words.height - GAP) / 2.0, GAP);
    draw_words(svg, page, &[first, second]);
}

/// The map on the left, everything else on the right.
fn draw_tall(svg: &mut Svg, page: &TrialPage, body: Rect, aspect: f64) {
    let width = (body.height * aspect).clamp(820.0, 1_040.0);
    let (map, column) = body.split_left(width, GAP + 10.0);
    draw_map(svg, page, map);
    let (top, words) = column.split_top(column.height - GAP - 260.0, GAP);
    let (chart, effect) = top.split_top(top.height - GAP - effect_height(), GAP);
    draw_strips(svg, page, chart);
    draw_effect(svg, page, Rect { width: effect.width.min(EFFECT + 60.0), ..effect });
    draw_words(svg, page, &words.columns(2, GAP));
}

fn draw_map(svg: &mut Svg, page: &TrialPage, place: Rect) {
    let base = BaseMap::new(page.field, page.units, place);
    base.draw_below(svg);
    svg.path(&outline::path(&base.outline), Paint::fill(FIELD_GROUND));
    let strips: Vec<StripOnPage> = page
        .strips
        .iter()
        .map(|strip| StripOnPage { strip, rings: outline::rings(strip.polygons, &base.view) })
        .collect();
    for StripOnPage { strip, rings } in &strips {
        svg.path(&outline::path(rings), ground(strip.is_check).clip(FIELD));
    }
    base.draw_above(svg);
    let mut taken = base.free_ground();
    let marks = ProbeMarks::of_pairs(page.pairs, page.field, page.units, &base.view);
    marks.take(&mut taken);
    draw_names(svg, &strips, &marks, &mut taken);
    marks.draw(svg, &mut taken, |at| {
        is_inside(&base.outline, at).then(|| {
            let strip = strips.iter().find(|strip| is_inside(&strip.rings, at));
            strip.map_or(FIELD_GROUND, |strip| strip_colour(strip.strip.is_check))
        })
    });
}

/// A strip with its outline on the page.
struct StripOnPage<'a> {
    strip: &'a TrialStrip<'a>,
    rings: Vec<Vec<(f64, f64)>>,
}

impl StripOnPage<'_> {
    /// Whether a rectangle lies in the strip, by its corners.
    fn holds(&self, rect: &Rect) -> bool {
        rect.corners().into_iter().all(|corner| is_inside(&self.rings, corner))
    }
}

fn strip_colour(is_check: bool) -> Rgb {
    if is_check { PAPER } else { TREATED_GROUND }
}

fn ground(is_check: bool) -> Paint {
    let paint = Paint::fill(strip_colour(is_check));
    match is_check {
        true => paint.edge(INK, 2.2).dashed(9.0, 6.0),
        false => paint.edge(INK, 3.2),
    }
}

/// Names of strips, each as large as it fits in its strip, level or turned; the smallest stands over the
/// edges of a strip that is too narrow for all.
fn draw_names(svg: &mut Svg, strips: &[StripOnPage], marks: &ProbeMarks, taken: &mut Taken) {
    let points = marks.places();
    for strip in strips {
        let Some(room) = roomiest(&strip.rings, &points) else { continue };
        let at = (room.x, room.y);
        let mut ways = NAMES.into_iter().flat_map(|size| [(size, false), (size, true)]);
        let is_drawn = ways.any(|(size, turned)| {
            draw_name(svg, strip, (size, turned), taken, |rect| strip.holds(rect), at)
        });
        if !is_drawn {
            draw_name(svg, strip, (NAMES[NAMES.len() - 1], false), taken, |_| true, at);
        }
    }
}

/// Draws a name near a place if it fits there, and says whether it did.
fn draw_name(
    svg: &mut Svg,
    strip: &StripOnPage,
    (size, turned): (f64, bool),
    taken: &mut Taken,
    fits: impl Fn(&Rect) -> bool,
    (x, y): (f64, f64),
) -> bool {
    /// How far from the place it may stand, in steps to both sides, along and across.
    const STEPS: i32 = 9;
    const STEP: f64 = 24.0;
    let name = fonts::shorten(strip.strip.name.trim(), size, Weight::SemiBold, 200.0);
    let (length, height) =
        (fonts::width(&name, size, Weight::SemiBold) + 6.0, size * CAP_HEIGHT + 6.0);
    let (wide, high) = if turned { (height, length) } else { (length, height) };
    let offsets = (0..=STEPS).flat_map(|k| [k, -k]).map(|k| STEP * f64::from(k));
    let places = offsets.flat_map(|d| [(x, y + d), (x + d, y)]);
    let free = places.map(|at| around(at, wide, high));
    let free = free.into_iter().find(|rect| fits(rect) && taken.is_free(rect));
    let Some(rect) = free else { return false };
    taken.take(rect);
    let style = Type::semi_bold(size).halo(strip_colour(strip.strip.is_check), 4.0);
    let style = style.anchor(Anchor::Middle);
    let ((x, y), half) = (rect.middle(), size * CAP_HEIGHT / 2.0);
    match turned {
        true => svg.text(&name, (x + half, y), style.turned()),
        false => svg.text(&name, (x, y + half), style),
    }
    true
}

/// What the map's outlines and marks mean, then the chart of strips.
fn draw_strips(svg: &mut Svg, page: &TrialPage, place: Rect) {
    heading(svg, "Change of each strip", place);
    draw_caption(svg, &moisture_caption(page.visits), place);
    let legend = place.trim(0.0, HEADING - 4.0, 0.0, 0.0);
    let treated = match page.treatment.trim() {
        "" | "treated" => "treated".to_owned(),
        words => format!("treated: {words}"),
    };
    let halves = legend.columns(2, 24.0);
    let unit = depth_unit_name(page.units);
    let rows = [
        (halves[0], 0, Sample::Ground(false), treated),
        (halves[1], 0, Sample::Ground(true), "check: left alone".to_owned()),
        (halves[0], 1, Sample::Mean(false), "mean of a treated strip".to_owned()),
        (halves[1], 1, Sample::Mean(true), "mean of a check".to_owned()),
        (halves[0], 2, Sample::Mark(Mark::Reached), format!("spot with its change, {unit}")),
        (halves[1], 2, Sample::Mark(Mark::NotReached), "a bound of it (≤ or ≥)".to_owned()),
    ];
    for (column, row, sample, words) in rows {
        let middle = column.top + (f64::from(row) + 0.5) * ROW;
        draw_sample(svg, sample, (column.left, middle));
        let room = column.width - SAMPLE - 14.0;
        let words = fonts::shorten(&words, SIZE, Weight::Regular, room);
        let at = (column.left + SAMPLE + 14.0, middle + SIZE * 0.36);
        svg.text(&words, at, Type::regular(SIZE));
    }
    let chart = legend.trim(0.0, 3.0 * ROW + 14.0, 0.0, 0.0);
    match page.strips.is_empty() {
        true => {
            let at = (chart.left, chart.top + 20.0);
            svg.text("no strip lies in the field", at, Type::regular(SIZE));
        }
        false => strip_chart::draw(svg, page.strips, page.treatment, page.units, chart),
    }
}

/// What stands before a line of the legend.
#[derive(Debug, Clone, Copy)]
enum Sample {
    Ground(bool),
    Mean(bool),
    Mark(Mark),
}

fn draw_sample(svg: &mut Svg, sample: Sample, (left, y): (f64, f64)) {
    let middle = (left + SAMPLE / 2.0, y);
    match sample {
        Sample::Ground(is_check) => {
            svg.rect(Rect::new(left + 2.0, y - 11.0, SAMPLE - 4.0, 22.0), ground(is_check));
        }
        Sample::Mean(true) => {
            svg.rect(around(middle, 16.0, 16.0), Paint::fill(PAPER).edge(INK, 3.0));
        }
        Sample::Mean(false) => svg.circle(middle, 9.0, Paint::fill(TREATED)),
        Sample::Mark(mark) => mark.draw(svg, middle, 8.0),
    }
}

/// Height of the panel of the effect, with its lines of words.
fn effect_height() -> f64 {
    HEADING + 64.0 + estimate_chart::HEIGHT + 34.0
}

fn draw_effect(svg: &mut Svg, page: &TrialPage, place: Rect) {
    heading(svg, "Effect: treated minus check", place);
    draw_caption(svg, &moisture_caption(page.visits), place);
    let place = place.trim(0.0, HEADING, 0.0, 0.0);
    let line = |svg: &mut Svg, row: f64, words: &str| {
        let words = fonts::shorten(words, SIZE, Weight::Regular, place.width);
        svg.text(&words, (place.left, place.top + 20.0 + row * 28.0), Type::regular(SIZE));
    };
    let Some(estimate) = page.effect else {
        line(svg, 0.0, "No effect can be told from these strips.");
        return;
    };
    let strips = count_text(page.strips.len(), "strip");
    let mean = change_text(estimate.mean_cm, page.units);
    line(svg, 0.0, &format!("{mean}, from {strips} with {}", count_text(probes(page), "probe")));
    line(svg, 1.0, &interval_text(estimate, page.units));
    let chart = EstimateChart {
        title: "Effect of the treatment with its interval",
        estimate,
        matters_cm: page.matters_cm,
        ends: ("treated became thinner", "treated became deeper"),
        units: page.units,
    };
    let below = place.trim(0.0, 64.0, 0.0, 0.0);
    chart.draw(svg, below);
    let matters = page.matters_cm.filter(|cm| cm.is_finite() && *cm > 0.0).map(|cm| {
        let least = page.units.depth_text(Depth::from_cm(cm));
        format!("shaded: less than {least} either way, too little to matter")
    });
    if let Some(words) = matters {
        let words = fonts::shorten(&words, 19.0, Weight::Regular, below.width);
        let at = (below.left, below.top + estimate_chart::HEIGHT + 22.0);
        svg.text(&words, at, Type::regular(19.0).colour(SOFT_INK));
    }
}

fn probes(page: &TrialPage) -> usize {
    page.strips.iter().map(|strip| strip.probes).sum()
}

/// What would settle it, and how it was judged: where there is nothing of the one, the other comes first.
fn draw_words(svg: &mut Svg, page: &TrialPage, places: &[Rect]) {
    let blocks = [("What would settle it", page.to_settle), ("How it was judged", page.notes)];
    let blocks = blocks.into_iter().filter(|(_, sentences)| !sentences.is_empty());
    for ((title, sentences), place) in blocks.zip(places) {
        text_block::draw(svg, title, &words("", sentences), &SIZES, *place);
    }
}

/// The page in a few words, for those who cannot see it.
fn summary(page: &TrialPage) -> String {
    let mut parts = vec![page.moisture.words.to_owned(), page.verdict.to_owned()];
    parts.push(moisture_caption(page.visits));
    parts.extend(page.effect.map(|estimate| {
        let mean = change_text(estimate.mean_cm, page.units);
        format!("effect: {mean} ({})", interval_text(estimate, page.units))
    }));
    parts.extend(page.strips.iter().map(|strip| {
        let kind = if strip.is_check { "check" } else { "treated" };
        let mean = match strip.mean_change_cm.is_finite() {
            true => change_text(strip.mean_change_cm, page.units),
            false => "no mean".into(),
        };
        format!("{} ({kind}): {mean}, {}", strip.name, count_text(strip.probes, "probe"))
    }));
    parts.extend(page.to_settle.iter().chain(page.notes).cloned());
    parts.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{self, assert_on_page, assert_text_is_apart, joined, texts};
    use crate::testing_change::MATCHED;
    use crate::testing_trial::Trial;

    const LONG: &str =
        "A field with a name that is far too long for a page & has <odd> signs in it";

    #[test]
    fn text_never_covers_text_in_any_layout() {
        for (sample, count) in [
            (testing::wide(), 8),
            (testing::wide(), 40),
            (testing::very_wide(), 12),
            (testing::tall(), 4),
            (testing::tiny(), 2),
            (testing::si(), 6),
        ] {
            let trial = Trial::new(sample, count);
            let strips = trial.strips();
            for moisture in [MATCHED, crate::testing_change::DRIER] {
                let page = TrialPage { moisture, ..trial.page(LONG, &strips) };
                let svg = trial_svg(&page);
                assert_text_is_apart(&svg);
                assert_on_page(&svg);
            }
        }
    }

    #[test]
    fn every_strip_has_its_name_on_the_map_and_in_the_chart() {
        let trial = Trial::new(testing::wide(), 8);
        let strips = trial.strips();
        let words: Vec<String> = texts(&trial_svg(&trial.page("Home", &strips)))
            .into_iter()
            .map(|text| text.0)
            .collect();
        for strip in &strips {
            let times = words.iter().filter(|text| *text == strip.name).count();
            assert_eq!(times, 2, "{}", strip.name);
        }
    }

    #[test]
    fn a_trial_without_strips_or_effect_says_so() {
        let trial = Trial::new(testing::wide(), 0);
        let page = TrialPage {
            effect: None,
            matters_cm: None,
            to_settle: &[],
            notes: &[],
            pairs: &[],
            verdict: "",
            ..trial.page("Home", &[])
        };
        let svg = trial_svg(&page);
        assert_text_is_apart(&svg);
        let words = joined(&svg);
        assert!(words.contains("no strip lies in the field"), "{words}");
        assert!(words.contains("No effect can be told"), "{words}");
    }

    #[test]
    fn strips_without_a_mean_are_not_drawn_at_0() {
        let trial = Trial::new(testing::wide(), 40);
        let strips = trial.strips();
        let words = joined(&trial_svg(&trial.page("Home", &strips)));
        assert!(words.contains("no mean"), "{words}");
        assert!(words.contains("more strips"), "{words}");
    }

    #[test]
    fn the_effect_is_told_against_0_and_what_matters_in_the_reader_s_unit() {
        let trial = Trial::new(testing::wide(), 8);
        let strips = trial.strips();
        let words = joined(&trial_svg(&trial.page("Home", &strips)));
        for part in [
            "+1.6 in, from 8 strips with 41 probes",
            "95 % interval −0.4 to +3.6 in",
            "less than 2 in",
        ] {
            assert!(words.contains(part), "{part}: {words}");
        }
        let trial = Trial::new(testing::si(), 8);
        let strips = trial.strips();
        let words = joined(&trial_svg(&trial.page("Feld", &strips)));
        for part in ["+4.1 cm", "95 % interval −0.9 to +9.1 cm", "less than 5.1 cm"] {
            assert!(words.contains(part), "{part}: {words}");
        }
    }

    #[test]
    fn treated_ground_without_a_word_of_its_own_is_treated() {
        let trial = Trial::new(testing::wide(), 8);
        let strips = trial.strips();
        for (treatment, expected) in
            [("", "treated"), ("treated", "treated"), ("subsoiled", "treated: subsoiled")]
        {
            let page = TrialPage { treatment, ..trial.page("Home", &strips) };
            let svg = trial_svg(&page);
            assert!(texts(&svg).iter().any(|text| text.0 == expected), "{}", joined(&svg));
        }
    }

    #[test]
    fn the_same_trial_gives_the_same_picture() {
        let draw = || {
            let trial = Trial::new(testing::tiny(), 2);
            let strips = trial.strips();
            trial_png(&trial.page("Home", &strips)).unwrap()
        };
        assert!(draw() == draw());
    }
}
