//! Cone index against depth: median line and quartile band of each group, thresholds, the tight
//! layer, and how many profiles each depth stands for.

use plotters::element::{DashedPathElement, PathElement, Polygon, Rectangle, Text};
use plotters::prelude::ChartBuilder;
use plotters::style::Color;
use plotters::style::text_anchor::{HPos, VPos};
use survey::units::tidy;
use survey::{DepthSummary, LayersFound, Pressure, UnitSystem};

use crate::chart::{Area, SAFE, SIZE, nest, rgb, round_step, text_style, turned_style};
use crate::frame::Rect;
use crate::group_style::{GroupStyle, MOST_GROUPS};
use crate::palette::{DIM, HAIRLINE, INK, Rgb, SOFT_INK};
use crate::profile_page::{ProfileGroup, ProfilePage};
use crate::svg::Svg;

/// Ground of the tight layer.
pub(crate) const TIGHT: Rgb = Rgb(0xec, 0xea, 0xe5);

/// The most groups whose bands can lie over each other and still be told apart.
pub(crate) const MOST_BANDS: usize = 3;

/// How much of the paper a band covers.
const BAND_OPACITY: f64 = 0.2;

/// Room of the axes, pixels.
const HEAD: u32 = 96;
const LEFT: u32 = 84;
const FOOT: u32 = 56;
/// Room of a group's counts beside the chart, and of the strip that shows its tight layer.
const COUNTS: f64 = 84.0;
const STRIP: f64 = 26.0;
/// From the chart to the columns beside it.
const GAP: f64 = 22.0;

/// The least distance between two lines of counts, pixels.
const LINE: f64 = SIZE * 1.35;

/// Draws the chart into a rectangle.
pub(crate) fn draw(svg: &mut Svg, page: &ProfilePage, place: Rect) {
    nest(svg, "Cone index by depth", place, |area| {
        draw_groups(area, page);
    });
}

/// How a place in the ground becomes a place in the chart.
struct Frame<'f, 'a> {
    area: &'f Area<'a>,
    pixel: &'f dyn Fn(f64, f64) -> (i32, i32),
    units: UnitSystem,
    /// The ends of both axes in the reader's unit.
    hardest: f64,
    deepest: f64,
    depth_step: f64,
}

fn draw_groups(area: &Area, page: &ProfilePage) {
    let groups = &page.groups[..page.groups.len().min(MOST_GROUPS)];
    let units = page.units;
    let (pressure_step, hardest) = pressure_axis(page, groups);
    let (depth_step, deepest) = depth_axis(groups, units);
    let beside = GAP + groups.len() as f64 * COUNTS + strips(groups) * STRIP;
    let chart = ChartBuilder::on(area)
        .margin_right(beside.ceil() as i32)
        .top_x_label_area_size(HEAD)
        .x_label_area_size(FOOT)
        .y_label_area_size(LEFT)
        .build_cartesian_2d(0.0..hardest, deepest..0.0)
        .expect(SAFE);
    let pixel = |pressure, depth| chart.backend_coord(&(pressure, depth));
    let frame = Frame { area, pixel: &pixel, units, hardest, deepest, depth_step };
    frame.draw_tight_ground(groups);
    frame.draw_axes(pressure_step);
    if groups.len() <= MOST_BANDS {
        for (k, group) in groups.iter().enumerate() {
            frame.draw_band(&group.summary, GroupStyle::of(k).colour);
        }
    }
    frame.draw_thresholds(page);
    for (k, group) in groups.iter().enumerate() {
        frame.draw_median(&group.summary, GroupStyle::of(k));
    }
    frame.draw_beside(groups);
}

/// Step and end of the pressure axis: every quartile and threshold lies on it.
fn pressure_axis(page: &ProfilePage, groups: &[ProfileGroup]) -> (f64, f64) {
    let quartiles =
        groups.iter().flat_map(|group| &group.summary).map(|summary| summary.upper_quartile);
    let thresholds = page.thresholds.iter().map(survey::Threshold::pressure);
    let greatest = quartiles
        .chain(thresholds)
        .map(|pressure| page.units.pressure(pressure))
        .fold(1.0, f64::max);
    let step = round_step(greatest * 1.04, 8.0);
    (step, (greatest * 1.04 / step).ceil() * step)
}

/// Step and end of the depth axis: marks of the rod for inches.
fn depth_axis(groups: &[ProfileGroup], units: UnitSystem) -> (f64, f64) {
    let deepest = groups
        .iter()
        .filter_map(|group| group.summary.last())
        .map(|summary| units.depth(summary.depth))
        .fold(1.0, f64::max);
    let step = match units {
        UnitSystem::Us if (6.0..=36.0).contains(&deepest) => 3.0,
        _ => round_step(deepest, 8.0),
    };
    (step, deepest)
}

/// How many strips stand beside the chart: none for one group, whose layer shades the chart.
fn strips(groups: &[ProfileGroup]) -> f64 {
    match groups.iter().any(|group| usual_layer(group).is_some()) {
        true if groups.len() > 1 => groups.len() as f64,
        _ => 0.0,
    }
}

/// The tight layer of a group where at least half of its profiles have one.
pub(crate) fn usual_layer(group: &ProfileGroup) -> Option<LayersFound> {
    let tight = group.tight?;
    tight.layers.filter(|layers| 2 * layers.top.count >= tight.loose.count)
}

impl Frame<'_, '_> {
    fn at(&self, pressure: Pressure, summary: &DepthSummary) -> (i32, i32) {
        let depth = self.units.depth(summary.depth);
        (self.pixel)(self.units.pressure(pressure), depth)
    }

    fn text(&self, words: String, at: (i32, i32), colour: Rgb, anchor: (HPos, VPos)) {
        let style = text_style(colour, anchor.0, anchor.1);
        self.area.draw(&Text::new(words, at, style)).expect(SAFE);
    }

    fn line(&self, from: (i32, i32), to: (i32, i32), colour: Rgb, width: u32) {
        let style = rgb(colour).stroke_width(width);
        self.area.draw(&PathElement::new([from, to], style)).expect(SAFE);
    }

    /// Top and foot of a group's usual layer in the chart, and whether its bottom is known.
    fn layer_ends(&self, group: &ProfileGroup) -> Option<(i32, i32, bool)> {
        let layers = usual_layer(group)?;
        let y = |depth: f64| (self.pixel)(0.0, depth.min(self.deepest)).1;
        let bottom = layers.bottom.reading;
        let foot = match bottom.is_not_reached() {
            true => self.deepest,
            false => self.units.depth(bottom.at_least()),
        };
        let top = self.units.depth(layers.top.reading.at_least());
        Some((y(top), y(foot), !bottom.is_not_reached()))
    }

    /// Shades the tight layer of a single group.
    fn draw_tight_ground(&self, groups: &[ProfileGroup]) {
        let [group] = groups else { return };
        let Some((top, foot, bottom_known)) = self.layer_ends(group) else {
            return;
        };
        let (left, right) = self.sides();
        self.area
            .draw(&Rectangle::new([(left, top), (right, foot)], rgb(TIGHT).filled()))
            .expect(SAFE);
        self.line((left, top), (right, top), DIM, 2);
        if bottom_known {
            self.line((left, foot), (right, foot), DIM, 2);
        }
    }

    fn sides(&self) -> (i32, i32) {
        let left = (self.pixel)(0.0, 0.0).0;
        (left, (self.pixel)(self.hardest, 0.0).0)
    }

    fn draw_axes(&self, pressure_step: f64) {
        for pressure in ticks(pressure_step, self.hardest) {
            let (top, foot) = ((self.pixel)(pressure, 0.0), (self.pixel)(pressure, self.deepest));
            self.line(top, foot, HAIRLINE, 1);
            let above = (top.0, top.1 - 10);
            let anchor = (HPos::Center, VPos::Bottom);
            self.text(tidy(pressure, 1), above, SOFT_INK, anchor);
        }
        for depth in ticks(self.depth_step, self.deepest) {
            let (left, right) = ((self.pixel)(0.0, depth), (self.pixel)(self.hardest, depth));
            self.line(left, right, HAIRLINE, 1);
            let before = (left.0 - 12, left.1);
            let anchor = (HPos::Right, VPos::Center);
            self.text(tidy(depth, 1), before, SOFT_INK, anchor);
        }
        let surface = (self.pixel)(self.hardest / 2.0, 0.0);
        let words = format!("Cone index, {}", self.units.pressure_unit());
        let anchor = (HPos::Center, VPos::Bottom);
        self.text(words, (surface.0, surface.1 - 46), SOFT_INK, anchor);
        let side = (self.pixel)(0.0, self.deepest / 2.0);
        let words = format!("Depth, {}", self.units.depth_unit());
        let at = (side.0 - LEFT as i32, side.1);
        self.area.draw(&Text::new(words, at, turned_style())).expect(SAFE);
        let (left, right) = self.sides();
        self.line((left, surface.1), (right, surface.1), DIM, 3);
    }

    fn draw_band(&self, summary: &[DepthSummary], colour: Rgb) {
        let upper = summary.iter().map(|s| self.at(s.upper_quartile, s));
        let lower = summary.iter().rev().map(|s| self.at(s.lower_quartile, s));
        let around: Vec<(i32, i32)> = upper.chain(lower).collect();
        let fill = rgb(colour).mix(BAND_OPACITY).filled();
        self.area.draw(&Polygon::new(around, fill)).expect(SAFE);
    }

    fn draw_median(&self, summary: &[DepthSummary], style: GroupStyle) {
        let points: Vec<(i32, i32)> = summary.iter().map(|s| self.at(s.median, s)).collect();
        style.draw(self.area, points);
    }

    /// Dashed lines with their pressure at the foot, on a second line where two are close.
    fn draw_thresholds(&self, page: &ProfilePage) {
        let mut thresholds: Vec<_> = page.thresholds.iter().collect();
        thresholds.sort_by(|a, b| a.pressure().pa().total_cmp(&b.pressure().pa()));
        let mut ends = [i32::MIN; 2];
        for threshold in thresholds {
            let pressure = self.units.pressure(threshold.pressure());
            let (top, foot) = ((self.pixel)(pressure, 0.0), (self.pixel)(pressure, self.deepest));
            let style = rgb(INK).stroke_width(2);
            self.area.draw(&DashedPathElement::new([top, foot], 12, 8, style)).expect(SAFE);
            let words = threshold.to_string();
            let half = (crate::fonts::width(&words, SIZE, crate::fonts::Weight::Regular) / 2.0
                + 8.0)
                .ceil() as i32;
            let row = usize::from(foot.0 - half < ends[0]);
            ends[row] = foot.0 + half;
            let below = (foot.0, foot.1 + 8 + row as i32 * LINE as i32);
            self.text(words, below, INK, (HPos::Center, VPos::Top));
        }
    }

    /// The columns beside the chart: each group's count by depth, and its tight layer as a strip
    /// where there are several groups.
    fn draw_beside(&self, groups: &[ProfileGroup]) {
        let (_, right) = self.sides();
        let surface = (self.pixel)(0.0, 0.0).1;
        let first = f64::from(right) + GAP;
        let counts = groups.len() as f64 * COUNTS;
        let center = (first + counts / 2.0) as i32;
        let bottom = (HPos::Center, VPos::Bottom);
        self.text("Profiles".into(), (center, surface - 46), SOFT_INK, bottom);
        for (k, group) in groups.iter().enumerate() {
            let x = (first + (k as f64 + 0.5) * COUNTS) as i32;
            let colour = GroupStyle::of(k).colour;
            self.line((x - 26, surface - 22), (x + 26, surface - 22), colour, 5);
            self.draw_counts(&group.summary, x);
        }
        if strips(groups) > 0.0 {
            let middle = (first + counts + strips(groups) * STRIP / 2.0) as i32;
            self.text("Tight".into(), (middle, surface - 46), SOFT_INK, bottom);
            for (k, group) in groups.iter().enumerate() {
                let x = first + counts + k as f64 * STRIP;
                self.draw_strip(group, k, x as i32);
            }
        }
    }

    fn draw_counts(&self, summary: &[DepthSummary], x: i32) {
        let mut free = f64::NEG_INFINITY;
        for row in summary {
            let y = (self.pixel)(0.0, self.units.depth(row.depth)).1;
            if f64::from(y) >= free {
                let anchor = (HPos::Center, VPos::Center);
                self.text(row.count.to_string(), (x, y), SOFT_INK, anchor);
                free = f64::from(y) + LINE;
            }
        }
    }

    fn draw_strip(&self, group: &ProfileGroup, k: usize, x: i32) {
        let Some((top, foot, bottom_known)) = self.layer_ends(group) else {
            return;
        };
        let colour = GroupStyle::of(k).colour;
        let (left, right) = (x + 5, x + STRIP as i32 - 5);
        let ground = rgb(colour).mix(0.45).filled();
        self.area.draw(&Rectangle::new([(left, top), (right, foot)], ground)).expect(SAFE);
        self.line((left, top), (right, top), colour, 4);
        if bottom_known {
            self.line((left, foot), (right, foot), colour, 4);
        }
    }
}

/// Whole steps from zero to an end.
fn ticks(step: f64, end: f64) -> impl Iterator<Item = f64> {
    (0..).map(move |k| f64::from(k) * step).take_while(move |tick| *tick <= end + 1e-9)
}
