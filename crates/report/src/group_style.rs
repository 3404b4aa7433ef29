//! How the groups of a chart are told apart: by colour and by dashes, so that neither is needed
//! alone.
//!
//! Blue, purple and sky blue are those of Okabe & Ito (2008, Color Universal Design) and Tol (2021,
//! Colour schemes), the others dark or grey; none is red, yellow or green, which would read as a
//! verdict.

use plotters::element::{DashedPathElement, PathElement};
use plotters::style::{Color, ShapeStyle};

use crate::chart::{Area, SAFE, rgb};
use crate::palette::{INK, Rgb};
use crate::svg::{Paint, Svg};

/// The most groups that one chart can tell apart.
pub(crate) const MOST_GROUPS: usize = 6;

/// Width of a group's line, pixels.
const WIDTH: u32 = 5;

const COLOURS: [Rgb; MOST_GROUPS] = [
    Rgb(0x00, 0x72, 0xb2),
    Rgb(0xaa, 0x44, 0x99),
    INK,
    Rgb(0x56, 0xb4, 0xe9),
    Rgb(0x7a, 0x54, 0x2e),
    Rgb(0x86, 0x8e, 0x98),
];

/// Length of a dash and of the gap after it, pixels; `None` is a line without gaps.
const DASHES: [Option<(i32, i32)>; MOST_GROUPS] =
    [None, Some((26, 9)), Some((8, 8)), None, Some((16, 14)), Some((3, 9))];

/// Colour and dashes of one group.
#[derive(Debug, Clone, Copy)]
pub(crate) struct GroupStyle {
    pub colour: Rgb,
    dash: Option<(i32, i32)>,
}

impl GroupStyle {
    /// The style of a group by its place, the first is 0. Beyond [`MOST_GROUPS`] they repeat.
    pub fn of(group: usize) -> Self {
        GroupStyle { colour: COLOURS[group % MOST_GROUPS], dash: DASHES[group % MOST_GROUPS] }
    }

    /// Draws a line through places of a chart.
    pub fn draw(self, area: &Area, points: Vec<(i32, i32)>) {
        let style: ShapeStyle = rgb(self.colour).stroke_width(WIDTH);
        match self.dash {
            None => area.draw(&PathElement::new(points, style)),
            Some((dash, gap)) => area.draw(&DashedPathElement::new(points, dash, gap, style)),
        }
        .expect(SAFE);
    }

    /// Draws a level piece of the line on the page.
    pub fn draw_sample(self, svg: &mut Svg, (left, y): (f64, f64), length: f64) {
        let paint = Paint::stroke(self.colour, f64::from(WIDTH));
        let Some((dash, gap)) = self.dash else {
            svg.line((left, y), (left + length, y), paint);
            return;
        };
        let (dash, step) = (f64::from(dash), f64::from(dash + gap));
        let starts = (0..).map(|k| f64::from(k) * step);
        for start in starts.take_while(|start| *start < length) {
            let end = (start + dash).min(length);
            svg.line((left + start, y), (left + end, y), paint);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::palette::luminance;

    #[test]
    fn no_two_groups_share_a_colour_and_all_stand_out_from_paper() {
        for (k, colour) in COLOURS.iter().enumerate() {
            assert!(1.05 / (luminance(*colour) + 0.05) > 2.2, "{colour}");
            assert!(!COLOURS[..k].contains(colour));
        }
    }
}
