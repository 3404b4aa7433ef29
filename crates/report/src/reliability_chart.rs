//! Whether probabilities come true: what cross-validation said against how often it was so. Points on
//! the diagonal are what one wants (reliability diagram: Wilks 2011, Statistical Methods in the
//! Atmospheric Sciences, section 8.4.4, from memory).

use plotters::element::{Circle, PathElement, Text};
use plotters::prelude::ChartBuilder;
use plotters::style::Color;
use plotters::style::text_anchor::{HPos, VPos};
use survey::units::tidy;

use crate::chart::{Area, SAFE, nest, rgb, text_style, turned_style};
use crate::frame::Rect;
use crate::palette::{DIM, FAINT, INK, PAPER, PROBABILITY, SOFT_INK};
use crate::svg::Svg;

/// Probes to which cross-validation gave like probabilities.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReliabilityClass {
    /// Mean of the probabilities, 0 to 1.
    pub mean_probability: f64,
    /// How many probes they are.
    pub probes: usize,
    /// How many of them read thinner than the limit.
    pub thinner: usize,
}

/// Room for the axes, pixels.
const LEFT: f64 = 74.0;
const FOOT: f64 = 88.0;
const MARGIN: f64 = 26.0;

/// Draws the chart into a rectangle, both axes to one scale.
pub(crate) fn draw(svg: &mut Svg, classes: &[ReliabilityClass], place: Rect) {
    let side = (place.width - LEFT - 2.0 * MARGIN).min(place.height - FOOT - 2.0 * MARGIN);
    let place =
        Rect { width: side + LEFT + 2.0 * MARGIN, height: side + FOOT + 2.0 * MARGIN, ..place };
    nest(svg, "Chance given against how often it was so", place, |area| {
        draw_classes(area, classes);
    });
}

fn draw_classes(area: &Area, classes: &[ReliabilityClass]) {
    let chart = ChartBuilder::on(area)
        .margin(MARGIN as i32)
        .x_label_area_size(FOOT as i32)
        .y_label_area_size(LEFT as i32)
        .build_cartesian_2d(0.0..100.0, 0.0..100.0)
        .expect(SAFE);
    let pixel = |chance: f64, share: f64| chart.backend_coord(&(chance, share));
    let line = |from, to, colour, width| {
        let style = rgb(colour).stroke_width(width);
        area.draw(&PathElement::new([from, to], style)).expect(SAFE);
    };
    let text = |words: String, at, colour, horizontal, vertical| {
        area.draw(&Text::new(words, at, text_style(colour, horizontal, vertical))).expect(SAFE);
    };
    for tick in [0.0, 25.0, 50.0, 75.0, 100.0] {
        let (foot, top) = (pixel(tick, 0.0), pixel(tick, 100.0));
        line(foot, top, FAINT, 1);
        text(tidy(tick, 0), (foot.0, foot.1 + 8), SOFT_INK, HPos::Center, VPos::Top);
        let (left, right) = (pixel(0.0, tick), pixel(100.0, tick));
        line(left, right, FAINT, 1);
        text(tidy(tick, 0), (left.0 - 8, left.1), SOFT_INK, HPos::Right, VPos::Center);
    }
    line(pixel(0.0, 0.0), pixel(100.0, 100.0), DIM, 2);
    let foot = pixel(50.0, 0.0);
    text("Chance given, %".into(), (foot.0, foot.1 + 36), SOFT_INK, HPos::Center, VPos::Top);
    text("numbers: probes".into(), (foot.0, foot.1 + 62), SOFT_INK, HPos::Center, VPos::Top);
    let left = pixel(0.0, 50.0);
    let words = "Were thinner, %";
    area.draw(&Text::new(words, (left.0 - LEFT as i32, left.1), turned_style())).expect(SAFE);
    let is_known = |class: &&ReliabilityClass| class.probes > 0 && class.mean_probability >= 0.0;
    let known: Vec<&ReliabilityClass> = classes.iter().filter(is_known).collect();
    let at = |class: &ReliabilityClass| {
        let share = class.thinner as f64 / class.probes as f64;
        pixel(100.0 * class.mean_probability, 100.0 * share)
    };
    let points: Vec<(i32, i32)> = known.iter().map(|class| at(class)).collect();
    let mut taken: Vec<Patch> = points.iter().map(|&point| Patch::around(point, 9, 9)).collect();
    area.draw(&PathElement::new(points, rgb(SOFT_INK).stroke_width(2))).expect(SAFE);
    for class in known {
        let middle = at(class);
        let colour = PROBABILITY.class_colour(4, 6);
        area.draw(&Circle::new(middle, 9, rgb(PAPER).filled())).expect(SAFE);
        area.draw(&Circle::new(middle, 7, rgb(colour).filled())).expect(SAFE);
        let words = class.probes.to_string();
        let half_width = words.len() as i32 * DIGIT / 2;
        // Above the diagonal a number stands to the left, below it to the right, where the chart has
        // room; above its point where another point or number is in the way.
        let beside = match class.mean_probability < 0.5 {
            true => (12 + half_width, 12),
            false => (-12 - half_width, -12),
        };
        let place = |(dx, dy): (i32, i32)| {
            let at = (middle.0 + dx, (middle.1 + dy).min(foot.1 - 12));
            Patch::around(at, half_width, DIGIT_HEIGHT / 2)
        };
        let places = [beside, (0, -22), (0, -44), (0, -66)].map(place);
        let is_free = |place: &&Patch| !taken.iter().any(|other| other.meets(place));
        let place = *places.iter().find(is_free).unwrap_or(&places[0]);
        text(words, place.middle, INK, HPos::Center, VPos::Center);
        taken.push(place);
    }
}

/// Room of a digit, pixels.
const DIGIT: i32 = 12;
const DIGIT_HEIGHT: i32 = 18;

/// Room that something takes in the chart, pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Patch {
    middle: (i32, i32),
    half_width: i32,
    half_height: i32,
}

impl Patch {
    fn around(middle: (i32, i32), half_width: i32, half_height: i32) -> Self {
        Patch { middle, half_width, half_height }
    }

    fn meets(&self, other: &Patch) -> bool {
        (self.middle.0 - other.middle.0).abs() < self.half_width + other.half_width
            && (self.middle.1 - other.middle.1).abs() < self.half_height + other.half_height
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: three digits are 36 pixels wide, so numbers 30 apart meet and numbers 36 apart touch.
    #[test]
    fn numbers_meet_where_they_would_overlap() {
        let number = |x, y| Patch::around((x, y), 18, 9);
        assert!(number(0, 0).meets(&number(30, 17)));
        assert!(!number(0, 0).meets(&number(36, 0)));
        assert!(!number(0, 0).meets(&number(0, 18)));
    }
}
