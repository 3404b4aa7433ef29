//! The table of the operator's sheet: each treatment with its zones and ground, then what it takes.

use plan::{Operation, OperationKind, Plan};
use survey::UnitSystem;
use survey::units::tidy;

use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::operator_map::CHECK;
use crate::palette::{HAIRLINE, INK, SOFT_INK};
use crate::svg::{Paint, Svg, Type};
use crate::treatment::Treatment;

/// Sizes of a row's headline, the largest with which all rows fit.
const HEADLINES: [f64; 6] = [54.0, 48.0, 42.0, 36.0, 30.0, 26.0];
/// A row's second line over its headline.
const SECOND: f64 = 0.56;
const LINE: f64 = 1.16;

/// An area with its unit.
pub(crate) fn area_text(area_m2: f64, units: UnitSystem) -> String {
    let area = units.area(area_m2);
    let decimals = if area >= 10.0 { 1 } else { 2 };
    format!("{area:.decimals$} {}", units.area_unit())
}

/// Draws rows and totals into a rectangle.
pub(crate) fn draw(svg: &mut Svg, plan: &Plan, treatments: &[Treatment], place: Rect) {
    let totals: Vec<String> = plan.operations.iter().map(|o| total(o, plan.units)).collect();
    let totals_height = |size: f64| {
        let lines =
            totals.iter().map(|t| fonts::wrap(t, size, Weight::SemiBold, place.width).len());
        lines.sum::<usize>() as f64 * size * 1.25 + 24.0
    };
    let total_size = 30.0;
    let room = place.height - totals_height(total_size);
    let fits = |&size: &f64| rows_height(plan, treatments, size, place.width) <= room;
    let size = HEADLINES.into_iter().find(fits).unwrap_or(HEADLINES[HEADLINES.len() - 1]);
    let mut top = place.top;
    for (k, treatment) in treatments.iter().enumerate() {
        let height = row_height(plan, treatment, size, place.width);
        if top + height > place.top + room {
            let more = format!("and {} more: see the map", treatments.len() - k);
            svg.text(&more, (place.left, top + size), Type::semi_bold(size * SECOND));
            break;
        }
        draw_row(svg, plan, treatment, size, Rect::new(place.left, top, place.width, height));
        top += height;
    }
    let mut base = place.top + room + 24.0 + total_size * 0.9;
    let rule = place.top + room + 8.0;
    svg.line((place.left, rule), (place.right(), rule), Paint::stroke(HAIRLINE, 2.0));
    for total in &totals {
        for line in fonts::wrap(total, total_size, Weight::SemiBold, place.width) {
            svg.text(&line, (place.left, base), Type::semi_bold(total_size));
            base += total_size * 1.25;
        }
    }
}

fn swatch(size: f64) -> f64 {
    size * 1.25
}

/// The second line: zones with their ground.
fn second(plan: &Plan, treatment: &Treatment, size: f64, width: f64) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for &number in &treatment.parts {
        let part = &plan.parts[number];
        let name = match part.check_strip {
            Some(strip) => format!("strip {strip}"),
            None if part.few_probes => format!("{}*", part.zone_id),
            None => part.zone_id.clone(),
        };
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let area = area_text(treatment.ground_area_m2, plan.units);
    let mut words = format!("{area}: {}", names.join(", "));
    if !treatment.on_terminal.is_empty() {
        words += &format!("; on the terminal {}", treatment.on_terminal.join(" and "));
    }
    let room = width - swatch(size) - 24.0;
    let mut lines = fonts::wrap(&words, size * SECOND, Weight::Regular, room);
    if lines.len() > 2 {
        lines.truncate(2);
        let last = format!("{} …", lines[1]);
        lines[1] = fonts::shorten(&last, size * SECOND, Weight::Regular, room);
    }
    lines
}

fn row_height(plan: &Plan, treatment: &Treatment, size: f64, width: f64) -> f64 {
    let heads = treatment.headline.len() as f64 * size * LINE;
    let seconds = second(plan, treatment, size, width).len() as f64 * size * SECOND * 1.25;
    (heads + seconds).max(swatch(size)) + size * 0.45
}

fn rows_height(plan: &Plan, treatments: &[Treatment], size: f64, width: f64) -> f64 {
    treatments.iter().map(|treatment| row_height(plan, treatment, size, width)).sum()
}

fn draw_row(svg: &mut Svg, plan: &Plan, treatment: &Treatment, size: f64, place: Rect) {
    let side = swatch(size);
    let square = Rect::new(place.left, place.top + 4.0, side, side);
    let paint = match treatment.is_check {
        true => Paint::pattern(CHECK),
        false => Paint::fill(treatment.colour),
    };
    svg.rect(square, paint.edge(INK, 2.0));
    let left = place.left + side + 24.0;
    let room = place.width - side - 24.0;
    let mut base = place.top + size * 0.86;
    for words in &treatment.headline {
        let words = fonts::shorten(words, size, Weight::SemiBold, room);
        svg.text(&words, (left, base), Type::semi_bold(size));
        base += size * LINE;
    }
    base += size * (SECOND - 0.46);
    for line in second(plan, treatment, size, place.width) {
        svg.text(&line, (left, base - size * 0.3), Type::regular(size * SECOND).colour(SOFT_INK));
        base += size * SECOND * 1.25;
    }
}

/// What an operation takes in all.
fn total(operation: &Operation, units: UnitSystem) -> String {
    let mut words = format!("{}: {}", operation.name, area_text(operation.treated_m2, units));
    if let Some(total) = operation.total_text(units) {
        words += &format!(", {total} in all");
    }
    if let Some(fills) = operation.fills {
        let vessel = match operation.kind {
            OperationKind::AmendVolume { .. } => "tank",
            _ => "hopper",
        };
        let load = if fills == 1 { "load" } else { "loads" };
        words += &format!(", {} {vessel} {load}", tidy(f64::from(fills), 0));
    }
    words
}
