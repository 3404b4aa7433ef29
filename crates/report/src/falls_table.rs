//! The table of spots whose loose layer became thinner.

use survey::units::tidy;
use survey::{Depth, UnitSystem};

use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::legend::heading;
use crate::palette::{HAIRLINE, SOFT_INK};
use crate::season_page::{SeasonDepth, SpotFall};
use crate::svg::{Anchor, Paint, Svg, Type};
use crate::wording::between_text;

const SIZE: f64 = 21.0;
const ROW: f64 = 30.0;
/// Room of the heading and of the columns' names.
const HEAD: f64 = 72.0;
/// The most spots, however much room there is.
pub(crate) const MOST: usize = 12;
/// Where the columns of numbers end, over the width.
const ENDS: [f64; 3] = [0.52, 0.7, 1.0];

/// Height of the table with so many spots.
pub(crate) fn height(spots: usize) -> f64 {
    HEAD + (spots.clamp(1, MOST) + usize::from(spots > MOST)) as f64 * ROW
}

/// Draws the table into a rectangle; spots without room are counted.
pub(crate) fn draw(svg: &mut Svg, title: &str, falls: &[SpotFall], units: UnitSystem, place: Rect) {
    let title = fonts::shorten(title, 25.0, Weight::SemiBold, place.width);
    heading(svg, &title, place);
    let unit = units.depth_unit();
    let end = |column: usize| place.left + place.width * ENDS[column];
    let soft = Type::regular(19.0).colour(SOFT_INK);
    let names = [format!("first, {unit}"), format!("last, {unit}"), format!("change, {unit}")];
    let head = place.top + 52.0;
    svg.text("spot", (place.left, head), soft);
    for (column, name) in names.iter().enumerate() {
        svg.text(name, (end(column), head), soft.anchor(Anchor::End));
    }
    let rule = place.top + 60.0;
    svg.line((place.left, rule), (place.right(), rule), Paint::stroke(HAIRLINE, 1.6));
    let base = |row: usize| place.top + HEAD + row as f64 * ROW + 14.0;
    if falls.is_empty() {
        svg.text("no spot became thinner", (place.left, base(0)), Type::regular(SIZE));
        return;
    }
    let rows = (((place.height - HEAD) / ROW) as usize).min(MOST);
    let shown = if falls.len() > rows { rows.saturating_sub(1) } else { falls.len() };
    for (row, fall) in falls[..shown].iter().enumerate() {
        let room = place.width * ENDS[0] - fonts::width("18.5+", SIZE, Weight::Regular) - 16.0;
        let id = fonts::shorten(fall.id.trim(), SIZE, Weight::Regular, room);
        svg.text(&id, (place.left, base(row)), Type::regular(SIZE));
        let depths = [fall.first, fall.last].map(|depth| depth_text(depth, units));
        let [first, last] = depths;
        let room = place.width * (ENDS[2] - ENDS[1]) - 16.0;
        let change = between_text(fall.change, units);
        let change = fonts::shorten(&change, SIZE, Weight::SemiBold, room);
        let style = Type::regular(SIZE).anchor(Anchor::End);
        svg.text(&first, (end(0), base(row)), style);
        svg.text(&last, (end(1), base(row)), style);
        svg.text(&change, (end(2), base(row)), Type::semi_bold(SIZE).anchor(Anchor::End));
    }
    if shown < falls.len() {
        let words = format!("and {} more", falls.len() - shown);
        svg.text(&words, (place.left, base(shown)), soft);
    }
}

/// A depth as it stands on maps: `9`, or `18+` where the threshold was not reached.
fn depth_text(depth: SeasonDepth, units: UnitSystem) -> String {
    let number = tidy(units.depth(Depth::from_cm(depth.depth_cm)), 1);
    if depth.is_at_least { format!("{number}+") } else { number }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate::Between;

    fn fall(id: &str) -> SpotFall {
        let depth = |inches: f64, is_at_least| SeasonDepth { depth_cm: inches * 2.54, is_at_least };
        SpotFall {
            id: id.into(),
            first: depth(18.0, true),
            last: depth(9.0, false),
            change: Between { low_cm: f64::NEG_INFINITY, high_cm: -9.0 * 2.54 },
        }
    }

    fn drawn(falls: &[SpotFall], height: f64) -> String {
        let mut svg = Svg::default();
        draw(&mut svg, "Fell furthest", falls, UnitSystem::Us, Rect::new(0.0, 0.0, 560.0, height));
        svg.document(560, 600, 200, "t", "s")
    }

    #[test]
    fn a_fall_from_a_depth_that_was_not_reached_is_a_bound() {
        let svg = drawn(&[fall("P7")], 400.0);
        for words in [">P7<", ">18+<", ">9<", ">≤ −9<", ">change, in<"] {
            assert!(svg.contains(words), "{words}: {svg}");
        }
    }

    #[test]
    fn spots_without_room_are_counted_and_long_ids_shortened() {
        let falls: Vec<SpotFall> = (0..30).map(|_| fall(&"spot".repeat(30))).collect();
        let svg = drawn(&falls, HEAD + 5.0 * ROW);
        assert_eq!(svg.matches(">≤ −9<").count(), 4);
        assert!(svg.contains("and 26 more") && svg.contains('…'));
        assert!(drawn(&[], 400.0).contains("no spot became thinner"));
    }
}
