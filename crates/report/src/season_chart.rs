//! A season by its days: depth, moisture, shares and ground by class, each on its own axis, one below
//! another.

use plotters::element::{Circle, DashedPathElement, PathElement, Polygon, Rectangle, Text};
use plotters::prelude::ChartBuilder;
use plotters::style::text_anchor::{HPos, VPos};
use plotters::style::{Color, ShapeStyle};
use survey::units::tidy;
use survey::{Date, Depth, UnitSystem};

use crate::chart::{Area, SAFE, SIZE, draw_frame, nest, rgb, round_step, text_style, turned_style};
use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::group_style::{GroupStyle, MOST_GROUPS};
use crate::histogram::hatching;
use crate::palette::{DIM, FAINT, INK, PAPER, Rgb, SOFT_INK, class_colour};
use crate::season_axis::{Days, without_overlap};
use crate::season_page::{SeasonDepth, SeasonPage, SeasonVisit};
use crate::svg::Svg;
use crate::wording::{day, day_of_year, from_to};

/// Medians.
pub(crate) const POINT: Rgb = Rgb(0x29, 0x47, 0x8c);
/// From quartile to quartile.
pub(crate) const QUARTILES: Rgb = Rgb(0xb3, 0xc0, 0xdb);
/// Days that matter.
const WINDOW: Rgb = Rgb(0xec, 0xee, 0xf1);

/// Room for the axes at the left, for words above and for days below, pixels.
const LEFT: i32 = 96;
const RIGHT: i32 = 14;
const HEAD: i32 = 62;
const FOOT: i32 = 112;
const BETWEEN: i32 = 34;
/// Up to so many visits have their numbers beside them.
const MOST_NUMBERS: usize = 16;
/// Widths of a bar of ground.
const BAR: (f64, f64) = (5.0, 46.0);
/// From a line of words to the next.
const LINE: i32 = 30;

/// Draws the chart into a rectangle.
pub(crate) fn draw(svg: &mut Svg, page: &SeasonPage, place: Rect) {
    let Some(days) = Days::of(page) else { return };
    nest(svg, "The season by its days", place, |area| {
        let season = Season { area, page, days };
        season.draw();
    });
}

/// What the panels of the chart share.
struct Season<'f, 'a> {
    area: &'f Area<'a>,
    page: &'f SeasonPage<'f>,
    days: Days,
}

/// One panel: how its numbers become places.
struct Panel<'p> {
    pixel: &'p dyn Fn(f64, f64) -> (i32, i32),
    left: i32,
    right: i32,
    top: i32,
    bottom: i32,
}

/// Share of the height that each panel has: depth, moisture, shares, ground.
const HEIGHTS: [f64; 4] = [0.37, 0.15, 0.2, 0.28];

impl Season<'_, '_> {
    fn draw(&self) {
        let (_, height) = self.area.dim_in_pixel();
        let has_shares = !self.page.share_names.is_empty();
        let count = if has_shares { 4 } else { 3 };
        let room = height as i32 - HEAD - FOOT - BETWEEN * (count - 1);
        let all: f64 = HEIGHTS.iter().sum::<f64>() - if has_shares { 0.0 } else { HEIGHTS[2] };
        let mut top = HEAD;
        self.draw_window(height as i32 - FOOT);
        self.draw_planted(height as i32 - FOOT);
        for (k, share) in HEIGHTS.into_iter().enumerate() {
            if k == 2 && !has_shares {
                continue;
            }
            let height = (f64::from(room) * share / all) as i32;
            match k {
                0 => self.draw_depths(top, height),
                1 => self.draw_moistures(top, height),
                2 => self.draw_shares(top, height),
                _ => self.draw_ground(top, height),
            }
            top += height + BETWEEN;
        }
        self.draw_days(height as i32 - FOOT);
    }

    /// A panel between two numbers, the first at its foot.
    fn panel(&self, (top, height): (i32, i32), (low, high): (f64, f64), draw: impl FnOnce(&Panel)) {
        let width = self.area.dim_in_pixel().0 as i32 - LEFT - RIGHT;
        let room = self.area.clone().shrink((LEFT, top), (width, height));
        let chart = ChartBuilder::on(&room)
            .build_cartesian_2d(self.days.first..self.days.last, low..high)
            .expect(SAFE);
        let pixel = |at: f64, number: f64| chart.backend_coord(&(at, number));
        let (right, bottom) = (LEFT + width, top + height);
        draw(&Panel { pixel: &pixel, left: LEFT, right, top, bottom });
    }

    fn x(&self, at: f64) -> i32 {
        let width = f64::from(self.area.dim_in_pixel().0 as i32 - LEFT - RIGHT);
        let share = (at - self.days.first) / (self.days.last - self.days.first);
        LEFT + (share * width).round() as i32
    }

    fn text(&self, words: &str, at: (i32, i32), colour: Rgb, side: HPos, level: VPos) {
        let style = text_style(colour, side, level);
        self.area.draw(&Text::new(words.to_owned(), at, style)).expect(SAFE);
    }

    fn line(&self, from: (i32, i32), to: (i32, i32), style: ShapeStyle) {
        self.area.draw(&PathElement::new([from, to], style)).expect(SAFE);
    }

    fn rectangle(&self, a: (i32, i32), b: (i32, i32), style: ShapeStyle) {
        self.area.draw(&Rectangle::new([a, b], style)).expect(SAFE);
    }

    /// The title of a panel and its level lines.
    fn draw_axis(&self, panel: &Panel, title: &str, ticks: &[(f64, String)]) {
        for (at, words) in ticks {
            let y = (panel.pixel)(self.days.first, *at).1;
            self.line((panel.left, y), (panel.right, y), rgb(FAINT).stroke_width(1));
            self.text(words, (panel.left - 10, y), SOFT_INK, HPos::Right, VPos::Center);
        }
        let room = f64::from(panel.bottom - panel.top + BETWEEN - 10);
        let title = fonts::shorten(title, SIZE, Weight::Regular, room);
        let at = (0, (panel.top + panel.bottom) / 2);
        self.area.draw(&Text::new(title, at, turned_style())).expect(SAFE);
    }

    /// Days that matter, shaded through all panels, with their words above.
    fn draw_window(&self, foot: i32) {
        let Some(window) = self.page.window else { return };
        let (from, to) = (self.x(self.days.at(window.first)), self.x(self.days.at(window.last)));
        let (from, to) = (from.min(to), to.max(from + 4));
        self.rectangle((from, HEAD - 6), (to, foot), rgb(WINDOW).filled());
        for x in [from, to] {
            let ends = [(x, HEAD - 6), (x, foot)];
            let style = rgb(DIM).stroke_width(1);
            self.area.draw(&DashedPathElement::new(ends, 8, 6, style)).expect(SAFE);
        }
        let days = match self.has_one_year() {
            true => {
                let day = |date| day_of_year(date, self.page.units);
                format!("{} to {}", day(window.first), day(window.last))
            }
            false => from_to(window.first, window.last, self.page.units),
        };
        let words = format!("{}: {days}", window.words.trim());
        self.words_above((from + to) / 2, &words, 22);
    }

    fn draw_planted(&self, foot: i32) {
        let Some(planted) = self.page.planted else { return };
        let x = self.x(self.days.at(planted));
        let ends = [(x, HEAD - 6), (x, foot)];
        let style = rgb(SOFT_INK).stroke_width(2);
        self.area.draw(&DashedPathElement::new(ends, 4, 6, style)).expect(SAFE);
        let words = format!("planted {}", self.day_text(planted));
        self.words_above(x, &words, 50);
    }

    /// Words over the panels, moved sideways until they are in the chart.
    fn words_above(&self, x: i32, words: &str, foot: i32) {
        let (left, right) = (f64::from(LEFT), f64::from(self.area.dim_in_pixel().0) - 4.0);
        let words = fonts::shorten(words, SIZE, Weight::Regular, right - left);
        let half = fonts::width(&words, SIZE, Weight::Regular) / 2.0 + 2.0;
        let middle = f64::from(x).clamp(left + half, (right - half).max(left + half));
        let at = (middle.round() as i32, foot);
        self.text(&words, at, INK, HPos::Center, VPos::Bottom);
    }

    fn has_one_year(&self) -> bool {
        let mut years = self.page.visits.iter().map(|visit| visit.day.year());
        let first = years.next();
        years.all(|year| Some(year) == first)
    }

    fn day_text(&self, date: Date) -> String {
        match self.has_one_year() {
            true => day_of_year(date, self.page.units),
            false => day(date, self.page.units),
        }
    }

    fn depth(&self, depth: SeasonDepth) -> f64 {
        self.page.units.depth(Depth::from_cm(depth.depth_cm))
    }

    /// The days below the panels, gaps that were too long, and when to go next.
    fn draw_days(&self, foot: i32) {
        let right = self.area.dim_in_pixel().0 as i32 - RIGHT;
        self.line((LEFT, foot), (right, foot), rgb(DIM).stroke_width(2));
        let visits = self.page.visits;
        let labels: Vec<(f64, f64)> = visits
            .iter()
            .map(|visit| {
                let width = fonts::width(&self.day_text(visit.day), SIZE, Weight::Regular);
                (f64::from(self.x(self.days.at(visit.day))), width)
            })
            .collect();
        for visit in visits {
            let x = self.x(self.days.at(visit.day));
            self.line((x, foot), (x, foot + 7), rgb(DIM).stroke_width(2));
        }
        for k in without_overlap(&labels, 12.0) {
            let at = (labels[k].0 as i32, foot + 12);
            let words = self.day_text(visits[k].day);
            self.text(&words, at, SOFT_INK, HPos::Center, VPos::Top);
        }
        let free = self.draw_late(foot + 12 + LINE);
        self.draw_due(foot, free);
    }

    /// Brackets over gaps that were too long, with their days where there is room. Returns where the
    /// last ends.
    fn draw_late(&self, top: i32) -> f64 {
        let mut free = f64::NEG_INFINITY;
        for pair in self.page.visits.windows(2) {
            let Some(gap) = pair[1].late_gap_days else { continue };
            let ends = [&pair[0], &pair[1]].map(|visit| self.x(self.days.at(visit.day)));
            let style = || rgb(INK).stroke_width(3);
            self.line((ends[0] + 3, top), (ends[1] - 3, top), style());
            for x in [ends[0] + 3, ends[1] - 3] {
                self.line((x, top - 6), (x, top), style());
            }
            let words = format!("late: {gap} days");
            let half = fonts::width(&words, SIZE, Weight::SemiBold) / 2.0;
            let middle = f64::from(ends[0] + ends[1]) / 2.0;
            let middle = middle.max(half + 2.0);
            if middle - half > free + 10.0 {
                let at = (middle.round() as i32, top + 8);
                self.text(&words, at, INK, HPos::Center, VPos::Top);
                free = middle + half;
            }
            free = free.max(f64::from(ends[1]));
        }
        free
    }

    /// When the next visit is due: a bar on the axis, with its words below the days, or below the words
    /// on gaps where those are in the way.
    fn draw_due(&self, foot: i32, free: f64) {
        let Some((first, last)) = self.page.next_due else { return };
        let (from, to) = (self.x(self.days.at(first)), self.x(self.days.at(last)));
        let (from, to) = (from.min(to) - 3, to.max(from) + 3);
        self.rectangle((from, foot - 7), (to, foot + 7), rgb(PAPER).filled());
        draw_frame(self.area, [(from, foot - 7), (to, foot + 7)], INK, 3);
        let days = match first == last {
            true => self.day_text(first),
            false => format!("{} to {}", self.day_text(first), self.day_text(last)),
        };
        let words = format!("next visit: {days}");
        let half = fonts::width(&words, SIZE, Weight::Regular) / 2.0 + 2.0;
        let right = f64::from(self.area.dim_in_pixel().0);
        let middle = (f64::from(from + to) / 2.0).min(right - half).max(half);
        let rows = if middle - half > free + 16.0 { 1 } else { 2 };
        let at = (middle.round() as i32, foot + 20 + rows * LINE);
        self.text(&words, at, INK, HPos::Center, VPos::Top);
    }

    /// Median and quartiles of each visit, from the surface down.
    fn draw_depths(&self, top: i32, height: i32) {
        let quartiles = self.page.visits.iter().flat_map(|visit| visit.quartiles);
        let depths = quartiles.map(|depth| self.depth(depth)).filter(|depth| depth.is_finite());
        let deepest = depths.fold(1.0, f64::max);
        let step = [3.0, round_step(deepest, 6.0)].into_iter().find(|step| deepest / step <= 6.5);
        let step = step.unwrap_or(deepest);
        // Below the last mark there is room for the triangles.
        let end = (deepest / step).ceil() * step + 0.35 * step;
        self.panel((top, height), (-end, 0.0), |panel| {
            let marks = (0..).map(|k| f64::from(k) * step).take_while(|mark| *mark <= end);
            let ticks: Vec<(f64, String)> = marks.map(|mark| (-mark, tidy(mark, 1))).collect();
            let title = format!("Depth, {}", self.page.units.depth_unit());
            self.draw_axis(panel, &title, &ticks);
            self.draw_quartiles(panel);
            self.draw_medians(panel);
        });
    }

    fn draw_quartiles(&self, panel: &Panel) {
        for visit in self.page.visits {
            let [low, _, high] = visit.quartiles;
            let at = self.days.at(visit.day);
            let (low_depth, high_depth) = (self.depth(low), self.depth(high));
            if !(low_depth.is_finite() && high_depth.is_finite()) {
                continue;
            }
            let from = (panel.pixel)(at, -low_depth);
            let to = (panel.pixel)(at, -high_depth);
            let half = 5;
            let corners = ((from.0 - half, from.1 - 1), (to.0 + half, to.1 + 1));
            self.rectangle(corners.0, corners.1, rgb(QUARTILES).filled());
            if high.is_at_least {
                self.draw_triangle((to.0, to.1 + 6), QUARTILES, QUARTILES);
            }
        }
    }

    /// A triangle that points down, as on the map: deeper than so much.
    fn draw_triangle(&self, (x, y): (i32, i32), fill: Rgb, edge: Rgb) {
        let corners = vec![(x - 9, y - 6), (x + 9, y - 6), (x, y + 9)];
        self.area.draw(&Polygon::new(corners.clone(), rgb(fill).filled())).expect(SAFE);
        let outline: Vec<(i32, i32)> = corners.iter().chain(&corners[..1]).copied().collect();
        self.area.draw(&PathElement::new(outline, rgb(edge).stroke_width(2))).expect(SAFE);
    }

    fn draw_medians(&self, panel: &Panel) {
        let point = |visit: &SeasonVisit| {
            let depth = self.depth(visit.quartiles[1]);
            depth.is_finite().then(|| (panel.pixel)(self.days.at(visit.day), -depth))
        };
        for pair in self.page.visits.windows(2) {
            let (Some(from), Some(to)) = (point(&pair[0]), point(&pair[1])) else { continue };
            let is_bound = pair.iter().any(|visit| visit.quartiles[1].is_at_least);
            let style = rgb(POINT).stroke_width(3);
            match is_bound {
                true => self.area.draw(&DashedPathElement::new([from, to], 6, 6, style)),
                false => self.area.draw(&PathElement::new([from, to], style)),
            }
            .expect(SAFE);
        }
        for visit in self.page.visits {
            let Some((x, y)) = point(visit) else { continue };
            match visit.quartiles[1].is_at_least {
                true => self.draw_triangle((x, y), PAPER, POINT),
                false => {
                    self.area.draw(&Circle::new((x, y), 10, rgb(PAPER).filled())).expect(SAFE);
                    self.area.draw(&Circle::new((x, y), 8, rgb(POINT).filled())).expect(SAFE);
                }
            }
        }
        let places: Vec<Option<(i32, i32)>> = self.page.visits.iter().map(point).collect();
        self.draw_numbers(&places, |visit| {
            let median = visit.quartiles[1];
            let sign = if median.is_at_least { "≥ " } else { "" };
            format!("{sign}{}", tidy(self.depth(median), 1))
        });
    }

    /// Numbers beside the points of a line where there are few: above on the right, or the first of
    /// three other places where no other number, point or line is in the way.
    fn draw_numbers(&self, places: &[Option<(i32, i32)>], words: impl Fn(&SeasonVisit) -> String) {
        if places.len() > MOST_NUMBERS {
            return;
        }
        let mut taken: Vec<Rect> = self.in_the_way(places);
        for (k, visit) in self.page.visits.iter().enumerate() {
            let Some((x, y)) = places[k] else { continue };
            let words = words(visit);
            let width = fonts::width(&words, SIZE, Weight::Regular);
            let room = |(to_left, below): (bool, bool)| {
                let left = if to_left { f64::from(x) - 12.0 - width } else { f64::from(x) + 12.0 };
                let top = if below { f64::from(y) + 5.0 } else { f64::from(y) - 7.0 - SIZE };
                Rect::new(left, top, width, SIZE)
            };
            let is_free = |side: &(bool, bool)| {
                let room = room(*side);
                room.left > 0.0 && !taken.iter().any(|other| other.overlaps(&room))
            };
            let sides = [(false, false), (true, false), (false, true), (true, true)];
            let Some(side) = sides.into_iter().find(is_free) else { continue };
            let room = room(side);
            taken.push(room);
            let at = (room.left.round() as i32, room.bottom() as i32);
            self.text(&words, at, INK, HPos::Left, VPos::Bottom);
        }
    }

    /// Points of a line, the line between them in small pieces, and the day of planting.
    fn in_the_way(&self, places: &[Option<(i32, i32)>]) -> Vec<Rect> {
        const PIECES: usize = 24;
        let piece =
            |x: f64, y: f64, half: f64| Rect::new(x - half, y - half, 2.0 * half, 2.0 * half);
        let known: Vec<(f64, f64)> =
            places.iter().flatten().map(|&(x, y)| (f64::from(x), f64::from(y))).collect();
        let mut taken: Vec<Rect> = known.iter().map(|&(x, y)| piece(x, y, 8.0)).collect();
        for pair in known.windows(2) {
            let (from, to) = (pair[0], pair[1]);
            taken.extend((0..=PIECES).map(|k| {
                let part = k as f64 / PIECES as f64;
                let (x, y) = (from.0 + part * (to.0 - from.0), from.1 + part * (to.1 - from.1));
                piece(x, y, 2.0)
            }));
        }
        let planted = self.page.planted.map(|day| f64::from(self.x(self.days.at(day))));
        taken.extend(planted.map(|x| Rect::new(x - 2.0, 0.0, 4.0, 1e5)));
        taken
    }

    /// Mean and range of the moisture of each visit.
    fn draw_moistures(&self, top: i32, height: i32) {
        let known = || self.page.visits.iter().filter_map(|visit| visit.moisture);
        let lowest = known().map(|moisture| moisture.min_pct).fold(f64::INFINITY, f64::min);
        let highest = known().map(|moisture| moisture.max_pct).fold(0.0, f64::max);
        let low = if lowest.is_finite() { (lowest / 10.0).floor() * 10.0 } else { 0.0 };
        let high = ((highest / 10.0).ceil() * 10.0).max(low + 10.0);
        let step = round_step(high - low, 4.0);
        self.panel((top, height), (low, high), |panel| {
            let marks = (0..).map(|k| low + f64::from(k) * step).take_while(|mark| *mark <= high);
            let ticks: Vec<(f64, String)> = marks.map(|mark| (mark, tidy(mark, 1))).collect();
            self.draw_axis(panel, "Moisture, %", &ticks);
            let mut before: Option<(i32, i32)> = None;
            for visit in self.page.visits {
                let at = self.days.at(visit.day);
                let Some(moisture) = visit.moisture else {
                    let foot = ((panel.pixel)(at, low).0, panel.bottom - 4);
                    self.text("?", foot, INK, HPos::Center, VPos::Bottom);
                    before = None;
                    continue;
                };
                let middle = (panel.pixel)(at, moisture.mean_pct);
                if let Some(before) = before {
                    self.line(before, middle, rgb(SOFT_INK).stroke_width(2));
                }
                before = Some(middle);
                let ends = [moisture.min_pct, moisture.max_pct].map(|pct| (panel.pixel)(at, pct));
                self.line(ends[0], ends[1], rgb(SOFT_INK).stroke_width(2));
            }
            self.draw_means(panel);
        });
    }

    fn draw_means(&self, panel: &Panel) {
        let place = |visit: &SeasonVisit| {
            let moisture = visit.moisture?;
            Some((panel.pixel)(self.days.at(visit.day), moisture.mean_pct))
        };
        let places: Vec<Option<(i32, i32)>> = self.page.visits.iter().map(place).collect();
        for &(x, y) in places.iter().flatten() {
            self.rectangle((x - 7, y - 7), (x + 7, y + 7), rgb(PAPER).filled());
            self.rectangle((x - 5, y - 5), (x + 5, y + 5), rgb(SOFT_INK).filled());
        }
        self.draw_numbers(&places, |visit| {
            visit.moisture.map_or_else(String::new, |moisture| tidy(moisture.mean_pct, 0))
        });
    }

    /// Each share as a line.
    fn draw_shares(&self, top: i32, height: i32) {
        self.panel((top, height), (0.0, 100.0), |panel| {
            let ticks = [0.0, 25.0, 50.0, 75.0, 100.0].map(|pct| (pct, tidy(pct, 0)));
            let title = format!("Of {}, %", self.page.shares_of.trim());
            self.draw_axis(panel, &title, &ticks);
            for share in 0..self.page.share_names.len().min(MOST_GROUPS) {
                self.draw_share(panel, share);
            }
        });
    }

    fn draw_share(&self, panel: &Panel, share: usize) {
        let style = GroupStyle::of(share);
        let mut run: Vec<(i32, i32)> = Vec::new();
        for visit in self.page.visits {
            let part = visit.shares.get(share).copied().unwrap_or(f64::NAN);
            if part.is_nan() {
                self.draw_run(style, std::mem::take(&mut run));
                continue;
            }
            let percent = 100.0 * part.clamp(0.0, 1.0);
            let point = (panel.pixel)(self.days.at(visit.day), percent);
            run.push(point);
            let dot = Circle::new(point, 6, rgb(style.colour).filled());
            self.area.draw(&dot).expect(SAFE);
        }
        self.draw_run(style, run);
    }

    fn draw_run(&self, style: GroupStyle, points: Vec<(i32, i32)>) {
        if points.len() > 1 {
            style.draw(self.area, points);
        }
    }

    /// Ground by depth class as a bar for each visit, the deepest lowest.
    fn draw_ground(&self, top: i32, height: i32) {
        let units = self.page.units;
        let whole = units.area(self.page.field.ground_area_m2()).max(1e-6);
        let step = round_step(whole, 4.0);
        self.panel((top, height), (0.0, whole), |panel| {
            let marks = (0..).map(|k| f64::from(k) * step).take_while(|mark| *mark <= whole);
            let ticks: Vec<(f64, String)> = marks.map(|mark| (mark, tidy(mark, 3))).collect();
            self.draw_axis(panel, &format!("Ground, {}", units.area_unit()), &ticks);
            let half = (self.bar_width() / 2.0).round() as i32;
            for visit in self.page.visits {
                self.draw_bar(panel, visit, half, units);
            }
        });
    }

    fn bar_width(&self) -> f64 {
        let visits = self.page.visits.windows(2);
        let days = visits.map(|pair| self.days.at(pair[1].day) - self.days.at(pair[0].day));
        let least = days.filter(|days| *days > 0.0).fold(f64::INFINITY, f64::min);
        let per_day = f64::from(self.x(self.days.last) - LEFT) / (self.days.last - self.days.first);
        (least * per_day * 0.72).clamp(BAR.0, BAR.1)
    }

    fn draw_bar(&self, panel: &Panel, visit: &SeasonVisit, half: i32, units: UnitSystem) {
        let at = self.days.at(visit.day);
        let classes = visit.class_areas_m2.len();
        let mut below = 0.0;
        let mut piece = |area_m2: f64, colour: Option<Rgb>| {
            let area = if area_m2 > 0.0 { units.area(area_m2) } else { return };
            let (low, high) = ((panel.pixel)(at, below), (panel.pixel)(at, below + area));
            below += area;
            // A bar that ends above the panel is the sum's rounding.
            let (low, high) = ((low.0 - half, low.1), (high.0 + half, high.1.max(panel.top)));
            self.rectangle(low, high, rgb(colour.unwrap_or(PAPER)).filled());
            if colour.is_none() {
                for line in hatching(low, high) {
                    self.line(line[0], line[1], rgb(SOFT_INK).stroke_width(1));
                }
            }
            let edge = if half > 4 { PAPER } else { colour.unwrap_or(SOFT_INK) };
            self.rectangle(low, high, rgb(edge).stroke_width(1));
        };
        for class in (0..classes).rev() {
            piece(visit.class_areas_m2[class], Some(class_colour(class, classes)));
        }
        piece(visit.unmapped_m2, None);
        let foot = (panel.pixel)(at, 0.0);
        let top = (panel.pixel)(at, below).1.max(panel.top);
        let corners = ((foot.0 - half, foot.1), (foot.0 + half, top));
        self.rectangle(corners.0, corners.1, rgb(SOFT_INK).stroke_width(1));
    }
}
