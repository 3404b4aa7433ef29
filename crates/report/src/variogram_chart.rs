//! Semivariance by distance: the classes, the fitted model, and how many pairs each class has.

use geostat::{EmpiricalVariogram, Variogram};
use plotters::element::{Circle, DashedPathElement, PathElement, Polygon, Rectangle, Text};
use plotters::prelude::ChartBuilder;
use plotters::style::text_anchor::{HPos, VPos};
use plotters::style::{Color, ShapeStyle};
use survey::units::tidy;
use survey::{UnitSystem, units};

use crate::chart::{Area, SAFE, SIZE, nest_enlarged, rgb, round_step, text_style, turned_style};
use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::group_style::{GroupStyle, MOST_GROUPS};
use crate::palette::{DIM, FAINT, HAIRLINE, INK, PAPER, Rgb, SOFT_INK};
use crate::svg::Svg;
use crate::variogram_page::VariogramPage;
use crate::variogram_words::{distance_text, practical_range_m, semivariance, semivariance_text};

/// The classes of all directions together.
pub(crate) const POINT: Rgb = Rgb(0x29, 0x47, 0x8c);
/// The same where directions are drawn over them.
pub(crate) const BEHIND: Rgb = HAIRLINE;

/// The chart is the page, so it is larger than one of many.
const ENLARGED: f64 = 1.18;

/// Room for the axes and the names of lines, pixels.
const HEAD: i32 = 44;
const LEFT: u32 = 92;
const FOOT: u32 = 40;
const RIGHT: i32 = 256;
/// Height of the bars of pairs, with the numbers over them and the axis below.
const BARS: u32 = 230;
const BARS_FOOT: u32 = 70;
const BARS_HEAD: i32 = 34;

/// The least distance between two names at the right, pixels.
const LINE: i32 = 27;
/// Radius of the smallest and the largest point.
const RADIUS: (f64, f64) = (5.0, 13.0);

/// Draws the chart into a rectangle.
pub(crate) fn draw(svg: &mut Svg, page: &VariogramPage, place: Rect) {
    nest_enlarged(svg, "Semivariance by distance between probes", place, ENLARGED, |area| {
        let (_, height) = area.dim_in_pixel();
        let (upper, lower) = area.split_vertically(height.saturating_sub(BARS));
        // Places of a chart count from the corner of the whole, so both are drawn there.
        draw_semivariances(area, &upper, page);
        draw_pairs(area, &lower, page);
    });
}

/// Ends of the distance axis in the reader's unit, and its step.
fn distance_axis(page: &VariogramPage) -> (f64, f64) {
    let classes = all(page).flat_map(|empirical| &empirical.classes);
    let farthest_m = classes.map(|class| class.distance_m).fold(page.empirical.cutoff_m, f64::max);
    let end = distance(farthest_m.max(1e-3), page.units) * 1.02;
    (end, round_step(end, 8.0))
}

fn all<'a>(page: &'a VariogramPage) -> impl Iterator<Item = &'a EmpiricalVariogram> {
    let directions = page.directions.iter().map(|direction| direction.empirical);
    std::iter::once(page.empirical).chain(directions)
}

/// A distance in the reader's unit.
pub(crate) fn distance(distance_m: f64, units: UnitSystem) -> f64 {
    match units {
        UnitSystem::Us => distance_m / units::M_PER_FT,
        UnitSystem::Si => distance_m,
    }
}

fn distance_m(distance: f64, units: UnitSystem) -> f64 {
    match units {
        UnitSystem::Us => distance * units::M_PER_FT,
        UnitSystem::Si => distance,
    }
}

/// That unit.
pub(crate) fn distance_unit(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Us => "ft",
        UnitSystem::Si => "m",
    }
}

/// How a semivariance becomes a place in the chart.
struct Frame<'f, 'a> {
    area: &'f Area<'a>,
    pixel: &'f dyn Fn(f64, f64) -> (i32, i32),
    page: &'f VariogramPage<'f>,
    farthest: f64,
    highest: f64,
}

fn draw_semivariances(area: &Area, room: &Area, page: &VariogramPage) {
    let (farthest, distance_step) = distance_axis(page);
    let classes = all(page).flat_map(|empirical| &empirical.classes);
    let highest_cm2 = classes
        .map(|class| class.semivariance)
        .chain([page.model.sill(), page.variance_cm2])
        .filter(|cm2| cm2.is_finite())
        .fold(1e-9, f64::max);
    let highest = semivariance(highest_cm2, page.units) * 1.06;
    let chart = ChartBuilder::on(room)
        .margin_top(HEAD)
        .margin_right(RIGHT)
        .x_label_area_size(FOOT)
        .y_label_area_size(LEFT)
        .build_cartesian_2d(0.0..farthest, 0.0..highest)
        .expect(SAFE);
    let pixel = |distance, semivariance| chart.backend_coord(&(distance, semivariance));
    let frame = Frame { area, pixel: &pixel, page, farthest, highest };
    frame.draw_axes(distance_step);
    frame.draw_levels();
    frame.draw_range();
    if page.directions.is_empty() {
        frame.draw_classes(page.empirical, POINT);
        frame.draw_model();
    } else {
        frame.draw_classes(page.empirical, BEHIND);
        frame.draw_directions();
    }
}

impl Frame<'_, '_> {
    fn text(&self, words: String, at: (i32, i32), colour: Rgb, anchor: (HPos, VPos)) {
        let style = text_style(colour, anchor.0, anchor.1);
        self.area.draw(&Text::new(words, at, style)).expect(SAFE);
    }

    fn line(&self, from: (i32, i32), to: (i32, i32), style: ShapeStyle) {
        self.area.draw(&PathElement::new([from, to], style)).expect(SAFE);
    }

    fn draw_axes(&self, distance_step: f64) {
        for tick in ticks(distance_step, self.farthest) {
            let (top, foot) = ((self.pixel)(tick, self.highest), (self.pixel)(tick, 0.0));
            self.line(top, foot, rgb(FAINT).stroke_width(1));
            self.text(tidy(tick, 1), (foot.0, foot.1 + 8), SOFT_INK, (HPos::Center, VPos::Top));
        }
        let step = round_step(self.highest, 7.0);
        for tick in ticks(step, self.highest) {
            let (left, right) = ((self.pixel)(0.0, tick), (self.pixel)(self.farthest, tick));
            self.line(left, right, rgb(FAINT).stroke_width(1));
            self.text(tidy(tick, 3), (left.0 - 10, left.1), SOFT_INK, (HPos::Right, VPos::Center));
        }
        let side = (self.pixel)(0.0, self.highest / 2.0);
        let words = format!("Semivariance, {}²", self.page.units.depth_unit());
        let at = (side.0 - LEFT as i32, side.1);
        self.area.draw(&Text::new(words, at, turned_style())).expect(SAFE);
    }

    /// Nugget, sill and sample variance as level lines with their names at the right.
    fn draw_levels(&self) {
        let (model, units) = (self.page.model, self.page.units);
        let mut levels = vec![("sample variance", self.page.variance_cm2, true)];
        levels.push(("sill", model.sill(), false));
        if model.partial_sill > 0.0 {
            levels.push(("nugget", model.nugget, false));
        }
        levels.retain(|level| level.1.is_finite());
        levels.sort_by(|a, b| b.1.total_cmp(&a.1));
        let mut free = i32::MIN;
        for (name, cm2, dashed) in levels {
            let level = semivariance(cm2, units);
            let (left, right) = ((self.pixel)(0.0, level), (self.pixel)(self.farthest, level));
            let (dash, gap, colour) = if dashed { (14, 8, INK) } else { (3, 6, SOFT_INK) };
            let style = rgb(colour).stroke_width(2);
            self.area.draw(&DashedPathElement::new([left, right], dash, gap, style)).expect(SAFE);
            let y = right.1.max(free);
            free = y + LINE;
            self.line(right, (right.0 + 14, y), rgb(colour).stroke_width(1));
            let words = format!("{name} {}", semivariance_text(cm2, units));
            self.text(words, (right.0 + 20, y), INK, (HPos::Left, VPos::Center));
        }
    }

    /// The range as an upright line with its name above.
    fn draw_range(&self) {
        let units = self.page.units;
        let Some(range_m) = practical_range_m(self.page.model) else { return };
        let range = distance(range_m, units);
        let words = format!("range {}", distance_text(range_m, units));
        let right = (self.pixel)(self.farthest, self.highest);
        if range > self.farthest {
            let at = (right.0, right.1 - 14);
            self.text(format!("{words}, beyond the chart"), at, INK, (HPos::Right, VPos::Bottom));
            return;
        }
        let (top, foot) = ((self.pixel)(range, self.highest), (self.pixel)(range, 0.0));
        let style = rgb(SOFT_INK).stroke_width(2);
        self.area.draw(&DashedPathElement::new([top, foot], 3, 6, style)).expect(SAFE);
        let half = (fonts::width(&words, SIZE, Weight::Regular) / 2.0).ceil() as i32;
        let left = (self.pixel)(0.0, 0.0).0;
        let x = top.0.clamp(left + half, (right.0 - half).max(left + half));
        self.text(words, (x, top.1 - 14), INK, (HPos::Center, VPos::Bottom));
    }

    /// Classes as points, the larger the more pairs they have.
    fn draw_classes(&self, empirical: &EmpiricalVariogram, colour: Rgb) {
        for ((x, y), radius) in self.points(empirical) {
            let radius = radius.round() as i32;
            self.area.draw(&Circle::new((x, y), radius + 2, rgb(PAPER).filled())).expect(SAFE);
            self.area.draw(&Circle::new((x, y), radius, rgb(colour).filled())).expect(SAFE);
        }
    }

    fn points(&self, empirical: &EmpiricalVariogram) -> Vec<((i32, i32), f64)> {
        let units = self.page.units;
        let most = empirical.classes.iter().map(|class| class.pairs).max().unwrap_or(1).max(1);
        empirical
            .classes
            .iter()
            .filter(|class| class.semivariance.is_finite() && class.distance_m.is_finite())
            .map(|class| {
                let at =
                    (distance(class.distance_m, units), semivariance(class.semivariance, units));
                // Areas stand for pairs.
                let part = (class.pairs as f64 / most as f64).sqrt();
                ((self.pixel)(at.0, at.1), RADIUS.0 + part * (RADIUS.1 - RADIUS.0))
            })
            .collect()
    }

    fn draw_model(&self) {
        let style = rgb(INK).stroke_width(4);
        self.area.draw(&PathElement::new(self.curve(1.0), style)).expect(SAFE);
    }

    /// The model as a line, for distances that count so many times.
    fn curve(&self, stretch: f64) -> Vec<(i32, i32)> {
        /// Pieces of the line.
        const PIECES: u32 = 240;
        let (model, units): (&Variogram, _) = (self.page.model, self.page.units);
        // From just above 0, where the nugget begins.
        (0..=PIECES)
            .map(|k| {
                let at = self.farthest * (f64::from(k) / f64::from(PIECES)).max(1e-6);
                let cm2 = model.semivariance(distance_m(at, units) * stretch);
                (self.pixel)(at, semivariance(cm2, units))
            })
            .collect()
    }

    fn draw_directions(&self) {
        for (k, direction) in self.page.directions.iter().take(MOST_GROUPS).enumerate() {
            let turn = direction.azimuth_deg.to_radians();
            let unit = [libm::sin(turn), libm::cos(turn)];
            let [along, across] = self.page.model.anisotropy.stretch(unit);
            GroupStyle::of(k).draw(self.area, self.curve(libm::hypot(along, across)));
        }
        for (k, direction) in self.page.directions.iter().take(MOST_GROUPS).enumerate() {
            for (at, radius) in self.points(direction.empirical) {
                self.draw_mark(k, at, radius.round() as i32);
            }
        }
    }

    fn draw_mark(&self, group: usize, (x, y): (i32, i32), radius: i32) {
        let draw = |radius: i32, style: ShapeStyle| {
            match Shape::of(group) {
                Shape::Circle => self.area.draw(&Circle::new((x, y), radius, style)),
                Shape::Square => {
                    let (low, high) = ((x - radius, y + radius), (x + radius, y - radius));
                    self.area.draw(&Rectangle::new([low, high], style))
                }
                Shape::Triangle => {
                    let corners =
                        [(x - radius, y + radius), (x + radius, y + radius), (x, y - radius)];
                    self.area.draw(&Polygon::new(corners, style))
                }
            }
            .expect(SAFE);
        };
        draw(radius + 2, rgb(PAPER).filled());
        draw(radius, rgb(GroupStyle::of(group).colour).filled());
    }
}

/// The shape of a direction's points, for the chart and the list beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shape {
    Circle,
    Square,
    Triangle,
}

impl Shape {
    pub fn of(direction: usize) -> Shape {
        [Shape::Circle, Shape::Square, Shape::Triangle][direction % 3]
    }
}

/// How many pairs each class has, as bars on the same axis of distance.
fn draw_pairs(area: &Area, room: &Area, page: &VariogramPage) {
    let (farthest, step) = distance_axis(page);
    let classes = &page.empirical.classes;
    let most = classes.iter().map(|class| class.pairs).max().unwrap_or(1).max(1) as f64;
    let chart = ChartBuilder::on(room)
        .margin_top(BARS_HEAD)
        .margin_right(RIGHT)
        .x_label_area_size(BARS_FOOT)
        .y_label_area_size(LEFT)
        .build_cartesian_2d(0.0..farthest, 0.0..most)
        .expect(SAFE);
    let pixel = |distance, pairs| chart.backend_coord(&(distance, pairs));
    let text = |words: String, at, colour, horizontal, vertical| {
        area.draw(&Text::new(words, at, text_style(colour, horizontal, vertical))).expect(SAFE);
    };
    let places: Vec<f64> =
        classes.iter().map(|class| distance(class.distance_m, page.units)).collect();
    let gap = places.windows(2).map(|pair| pair[1] - pair[0]).fold(farthest / 12.0, f64::min);
    let half = (f64::from(pixel(gap, 0.0).0 - pixel(0.0, 0.0).0) * 0.38).max(1.0) as i32;
    let mut free = i32::MIN;
    for (class, place) in classes.iter().zip(&places) {
        let (foot, top) = (pixel(*place, 0.0), pixel(*place, class.pairs as f64));
        let corners = [(foot.0 - half, foot.1), (foot.0 + half, top.1)];
        area.draw(&Rectangle::new(corners, rgb(HAIRLINE).filled())).expect(SAFE);
        let words = class.pairs.to_string();
        let room = (fonts::width(&words, SIZE, Weight::Regular) / 2.0).ceil() as i32 + 4;
        if top.0 - room >= free {
            free = top.0 + room;
            text(words, (top.0, top.1 - 6), SOFT_INK, HPos::Center, VPos::Bottom);
        }
    }
    let (left, right) = (pixel(0.0, 0.0), pixel(farthest, 0.0));
    area.draw(&PathElement::new([left, right], rgb(DIM).stroke_width(2))).expect(SAFE);
    for tick in ticks(step, farthest) {
        let foot = pixel(tick, 0.0);
        text(tidy(tick, 1), (foot.0, foot.1 + 8), SOFT_INK, HPos::Center, VPos::Top);
    }
    let words = format!("Distance between probes, {}", distance_unit(page.units));
    let middle = ((left.0 + right.0) / 2, left.1 + 40);
    text(words, middle, SOFT_INK, HPos::Center, VPos::Top);
    let side = pixel(0.0, most / 2.0);
    let at = (side.0 - LEFT as i32, side.1);
    area.draw(&Text::new("Pairs", at, turned_style())).expect(SAFE);
}

/// Whole steps from zero to an end.
fn ticks(step: f64, end: f64) -> impl Iterator<Item = f64> {
    (0..).map(move |k| f64::from(k) * step).take_while(move |tick| *tick <= end + 1e-9)
}
