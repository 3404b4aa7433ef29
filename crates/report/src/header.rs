//! The head of the page: what it shows, of which field, when, from how much.

use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::page::MapPage;
use crate::palette::{HAIRLINE, SOFT_INK};
use crate::svg::{Paint, Svg, Type};
use crate::wording::{area_text, dates_text, moisture_text};

/// Sizes of the title, the largest that fits.
const TITLE: [f64; 3] = [56.0, 46.0, 38.0];
const SUBTITLE: f64 = 27.0;
const NAME: f64 = 20.0;
const VALUE: f64 = 28.0;
const GAP: f64 = 44.0;

/// Draws the head into a rectangle, with a rule at its foot.
pub(crate) fn draw(svg: &mut Svg, page: &MapPage, place: Rect) {
    let facts = facts(page);
    let widths: Vec<f64> = facts.iter().map(fact_width).collect();
    let all = widths.iter().sum::<f64>() + GAP * (facts.len() - 1) as f64;
    let foot = place.bottom() - 26.0;
    let mut left = place.right() - all;
    let room = left - place.left - GAP;
    for ((name, value), width) in facts.iter().zip(widths) {
        svg.text(name, (left, foot - 36.0), Type::regular(NAME).colour(SOFT_INK));
        svg.text(value, (left, foot), Type::semi_bold(VALUE));
        left += width + GAP;
    }
    let title = page.title_line();
    let fits = |size: &f64| fonts::width(&title, *size, Weight::SemiBold) <= room;
    let size = TITLE.into_iter().find(fits).unwrap_or(TITLE[TITLE.len() - 1]);
    let title = fonts::shorten(&title, size, Weight::SemiBold, room);
    svg.text(&title, (place.left, foot - 48.0), Type::semi_bold(size));
    let subtitle = fonts::shorten(&subtitle(page), SUBTITLE, Weight::Regular, room);
    svg.text(&subtitle, (place.left, foot), Type::regular(SUBTITLE).colour(SOFT_INK));
    let (left, right) = ((place.left, place.bottom()), (place.right(), place.bottom()));
    svg.line(left, right, Paint::stroke(HAIRLINE, 2.0));
}

/// What the map shows, in plain words.
pub(crate) fn subtitle(page: &MapPage) -> String {
    let threshold = page.survey.threshold().to_string();
    format!("Loose-layer depth: where {threshold} is first reached")
}

fn facts(page: &MapPage) -> Vec<(&'static str, String)> {
    let date_name = match page.survey.dates() {
        Some((first, last)) if first != last => "Dates of visit",
        _ => "Date of visit",
    };
    let without_prefix = |text: String, prefix: &str| text.trim_start_matches(prefix).to_owned();
    let dates = dates_text(page.survey, page.map.classes.units());
    let moisture_name = match page.survey.moisture() {
        Some(_) => "Soil moisture, mean (range)",
        None => "Soil moisture",
    };
    vec![
        (date_name, without_prefix(dates, "date ")),
        ("Probes", page.survey.spots().len().to_string()),
        (moisture_name, without_prefix(moisture_text(page.survey), "soil moisture ")),
        ("Field", area_text(page.map.field_area_m2, page.map)),
    ]
}

fn fact_width((name, value): &(&'static str, String)) -> f64 {
    fonts::width(name, NAME, Weight::Regular).max(fonts::width(value, VALUE, Weight::SemiBold))
}
