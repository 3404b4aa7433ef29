//! The foot of the page: what to do before acting on the map, and what drew it.

use survey::Utm;

use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::palette::{HAIRLINE, SOFT_INK};
use crate::svg::{Anchor, Paint, Svg, Type};

const SIZE: f64 = 20.0;
const LINE: f64 = 28.0;

/// What to do before acting on a map.
pub(crate) const MAP: (&str, &str) = (
    "Before you act on this map",
    "Loose-layer depth is where the tight layer begins; it is not a tillage depth. \
     Dig and look before treating. Call before you dig (811 in the US). Follow local rules and a \
     licensed or certified adviser. Positions are no better than the receiver that took them.",
);

/// The same for a page that is no sheet.
pub const MAP_CAUTIONS: &str = MAP.1;

/// Draws the cautions, and the program and coordinate system in the right corner.
pub(crate) fn draw(svg: &mut Svg, (first, cautions): (&str, &str), utm: Utm, place: Rect) {
    let (left, right) = ((place.left, place.top), (place.right(), place.top));
    svg.line(left, right, Paint::stroke(HAIRLINE, 2.0));
    let corner = [
        format!("loosedepth {}", env!("CARGO_PKG_VERSION")),
        format!("{} (EPSG:{})", utm.name(), utm.epsg()),
    ];
    let style = Type::regular(SIZE).colour(SOFT_INK);
    let widest =
        corner.iter().map(|line| fonts::width(line, SIZE, Weight::Regular)).fold(0.0, f64::max);
    let row = |k: usize| place.top + 34.0 + k as f64 * LINE;
    for (k, line) in corner.iter().enumerate() {
        svg.text(line, (place.right(), row(k)), style.anchor(Anchor::End));
    }
    let indent = fonts::width(first, SIZE, Weight::SemiBold) + 28.0;
    svg.text(first, (place.left, row(0)), Type::semi_bold(SIZE));
    let room = place.width - widest - indent - 60.0;
    for (k, line) in fonts::wrap(cautions, SIZE, Weight::Regular, room).iter().enumerate() {
        svg.text(line, (place.left + indent, row(k)), Type::regular(SIZE));
    }
}
