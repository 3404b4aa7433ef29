//! The head of the page: what it shows, of which field, when, from how much.

use survey::{CheckedSurvey, UnitSystem, Utm};

use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::palette::{HAIRLINE, SOFT_INK};
use crate::svg::{Paint, Svg, Type};
use crate::wording::{area_text, dates_text, moisture_text};

/// Sizes of the title, the largest that fits.
const TITLE: [f64; 3] = [56.0, 46.0, 38.0];
const SUBTITLE: f64 = 27.0;
const NAME: f64 = 20.0;
const VALUE: f64 = 28.0;
const GAP: f64 = 44.0;

/// What the head of a page says.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Head<'a> {
    /// Headline, on one line.
    pub title: &'a str,
    /// What the page shows, in plain words.
    pub subtitle: &'a str,
    pub survey: &'a CheckedSurvey,
    pub units: UnitSystem,
}

/// A title on one line, or a plain word for an empty one.
pub(crate) fn title_line(title: &str) -> String {
    let words: Vec<&str> = title.split_whitespace().collect();
    match words.is_empty() {
        true => "Field".into(),
        false => words.join(" "),
    }
}

/// What the head of any page says.
#[derive(Debug)]
pub(crate) struct PageHead<'a> {
    /// Headline, on one line.
    pub title: &'a str,
    /// What the page shows, in plain words.
    pub subtitle: &'a str,
    /// Names and values at the right.
    pub facts: Vec<(&'static str, String)>,
    /// Of the field's plane.
    pub utm: Utm,
}

impl<'a> Head<'a> {
    /// With the facts of its survey.
    pub fn of_page(&self) -> PageHead<'a> {
        PageHead {
            title: self.title,
            subtitle: self.subtitle,
            facts: facts(self.survey, self.units),
            utm: self.survey.field().utm(),
        }
    }
}

/// Draws the head into a rectangle, with a rule at its foot.
pub(crate) fn draw(svg: &mut Svg, head: &PageHead, place: Rect) {
    let facts = &head.facts;
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
    let title = title_line(head.title);
    let fits = |size: &f64| fonts::width(&title, *size, Weight::SemiBold) <= room;
    let size = TITLE.into_iter().find(fits).unwrap_or(TITLE[TITLE.len() - 1]);
    let title = fonts::shorten(&title, size, Weight::SemiBold, room);
    svg.text(&title, (place.left, foot - 48.0), Type::semi_bold(size));
    let subtitle = fonts::shorten(head.subtitle, SUBTITLE, Weight::Regular, room);
    svg.text(&subtitle, (place.left, foot), Type::regular(SUBTITLE).colour(SOFT_INK));
    let (left, right) = ((place.left, place.bottom()), (place.right(), place.bottom()));
    svg.line(left, right, Paint::stroke(HAIRLINE, 2.0));
}

fn facts(survey: &CheckedSurvey, units: UnitSystem) -> Vec<(&'static str, String)> {
    let date_name = match survey.dates() {
        Some((first, last)) if first != last => "Dates of visit",
        _ => "Date of visit",
    };
    let without_prefix = |text: String, prefix: &str| text.trim_start_matches(prefix).to_owned();
    let dates = dates_text(survey, units);
    let moisture_name = match survey.moisture() {
        Some(_) => "Soil moisture, mean (range)",
        None => "Soil moisture",
    };
    vec![
        (date_name, without_prefix(dates, "date ")),
        ("Probes", survey.spots().len().to_string()),
        (moisture_name, without_prefix(moisture_text(survey), "soil moisture ")),
        ("Field", area_text(survey.field().ground_area_m2(), survey.field(), units)),
    ]
}

fn fact_width((name, value): &(&'static str, String)) -> f64 {
    fonts::width(name, NAME, Weight::Regular).max(fonts::width(value, VALUE, Weight::SemiBold))
}
