//! The sentence that comes before every figure of a page: whether the soil was equally moist.

use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::palette::{INK, PAPER, SOFT_INK};
use crate::svg::{Paint, Svg, Type};

/// Sizes of a warning and of a sentence that warns of nothing.
const WARNING: f64 = 27.0;
const PLAIN: f64 = 23.0;
/// Between the box and its words.
const PADDING: f64 = 20.0;
/// The bar at the left of the box.
const BAR: f64 = 14.0;
const LINE: f64 = 1.3;
/// The most lines; what is longer ends in `…`.
const MOST_LINES: usize = 3;

/// A sentence that is read first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Notice<'a> {
    /// The sentence.
    pub words: &'a str,
    /// Whether it takes back what the figures seem to say: then it stands in a box.
    pub is_warning: bool,
}

impl Notice<'_> {
    /// Height that it needs where it has so much width; 0 without words.
    pub(crate) fn height(&self, width: f64) -> f64 {
        match (self.lines(width).len(), self.is_warning) {
            (0, _) => 0.0,
            (lines, true) => lines as f64 * WARNING * LINE + 2.0 * PADDING - 6.0,
            (lines, false) => lines as f64 * PLAIN * LINE,
        }
    }

    /// Draws it from the top of a rectangle and returns what is left of that.
    pub(crate) fn draw(&self, svg: &mut Svg, place: Rect, gap: f64) -> Rect {
        let height = self.height(place.width);
        if height == 0.0 {
            return place;
        }
        let (own, rest) = place.split_top(height, gap);
        let (left, top, style) = match self.is_warning {
            true => {
                svg.rect(own, Paint::fill(PAPER).edge(INK, 3.0));
                svg.rect(Rect { width: BAR, ..own }, Paint::fill(INK));
                (own.left + BAR + PADDING, own.top + PADDING, Type::semi_bold(WARNING))
            }
            false => (own.left, own.top, Type::regular(PLAIN).colour(SOFT_INK)),
        };
        for (k, line) in self.lines(place.width).iter().enumerate() {
            let base = top + style.size * (0.86 + k as f64 * LINE);
            svg.text(line, (left, base), style);
        }
        rest
    }

    fn lines(&self, width: f64) -> Vec<String> {
        let (size, weight, room) = match self.is_warning {
            true => (WARNING, Weight::SemiBold, width - BAR - 2.0 * PADDING),
            false => (PLAIN, Weight::Regular, width),
        };
        fonts::wrap_to(self.words, size, weight, room, MOST_LINES)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(words: &str, is_warning: bool) -> (Rect, String) {
        let mut svg = Svg::default();
        let notice = Notice { words, is_warning };
        let rest = notice.draw(&mut svg, Rect::new(0.0, 0.0, 600.0, 400.0), 10.0);
        (rest, svg.document(600, 400, 200, "t", "s"))
    }

    #[test]
    fn a_warning_stands_in_a_box_and_other_words_do_not() {
        // The box and the bar at its left.
        assert_eq!(drawn("Soil was drier later.", true).1.matches("<rect").count(), 2);
        assert!(!drawn("Moisture matches.", false).1.contains("<rect"));
        assert_eq!(drawn(" ", true).0.height, 400.0);
    }

    #[test]
    fn long_words_end_in_the_box() {
        let (rest, svg) = drawn(&"very long sentence ".repeat(40), true);
        assert_eq!(svg.matches("<text").count(), MOST_LINES);
        assert!(svg.contains('…'));
        // Three lines, the padding and the gap.
        assert!((rest.top - (3.0 * 35.1 + 34.0 + 10.0)).abs() < 1e-9, "{rest:?}");
    }
}
