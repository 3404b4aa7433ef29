//! The change of each strip of a trial: its probes as small points, their mean as a large mark.

use plotters::element::{Circle, PathElement, Rectangle, Text};
use plotters::prelude::ChartBuilder;
use plotters::style::Color;
use plotters::style::text_anchor::{HPos, VPos};
use survey::{Depth, UnitSystem};

use crate::chart::{Area, SAFE, SIZE, draw_frame, nest, rgb, round_step, text_style};
use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::palette::{DIM, FAINT, INK, PAPER, Rgb, SOFT_INK};
use crate::svg::Svg;
use crate::trial_page::TrialStrip;
use crate::wording::count_text;
use survey::units::signed;

/// Means of treated strips.
pub(crate) const TREATED: Rgb = Rgb(0x00, 0x72, 0xb2);
/// Probes, behind the means.
const PROBE: Rgb = Rgb(0xa9, 0xb0, 0xb8);

/// Height of a strip's row, the least and the most.
const ROW: (i32, i32) = (22, 40);
/// Room of the axis.
const FOOT: i32 = 62;
/// Room of the strips' names, the least and the most, and of their numbers of probes.
const NAME: (i32, i32) = (92, 260);
const COUNT: i32 = 112;

/// A row of the chart.
enum Row<'a> {
    Group(String),
    Strip(&'a TrialStrip<'a>),
    More(usize),
}

/// Draws the chart into a rectangle, treated strips first.
pub(crate) fn draw(
    svg: &mut Svg,
    strips: &[TrialStrip],
    treatment: &str,
    units: UnitSystem,
    place: Rect,
) {
    let most = ((place.height as i32 - FOOT) / ROW.0).max(4) as usize;
    let rows = rows(strips, treatment, most);
    let height = (place.height as i32 - FOOT) / rows.len().max(1) as i32;
    let row = height.clamp(ROW.0, ROW.1);
    let height = f64::from(row * rows.len() as i32 + FOOT).min(place.height);
    nest(svg, "Mean change of each strip", Rect { height, ..place }, |area| {
        StripChart { area, units, row, name: name_room(&rows) }.draw(&rows, strips);
    });
}

/// Rows of both groups, no more than so many: what has no room is counted.
fn rows<'a>(strips: &'a [TrialStrip<'a>], treatment: &str, most: usize) -> Vec<Row<'a>> {
    let group = |is_check: bool| strips.iter().filter(move |strip| strip.is_check == is_check);
    let treated = treatment.trim();
    let treated = match treated {
        "" | "treated" => "treated".to_owned(),
        words => format!("treated: {words}"),
    };
    let names = [(false, treated), (true, "check: left alone".into())];
    let mut rows = Vec::new();
    let room = most.saturating_sub(4) / 2;
    let others = |is_check: bool| most.saturating_sub(4 + group(!is_check).count());
    for (is_check, name) in names {
        let count = group(is_check).count();
        if count == 0 {
            continue;
        }
        rows.push(Row::Group(format!("{name} ({})", count_text(count, "strip"))));
        let shown = count.min(room.max(others(is_check)));
        rows.extend(group(is_check).take(shown).map(Row::Strip));
        if shown < count {
            rows.push(Row::More(count - shown));
        }
    }
    rows
}

struct StripChart<'f, 'a> {
    area: &'f Area<'a>,
    units: UnitSystem,
    /// Height of a row.
    row: i32,
    /// Room of the strips' names.
    name: i32,
}

/// Room that the names of the rows take, with a margin on both sides.
fn name_room(rows: &[Row]) -> i32 {
    let width = |row: &Row| match row {
        Row::Strip(strip) => fonts::width(strip.name.trim(), SIZE, Weight::Regular),
        Row::Group(_) | Row::More(_) => 0.0,
    };
    let most = rows.iter().map(width).fold(0.0, f64::max);
    (most.ceil() as i32 + 18).clamp(NAME.0, NAME.1)
}

impl StripChart<'_, '_> {
    fn in_unit(&self, cm: f64) -> f64 {
        self.units.depth(Depth::from_cm(cm))
    }

    fn text(&self, words: &str, at: (i32, i32), colour: Rgb, side: HPos, level: VPos) {
        let style = text_style(colour, side, level);
        self.area.draw(&Text::new(words.to_owned(), at, style)).expect(SAFE);
    }

    fn draw(&self, rows: &[Row], strips: &[TrialStrip]) {
        let (width, height) = self.area.dim_in_pixel();
        let foot = (self.row * rows.len() as i32).min(height as i32 - FOOT);
        let (low, high) = self.ends(strips);
        let room = (width as i32 - self.name - COUNT, foot.max(1));
        let chart = ChartBuilder::on(&self.area.clone().shrink((self.name, 0), room))
            .build_cartesian_2d(low..high, 0.0..1.0)
            .expect(SAFE);
        let x = |cm: f64| chart.backend_coord(&(self.in_unit(cm).clamp(low, high), 0.0)).0;
        self.draw_axis(&|at| chart.backend_coord(&(at, 0.0)).0, (low, high), foot);
        for (k, row) in rows.iter().enumerate() {
            let y = k as i32 * self.row + self.row / 2;
            match row {
                Row::Group(words) => {
                    let room = f64::from(width) - 8.0;
                    let words = fonts::shorten(words, SIZE, Weight::Regular, room);
                    let band = [(0, y - self.row / 2 + 2), (width as i32, y + self.row / 2 - 2)];
                    self.area.draw(&Rectangle::new(band, rgb(FAINT).filled())).expect(SAFE);
                    self.text(&words, (6, y), INK, HPos::Left, VPos::Center);
                }
                Row::Strip(strip) => self.draw_strip(strip, y, &x, width as i32),
                Row::More(count) => {
                    let words = format!("and {}", count_text(*count, "more strip"));
                    self.text(&words, (6, y), SOFT_INK, HPos::Left, VPos::Center);
                }
            }
        }
    }

    /// Ends of the axis in the reader's unit, 0 among them.
    fn ends(&self, strips: &[TrialStrip]) -> (f64, f64) {
        let all = strips
            .iter()
            .flat_map(|strip| strip.changes_cm.iter().copied().chain([strip.mean_change_cm]));
        let known = all.filter(|cm| cm.is_finite()).map(|cm| self.in_unit(cm));
        let (low, high) =
            known.fold((0.0_f64, 0.0_f64), |(low, high), at| (low.min(at), high.max(at)));
        let margin = ((high - low) * 0.06).max(0.5);
        (low - margin, high + margin)
    }

    fn draw_axis(&self, x: &dyn Fn(f64) -> i32, (low, high): (f64, f64), foot: i32) {
        let step = round_step(high - low, 8.0);
        let (first, last) = ((low / step).ceil() as i64, (high / step).floor() as i64);
        for k in first..=last {
            let at = k as f64 * step;
            let x = x(at);
            let style = match k {
                0 => rgb(INK).stroke_width(2),
                _ => rgb(FAINT).stroke_width(1),
            };
            // The first row has a group's name.
            self.area.draw(&PathElement::new([(x, self.row), (x, foot)], style)).expect(SAFE);
            let words = signed(at, 2);
            self.text(&words, (x, foot + 8), SOFT_INK, HPos::Center, VPos::Top);
        }
        let title = format!("change, {} (below 0: thinner)", self.units.depth_unit());
        let middle = (x(low) + x(high)) / 2;
        self.text(&title, (middle, foot + 36), SOFT_INK, HPos::Center, VPos::Top);
    }

    fn draw_strip(&self, strip: &TrialStrip, y: i32, x: &dyn Fn(f64) -> i32, width: i32) {
        let room = f64::from(self.name - 16);
        let name = fonts::shorten(strip.name.trim(), SIZE, Weight::Regular, room);
        self.text(&name, (6, y), INK, HPos::Left, VPos::Center);
        let probes = count_text(strip.probes, "probe");
        self.text(&probes, (width - 2, y), SOFT_INK, HPos::Right, VPos::Center);
        for &cm in strip.changes_cm.iter().filter(|cm| cm.is_finite()) {
            self.area.draw(&Circle::new((x(cm), y), 4, rgb(PROBE).filled())).expect(SAFE);
        }
        if !strip.mean_change_cm.is_finite() {
            let at = (x(0.0) + 10, y);
            self.text("no mean", at, DIM, HPos::Left, VPos::Center);
            return;
        }
        let at = x(strip.mean_change_cm);
        match strip.is_check {
            true => {
                let square = [(at - 8, y - 8), (at + 8, y + 8)];
                self.area.draw(&Rectangle::new(square, rgb(PAPER).filled())).expect(SAFE);
                draw_frame(self.area, square, INK, 3);
            }
            false => {
                self.area.draw(&Circle::new((at, y), 11, rgb(PAPER).filled())).expect(SAFE);
                self.area.draw(&Circle::new((at, y), 9, rgb(TREATED).filled())).expect(SAFE);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::MultiPolygon;

    #[test]
    fn treated_strips_come_first_and_those_without_room_are_counted() {
        let ground = MultiPolygon(Vec::new());
        let strip = |is_check| TrialStrip {
            name: "S",
            is_check,
            polygons: &ground,
            mean_change_cm: 0.0,
            changes_cm: &[],
            probes: 0,
        };
        let strips: Vec<TrialStrip> = (0..30).map(|k| strip(k % 2 == 0)).collect();
        let shown = rows(&strips, "subsoiled", 14);
        assert!(
            matches!(&shown[0], Row::Group(words) if words == "treated: subsoiled (15 strips)")
        );
        assert_eq!(shown.len(), 14);
        let checks: Vec<bool> = shown
            .iter()
            .filter_map(|row| match row {
                Row::Strip(strip) => Some(strip.is_check),
                _ => None,
            })
            .collect();
        assert_eq!(checks, [vec![false; 5], vec![true; 5]].concat());
        let more = shown.iter().filter(|row| matches!(row, Row::More(10)));
        assert_eq!(more.count(), 2);
        assert_eq!(rows(&strips[..4], "x", 14).len(), 6);
        let shown = rows(&strips, "treated", 14);
        assert!(matches!(&shown[0], Row::Group(words) if words == "treated (15 strips)"));
    }

    #[test]
    fn long_names_get_the_room_they_need_up_to_a_limit() {
        let ground = MultiPolygon(Vec::new());
        let room = |name| {
            let strip = TrialStrip {
                name,
                is_check: false,
                polygons: &ground,
                mean_change_cm: 0.0,
                changes_cm: &[],
                probes: 0,
            };
            name_room(&[Row::Strip(&strip)])
        };
        assert_eq!(room("T1"), NAME.0);
        let middle = room("south of it all");
        let width = fonts::width("south of it all", SIZE, Weight::Regular);
        assert!(f64::from(middle - 16) >= width && middle < NAME.1, "{middle} {width}");
        assert_eq!(room("a strip with a name that no row of any chart has room for"), NAME.1);
    }
}
