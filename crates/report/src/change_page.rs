//! The page of a change: where the loose layer became thinner or deeper between two visits, and where
//! that is more than chance.

use geostat::Raster;
use survey::units::tidy;
use survey::{Field, UnitSystem};

use crate::base_map::{BaseMap, NO_VALUE, hatch_pattern};
use crate::class_picture::{ClassPicture, WITHIN, within_pattern};
use crate::error::ReportError;
use crate::estimate::{Estimate, PairedSpot};
use crate::estimate_chart::{self, EstimateChart, interval_text};
use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::ground_panel::{self, Part};
use crate::header::PageHead;
use crate::label_point::is_inside;
use crate::labels::{Taken, around};
use crate::legend::{Legend, LegendPanel, Row, depth_unit_name, draw_caption, heading};
use crate::marks::Mark;
use crate::notice::Notice;
use crate::page::{WIDE, aspect_of, sheet};
use crate::palette::{CHANGE, PAPER, ink_on};
use crate::png_file::picture;
use crate::probe_marks::ProbeMarks;
use crate::svg::{Anchor, Paint, Svg, Type};
use crate::text_block::{self, SIZES, words};
use crate::transition_panel::{self, TransitionPanel};
use crate::value_classes::ValueClasses;
use crate::visit_facts::{VisitFacts, facts_of_two, moisture_caption};
use crate::wording::{area_text, change_text, count_text};

/// What a page of change shows. A change is later minus earlier: negative is thinner.
#[derive(Debug, Clone, Copy)]
pub struct ChangePage<'a> {
    /// Headline, the field's name for instance. Shortened where it does not fit.
    pub title: &'a str,
    /// The field of both visits.
    pub field: &'a Field,
    /// Units of the page.
    pub units: UnitSystem,
    /// The earlier and the later visit.
    pub visits: [&'a VisitFacts; 2],
    /// Whether the soil was equally moist: the first line.
    pub moisture: Notice<'a>,
    /// Later minus earlier depth, centimetres, NaN where one of them has no value.
    pub change_cm: &'a Raster,
    /// Half the width of the change's interval, centimetres, on the same grid: a smaller change is hatched
    /// and not coloured, one without a half-width too. `None` where nothing is known of it; then all
    /// ground is hatched.
    pub half_width_cm: Option<&'a Raster>,
    /// How sure that interval is, 0 to 1: 0.95.
    pub confidence: f64,
    /// Limits between classes of change, centimetres, rising and the same on both sides of 0:
    /// [`change_limits_cm`] or others. A limit belongs to the class above; see [`ValueClasses::change`].
    pub limits_cm: &'a [f64],
    /// True area on the ground of each class, one more than limits, without what lies within its
    /// uncertainty, square metres.
    pub class_areas_m2: &'a [f64],
    /// True area on the ground where the change lies within its uncertainty, square metres.
    pub within_m2: f64,
    /// True area on the ground without a change, square metres.
    pub unmapped_m2: f64,
    /// True area that surely became thinner and that surely became deeper, square metres.
    pub thinner_m2: f64,
    /// See [`ChangePage::thinner_m2`].
    pub deeper_m2: f64,
    /// Spots that both visits read.
    pub pairs: &'a [PairedSpot],
    /// Mean change of the pairs.
    pub paired: Option<Estimate>,
    /// From which depth class to which.
    pub transitions: Option<TransitionTable<'a>>,
    /// What it comes to, one sentence; may be empty.
    pub verdict: &'a str,
    /// Further sentences: tests, how it was made, what was left out. The most important first.
    pub notes: &'a [String],
}

/// Ground by the depth class that it had and the one it has.
#[derive(Debug, Clone, Copy)]
pub struct TransitionTable<'a> {
    /// The classes with their units, the shallowest first: `3–6 in`.
    pub class_names: &'a [String],
    /// True area on the ground, square metres: for each class of the earlier visit, those of the later.
    pub areas_m2: &'a [Vec<f64>],
}

/// Limits of seven classes of change, centimetres: a half, one and a half and two and a half steps of the
/// rod's marks from 0, so that a change of one mark lies in the middle of its class.
pub fn change_limits_cm(units: UnitSystem) -> [f64; 6] {
    let step = match units {
        UnitSystem::Us => units.depth_from(3.0),
        UnitSystem::Si => units.depth_from(10.0),
    };
    [-2.5, -1.5, -0.5, 0.5, 1.5, 2.5].map(|steps| steps * step.cm())
}

/// Depth of the strip below a wide map, and gaps.
const STRIP: f64 = 432.0;
const GAP: f64 = 40.0;
/// Width of the legend beside a map.
const LEGEND: f64 = 560.0;
/// Widths of the panels of ground, pairs and classes below a map.
const GROUND: f64 = 330.0;
const PAIRS: f64 = 390.0;
const CLASSES: f64 = 600.0;
/// A field this much wider than high has its map across the whole page.
const ACROSS: f64 = 4.2;
/// Room of a heading and the line below it.
const HEADING: f64 = 64.0;

const FOOT: (&str, &str) = (
    "Before you act on this map",
    "Both maps have errors, and moisture moves readings more than density does. A thinner loose layer is \
     not yet compaction: dig and look before treating. Call before you dig (811 in the US). Follow local \
     rules and a licensed or certified adviser.",
);

/// The page as one SVG document of the map page's size, fonts by name ("Inter").
pub fn change_svg(page: &ChangePage) -> String {
    let [earlier, later] = page.visits.map(|visit| visit.day_text(page.units));
    let subtitle = format!("Change of the loose-layer depth: {later} minus {earlier}");
    let names = ["Earlier visit · moisture", "Later visit · moisture"];
    let mut facts = facts_of_two(names, page.visits, page.units);
    facts.push(("Pairs of spots", page.pairs.len().to_string()));
    facts.push(("Field", area_text(page.field.ground_area_m2(), page.field, page.units)));
    let head = PageHead { title: page.title, subtitle: &subtitle, facts, utm: page.field.utm() };
    sheet(&head, FOOT, &summary(page), |svg, body| {
        svg.raw(&hatch_pattern());
        svg.raw(&within_pattern());
        let body = page.moisture.draw(svg, body, 26.0);
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
pub fn change_png(page: &ChangePage) -> Result<Vec<u8>, ReportError> {
    picture(&change_svg(page))
}

/// The map with its legend beside it, a strip of panels below.
fn draw_wide(svg: &mut Svg, page: &ChangePage, body: Rect) {
    let (top, strip) = body.split_top(body.height - GAP - STRIP, GAP);
    let (map, side) = top.split_left(top.width - LEGEND - GAP, GAP);
    draw_map(svg, page, map);
    legend(page).draw(svg, side);
    let (ground, rest) = strip.split_left(GROUND, GAP);
    let (pairs, rest) = rest.split_left(PAIRS, GAP);
    draw_ground(svg, page, ground);
    draw_pairs(svg, page, pairs);
    draw_classes_and_words(svg, page, rest);
}

/// The map across the page, everything else below.
fn draw_across(svg: &mut Svg, page: &ChangePage, body: Rect, aspect: f64) {
    let legend = legend(page);
    let least = legend.least_height(LEGEND).max(ground_height() + GAP + pairs_height());
    let most = body.height - GAP - least;
    let (map, strip) = body.split_top((body.width / aspect + 150.0).max(340.0).min(most), GAP);
    draw_map(svg, page, map);
    let (side, rest) = strip.split_left(LEGEND, GAP);
    legend.draw(svg, side);
    let (column, rest) = rest.split_left(PAIRS, GAP);
    let (ground, pairs) = column.split_top(ground_height(), GAP);
    draw_ground(svg, page, ground);
    draw_pairs(svg, page, pairs);
    draw_classes_and_words(svg, page, rest);
}

/// The map on the left, everything else on the right.
fn draw_tall(svg: &mut Svg, page: &ChangePage, body: Rect, aspect: f64) {
    // Beside a field as wide as high the table of classes needs room.
    let width = (body.height * aspect).clamp(820.0, 970.0);
    let (map, column) = body.split_left(width, GAP + 10.0);
    draw_map(svg, page, map);
    let legend = legend(page);
    let (top, rest) = column.split_top(legend.least_height(column.width), 30.0);
    legend.draw(svg, top);
    let (left, right) = rest.split_left(GROUND, GAP);
    let (ground, pairs) = left.split_top(ground_height(), 24.0);
    draw_ground(svg, page, ground);
    draw_pairs(svg, page, pairs);
    let Some(table) = page.transitions else {
        draw_words(svg, page, right);
        return;
    };
    let height = HEADING + transition_panel::height(table.class_names.len());
    let (classes, words) = right.split_top(height, 24.0);
    draw_classes(svg, page, table, classes);
    draw_words(svg, page, words);
}

fn draw_map(svg: &mut Svg, page: &ChangePage, place: Rect) {
    let base = BaseMap::new(page.field, page.units, place);
    let classes = ValueClasses::change(page.limits_cm, page.units);
    let unknown =
        Raster { grid: page.change_cm.grid, values: vec![f64::NAN; page.change_cm.values.len()] };
    let picture = ClassPicture {
        raster: page.change_cm,
        classes: &classes,
        ramp: CHANGE,
        half_width: Some(page.half_width_cm.unwrap_or(&unknown)),
    };
    base.draw_below(svg);
    picture.draw(svg, &base.view, &base.outline);
    base.draw_above(svg);
    let mut taken = base.free_ground();
    let marks = ProbeMarks::of_pairs(page.pairs, page.field, page.units, &base.view);
    marks.take(&mut taken);
    marks.draw(svg, &mut taken, |at| {
        let is_inside = is_inside(&base.outline, at);
        is_inside.then(|| picture.colour_at(&base.view, at).unwrap_or(PAPER))
    });
    draw_signs(svg, &classes, &picture, &base, &mut taken);
}

/// Signs on the coloured ground, where there is room: in grey print both ends are alike.
fn draw_signs(
    svg: &mut Svg,
    classes: &ValueClasses,
    picture: &ClassPicture,
    base: &BaseMap,
    taken: &mut Taken,
) {
    /// Distance of signs, their size and the clear ground around them, pixels.
    const STEP: f64 = 76.0;
    const SIGN: f64 = 27.0;
    const CLEAR: f64 = 34.0;
    let corners = || base.outline.iter().flatten();
    let low = corners().fold((f64::INFINITY, f64::INFINITY), |a, b| (a.0.min(b.0), a.1.min(b.1)));
    let high = corners().fold((0.0_f64, 0.0_f64), |a, b| (a.0.max(b.0), a.1.max(b.1)));
    let steps = |from: f64, to: f64| {
        (0..).map(move |k| from + (f64::from(k) + 0.5) * STEP).take_while(move |at| *at < to)
    };
    let sign_at = |at: (f64, f64)| {
        let class = picture.class_at(&base.view, at).filter(|_| is_inside(&base.outline, at))?;
        Some((class, classes.sign(class)?))
    };
    for at in steps(low.1, high.1).flat_map(|y| steps(low.0, high.0).map(move |x| (x, y))) {
        let rect = around(at, CLEAR, CLEAR);
        let Some((class, sign)) = sign_at(at) else { continue };
        let is_whole =
            rect.corners().into_iter().all(|corner| sign_at(corner) == Some((class, sign)));
        if is_whole && taken.take_if_free(rect) {
            let (ink, _) = ink_on(CHANGE.class_colour(class, classes.len()));
            let foot = (at.0, at.1 + SIGN * 0.36);
            svg.text(sign, foot, Type::regular(SIGN).colour(ink).anchor(Anchor::Middle));
        }
    }
}

fn legend<'a>(page: &ChangePage<'a>) -> LegendPanel<'a> {
    let classes = ValueClasses::change(page.limits_cm, page.units);
    let row =
        |swatch, name: String, area_m2| Row { swatch, name, note: None, area_m2, interval: None };
    let of_class = |class| {
        let area_m2 = page.class_areas_m2.get(class).copied().unwrap_or(0.0);
        let swatch = Paint::fill(CHANGE.class_colour(class, classes.len()));
        row(swatch, classes.name(class).to_owned(), area_m2)
    };
    let within = match page.half_width_cm {
        Some(_) => format!("within its uncertainty ({})", percent(page.confidence)),
        None => "uncertainty not known".into(),
    };
    let within = row(Paint::pattern(WITHIN), within, page.within_m2);
    let rows = (0..classes.len()).map(of_class).chain([within]);
    let legend = Legend {
        title: "Change".into(),
        caption: Some(format!(
            "{}; on the ground − thinner, + deeper",
            moisture_caption(page.visits)
        )),
        rows: rows.chain([Row::no_value(None, page.unmapped_m2)]).collect(),
        marks: marks(page),
        names: Vec::new(),
    };
    LegendPanel { field: page.field, units: page.units, legend }
}

/// What the marks mean, with how many there are; those that do not occur are left out.
fn marks(page: &ChangePage) -> Vec<(Mark, String)> {
    let unit = depth_unit_name(page.units);
    let words = [
        (Mark::Reached, format!("change where both dates read the same spot, {unit}")),
        (
            Mark::NotReached,
            "a bound of it (≤ or ≥): one date did not reach the threshold".to_owned(),
        ),
        (Mark::Unknown, "not known: neither date reached the threshold".to_owned()),
    ];
    let count =
        |mark| page.pairs.iter().filter(|pair| Mark::of_change(pair.change) == mark).count();
    let rows = words.into_iter().map(|(mark, words)| (mark, words, count(mark)));
    let rows: Vec<(Mark, String)> = rows
        .filter(|row| row.2 > 0)
        .map(|(mark, words, count)| (mark, format!("{words}: {}", count_text(count, "spot"))))
        .collect();
    match rows.is_empty() {
        true => vec![(Mark::Reached, "no spot was read on both dates".into())],
        false => rows,
    }
}

fn ground_height() -> f64 {
    HEADING + ground_panel::height(4)
}

fn draw_ground(svg: &mut Svg, page: &ChangePage, place: Rect) {
    let place = draw_heading(svg, page, "Ground", place);
    let part = |name, paint, area_m2| Part { name, paint, area_m2 };
    let parts = [
        part("thinner (−)", Paint::fill(CHANGE.class_colour(1, 7)), page.thinner_m2),
        part("deeper (+)", Paint::fill(CHANGE.class_colour(5, 7)), page.deeper_m2),
        part("uncertain", Paint::pattern(WITHIN), page.within_m2),
        part("no value", Paint::pattern(NO_VALUE), page.unmapped_m2),
    ];
    ground_panel::draw(svg, &parts, page.field, page.units, place);
}

/// Height of the panel of pairs, with two lines of words.
fn pairs_height() -> f64 {
    HEADING + 64.0 + estimate_chart::HEIGHT
}

fn draw_pairs(svg: &mut Svg, page: &ChangePage, place: Rect) {
    let place = draw_heading(svg, page, "Same spots, both dates", place);
    let pairs = count_text(page.pairs.len(), "pair");
    let Some(estimate) = page.paired else {
        let words = match page.pairs.len() {
            0 => "No spot was read on both dates: the map alone tells of change.".to_owned(),
            _ => format!("{pairs}: no mean can be told."),
        };
        for (k, line) in fonts::wrap(&words, 21.0, Weight::Regular, place.width).iter().enumerate()
        {
            let at = (place.left, place.top + 20.0 + k as f64 * 28.0);
            svg.text(line, at, Type::regular(21.0));
        }
        return;
    };
    let mean = format!("Mean of {}", count_text(estimate.count, "pair"));
    let interval = interval_text(estimate, page.units);
    for (k, words) in [mean, interval].iter().enumerate() {
        let words = fonts::shorten(words, 21.0, Weight::Regular, place.width);
        svg.text(&words, (place.left, place.top + 20.0 + k as f64 * 28.0), Type::regular(21.0));
    }
    let chart = EstimateChart {
        title: "Mean change of the spots that both visits read",
        estimate,
        matters_cm: None,
        ends: ("thinner", "deeper"),
        units: page.units,
    };
    chart.draw(svg, place.trim(0.0, 64.0, 0.0, 0.0));
}

/// The table where there is one, and the words beside it.
fn draw_classes_and_words(svg: &mut Svg, page: &ChangePage, place: Rect) {
    match page.transitions {
        Some(table) => {
            let (classes, words) = place.split_left(CLASSES, GAP);
            draw_classes(svg, page, table, classes);
            draw_words(svg, page, words);
        }
        None => draw_words(svg, page, place),
    }
}

fn draw_classes(svg: &mut Svg, page: &ChangePage, table: TransitionTable, place: Rect) {
    let title = format!("Ground by class, {}", page.units.area_unit());
    let place = draw_heading(svg, page, &title, place);
    let days = page.visits.map(|visit| visit.day_text(page.units));
    let panel = TransitionPanel { table, field: page.field, units: page.units, days };
    panel.draw(svg, place);
}

fn draw_words(svg: &mut Svg, page: &ChangePage, place: Rect) {
    text_block::draw(svg, "What it says", &words(page.verdict, page.notes), &SIZES, place);
}

/// A heading with the moisture of both dates below it; returns what is left of the place.
fn draw_heading(svg: &mut Svg, page: &ChangePage, words: &str, place: Rect) -> Rect {
    heading(svg, words, place);
    draw_caption(svg, &moisture_caption(page.visits), place);
    place.trim(0.0, HEADING, 0.0, 0.0)
}

/// How sure, in percent: `95 %`.
pub(crate) fn percent(confidence: f64) -> String {
    format!("{} %", tidy(100.0 * confidence, 1))
}

/// The page in a few words, for those who cannot see it.
fn summary(page: &ChangePage) -> String {
    let area = |area_m2| area_text(area_m2, page.field, page.units);
    let mut parts = vec![
        page.moisture.words.to_owned(),
        moisture_caption(page.visits),
        count_text(page.pairs.len(), "pair"),
        format!("thinner: {}", area(page.thinner_m2)),
        format!("deeper: {}", area(page.deeper_m2)),
        format!("within its uncertainty: {}", area(page.within_m2)),
        format!("no value: {}", area(page.unmapped_m2)),
    ];
    parts.extend(page.paired.map(|estimate| {
        let mean = change_text(estimate.mean_cm, page.units);
        format!("mean of pairs: {mean} ({})", interval_text(estimate, page.units))
    }));
    parts.extend(words(page.verdict, page.notes).into_iter().map(|(text, _)| text));
    parts.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{self, assert_on_page, assert_text_is_apart, joined, texts};
    use crate::testing_change::{Changed, DRIER, MATCHED};

    const LONG: &str =
        "A field with a name that is far too long for a page & has <odd> signs in it";

    #[test]
    fn text_never_covers_text_in_any_layout() {
        for sample in [
            testing::wide(),
            testing::very_wide(),
            testing::tall(),
            testing::tiny(),
            testing::with_gap(),
            testing::si(),
        ] {
            let changed = Changed::new(sample);
            for moisture in [MATCHED, DRIER] {
                let svg = change_svg(&ChangePage { moisture, ..changed.page(LONG) });
                assert_text_is_apart(&svg);
                assert_on_page(&svg);
            }
        }
    }

    #[test]
    fn every_class_has_its_sign_and_ground_in_the_legend() {
        let changed = Changed::new(testing::wide());
        let words: Vec<String> =
            texts(&change_svg(&changed.page("Home"))).into_iter().map(|text| text.0).collect();
        for name in [
            "below −7.5 in, thinner",
            "−7.5 to −4.5 in, thinner",
            "−4.5 to −1.5 in, thinner",
            "−1.5 to +1.5 in",
            "+1.5 to +4.5 in, deeper",
            "+4.5 to +7.5 in, deeper",
            "+7.5 in or more, deeper",
            "within its uncertainty (95 %)",
        ] {
            let row = words.iter().position(|text| text == name).unwrap();
            assert!(words[row + 1].ends_with(" ac") || words[row + 1] == "none", "{name}");
        }
    }

    #[test]
    fn limits_lie_between_the_rod_s_marks() {
        let in_unit = |units: UnitSystem| {
            change_limits_cm(units).map(|cm| tidy(units.depth(survey::Depth::from_cm(cm)), 3))
        };
        assert_eq!(in_unit(UnitSystem::Us), ["-7.5", "-4.5", "-1.5", "1.5", "4.5", "7.5"]);
        assert_eq!(in_unit(UnitSystem::Si), ["-25", "-15", "-5", "5", "15", "25"]);
    }

    #[test]
    fn the_moisture_of_both_dates_stands_at_every_figure() {
        let changed = Changed::new(testing::wide());
        let words = joined(&change_svg(&changed.page("Home")));
        // Map, ground, pairs and classes.
        assert_eq!(words.matches("soil moisture 34 % → 16 %").count(), 4);
        assert!(words.contains("Jun 9, 2025 minus Apr 14, 2025"));
    }

    #[test]
    fn a_change_without_any_value_has_no_class_and_still_a_page() {
        let mut changed = Changed::new(testing::wide());
        changed.change_cm.values.fill(f64::NAN);
        let svg = change_svg(&ChangePage {
            class_areas_m2: &[],
            within_m2: 0.0,
            thinner_m2: 0.0,
            deeper_m2: 0.0,
            unmapped_m2: changed.sample.map.field_area_m2,
            pairs: &[],
            paired: None,
            transitions: None,
            verdict: "",
            notes: &[],
            ..changed.page("Home")
        });
        assert_text_is_apart(&svg);
        let words = joined(&svg);
        assert!(words.contains("no spot was read on both dates"), "{words}");
        assert!(words.contains("100 %"), "{words}");
    }

    #[test]
    fn pairs_without_a_mean_are_counted() {
        let changed = Changed::new(testing::wide());
        let words = joined(&change_svg(&ChangePage { paired: None, ..changed.page("Home") }));
        assert!(words.contains("75 pairs: no mean can be told"), "{words}");
    }

    #[test]
    fn no_ground_is_coloured_where_no_uncertainty_is_known() {
        let mut changed = Changed::new(testing::tiny());
        let page = ChangePage { half_width_cm: None, ..changed.page("Home") };
        let words = joined(&change_svg(&page));
        assert!(words.contains("uncertainty not known"), "{words}");
        let hatched = change_png(&page).unwrap();
        // As where each half-width is missing; only the legend's words differ, in both their pictures.
        changed.half_width_cm.values.fill(f64::NAN);
        let missing = change_png(&changed.page("Home")).unwrap();
        let map = |png: &[u8]| {
            let picture = image::load_from_memory(png).unwrap().to_rgb8();
            image::imageops::crop_imm(&picture, 0, 350, 1000, 1100).to_image()
        };
        assert!(map(&hatched) == map(&missing));
        let coloured = change_png(&Changed::new(testing::tiny()).page("Home")).unwrap();
        assert!(map(&hatched) != map(&coloured));
    }

    #[test]
    fn bounds_of_pairs_stand_on_the_map_as_bounds() {
        let changed = Changed::new(testing::wide());
        let words: Vec<String> =
            texts(&change_svg(&changed.page("Home"))).into_iter().map(|text| text.0).collect();
        assert!(words.iter().any(|text| text == "≤ −6"), "{words:?}");
        assert!(words.iter().any(|text| text == "≥ −9"), "{words:?}");
    }

    #[test]
    fn too_much_text_is_cut_and_owned_up_to() {
        let notes = vec!["a sentence that goes on and on about how it was made".to_owned(); 60];
        for sample in [testing::wide(), testing::very_wide(), testing::tall()] {
            let changed = Changed::new(sample);
            let svg = change_svg(&ChangePage { notes: &notes, ..changed.page("Home") });
            assert_text_is_apart(&svg);
            assert!(texts(&svg).iter().any(|(words, _)| words == "…"));
        }
    }

    #[test]
    fn si_pages_speak_of_centimetres_and_hectares_alone() {
        let changed = Changed::new(testing::si());
        // Where to call before digging has a number of its own.
        let words = joined(&change_svg(&changed.page("Feld"))).replace("811 in the US", "");
        assert!(words.contains("−25 to −15 cm, thinner") && words.contains(" ha "), "{words}");
        for unit in [" in,", " in ", " ac ", " psi"] {
            let after_number = words
                .match_indices(unit)
                .any(|(at, _)| words[..at].ends_with(|c: char| c.is_ascii_digit()));
            assert!(!after_number, "{unit}: {words}");
        }
    }

    #[test]
    fn the_same_change_gives_the_same_picture() {
        let draw = || change_png(&Changed::new(testing::tiny()).page("Home")).unwrap();
        assert!(draw() == draw());
    }
}
