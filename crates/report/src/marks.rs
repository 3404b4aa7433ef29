//! The marks of the map: a shape for each kind of probe point, so that no one needs the colour.

use survey::{Depth, Reading};

use crate::estimate::Between;
use crate::labels::around;
use crate::palette::{FULL, INK, PAPER};
use crate::svg::{Paint, Svg, number};

/// What stands at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mark {
    /// A circle: the threshold was reached.
    Reached,
    /// A triangle that points down: the rod went on, and the threshold was not reached.
    NotReached,
    /// A full circle: reached, and shallower than the limit in question.
    Thinner,
    /// A square: the rod stopped above the limit in question and had not reached the threshold.
    Unknown,
    /// A cross: no reading.
    NoReading,
}

impl Mark {
    pub fn of(reading: Reading) -> Mark {
        match reading.is_not_reached() {
            true => Mark::NotReached,
            false => Mark::Reached,
        }
    }

    /// The mark of a change: known, bounded on one side or on none.
    pub fn of_change(change: Between) -> Mark {
        match (change.low_cm.is_finite(), change.high_cm.is_finite()) {
            (true, true) => Mark::Reached,
            (false, false) => Mark::Unknown,
            _ => Mark::NotReached,
        }
    }

    /// The mark of a reading where it matters whether the loose layer is thinner than a limit. A
    /// reading at the limit is not thinner.
    pub fn against(reading: Reading, limit: Depth) -> Mark {
        /// Readings and limits come from inches and centimetres, and may differ in the last digit.
        const SAME_M: f64 = 1e-6;
        let shallower = reading.at_least().m() < limit.m() - SAME_M;
        match (reading, shallower) {
            (Reading::Reached(_), true) => Mark::Thinner,
            (Reading::Reached(_), false) => Mark::Reached,
            (Reading::NotReached { .. }, true) => Mark::Unknown,
            (Reading::NotReached { .. }, false) => Mark::NotReached,
        }
    }

    /// Draws the mark around a place.
    pub fn draw(self, svg: &mut Svg, at: (f64, f64), radius: f64) {
        let edge = (radius / 3.5).clamp(1.0, 2.2);
        let paint = Paint::fill(PAPER).edge(INK, edge);
        match self {
            Mark::Reached => svg.circle(at, radius, paint),
            Mark::NotReached => svg.path(&triangle(at, radius * 1.25), paint),
            // Ink alone would look hollow on the dark ground where most of these stand.
            Mark::Thinner => svg.circle(at, radius, Paint::fill(FULL).edge(INK, edge)),
            Mark::Unknown => {
                let side = radius * 1.8;
                svg.rect(around(at, side, side), paint);
            }
            Mark::NoReading => {
                let path = cross(at, radius * 0.9);
                svg.path(&path, Paint::stroke(PAPER, radius * 0.85));
                svg.path(&path, Paint::stroke(INK, radius * 0.36));
            }
        }
    }
}

/// A triangle of equal sides that points down, by the radius of the circle around it.
pub(crate) fn triangle((x, y): (f64, f64), radius: f64) -> String {
    let half = radius * 3f64.sqrt() / 2.0;
    let [left, right, top, tip] = [x - half, x + half, y - radius / 2.0, y + radius].map(number);
    format!("M{left} {top}L{right} {top}L{} {tip}Z", number(x))
}

fn cross((x, y): (f64, f64), arm: f64) -> String {
    let [left, right, top, bottom] = [x - arm, x + arm, y - arm, y + arm].map(number);
    format!("M{left} {top}L{right} {bottom}M{left} {bottom}L{right} {top}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rod_that_stopped_above_the_limit_tells_nothing_about_it() {
        let limit = Depth::from_in(6.0);
        let not_reached = |inches| Reading::NotReached { probed_to: Depth::from_in(inches) };
        assert_eq!(Mark::against(not_reached(5.0), limit), Mark::Unknown);
        assert_eq!(Mark::against(not_reached(6.0), limit), Mark::NotReached);
    }

    #[test]
    fn a_reading_at_the_limit_is_not_thinner() {
        let limit = Depth::from_in(6.0);
        assert_eq!(Mark::against(Reading::Reached(Depth::from_cm(15.24)), limit), Mark::Reached);
        assert_eq!(Mark::against(Reading::Reached(Depth::from_in(5.9)), limit), Mark::Thinner);
    }
}
