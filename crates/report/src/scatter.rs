//! Cross-validation: each probe's reading against its estimate from the other probes.

use plotters::element::{Circle, PathElement, Polygon, Text};
use plotters::prelude::ChartBuilder;
use plotters::style::Color;
use plotters::style::text_anchor::{HPos, VPos};
use survey::Depth;
use survey::units::tidy;

use crate::chart::{Area, SAFE, nest, rgb, round_step, text_style, turned_style};
use crate::frame::Rect;
use crate::page::MapPage;
use crate::palette::{DIM, FAINT, PAPER, Rgb, SOFT_INK};
use crate::svg::Svg;

/// The points.
const POINT: Rgb = Rgb(0x29, 0x47, 0x8c);

/// Room for the axes, pixels.
const LEFT: f64 = 64.0;
const FOOT: f64 = 62.0;
const MARGIN: f64 = 12.0;

/// Observed and estimated depth in the reader's unit, and whether the threshold was not reached.
type Pair = (f64, f64, bool);

/// Draws the chart into a rectangle, both axes to one scale.
pub(crate) fn draw(svg: &mut Svg, page: &MapPage, place: Rect) {
    let units = page.map.classes.units();
    let pairs: Vec<Pair> = page
        .map
        .method
        .validation
        .pairs
        .iter()
        .map(|pair| {
            let depth = |cm| units.depth(Depth::from_cm(cm));
            let not_reached = page.survey.spots()[pair.index].reading.is_not_reached();
            (depth(pair.observed), depth(pair.estimated), not_reached)
        })
        .collect();
    let side = (place.width - LEFT - 2.0 * MARGIN).min(place.height - FOOT - 2.0 * MARGIN);
    let place =
        Rect { width: side + LEFT + 2.0 * MARGIN, height: side + FOOT + 2.0 * MARGIN, ..place };
    let unit = units.depth_unit();
    nest(svg, "Depth read against depth estimated from the other probes", place, |area| {
        draw_pairs(area, &pairs, unit);
    });
}

fn draw_pairs(area: &Area, pairs: &[Pair], unit: &str) {
    let deepest = pairs.iter().map(|pair| pair.0.max(pair.1)).fold(1.0, f64::max);
    let step = [3.0, round_step(deepest, 5.0)]
        .into_iter()
        .find(|step| deepest / step <= 7.0)
        .unwrap_or(deepest);
    let end = (deepest / step).ceil() * step;
    let mut chart = ChartBuilder::on(area)
        .margin(MARGIN as i32)
        .x_label_area_size(FOOT as i32)
        .y_label_area_size(LEFT as i32)
        .build_cartesian_2d(0.0..end, 0.0..end)
        .expect(SAFE);
    let pixel = |observed: f64, estimated: f64| chart.backend_coord(&(observed, estimated));
    let ticks = (0..).map(|k| f64::from(k) * step).take_while(|tick| *tick <= end + 1e-9);
    for tick in ticks {
        draw_tick(area, (pixel(tick, 0.0), pixel(tick, end)), &tidy(tick, 1), false);
        draw_tick(area, (pixel(0.0, tick), pixel(end, tick)), &tidy(tick, 1), true);
    }
    draw_titles(area, pixel(end / 2.0, 0.0), pixel(0.0, end / 2.0), unit);
    let diagonal = [pixel(0.0, 0.0), pixel(end, end)];
    area.draw(&PathElement::new(diagonal, rgb(DIM).stroke_width(2))).expect(SAFE);
    for &(observed, estimated, not_reached) in pairs {
        draw_point(area, pixel(observed, estimated), not_reached);
    }
    chart.configure_mesh().disable_mesh().disable_axes().draw().expect(SAFE);
}

/// A grid line and its number.
fn draw_tick(area: &Area, line: ((i32, i32), (i32, i32)), number: &str, level: bool) {
    let (from, to) = line;
    area.draw(&PathElement::new([from, to], rgb(FAINT).stroke_width(1))).expect(SAFE);
    let (at, horizontal, vertical) = match level {
        true => ((from.0 - 8, from.1), HPos::Right, VPos::Center),
        false => ((from.0, from.1 + 8), HPos::Center, VPos::Top),
    };
    let style = text_style(SOFT_INK, horizontal, vertical);
    area.draw(&Text::new(number.to_owned(), at, style)).expect(SAFE);
}

fn draw_titles(area: &Area, foot: (i32, i32), left: (i32, i32), unit: &str) {
    let style = text_style(SOFT_INK, HPos::Center, VPos::Top);
    let words = format!("Observed, {unit}");
    area.draw(&Text::new(words, (foot.0, foot.1 + 36), style)).expect(SAFE);
    let words = format!("Estimated, {unit}");
    area.draw(&Text::new(words, (left.0 - 62, left.1), turned_style())).expect(SAFE);
}

/// A point; the shape is that of the map's marks.
fn draw_point(area: &Area, (x, y): (i32, i32), not_reached: bool) {
    if not_reached {
        let corners = vec![(x - 6, y - 4), (x + 6, y - 4), (x, y + 7)];
        area.draw(&Polygon::new(corners.clone(), rgb(PAPER).mix(0.8).filled())).expect(SAFE);
        let outline = corners.iter().chain(&corners[..1]).copied().collect::<Vec<_>>();
        area.draw(&PathElement::new(outline, rgb(POINT).stroke_width(2))).expect(SAFE);
    } else {
        area.draw(&Circle::new((x, y), 5, rgb(POINT).mix(0.55).filled())).expect(SAFE);
    }
}
