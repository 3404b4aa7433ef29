//! A mean with its interval, against 0 and against what matters.

use plotters::element::{Circle, DashedPathElement, PathElement, Rectangle, Text};
use plotters::prelude::ChartBuilder;
use plotters::style::Color;
use plotters::style::text_anchor::{HPos, VPos};
use survey::{Depth, UnitSystem};

use crate::chart::{Area, SAFE, nest, rgb, round_step, text_style};
use crate::estimate::Estimate;
use crate::frame::Rect;
use crate::palette::{FAINT, INK, PAPER, Rgb, SOFT_INK};
use crate::svg::Svg;
use crate::wording::change_text;
use survey::units::signed;

/// Height of the chart.
pub(crate) const HEIGHT: f64 = 148.0;
/// Room above the mark, and below it for the axis and the words at its ends.
const HEAD: i32 = 30;
const FOOT: u32 = 66;
const SIDE: i32 = 34;
/// Ground of effects that are too small to matter.
const TOO_SMALL: Rgb = Rgb(0xe9, 0xec, 0xf0);

/// What is drawn.
pub(crate) struct EstimateChart<'a> {
    pub title: &'a str,
    pub estimate: Estimate,
    /// Nearer to 0 it does not matter, centimetres.
    pub matters_cm: Option<f64>,
    /// What it means to lie left and right of 0.
    pub ends: (&'a str, &'a str),
    pub units: UnitSystem,
}

impl EstimateChart<'_> {
    /// Draws it at the top of a rectangle.
    pub fn draw(&self, svg: &mut Svg, place: Rect) {
        let height = place.height.min(HEIGHT);
        nest(svg, self.title, Rect { height, ..place }, |area| self.draw_area(area));
    }

    fn in_unit(&self, cm: f64) -> f64 {
        self.units.depth(Depth::from_cm(cm))
    }

    /// The axis reaches equally far on both sides of 0, so that both ways look alike.
    fn reach(&self) -> f64 {
        let Estimate { mean_cm, interval_cm: [low, high], .. } = self.estimate;
        let all = [mean_cm, low, high, self.matters_cm.unwrap_or(0.0)];
        let known = all.iter().filter(|cm| cm.is_finite()).map(|cm| self.in_unit(cm.abs()));
        known.fold(0.5, f64::max) * 1.12
    }

    fn draw_area(&self, area: &Area) {
        let reach = self.reach();
        let chart = ChartBuilder::on(area)
            .margin_top(HEAD)
            .margin_left(SIDE)
            .margin_right(SIDE)
            .x_label_area_size(FOOT)
            .build_cartesian_2d(-reach..reach, 0.0..1.0)
            .expect(SAFE);
        let pixel = |at: f64, level: f64| chart.backend_coord(&(at, level));
        self.draw_matters(area, &pixel);
        draw_axis(area, &pixel, reach, self.units.depth_unit());
        let foot = pixel(0.0, 0.0).1 + 38;
        for (words, at, side) in
            [(self.ends.0, -reach, HPos::Left), (self.ends.1, reach, HPos::Right)]
        {
            let x = pixel(at, 0.0).0;
            let x = if at < 0.0 { x - SIDE } else { x + SIDE };
            text(area, words, (x, foot), SOFT_INK, side, VPos::Top);
        }
        self.draw_mark(area, &pixel, reach);
    }

    fn draw_matters(&self, area: &Area, pixel: &dyn Fn(f64, f64) -> (i32, i32)) {
        let Some(matters) = self.matters_cm.filter(|cm| cm.is_finite() && *cm > 0.0) else {
            return;
        };
        let matters = self.in_unit(matters);
        let corners = [pixel(-matters, 1.0), pixel(matters, 0.0)];
        area.draw(&Rectangle::new(corners, rgb(TOO_SMALL).filled())).expect(SAFE);
        for at in [-matters, matters] {
            let line = [pixel(at, 1.0), pixel(at, 0.0)];
            let style = rgb(SOFT_INK).stroke_width(2);
            area.draw(&DashedPathElement::new(line, 6, 5, style)).expect(SAFE);
        }
    }

    fn draw_mark(&self, area: &Area, pixel: &dyn Fn(f64, f64) -> (i32, i32), reach: f64) {
        let Estimate { mean_cm, interval_cm, .. } = self.estimate;
        let place = |cm: f64| match cm {
            cm if cm.is_nan() => None,
            cm => Some(pixel(self.in_unit(cm).clamp(-reach, reach), 0.5)),
        };
        if let [Some(low), Some(high)] = interval_cm.map(place) {
            area.draw(&PathElement::new([low, high], rgb(INK).stroke_width(6))).expect(SAFE);
            for (x, y) in [low, high] {
                let end = [(x, y - 11), (x, y + 11)];
                area.draw(&PathElement::new(end, rgb(INK).stroke_width(3))).expect(SAFE);
            }
        }
        let Some(middle) = place(mean_cm) else { return };
        area.draw(&Circle::new(middle, 11, rgb(PAPER).filled())).expect(SAFE);
        area.draw(&Circle::new(middle, 9, rgb(INK).filled())).expect(SAFE);
        let words = change_text(mean_cm, self.units);
        let top = (middle.0, pixel(0.0, 1.0).1 - 6);
        text(area, &words, top, INK, HPos::Center, VPos::Bottom);
    }
}

fn draw_axis(area: &Area, pixel: &dyn Fn(f64, f64) -> (i32, i32), reach: f64, unit: &str) {
    let step = round_step(2.0 * reach, 7.0);
    let last = (reach / step).floor() as i64;
    for k in -last..=last {
        let at = k as f64 * step;
        let (top, foot) = (pixel(at, 1.0), pixel(at, 0.0));
        let style = match k {
            0 => rgb(INK).stroke_width(2),
            _ => rgb(FAINT).stroke_width(1),
        };
        area.draw(&PathElement::new([top, foot], style)).expect(SAFE);
        let words = match k {
            0 => format!("0 {unit}"),
            _ => signed(at, 2),
        };
        text(area, &words, (foot.0, foot.1 + 8), SOFT_INK, HPos::Center, VPos::Top);
    }
}

fn text(area: &Area, words: &str, at: (i32, i32), colour: Rgb, side: HPos, level: VPos) {
    area.draw(&Text::new(words.to_owned(), at, text_style(colour, side, level))).expect(SAFE);
}

/// `95 % interval −2.9 to −1.3 in`.
pub(crate) fn interval_text(estimate: Estimate, units: UnitSystem) -> String {
    if !estimate.interval_cm.iter().all(|cm| cm.is_finite()) {
        return "no interval can be told".into();
    }
    let percent = survey::units::tidy(100.0 * estimate.confidence, 1);
    let [low, high] = estimate.interval_cm.map(|cm| signed(units.depth(Depth::from_cm(cm)), 1));
    format!("{percent} % interval {low} to {high} {}", units.depth_unit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_interval_that_is_not_known_is_not_told() {
        let none = Estimate { mean_cm: 1.0, interval_cm: [f64::NAN; 2], confidence: 0.9, count: 9 };
        assert_eq!(interval_text(none, UnitSystem::Us), "no interval can be told");
    }

    fn chart(matters_cm: Option<f64>) -> String {
        let estimate = Estimate {
            mean_cm: -2.54 * 2.1,
            interval_cm: [-2.54 * 2.9, -2.54 * 1.3],
            confidence: 0.95,
            count: 96,
        };
        let ends = ("thinner", "deeper");
        let chart = EstimateChart { title: "t", estimate, matters_cm, ends, units: UnitSystem::Us };
        let mut svg = Svg::default();
        chart.draw(&mut svg, Rect::new(0.0, 0.0, 500.0, 148.0));
        svg.document(500, 148, 200, "t", "s")
    }

    #[test]
    fn the_mean_has_its_unit_and_0_is_on_the_axis() {
        let svg = chart(None);
        for words in ["−2.1 in", "0 in", "thinner", "deeper"] {
            assert!(svg.lines().any(|line| line.trim() == words), "{words}: {svg}");
        }
    }

    #[test]
    fn what_does_not_matter_is_shaded() {
        assert!(chart(Some(5.08)).contains("#E9ECF0"));
        assert!(!chart(None).contains("#E9ECF0"));
    }

    #[test]
    fn an_interval_is_told_with_its_confidence_and_unit() {
        let estimate =
            Estimate { mean_cm: 0.0, interval_cm: [-2.54, 5.08], confidence: 0.95, count: 2 };
        assert_eq!(interval_text(estimate, UnitSystem::Us), "95 % interval −1 to +2 in");
    }
}
