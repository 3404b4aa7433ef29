//! Longitude and latitude around the map: ticks at round degrees, with faint lines across.

use survey::units::tidy;
use survey::{LonLat, Utm};

use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::palette::{FAINT, HAIRLINE, SOFT_INK};
use crate::svg::{Anchor, Paint, Svg, Type};
use crate::view::View;

/// Room the labels need to the left of the frame and below it, pixels.
pub(crate) const MARGIN: f64 = 30.0;

const SIZE: f64 = 19.0;
const TICK: f64 = 7.0;

/// Draws lines, ticks and labels around a frame.
pub(crate) fn draw(svg: &mut Svg, frame: Rect, view: &View, utm: Utm) {
    let corner = |x, y| utm.unproject(view.in_plane((x, y)));
    let (top_left, top_right) = (corner(frame.left, frame.top), corner(frame.right(), frame.top));
    let (low_left, low_right) =
        (corner(frame.left, frame.bottom()), corner(frame.right(), frame.bottom()));
    draw_meridians(svg, frame, (top_left, top_right), (low_left, low_right));
    draw_parallels(svg, frame, (top_left, low_left), (top_right, low_right));
}

fn draw_meridians(svg: &mut Svg, frame: Rect, top: (LonLat, LonLat), low: (LonLat, LonLat)) {
    let wide = fonts::width("000.0000° W", SIZE, Weight::Regular);
    let along = |ends: (LonLat, LonLat)| Edge::new(ends.0.lon_deg, ends.1.lon_deg);
    let (top, low) = (along(top), along(low));
    let step = step_deg(low.span(), (frame.width / (wide * 1.4)).max(1.0));
    for (lon_deg, words) in low.round_values(step, ("E", "W")) {
        let at = |edge: Edge| frame.left + edge.share(lon_deg) * frame.width;
        let (upper, lower) = ((at(top), frame.top), (at(low), frame.bottom()));
        let inside = |x: f64| (frame.left..=frame.right()).contains(&x);
        if inside(upper.0) && inside(lower.0) {
            svg.line(upper, lower, Paint::stroke(FAINT, 1.2));
        }
        svg.line(lower, (lower.0, lower.1 + TICK), Paint::stroke(HAIRLINE, 1.6));
        let half = fonts::width(&words, SIZE, Weight::Regular) / 2.0;
        if lower.0 - half > frame.left - MARGIN && lower.0 + half < frame.right() + 8.0 {
            let style = Type::regular(SIZE).colour(SOFT_INK).anchor(Anchor::Middle);
            svg.text(&words, (lower.0, frame.bottom() + MARGIN - 4.0), style);
        }
    }
}

fn draw_parallels(svg: &mut Svg, frame: Rect, left: (LonLat, LonLat), right: (LonLat, LonLat)) {
    let wide = fonts::width("00.0000° N", SIZE, Weight::Regular);
    let along = |ends: (LonLat, LonLat)| Edge::new(ends.0.lat_deg, ends.1.lat_deg);
    let (left, right) = (along(left), along(right));
    let step = step_deg(left.span(), (frame.height / (wide * 1.4)).max(1.0));
    for (lat_deg, words) in left.round_values(step, ("N", "S")) {
        let at = |edge: Edge| frame.top + edge.share(lat_deg) * frame.height;
        let (from, to) = ((frame.left, at(left)), (frame.right(), at(right)));
        let inside = |y: f64| (frame.top..=frame.bottom()).contains(&y);
        if inside(from.1) && inside(to.1) {
            svg.line(from, to, Paint::stroke(FAINT, 1.2));
        }
        svg.line(from, (from.0 - TICK, from.1), Paint::stroke(HAIRLINE, 1.6));
        let half = fonts::width(&words, SIZE, Weight::Regular) / 2.0;
        if from.1 - half > frame.top - 8.0 && from.1 + half < frame.bottom() + MARGIN {
            let style = Type::regular(SIZE).colour(SOFT_INK).anchor(Anchor::Middle);
            svg.text(&words, (frame.left - 12.0, from.1), style.turned());
        }
    }
}

/// Degrees along an edge of the frame, taken as even: over a field the error is far below a pixel.
#[derive(Debug, Clone, Copy)]
struct Edge {
    from_deg: f64,
    to_deg: f64,
}

impl Edge {
    /// From one end to the other; across the 180th meridian the numbers run on.
    fn new(from_deg: f64, to_deg: f64) -> Edge {
        let to_deg = match to_deg - from_deg {
            turn if turn < -180.0 => to_deg + 360.0,
            turn if turn > 180.0 => to_deg - 360.0,
            _ => to_deg,
        };
        Edge { from_deg, to_deg }
    }

    fn span(self) -> f64 {
        (self.to_deg - self.from_deg).abs()
    }

    /// Where a value lies, 0 at one end and 1 at the other.
    fn share(self, deg: f64) -> f64 {
        (deg - self.from_deg) / (self.to_deg - self.from_deg)
    }

    /// The whole multiples of a step on the edge, with their names: `95.62° W`.
    fn round_values(self, step: f64, (plus, minus): (&str, &str)) -> Vec<(f64, String)> {
        let (low, high) = (self.from_deg.min(self.to_deg), self.from_deg.max(self.to_deg));
        ((low / step).ceil() as i64..=(high / step).floor() as i64)
            .map(|k| {
                let deg = k as f64 * step;
                let turned = if deg > 180.0 { deg - 360.0 } else { deg };
                let half = if turned < 0.0 { minus } else { plus };
                let decimals = (-step.log10() - 1e-9).ceil().max(0.0) as usize;
                (deg, format!("{}° {half}", tidy(turned.abs(), decimals)))
            })
            .collect()
    }
}

/// The smallest round step that makes no more than so many.
fn step_deg(span: f64, most: f64) -> f64 {
    let fine = |exponent: i32| [1.0, 2.0, 5.0].map(|digit| digit * 10f64.powi(exponent));
    (-7..=1).flat_map(fine).find(|step| span / step <= most).unwrap_or(50.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_stand_at_round_degrees_with_their_half() {
        let names: Vec<String> = Edge::new(-95.6203, -95.6096)
            .round_values(0.005, ("E", "W"))
            .into_iter()
            .map(|(_, name)| name)
            .collect();
        assert_eq!(names, ["95.62° W", "95.615° W", "95.61° W"]);
    }

    #[test]
    fn degrees_run_on_across_the_180th_meridian() {
        let edge = Edge::new(179.99, -179.99);
        let names: Vec<String> =
            edge.round_values(0.01, ("E", "W")).into_iter().map(|(_, name)| name).collect();
        assert_eq!(names, ["179.99° E", "180° E", "179.99° W"]);
        assert!((edge.share(180.0) - 0.5).abs() < 1e-6);
    }

    #[test]
    fn steps_are_round_and_few() {
        assert_eq!(step_deg(0.0107, 5.0), 0.005);
        assert_eq!(step_deg(0.0003, 5.0), 0.0001);
    }
}
