//! A block of sentences under a heading, as large as all of it fits.

use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::legend::heading;
use crate::palette::SOFT_INK;
use crate::svg::{Svg, Type};

/// Sizes of the text, the largest at which all of it fits.
const SIZES: [f64; 5] = [21.0, 20.0, 19.0, 18.0, 17.0];
/// Distance of lines and what paragraphs add to it, over the size.
const LINE: f64 = 1.29;
const PARAGRAPH: f64 = 0.33;
/// Room of the heading.
const HEADING: f64 = 36.0;

/// A paragraph: semi-bold for what matters most.
pub(crate) type Paragraph = (String, Weight);

/// Draws the block into a rectangle.
pub(crate) fn draw(svg: &mut Svg, title: &str, paragraphs: &[Paragraph], place: Rect) {
    heading(svg, title, place);
    let size = size_that_fits(paragraphs, place);
    let mut base = place.top + HEADING + size * 0.95;
    for (text, weight) in paragraphs {
        let style = match weight {
            Weight::SemiBold => Type::semi_bold(size),
            Weight::Regular => Type::regular(size).colour(SOFT_INK),
        };
        for line in fonts::wrap(text, size, *weight, place.width) {
            svg.text(&line, (place.left, base), style);
            base += size * LINE;
        }
        base += size * PARAGRAPH;
    }
}

/// The largest size at which the block fits into a rectangle, or the smallest there is.
pub(crate) fn size_that_fits(paragraphs: &[Paragraph], place: Rect) -> f64 {
    let height = |size: f64| {
        let lines = |(text, weight): &Paragraph| {
            fonts::wrap(text, size, *weight, place.width).len() as f64 * LINE + PARAGRAPH
        };
        HEADING + size * paragraphs.iter().map(lines).sum::<f64>()
    };
    let smallest = SIZES[SIZES.len() - 1];
    SIZES.into_iter().find(|&size| height(size) <= place.height).unwrap_or(smallest)
}
