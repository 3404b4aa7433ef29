//! The operator's sheet: one page in big type, to be read at arm's length in a cab.
//!
//! What to set where, how much it takes in all, when to stop and what lies in the ground.

use geo::MultiPolygon;
use mapping::FEW_PROBES;
use plan::Plan;

use crate::error::ReportError;
use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::header::title_line;
use crate::page::{DPI, PAGE_HEIGHT_PX, PAGE_WIDTH_PX};
use crate::palette::{HAIRLINE, INK, PAPER, SOFT_INK};
use crate::pdf_file::pdf;
use crate::png_file::picture;
use crate::svg::{Anchor, Paint, Svg, Type};
use crate::text_block;
use crate::treatment::{Treatment, treatments};
use crate::{operator_map, operator_table, wording};

const MARGIN: f64 = 64.0;
const HEAD: f64 = 150.0;
const STAMP: f64 = 74.0;
const TEXTS: f64 = 470.0;
const GAP: f64 = 44.0;
const FOOT: f64 = 36.0;
/// Width of the narrowest text below over that of the widest.
const NARROWEST: f64 = 0.38;
/// Sizes of the texts below, the largest that fits.
const TEXT_SIZES: [f64; 9] = [32.0, 30.0, 28.0, 26.0, 24.0, 22.0, 20.0, 19.0, 18.0];

/// The sheet of a plan, in its units, as PNG, letter size, landscape, 200 dots per inch.
///
/// # Errors
/// When there is no memory for the picture.
pub fn operator_png(plan: &Plan) -> Result<Vec<u8>, ReportError> {
    picture(&operator_svg(plan))
}

/// The sheet as PDF, letter size, landscape, with text that can be searched.
///
/// # Errors
/// When the page cannot be written.
pub fn operator_pdf(plan: &Plan) -> Result<Vec<u8>, ReportError> {
    pdf(&operator_svg(plan), &heading(plan))
}

/// The sheet as one SVG document, fonts by name ("Inter").
pub fn operator_svg(plan: &Plan) -> String {
    let mut svg = Svg::default();
    let paper = Rect::new(0.0, 0.0, f64::from(PAGE_WIDTH_PX), f64::from(PAGE_HEIGHT_PX));
    svg.rect(paper, Paint::fill(PAPER));
    svg.raw(&operator_map::check_pattern());
    let inner = paper.trim(MARGIN, 50.0, MARGIN, 40.0);
    let (head, rest) = inner.split_top(HEAD, 22.0);
    draw_head(&mut svg, plan, head);
    let rest = draw_stamps(&mut svg, &plan.stamps, rest);
    let (body, below) = rest.split_top(rest.height - TEXTS - FOOT - GAP, GAP);
    let (texts, foot) = below.split_top(TEXTS, 0.0);
    let treatments = treatments(plan);
    let (map, table) = body.split_left((body.width * 0.56).min(body.height * 1.6), GAP + 10.0);
    operator_map::draw(&mut svg, plan, &treatments, map);
    operator_table::draw(&mut svg, plan, &treatments, table);
    draw_texts(&mut svg, plan, texts);
    draw_foot(&mut svg, plan, foot);
    svg.document(PAGE_WIDTH_PX, PAGE_HEIGHT_PX, DPI, &heading(plan), &summary(plan, &treatments))
}

/// The ground of all parts.
pub(crate) fn ground(plan: &Plan) -> MultiPolygon {
    plan.parts.iter().flat_map(|part| part.polygons.0.iter().cloned()).collect()
}

fn heading(plan: &Plan) -> String {
    format!("{}: {}", title_line(&plan.field_name), title_line(&plan.name))
}

/// The sheet in a few words, for those who cannot see it.
fn summary(plan: &Plan, treatments: &[Treatment]) -> String {
    let row = |treatment: &Treatment| {
        let area = operator_table::area_text(treatment.ground_area_m2, plan.units);
        format!("{}: {area}", treatment.headline.join(", "))
    };
    treatments.iter().map(row).collect::<Vec<_>>().join("; ")
}

fn draw_head(svg: &mut Svg, plan: &Plan, place: Rect) {
    let mut facts: Vec<String> = Vec::new();
    facts.extend(plan.swath_m.map(|m| format!("passes {} wide", plan.units.distance_text(m))));
    facts.extend(
        plan.heading_deg.map(|deg| format!("heading {}° from north", survey::units::tidy(deg, 1))),
    );
    facts.extend(plan.visit.map(|day| format!("zones of {}", wording::day(day, plan.units))));
    let facts_width =
        facts.iter().map(|fact| fonts::width(fact, 30.0, Weight::Regular)).fold(0.0, f64::max);
    for (k, fact) in facts.iter().enumerate() {
        let foot = (place.right(), place.top + 40.0 + 42.0 * k as f64);
        svg.text(fact, foot, Type::regular(30.0).anchor(Anchor::End));
    }
    let room = place.width - facts_width - GAP;
    let title = title_line(&plan.field_name);
    let size = [92.0, 80.0, 68.0, 56.0]
        .into_iter()
        .find(|&size| fonts::width(&title, size, Weight::SemiBold) <= room)
        .unwrap_or(56.0);
    let title = fonts::shorten(&title, size, Weight::SemiBold, room);
    svg.text(&title, (place.left, place.top + 74.0), Type::semi_bold(size));
    let people = [plan.farm.as_deref(), plan.grower.as_deref()];
    let line: Vec<&str> =
        std::iter::once(plan.name.as_str()).chain(people.into_iter().flatten()).collect();
    let line = fonts::shorten(&title_line(&line.join(", ")), 36.0, Weight::Regular, room);
    let foot = (place.left, place.bottom() - 22.0);
    svg.text(&line, foot, Type::regular(36.0).colour(SOFT_INK));
    let (left, right) = ((place.left, place.bottom()), (place.right(), place.bottom()));
    svg.line(left, right, Paint::stroke(HAIRLINE, 2.0));
}

/// Stamps across the sheet, white on black; returns the room below them.
fn draw_stamps(svg: &mut Svg, stamps: &[String], mut place: Rect) -> Rect {
    for stamp in stamps.iter().take(2) {
        let (band, rest) = place.split_top(STAMP, 16.0);
        svg.rect(band, Paint::fill(INK));
        let words = fonts::shorten(stamp, 46.0, Weight::SemiBold, band.width - 40.0);
        let (x, y) = band.middle();
        let style = Type::semi_bold(46.0).colour(PAPER).anchor(Anchor::Middle);
        svg.text(&words, (x, y + 46.0 * fonts::CAP_HEIGHT / 2.0), style);
        place = rest;
    }
    place
}

fn draw_texts(svg: &mut Svg, plan: &Plan, place: Rect) {
    let (left, right) = ((place.left, place.top - 16.0), (place.right(), place.top - 16.0));
    svg.line(left, right, Paint::stroke(HAIRLINE, 2.0));
    let bold = |lines: &[String]| -> Vec<text_block::Paragraph> {
        lines.iter().map(|line| (line.clone(), Weight::SemiBold)).collect()
    };
    let plain = |lines: &[String]| -> Vec<text_block::Paragraph> {
        lines.iter().map(|line| (line.clone(), Weight::Regular)).collect()
    };
    let mut before = bold(&plan.warnings);
    before.extend(plain(&plan.cautions));
    let mut hazards = bold(&plan.hazards);
    if hazards.is_empty() {
        hazards.push(("None are noted in the plan. Ask the grower.".into(), Weight::SemiBold));
    }
    let blocks = [
        ("Stop when", bold(&plan.stop_rules)),
        ("Hazards on this field", hazards),
        ("Before you start", before),
    ];
    // Each as wide as its words ask for, so that all can be in large type.
    let length = |lines: &[text_block::Paragraph]| -> f64 {
        lines.iter().map(|(line, _)| line.chars().count() + 20).sum::<usize>() as f64
    };
    let longest = blocks.iter().map(|(_, lines)| length(lines)).fold(0.0, f64::max);
    let lengths: Vec<f64> =
        blocks.iter().map(|(_, lines)| length(lines).max(NARROWEST * longest)).collect();
    let room = (place.width - 2.0 * GAP) / lengths.iter().sum::<f64>();
    let mut rest = place;
    for ((title, lines), length) in blocks.iter().zip(lengths) {
        let (column, right) = rest.split_left(room * length, GAP);
        text_block::draw(svg, title, lines, &TEXT_SIZES, column);
        rest = right;
    }
}

fn draw_foot(svg: &mut Svg, plan: &Plan, place: Rect) {
    let style = Type::regular(20.0).colour(SOFT_INK);
    let words = format!("loosedepth {}; {}", env!("CARGO_PKG_VERSION"), plan.utm.name());
    svg.text(&words, (place.right(), place.bottom()), style.anchor(Anchor::End));
    let mut words =
        "Loose-layer depth is the top of the tight layer, never a set depth.".to_owned();
    if plan.parts.iter().any(|part| part.few_probes) {
        words += &format!(" * fewer than {FEW_PROBES} probes.");
    }
    svg.text(&words, (place.left, place.bottom()), style);
}
