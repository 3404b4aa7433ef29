//! The marks of the map: a shape for each kind of probe point, so that no one needs the colour.

use survey::Reading;

use crate::palette::{INK, PAPER};
use crate::svg::{Paint, Svg, number};

/// What stands at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mark {
    /// A circle: the threshold was reached.
    Reached,
    /// A triangle that points down: the rod went on, and the threshold was not reached.
    NotReached,
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

    /// Draws the mark around a place.
    pub fn draw(self, svg: &mut Svg, at: (f64, f64), radius: f64) {
        let paint = Paint::fill(PAPER).edge(INK, (radius / 3.5).clamp(1.0, 2.2));
        match self {
            Mark::Reached => svg.circle(at, radius, paint),
            Mark::NotReached => svg.path(&triangle(at, radius * 1.25), paint),
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
