//! How often each depth was read; probes that did not reach the threshold stand apart.

use plotters::element::{PathElement, Rectangle, Text};
use plotters::prelude::ChartBuilder;
use plotters::style::Color;
use plotters::style::text_anchor::{HPos, VPos};
use survey::units::tidy;
use survey::{Reading, UnitSystem};

use crate::chart::{Area, SAFE, nest, rgb, round_step, text_style, turned_style};
use crate::frame::Rect;
use crate::page::MapPage;
use crate::palette::{DIM, FAINT, INK, PAPER, Rgb, SOFT_INK, depth_colour};
use crate::svg::Svg;

/// The most bars for depths that were read.
const MOST_BARS: usize = 13;

/// Height over width at the most.
const HIGHEST: f64 = 1.1;

/// Bars of a histogram, from the surface down.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Bars {
    /// Those of depths that were read.
    pub reached: Vec<ReachedBar>,
    /// How deep the probes went that did not reach the threshold, and how many they are.
    pub not_reached: Option<(String, usize)>,
}

/// How many probes read a depth, or one between two depths.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ReachedBar {
    /// The depth, `6`, or the two, `22–24`, in the reader's unit; the second belongs to the next bar.
    pub depth: String,
    /// The middle of the bar, in that unit.
    pub middle: f64,
    /// How many.
    pub count: usize,
}

impl Bars {
    /// Counts the readings: one bar a mark of the rod where there are few marks, else one for each
    /// round step.
    pub fn new(readings: &[Reading], units: UnitSystem) -> Bars {
        let depth = |reading: &Reading| units.depth(reading.at_least());
        let (deeper, reached): (Vec<&Reading>, Vec<&Reading>) =
            readings.iter().partition(|reading| reading.is_not_reached());
        let depths: Vec<f64> = reached.into_iter().map(depth).collect();
        let (step, on_marks) = bar_step(&depths);
        // Depths that are whole steps but for rounding belong to the step they are.
        let bar = |depth: f64| {
            let steps = depth / step;
            let whole = steps.round();
            let is_whole = on_marks || (steps - whole).abs() < 1e-6;
            if is_whole { whole as i64 } else { steps.floor() as i64 }
        };
        let first = depths.iter().copied().map(bar).min().unwrap_or(0);
        let last = depths.iter().copied().map(bar).max().unwrap_or(-1);
        let reached = |k: i64| {
            let (from, to) = (k as f64 * step, (k + 1) as f64 * step);
            let count = depths.iter().filter(|&&depth| bar(depth) == k).count();
            let (depth, middle) = match on_marks {
                true => (tidy(from, 2), from),
                false => (format!("{}–{}", tidy(from, 2), tidy(to, 2)), (from + to) / 2.0),
            };
            ReachedBar { depth, middle, count }
        };
        let probed: Vec<f64> = deeper.into_iter().map(depth).collect();
        Bars {
            reached: (first..=last).map(reached).collect(),
            not_reached: (!probed.is_empty()).then(|| (probed_text(&probed), probed.len())),
        }
    }
}

/// The distance between bars, the least gap between depths unless that makes too many, and whether each bar is
/// one depth.
fn bar_step(depths: &[f64]) -> (f64, bool) {
    let mut marks = depths.to_vec();
    marks.sort_by(f64::total_cmp);
    marks.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    let (Some(first), Some(last)) = (marks.first(), marks.last()) else {
        return (1.0, true);
    };
    if marks.len() == 1 {
        return (if *first > 0.0 { *first } else { 1.0 }, true);
    }
    let gap = marks.windows(2).map(|pair| pair[1] - pair[0]).fold(f64::INFINITY, f64::min);
    let span = last - first;
    let on_marks = marks.iter().all(|mark| (mark / gap - (mark / gap).round()).abs() < 1e-3);
    match gap.is_finite() && on_marks && span / gap < MOST_BARS as f64 {
        true => (gap, true),
        false => (round_step(span.max(1.0), (MOST_BARS - 1) as f64), false),
    }
}

/// `18+`, or `15–18+` where the rod did not always go equally deep.
fn probed_text(probed: &[f64]) -> String {
    let least = tidy(probed.iter().copied().fold(f64::INFINITY, f64::min), 1);
    let most = tidy(probed.iter().copied().fold(0.0, f64::max), 1);
    match least == most {
        true => format!("{least}+"),
        false => format!("{least}–{most}+"),
    }
}

/// One bar as it is drawn.
struct Bar {
    label: String,
    count: usize,
    /// Plain, or hatched where there is no colour of a depth.
    colour: Option<Rgb>,
}

/// Draws the histogram into a rectangle.
pub(crate) fn draw(svg: &mut Svg, page: &MapPage, place: Rect) {
    let classes = &page.map.classes;
    let units = classes.units();
    let readings: Vec<Reading> = page.survey.spots().iter().map(|spot| spot.reading).collect();
    let counted = Bars::new(&readings, units);
    let reached = counted.reached.iter().map(|bar| Bar {
        label: bar.depth.clone(),
        count: bar.count,
        colour: Some(depth_colour(units.depth_from(bar.middle), classes)),
    });
    let not_reached = counted.not_reached.map(|(label, count)| Bar { label, count, colour: None });
    let bars: Vec<Bar> = reached.chain(not_reached).collect();
    let threshold = page.survey.threshold().to_string();
    let axis = format!("Depth of {threshold}, {}", units.depth_unit());
    let height = place.height.min(place.width * HIGHEST);
    let place = Rect { height, ..place };
    nest(svg, "How many probes read each depth", place, |area| {
        draw_bars(area, &bars, &axis);
    });
}

fn draw_bars(area: &Area, bars: &[Bar], axis: &str) {
    let most = bars.iter().map(|bar| bar.count).max().unwrap_or(1).max(1) as f64;
    let mut chart = ChartBuilder::on(area)
        .margin(2)
        .margin_top(26)
        .x_label_area_size(62)
        .y_label_area_size(74)
        .build_cartesian_2d(-0.6..bars.len() as f64 - 0.4, 0.0..most)
        .expect(SAFE);
    chart
        .configure_mesh()
        .disable_x_mesh()
        .disable_x_axis()
        .max_light_lines(0)
        .bold_line_style(rgb(FAINT))
        .axis_style(rgb(PAPER))
        .y_labels(4)
        .y_label_formatter(&|count| whole_number(*count))
        .y_desc("Probes, count")
        .label_style(text_style(SOFT_INK, HPos::Right, VPos::Center))
        .axis_desc_style(turned_style())
        .draw()
        .expect(SAFE);
    let pixel = |k: f64, count: f64| chart.backend_coord(&(k, count));
    let skip = label_step(bars);
    let last = bars.len() - 1;
    for (k, bar) in bars.iter().enumerate() {
        let (k, count) = (k as f64, bar.count as f64);
        let (low, high) = (pixel(k - 0.4, 0.0), pixel(k + 0.4, count));
        draw_bar(area, low, high, bar.colour);
        let middle = pixel(k, count).0;
        let style = |colour, vertical| text_style(colour, HPos::Center, vertical);
        if bar.count > 0 {
            let above = (middle, high.1 - 4);
            area.draw(&Text::new(bar.count.to_string(), above, style(INK, VPos::Bottom)))
                .expect(SAFE);
        }
        let number = k as usize;
        let has_room = skip == 1 || bars[last].colour.is_some() || number + skip <= last;
        if bar.colour.is_none() || (number.is_multiple_of(skip) && has_room) {
            let below = (middle, low.1 + 8);
            area.draw(&Text::new(bar.label.clone(), below, style(SOFT_INK, VPos::Top)))
                .expect(SAFE);
        }
    }
    let (left, right) = (pixel(-0.6, 0.0), pixel(bars.len() as f64 - 0.4, 0.0));
    area.draw(&PathElement::new([left, right], rgb(DIM).stroke_width(2))).expect(SAFE);
    let title = ((left.0 + right.0) / 2, left.1 + 36);
    let style = text_style(SOFT_INK, HPos::Center, VPos::Top);
    area.draw(&Text::new(axis.to_owned(), title, style)).expect(SAFE);
}

/// Every so manieth bar has its label, so that none runs into the next: about 28 letters fit below.
fn label_step(bars: &[Bar]) -> usize {
    let longest = bars.iter().map(|bar| bar.label.chars().count()).max().unwrap_or(1);
    (bars.len() * (longest + 1)).div_ceil(28).max(1)
}

/// A bar between its lower left and upper right corner; without a colour it is hatched.
fn draw_bar(area: &Area, low: (i32, i32), high: (i32, i32), colour: Option<Rgb>) {
    let ground = rgb(colour.unwrap_or(PAPER)).filled();
    area.draw(&Rectangle::new([low, high], ground)).expect(SAFE);
    if colour.is_none() {
        for line in hatching(low, high) {
            area.draw(&PathElement::new(line, rgb(INK).stroke_width(2))).expect(SAFE);
        }
    }
    area.draw(&Rectangle::new([low, high], rgb(SOFT_INK).stroke_width(1))).expect(SAFE);
}

/// Slanted lines within a rectangle, 9 pixels apart.
pub(crate) fn hatching(
    (left, bottom): (i32, i32),
    (right, top): (i32, i32),
) -> Vec<[(i32, i32); 2]> {
    let (width, height) = (right - left, bottom - top);
    (1..)
        .map(|k| 9 * k)
        .take_while(|&reach| reach < width + height)
        .map(|reach| {
            let (up, along) = (reach.min(height), reach.min(width));
            [(left + reach - up, bottom - up), (left + along, bottom - (reach - along))]
        })
        .collect()
}

/// A count, and nothing for the fractions that plotters may choose as ticks.
fn whole_number(count: f64) -> String {
    match (count - count.round()).abs() < 1e-9 {
        true => tidy(count, 0),
        false => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use survey::Depth;

    fn reached(depths_in: &[f64]) -> Vec<Reading> {
        depths_in.iter().map(|&d| Reading::Reached(Depth::from_in(d))).collect()
    }

    #[test]
    fn each_mark_has_a_bar_and_not_reached_stands_apart() {
        let mut readings = reached(&[3.0, 6.0, 6.0, 12.0]);
        readings.push(Reading::NotReached { probed_to: Depth::from_in(18.0) });
        let bars = Bars::new(&readings, UnitSystem::Us);
        let counts: Vec<(&str, usize)> =
            bars.reached.iter().map(|bar| (bar.depth.as_str(), bar.count)).collect();
        assert_eq!(counts, [("3", 1), ("6", 2), ("9", 0), ("12", 1)]);
        assert_eq!(bars.not_reached, Some(("18+".into(), 1)));
    }

    #[test]
    fn many_depths_share_round_bars() {
        let depths: Vec<f64> = (0..60).map(|k| 0.37 * f64::from(k)).collect();
        let bars = Bars::new(&reached(&depths), UnitSystem::Us);
        assert!(bars.reached.len() <= MOST_BARS);
        assert_eq!(bars.reached.iter().map(|bar| bar.count).sum::<usize>(), 60);
    }

    #[test]
    fn a_bar_of_several_depths_says_from_where_to_where() {
        let depths: Vec<f64> = (19..46).map(f64::from).collect();
        let readings: Vec<Reading> =
            depths.iter().map(|&d| Reading::Reached(Depth::from_cm(d))).collect();
        let bars = Bars::new(&readings, UnitSystem::Si);
        let of = |depth: &str| bars.reached.iter().find(|bar| bar.depth == depth).unwrap().count;
        // A reading of 20 cm is not thinner than 20 cm.
        let first = &bars.reached[0];
        assert_eq!((first.depth.as_str(), first.count), ("15–20", 1), "{bars:?}");
        assert_eq!((of("20–25"), of("45–50")), (5, 1));
    }

    #[test]
    fn readings_that_are_all_equal_or_all_deeper_make_one_bar() {
        let one = Bars::new(&reached(&[6.0, 6.0]), UnitSystem::Us).reached;
        assert_eq!((one.len(), one[0].depth.as_str(), one[0].count), (1, "6", 2));
        assert!((one[0].middle - 6.0).abs() < 1e-9);
        let deeper = [Reading::NotReached { probed_to: Depth::from_in(15.0) }; 3];
        let bars = Bars::new(&deeper, UnitSystem::Us);
        assert_eq!((bars.reached.len(), bars.not_reached), (0, Some(("15+".into(), 3))));
    }

    #[test]
    fn hatching_stays_in_its_bar() {
        for [from, to] in hatching((10, 200), (60, 20)) {
            for (x, y) in [from, to] {
                assert!((10..=60).contains(&x) && (20..=200).contains(&y), "{x} {y}");
            }
        }
    }
}
