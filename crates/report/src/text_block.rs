//! A block of sentences under a heading, as large as all of it fits.

use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::legend::heading;
use crate::palette::SOFT_INK;
use crate::svg::{Svg, Type};

/// Sizes of the text on a map's page.
pub(crate) const SIZES: [f64; 5] = [21.0, 20.0, 19.0, 18.0, 17.0];
/// Distance of lines and what paragraphs add to it, over the size.
const LINE: f64 = 1.29;
const PARAGRAPH: f64 = 0.33;
/// Room of the heading.
const HEADING: f64 = 36.0;
/// The last line may come so near to the end, pixels: below it there is room.
const SLACK: f64 = 20.0;

/// A paragraph: semi-bold for what matters most.
pub(crate) type Paragraph = (String, Weight);

/// A sentence that stands out, if there is one, and the others.
pub(crate) fn words(verdict: &str, notes: &[String]) -> Vec<Paragraph> {
    let verdict = (!verdict.trim().is_empty()).then(|| (verdict.to_owned(), Weight::SemiBold));
    let notes = notes.iter().map(|text| (text.clone(), Weight::Regular));
    verdict.into_iter().chain(notes).collect()
}

/// Draws the block into a rectangle, in the largest of some sizes at which all of it fits, and returns
/// where it ends. What does not fit in the last of them is left out, and `…` says so.
pub(crate) fn draw(
    svg: &mut Svg,
    title: &str,
    paragraphs: &[Paragraph],
    sizes: &[f64],
    place: Rect,
) -> f64 {
    heading(svg, title, place);
    let size = size_that_fits(paragraphs, sizes, place);
    let mut base = place.top + HEADING + size * 0.95;
    for (text, weight) in paragraphs {
        let style = match weight {
            Weight::SemiBold => Type::semi_bold(size),
            Weight::Regular => Type::regular(size).colour(SOFT_INK),
        };
        for line in fonts::wrap(text, size, *weight, place.width) {
            if base + size * LINE > place.bottom() + SLACK {
                svg.text("…", (place.left, base), style);
                return base;
            }
            svg.text(&line, (place.left, base), style);
            base += size * LINE;
        }
        base += size * PARAGRAPH;
    }
    base
}

/// The largest size at which the block fits into a rectangle, or the last one.
pub(crate) fn size_that_fits(paragraphs: &[Paragraph], sizes: &[f64], place: Rect) -> f64 {
    let height = |size: f64| {
        let lines = |(text, weight): &Paragraph| {
            fonts::wrap(text, size, *weight, place.width).len() as f64 * LINE + PARAGRAPH
        };
        HEADING + size * paragraphs.iter().map(lines).sum::<f64>()
    };
    let fits = |&size: &f64| height(size) <= place.height;
    let smallest = sizes.last().copied().unwrap_or(SIZES[0]);
    sizes.iter().copied().find(fits).unwrap_or(smallest)
}
