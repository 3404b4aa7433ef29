//! The field sheet: where to probe, in what order, and boxes to fill in with a pencil.
//!
//! The first page is the map with all spots, what to write down once, and how to fill the boxes in. The pages after it have
//! a row for each spot in walking order, and beside the rows the map of their spots. Rows are 8 mm high, for cold
//! hands. Nothing is nearer to an edge than what an A4 sheet printed from it unscaled keeps.

use sampling::{PlannedSpot, Walk, Why};
use survey::{Field, UnitSystem};

use crate::error::ReportError;
use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::header::title_line;
use crate::legend::heading;
use crate::page::{DPI, PAGE_HEIGHT_PX, PAGE_WIDTH_PX};
use crate::palette::{HAIRLINE, INK, PAPER, SOFT_INK};
use crate::pdf_file::pdf_pages;
use crate::png_file::picture;
use crate::spots_map::{self, SpotMark};
use crate::spots_table;
use crate::svg::{Anchor, Paint, Svg, Type};
use crate::text_block::{self, Paragraph};
use crate::view::View;
use crate::wording::count_text;

/// Free edge at the left and right, and above and below, pixels: Letter is 5.9 mm higher than A4, so a sheet printed
/// unscaled loses 3 mm above and below, and a printer needs some 4 mm more.
const SIDE: f64 = 70.0;
const ENDS: f64 = 60.0;
const HEAD: f64 = 128.0;
const FOOT: f64 = 30.0;
const GAP: f64 = 40.0;
/// Spots on a page.
const ROWS: usize = 20;
/// Height of a line to write on: 8.4 mm.
const WRITE_ON: f64 = 66.0;
/// The same where room is short: 7.4 mm.
const WRITE_ON_LEAST: f64 = 58.0;
/// Room below the map that the texts go into, at least.
const BELOW: f64 = 400.0;
/// Width of the column beside the map.
const COLUMN: f64 = 600.0;
/// A field this much wider than high has its map across the page.
const WIDE: f64 = 2.3;
/// Sizes of the texts, the largest that fits.
const TEXT_SIZES: [f64; 10] = [28.0, 26.0, 25.0, 24.0, 23.0, 22.0, 21.0, 20.0, 19.0, 18.0];

/// What the sheet is made from.
#[derive(Debug, Clone, Copy)]
pub struct SpotsSheet<'a> {
    /// The field's name.
    pub title: &'a str,
    /// The field.
    pub field: &'a Field,
    /// Units of depths and distances.
    pub units: UnitSystem,
    /// The spots in walking order.
    pub spots: &'a [PlannedSpot],
    /// The walk past them.
    pub walk: &'a Walk,
    /// Whether the walk starts at a place that the user gave.
    pub has_start: bool,
    /// Insertions at each spot.
    pub insertions: usize,
    /// The pressure to read at, where it is known: `200 psi`.
    pub threshold: Option<&'a str>,
    /// Length of the rod, where it is known: `18 in`.
    pub rod: Option<&'a str>,
    /// How the spots were placed, in sentences.
    pub placed: &'a [String],
    /// What to mind before and while probing, in sentences.
    pub cautions: &'a [String],
}

/// The first page as PNG, letter size, landscape, 200 dots per inch.
///
/// # Errors
/// When there is no memory for the picture.
pub fn spots_png(sheet: &SpotsSheet) -> Result<Vec<u8>, ReportError> {
    picture(&first_page(sheet))
}

/// All pages as PDF, letter size, landscape, with text that can be searched.
///
/// # Errors
/// When a page cannot be written.
pub fn spots_pdf(sheet: &SpotsSheet) -> Result<Vec<u8>, ReportError> {
    pdf_pages(&spots_svgs(sheet), &heading_text(sheet))
}

/// The pages, each one SVG document, fonts by name ("Inter").
pub fn spots_svgs(sheet: &SpotsSheet) -> Vec<String> {
    let rows = (0..pages_of_rows(sheet)).map(|page| page_of_rows(sheet, page));
    [first_page(sheet)].into_iter().chain(rows).collect()
}

fn pages_of_rows(sheet: &SpotsSheet) -> usize {
    sheet.spots.len().div_ceil(ROWS)
}

fn heading_text(sheet: &SpotsSheet) -> String {
    format!("{}: field sheet", title_line(sheet.title))
}

/// What a spot is called on the map: its number in the walk, or the name it had on an earlier visit.
pub(crate) fn label(number: usize, spot: &PlannedSpot) -> String {
    match spot.why {
        Why::Again => spot.id.clone(),
        _ => number.to_string(),
    }
}

fn mark(spot: &PlannedSpot) -> SpotMark {
    match spot.why {
        Why::Again => SpotMark::Before,
        Why::LeastSure => SpotMark::LeastSure,
        _ => SpotMark::New,
    }
}

/// The marks of a sheet on a view of the field.
pub(crate) fn marks(sheet: &SpotsSheet) -> Vec<(SpotMark, String, survey::EastNorth)> {
    let of_spot =
        |(index, spot): (usize, &PlannedSpot)| (mark(spot), label(index + 1, spot), spot.place);
    sheet.spots.iter().enumerate().map(of_spot).collect()
}

/// Paper, head and foot of a page, and the room between.
fn begin(sheet: &SpotsSheet, subtitle: &str, page: usize) -> (Svg, Rect, Rect) {
    let mut svg = Svg::default();
    let paper = Rect::new(0.0, 0.0, f64::from(PAGE_WIDTH_PX), f64::from(PAGE_HEIGHT_PX));
    svg.rect(paper, Paint::fill(PAPER));
    let inner = paper.trim(SIDE, ENDS, SIDE, ENDS);
    let (head, rest) = inner.split_top(HEAD, 26.0);
    let (body, foot) = rest.split_top(rest.height - FOOT - 14.0, 14.0);
    let title = title_line(sheet.title);
    let room = head.width * 0.6;
    let size = [64.0, 54.0, 44.0, 36.0]
        .into_iter()
        .find(|&size| fonts::width(&title, size, Weight::SemiBold) <= room)
        .unwrap_or(36.0);
    let title = fonts::shorten(&title, size, Weight::SemiBold, room);
    svg.text(&title, (head.left, head.top + 58.0), Type::semi_bold(size));
    let subtitle = fonts::shorten(subtitle, 30.0, Weight::Regular, room);
    let style = Type::regular(30.0).colour(SOFT_INK);
    svg.text(&subtitle, (head.left, head.bottom() - 16.0), style);
    svg.line((head.left, head.bottom()), (head.right(), head.bottom()), Paint::stroke(INK, 2.4));
    let style = Type::regular(20.0).colour(SOFT_INK);
    let utm = sheet.field.utm();
    let program = format!("loosedepth {}; {}", env!("CARGO_PKG_VERSION"), utm.name());
    svg.text(&program, (foot.left, foot.bottom()), style);
    let pages = pages_of_rows(sheet) + 1;
    let number = format!("page {page} of {pages}");
    svg.text(&number, (foot.right(), foot.bottom()), style.anchor(Anchor::End));
    (svg, head, body)
}

fn finish(svg: Svg, sheet: &SpotsSheet, summary: &str) -> String {
    svg.document(PAGE_WIDTH_PX, PAGE_HEIGHT_PX, DPI, &heading_text(sheet), summary)
}

fn first_page(sheet: &SpotsSheet) -> String {
    let (mut svg, head, body) = begin(sheet, &subtitle(sheet), 1);
    draw_key(&mut svg, sheet, head);
    let aspect = spots_map::aspect(sheet.field);
    if aspect >= WIDE {
        let height = (body.width / aspect + 150.0).clamp(420.0, 760.0);
        let (map, below) = body.split_top(height, GAP);
        spots_map::whole(&mut svg, sheet, map);
        let (lines, texts) = below.split_left(COLUMN, GAP);
        let step = (lines.height / lines_of(sheet).len() as f64).min(1.2 * WRITE_ON);
        let height = step * lines_of(sheet).len() as f64;
        draw_lines(&mut svg, sheet, Rect { height, ..lines });
        let columns = texts.columns(2, GAP);
        draw_how(&mut svg, sheet, columns[0]);
        draw_cautions(&mut svg, sheet, columns[1]);
    } else {
        let width = (body.height * aspect).clamp(780.0, body.width - COLUMN - GAP);
        let (map, side) = body.split_left(width, GAP);
        let height = spots_map::height_of_whole(sheet.field, width);
        if body.height - height - GAP >= BELOW {
            let (map, below) = map.split_top(height, GAP);
            spots_map::whole(&mut svg, sheet, map);
            let columns = below.columns(2, GAP);
            draw_how(&mut svg, sheet, columns[0]);
            draw_cautions(&mut svg, sheet, columns[1]);
            let lines_height = 1.2 * WRITE_ON * lines_of(sheet).len() as f64;
            let (lines, rest) = side.split_top(lines_height, GAP);
            draw_lines(&mut svg, sheet, lines);
            draw_notes(&mut svg, rest);
        } else {
            spots_map::whole(&mut svg, sheet, map);
            draw_beside(&mut svg, sheet, side);
        }
    }
    finish(svg, sheet, &subtitle(sheet))
}

/// What is written down and the texts, beside a map that is as high as the page.
fn draw_beside(svg: &mut Svg, sheet: &SpotsSheet, side: Rect) {
    let lines = lines_of(sheet).len() as f64;
    if side.width > 1.7 * COLUMN {
        let columns = side.columns(2, GAP);
        let (lines, rest) = columns[0].split_top(WRITE_ON * lines, 24.0);
        draw_lines(svg, sheet, lines);
        draw_cautions(svg, sheet, rest);
        draw_how(svg, sheet, columns[1]);
        return;
    }
    let (lines, rest) = side.split_top(WRITE_ON_LEAST * lines, 24.0);
    draw_lines(svg, sheet, lines);
    let length = |texts: &[String]| texts.iter().map(|text| text.len() + 30).sum::<usize>() as f64;
    let (how, cautions) = (length(&how_to(sheet)), length(sheet.cautions));
    let (first, second) = rest.split_top((rest.height - 24.0) * how / (how + cautions), 24.0);
    draw_how(svg, sheet, first);
    draw_cautions(svg, sheet, second);
}

/// Room for a sketch.
fn draw_notes(svg: &mut Svg, place: Rect) {
    heading(svg, "Sketch, notes", place);
    svg.rect(place.trim(0.0, 40.0, 0.0, 0.0), Paint::stroke(HAIRLINE, 1.6));
}

/// How many spots, and how far to walk.
fn subtitle(sheet: &SpotsSheet) -> String {
    let pushes = match sheet.insertions {
        1 => "one insertion each".into(),
        count => format!("{count} insertions each"),
    };
    let far = |m: f64| sheet.units.way_text(m);
    format!(
        "Field sheet: {}, {pushes}; walk {} and {} back",
        count_text(sheet.spots.len(), "spot"),
        far(sheet.walk.length_m),
        far(sheet.walk.back_m),
    )
}

/// What the marks mean, at the right of the head.
fn draw_key(svg: &mut Svg, sheet: &SpotsSheet, head: Rect) {
    const SIZE: f64 = 24.0;
    let of = |wanted: SpotMark| sheet.spots.iter().any(|spot| mark(spot) == wanted);
    let words = [
        (SpotMark::Start, if sheet.has_start { "start" } else { "start: south-west corner" }),
        (SpotMark::New, "new spot, with its number"),
        (SpotMark::LeastSure, "new, where least is known"),
        (SpotMark::Before, "probed before, with its name"),
    ];
    let mut base = head.top + 26.0;
    for (mark, words) in words {
        if mark != SpotMark::Start && !of(mark) {
            continue;
        }
        let width = fonts::width(words, SIZE, Weight::Regular);
        let left = head.right() - width;
        svg.text(words, (left, base), Type::regular(SIZE));
        mark.draw(svg, (left - 24.0, base - SIZE * fonts::CAP_HEIGHT / 2.0), 8.0);
        base += 31.0;
    }
}

/// What is written down once: a name and what is known of it.
fn lines_of(sheet: &SpotsSheet) -> Vec<(&'static str, String)> {
    let known = |text: Option<&str>| text.unwrap_or_default().to_owned();
    vec![
        ("Date", String::new()),
        ("Who probes", String::new()),
        ("Penetrometer", String::new()),
        ("Cone, base diameter", String::new()),
        ("Rod, length", known(sheet.rod)),
        ("Threshold", known(sheet.threshold)),
        ("Weather, last rain, crop stage", String::new()),
    ]
}

fn draw_lines(svg: &mut Svg, sheet: &SpotsSheet, place: Rect) {
    let lines = lines_of(sheet);
    let step = place.height / lines.len() as f64;
    for (k, (name, known)) in lines.iter().enumerate() {
        let base = place.top + step * (k as f64 + 1.0) - 8.0;
        let style = Type::regular(22.0).colour(SOFT_INK);
        svg.text(name, (place.left, base - 6.0), style);
        let width = fonts::width(name, 22.0, Weight::Regular) + 16.0;
        svg.text(known, (place.left + width, base - 6.0), Type::semi_bold(28.0));
        svg.line((place.left + width, base), (place.right(), base), Paint::stroke(INK, 1.6));
    }
}

/// How to fill the boxes in, and how the spots were placed.
fn how_to(sheet: &SpotsSheet) -> Vec<String> {
    let unit = match sheet.units {
        UnitSystem::Us => "inches",
        UnitSystem::Si => "centimetres",
    };
    let at = sheet.threshold.unwrap_or("the threshold");
    let mut how = vec![
        format!("Write the depth, in {unit}, at which the gauge first reaches {at}."),
        format!(
            "Not reached? Tick ≥ and write how deep the rod went. It is no depth, and must not stand there as \
             one: {at} lies deeper."
        ),
        "Stone or root? Tick stone and try again a step aside. No reading at all: note why.".into(),
    ];
    if sheet.insertions > 1 {
        how.push(format!(
            "Push in {} times at each spot, a step apart, slowly and evenly, wheel lane or bed alike.",
            sheet.insertions
        ));
    }
    how.push("Moisture: the meter's percent, or the number of the bag.".into());
    how.push(
        "Stands the spot in a ditch or beside a pole? Move it a few steps and note where.".into(),
    );
    how.extend(sheet.placed.iter().cloned());
    how
}

fn draw_how(svg: &mut Svg, sheet: &SpotsSheet, place: Rect) {
    let paragraphs: Vec<Paragraph> =
        how_to(sheet).into_iter().map(|text| (text, Weight::Regular)).collect();
    text_block::draw(svg, "How to fill it in", &paragraphs, &TEXT_SIZES, place);
}

fn draw_cautions(svg: &mut Svg, sheet: &SpotsSheet, place: Rect) {
    let cautions: Vec<Paragraph> =
        sheet.cautions.iter().map(|text| (text.clone(), Weight::Regular)).collect();
    text_block::draw(svg, "Before you push", &cautions, &TEXT_SIZES, place);
}

fn page_of_rows(sheet: &SpotsSheet, page: usize) -> String {
    let first = page * ROWS;
    let last = (first + ROWS).min(sheet.spots.len());
    let subtitle = match last - first {
        1 => format!("spot {last} of {}, in walking order", sheet.spots.len()),
        _ => format!("spots {} to {last} of {}, in walking order", first + 1, sheet.spots.len()),
    };
    let (mut svg, head, body) = begin(sheet, &subtitle, page + 2);
    draw_head_lines(&mut svg, head);
    let (table, map) = body.split_left(spots_table::WIDTH, GAP);
    spots_table::draw(&mut svg, sheet, first..last, ROWS, table);
    heading(&mut svg, "These spots", map);
    let map = map.trim(0.0, 40.0, 0.0, 0.0);
    let height = spots_map::height_for(sheet, first..last, map);
    spots_map::part(&mut svg, sheet, first..last, Rect { height, ..map });
    let (_, below) = map.split_top(height, GAP);
    if below.height > 160.0 {
        draw_notes(&mut svg, below);
    }
    finish(svg, sheet, &subtitle)
}

/// Date and name on every page: pages part.
fn draw_head_lines(svg: &mut Svg, head: Rect) {
    for (k, name) in ["Date", "Who probes"].iter().enumerate() {
        let base = head.top + 50.0 + 58.0 * k as f64;
        let left = head.right() - 560.0;
        svg.text(name, (left, base - 4.0), Type::regular(22.0).colour(SOFT_INK));
        svg.line((left + 130.0, base), (head.right(), base), Paint::stroke(HAIRLINE, 2.0));
    }
}

/// A view of some ground in a rectangle, for the maps of this sheet.
pub(crate) fn view_of(west_south: (f64, f64), east_north: (f64, f64), room: Rect) -> View {
    let rect = geo::Rect::new(west_south, east_north);
    View::fit(&geo::MultiPolygon(vec![rect.to_polygon()]), room)
}
