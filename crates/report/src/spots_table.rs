//! The boxes of the field sheet: a row for each spot.

use std::ops::Range;

use sampling::Why;

use crate::fonts::{self, CAP_HEIGHT, Weight};
use crate::frame::Rect;
use crate::palette::{DIM, FAINT, HAIRLINE, INK, PAPER, SOFT_INK, SURROUNDINGS};
use crate::spots_sheet::SpotsSheet;
use crate::svg::{Anchor, Paint, Svg, Type};

/// Width of the table, pixels.
pub(crate) const WIDTH: f64 = 1_440.0;

const HEADER: f64 = 84.0;
/// Width of the spot's number and name, of the tick for a stone, of the moisture.
const NAME: f64 = 176.0;
const STONE: f64 = 86.0;
const MOISTURE: f64 = 150.0;
/// Width of the box of an insertion, with its tick: 16 mm and more, narrower where there are many.
const PUSH: f64 = 150.0;
/// Side of a box to tick.
const TICK: f64 = 26.0;
/// The most boxes for insertions in a row; of more the note has room.
pub(crate) const MOST_PUSHES: usize = 6;

/// Where the columns are.
struct Columns {
    pushes: Vec<Rect>,
    stone: Rect,
    moisture: Rect,
    note: Rect,
}

impl Columns {
    fn of(sheet: &SpotsSheet, row: Rect) -> Columns {
        let count = sheet.insertions.clamp(1, MOST_PUSHES);
        let width = PUSH.min((row.width - NAME - STONE - MOISTURE - 240.0) / count as f64);
        let column = |left: f64, width: f64| Rect { left, width, ..row };
        let after_name = row.left + NAME;
        let pushes = (0..count).map(|k| column(after_name + k as f64 * width, width)).collect();
        let stone = column(after_name + count as f64 * width, STONE);
        let moisture = column(stone.right(), MOISTURE);
        let note = column(moisture.right(), row.right() - moisture.right());
        Columns { pushes, stone, moisture, note }
    }
}

/// Draws the header and the rows of some spots; rows are as high as on a page of `rows`.
pub(crate) fn draw(
    svg: &mut Svg,
    sheet: &SpotsSheet,
    spots: Range<usize>,
    rows: usize,
    place: Rect,
) {
    let (header, body) = place.split_top(HEADER, 0.0);
    draw_header(svg, sheet, header);
    let height = body.height / rows as f64;
    for (k, number) in spots.clone().enumerate() {
        let row = Rect::new(body.left, body.top + k as f64 * height, body.width, height);
        draw_row(svg, sheet, number, row);
    }
    let end = body.top + spots.len() as f64 * height;
    let columns = Columns::of(sheet, Rect { height: end - place.top, ..place });
    let edges = columns.pushes.iter().chain([&columns.stone, &columns.moisture, &columns.note]);
    for edge in edges {
        svg.line((edge.left, header.top), (edge.left, end), Paint::stroke(DIM, 1.6));
    }
    let whole = Rect { height: end - place.top, ..place };
    svg.rect(whole, Paint::stroke(INK, 2.4));
}

fn draw_header(svg: &mut Svg, sheet: &SpotsSheet, place: Rect) {
    svg.rect(place, Paint::fill(SURROUNDINGS));
    let columns = Columns::of(sheet, place);
    let unit = sheet.units.depth_unit();
    let two = |svg: &mut Svg, place: Rect, first: &str, second: &str| {
        svg.text(first, (place.left + 12.0, place.top + 34.0), Type::semi_bold(23.0));
        let style = Type::regular(19.0).colour(SOFT_INK);
        svg.text(second, (place.left + 12.0, place.top + 64.0), style);
    };
    two(svg, place, "Spot", "number, name");
    for (k, push) in columns.pushes.iter().enumerate() {
        svg.text(
            &format!("Push {}", k + 1),
            (push.left + 12.0, push.top + 34.0),
            Type::semi_bold(23.0),
        );
        let style = Type::regular(19.0).colour(SOFT_INK);
        svg.text(unit, (push.left + 12.0, push.top + 64.0), style);
        let style = Type::semi_bold(24.0).anchor(Anchor::Middle);
        svg.text("≥", (tick_of(*push).middle().0, push.top + 66.0), style);
    }
    two(svg, columns.stone, "Stone", "tick");
    two(svg, columns.moisture, "Moisture", "% or bag no.");
    two(svg, columns.note, "Note", "≥ ticked: not reached down to this depth");
    let (left, right) = ((place.left, place.bottom()), (place.right(), place.bottom()));
    svg.line(left, right, Paint::stroke(INK, 2.4));
}

/// The box to tick at the right of a box for a depth.
fn tick_of(push: Rect) -> Rect {
    let (_, y) = push.middle();
    Rect::new(push.right() - TICK - 14.0, y - TICK / 2.0, TICK, TICK)
}

fn draw_row(svg: &mut Svg, sheet: &SpotsSheet, number: usize, row: Rect) {
    let spot = &sheet.spots[number];
    // Every second row is tinted, so that the eye keeps its line.
    if number % 2 == 1 {
        svg.rect(row, Paint::fill(SURROUNDINGS));
    }
    let edge = if (number + 1).is_multiple_of(5) { DIM } else { HAIRLINE };
    svg.line((row.left, row.bottom()), (row.right(), row.bottom()), Paint::stroke(edge, 1.6));
    let base = row.middle().1 + 32.0 * CAP_HEIGHT / 2.0;
    svg.text(&(number + 1).to_string(), (row.left + 12.0, base), Type::semi_bold(32.0));
    let name = fonts::shorten(&spot.id, 21.0, Weight::Regular, NAME - 84.0);
    let style = Type::regular(21.0).colour(SOFT_INK).anchor(Anchor::End);
    svg.text(&name, (row.left + NAME - 10.0, base - 2.0), style);
    let columns = Columns::of(sheet, row);
    let tick = Paint::fill(PAPER).edge(SOFT_INK, 1.8);
    for push in &columns.pushes {
        svg.rect(tick_of(*push), tick);
    }
    let (x, y) = columns.stone.middle();
    svg.rect(Rect::new(x - TICK / 2.0, y - TICK / 2.0, TICK, TICK), tick);
    let note = columns.note;
    let mut hints: Vec<String> = spot.stratum.iter().cloned().collect();
    match spot.why {
        Why::Transect(_) | Why::LeastSure => hints.insert(0, spot.why.words()),
        Why::Again | Why::Grid | Why::Random | Why::Stratum => {}
    }
    let hint = fonts::shorten(&hints.join(", "), 18.0, Weight::Regular, note.width - 20.0);
    let style = Type::regular(18.0).colour(DIM).anchor(Anchor::End);
    svg.text(&hint, (note.right() - 10.0, row.top + 22.0), style);
    svg.line((note.left, row.bottom()), (note.left, row.top), Paint::stroke(FAINT, 1.0));
}
