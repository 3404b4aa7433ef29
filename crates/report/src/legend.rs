//! The legend: each class with its ground, ground without a value, and the marks.

use survey::NoReading;

use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::map_panel::{MARK, NO_VALUE};
use crate::marks::Mark;
use crate::page::MapPage;
use crate::palette::{DIM, HAIRLINE, SOFT_INK, class_colour};
use crate::svg::{Anchor, Paint, Svg, Type};
use crate::wording::{area_text, count_text, share_text};

const SIZE: f64 = 22.0;
const SMALL: f64 = 20.0;
/// Heights of a row, by the room there is.
const ROW: (f64, f64) = (31.0, 44.0);
/// Room for the marks below the classes.
const MARKS: f64 = 330.0;
/// Room of the line below "no value".
const NOTE: f64 = 24.0;
const SWATCH: f64 = 46.0;
/// From a mark to what it means.
const INDENT: f64 = 40.0;
/// From a zone's id to what it means.
const ZONE_INDENT: f64 = 66.0;
/// From here on the marks stand beside the classes, not below.
const WIDE: f64 = 600.0;
/// The classes' table is no wider: a row must be read across.
const WIDEST_TABLE: f64 = 500.0;

/// One row: a swatch, what it means, how much ground.
struct Row {
    swatch: Paint,
    name: String,
    note: Option<String>,
    area_m2: f64,
}

/// Draws the legend into a rectangle.
pub(crate) fn draw(svg: &mut Svg, page: &MapPage, place: Rect) {
    if place.width < WIDE {
        let row = row_height(page, place.height - MARKS);
        let foot = draw_classes(svg, page, place, row);
        draw_marks(svg, page, place.trim(0.0, foot - place.top + 30.0, 0.0, 0.0));
        return;
    }
    let (classes, marks) = place.split_left((place.width * 0.54).min(WIDEST_TABLE), 44.0);
    draw_classes(svg, page, classes, row_height(page, place.height));
    draw_marks(svg, page, marks);
}

/// Height of a row of the table of classes where there is so much room.
fn row_height(page: &MapPage, room: f64) -> f64 {
    let rows = page.map.classes.len() as f64 + 1.0;
    ((room - 36.0 - NOTE) / rows).clamp(ROW.0, ROW.1)
}

/// Draws the table of classes and returns where it ends.
fn draw_classes(svg: &mut Svg, page: &MapPage, place: Rect, height: f64) -> f64 {
    heading(svg, "Loose layer", place);
    let share_right = place.right();
    let area_right = share_right - 92.0;
    let small = Type::regular(SMALL).colour(SOFT_INK).anchor(Anchor::End);
    svg.text("ground", (area_right, place.top + 20.0), small);
    svg.text("of field", (share_right, place.top + 20.0), small);
    let mut top = place.top + 36.0;
    for row in rows(page) {
        let none = row.area_m2 <= 0.0;
        let base = top + height / 2.0 + SIZE * 0.36;
        let style = match none {
            true => Type::regular(SIZE).colour(DIM),
            false => Type::regular(SIZE),
        };
        let swatch = Rect::new(place.left, top + 3.0, SWATCH, height - 6.0);
        svg.rect(swatch, row.swatch.edge(HAIRLINE, 1.2));
        svg.text(&row.name, (place.left + SWATCH + 14.0, base), style);
        if none {
            svg.text("none", (share_right, base), style.anchor(Anchor::End));
        } else {
            let area = area_text(row.area_m2, page.map);
            svg.text(&area, (area_right, base), style.anchor(Anchor::End));
            let share = share_text(page.map.share(row.area_m2));
            svg.text(&share, (share_right, base), style.anchor(Anchor::End));
        }
        top += height;
        if let (Some(note), false) = (row.note, none) {
            let style = Type::regular(SMALL).colour(SOFT_INK);
            svg.text(&note, (place.left + SWATCH + 14.0, top + 15.0), style);
            top += NOTE;
        }
    }
    top
}

fn rows(page: &MapPage) -> Vec<Row> {
    let map = page.map;
    let classes = map.classes.len();
    let of_class = |class| Row {
        swatch: Paint::fill(class_colour(class, classes)),
        name: map.classes.name(class),
        note: None,
        area_m2: map.class_area_m2(class),
    };
    let reach = page.map.classes.units().distance_text(whole(page, map.method.reach_m));
    let no_value = Row {
        swatch: Paint::pattern(NO_VALUE),
        name: "no value".into(),
        note: Some(format!("no probe within {reach}")),
        area_m2: map.unmapped.ground_area_m2,
    };
    (0..classes).map(of_class).chain([no_value]).collect()
}

/// A distance rounded to whole feet or metres, unless it is only a few.
pub(crate) fn whole(page: &MapPage, distance_m: f64) -> f64 {
    let unit_m = match page.map.classes.units() {
        survey::UnitSystem::Us => survey::units::M_PER_FT,
        survey::UnitSystem::Si => 1.0,
    };
    match distance_m / unit_m {
        few if few < 20.0 => distance_m,
        many => many.round() * unit_m,
    }
}

/// Draws what the marks mean.
fn draw_marks(svg: &mut Svg, page: &MapPage, place: Rect) {
    heading(svg, "Marks", place);
    let room = place.width - INDENT;
    let mut base = place.top + 36.0 + 23.0;
    for (mark, words) in mark_rows(page) {
        mark.draw(svg, (place.left + 12.0, base - SIZE * 0.36), MARK * 1.15);
        for line in fonts::wrap(&words, SIZE, Weight::Regular, room) {
            svg.text(&line, (place.left + INDENT, base), Type::regular(SIZE));
            base += 28.0;
        }
        base += 8.0;
    }
    draw_zone_note(svg, page, (place.left, base), room);
}

/// Draws what a zone's id means, by the example of the largest zone.
fn draw_zone_note(svg: &mut Svg, page: &MapPage, (left, mut base): (f64, f64), room: f64) {
    let area = |zone: &&mapping::Zone| zone.ground_area_m2;
    let largest = page.map.zones.iter().max_by(|a, b| area(a).total_cmp(&area(b)));
    let Some(zone) = largest else { return };
    svg.text(&zone.id, (left - 4.0, base), Type::semi_bold(SIZE));
    let words = format!("a zone: class {}, the largest", zone.class + 1);
    for line in fonts::wrap(&words, SIZE, Weight::Regular, room - ZONE_INDENT + INDENT) {
        svg.text(&line, (left + ZONE_INDENT, base), Type::regular(SIZE));
        base += 28.0;
    }
}

fn mark_rows(page: &MapPage) -> Vec<(Mark, String)> {
    let (survey, units) = (page.survey, page.map.classes.units());
    let threshold = survey.threshold().to_string();
    let unit = match units {
        survey::UnitSystem::Us => "inches",
        survey::UnitSystem::Si => "centimetres",
    };
    let mut rows = vec![(Mark::Reached, format!("{threshold} first read here, {unit}"))];
    let not_reached = survey.not_reached();
    if not_reached > 0 {
        let share = share_text(not_reached as f64 / survey.spots().len() as f64);
        let words = format!(
            "not reached to the depth probed (+): {not_reached} of {} ({share}); near them the map is a \
             lower bound",
            count_text(survey.spots().len(), "probe"),
        );
        rows.push((Mark::NotReached, words));
    }
    let reasons = [(NoReading::Refused, "stopped by a stone"), (NoReading::Skipped, "skipped")];
    let reasons: Vec<String> = reasons
        .into_iter()
        .map(|(why, words)| (survey.count_without(why), words))
        .filter(|(count, _)| *count > 0)
        .map(|(count, words)| format!("{count} {words}"))
        .collect();
    if !reasons.is_empty() {
        rows.push((Mark::NoReading, format!("no reading: {}", reasons.join(", "))));
    }
    rows
}

/// A panel's heading, at the top of its rectangle.
pub(crate) fn heading(svg: &mut Svg, words: &str, place: Rect) {
    svg.text(words, (place.left, place.top + 20.0), Type::semi_bold(25.0));
}
