//! Ground in a few parts, each with a bar as long as its area.

use survey::{Field, UnitSystem};

use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::palette::{DIM, FAINT, HAIRLINE, SOFT_INK};
use crate::svg::{Anchor, Paint, Svg, Type};
use crate::wording::{area_text, share_text};

const SIZE: f64 = 21.0;
/// Height of a part: its name and its bar.
const ROW: f64 = 50.0;
const BAR: f64 = 14.0;
/// Room of a share.
const SHARE: f64 = 70.0;

/// A part of the ground.
pub(crate) struct Part {
    pub name: &'static str,
    pub paint: Paint,
    pub area_m2: f64,
}

/// Height of so many parts.
pub(crate) fn height(parts: usize) -> f64 {
    parts as f64 * ROW
}

/// Draws the parts from the top of a rectangle.
pub(crate) fn draw(svg: &mut Svg, parts: &[Part], field: &Field, units: UnitSystem, place: Rect) {
    let whole = field.ground_area_m2();
    for (k, part) in parts.iter().enumerate() {
        let base = place.top + k as f64 * ROW + 20.0;
        let share = (part.area_m2 / whole).clamp(0.0, 1.0);
        let style =
            if part.area_m2 > 0.0 { Type::regular(SIZE) } else { Type::regular(SIZE).colour(DIM) };
        let area = area_text(part.area_m2, field, units);
        let area_right = place.right() - SHARE;
        let room = area_right - fonts::width(&area, SIZE, Weight::Regular) - 12.0 - place.left;
        let name = fonts::shorten(part.name, SIZE, Weight::Regular, room);
        svg.text(&name, (place.left, base), style);
        svg.text(&area, (area_right, base), style.anchor(Anchor::End));
        let share_style = style.anchor(Anchor::End).colour(SOFT_INK);
        svg.text(&share_text(share), (place.right(), base), share_style);
        let bar = Rect::new(place.left, base + 8.0, place.width, BAR);
        svg.rect(bar, Paint::fill(FAINT));
        let filled = Rect { width: bar.width * share, ..bar };
        if share > 0.0 {
            svg.rect(filled, part.paint.edge(HAIRLINE, 1.2));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing;

    #[test]
    fn bars_are_as_long_as_the_part_of_the_field() {
        let sample = testing::wide();
        let field = sample.survey.field();
        let part = |name, share: f64| Part {
            name,
            paint: Paint::fill(SOFT_INK),
            area_m2: share * field.ground_area_m2(),
        };
        let parts = [part("thinner", 0.25), part("deeper", 0.0)];
        let mut svg = Svg::default();
        draw(&mut svg, &parts, field, UnitSystem::Us, Rect::new(0.0, 0.0, 400.0, 100.0));
        let svg = svg.document(400, 100, 200, "t", "s");
        // Two grounds, and one part that there is.
        assert_eq!(svg.matches(r#"width="400" height="14""#).count(), 2, "{svg}");
        assert_eq!(svg.matches(r#"width="100" height="14""#).count(), 1, "{svg}");
        assert_eq!(testing::joined(&svg), "thinner 19.8 ac 25 % deeper 0.0 ac 0 %");
    }
}
