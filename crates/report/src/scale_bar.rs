//! A scale bar of a round length in the reader's unit.

use survey::UnitSystem;
use survey::units::M_PER_FT;

use crate::frame::Rect;
use crate::palette::{INK, PAPER};
use crate::svg::{Anchor, Paint, Svg, Type};

const SIZE: f64 = 20.0;
const HEIGHT: f64 = 9.0;

/// Draws a bar of four parts with its lower left corner at a place, no longer than `room` pixels.
pub(crate) fn draw(svg: &mut Svg, (x, y): (f64, f64), room: f64, scale: f64, units: UnitSystem) {
    let length_m = round_length_m(room / scale, units);
    let width = length_m * scale;
    let top = y - HEIGHT;
    svg.rect(Rect::new(x, top, width, HEIGHT), Paint::fill(PAPER).edge(INK, 1.6));
    for part in [0.0, 2.0] {
        let left = x + width * part / 4.0;
        svg.rect(Rect::new(left, top, width / 4.0, HEIGHT), Paint::fill(INK));
    }
    let style = Type::regular(SIZE).anchor(Anchor::Middle);
    let half = units.distance_text(length_m / 2.0);
    let number = |text: &str| text.split(' ').next().unwrap_or_default().to_owned();
    svg.text("0", (x, top - 8.0), style);
    svg.text(&number(&half), (x + width / 2.0, top - 8.0), style);
    svg.text(&units.distance_text(length_m), (x + width, top - 8.0), style);
}

/// The greatest 1, 2 or 5 times a power of ten, in feet or metres, that is no longer than so much.
fn round_length_m(most_m: f64, units: UnitSystem) -> f64 {
    let unit_m = match units {
        UnitSystem::Us => M_PER_FT,
        UnitSystem::Si => 1.0,
    };
    let power = 10f64.powi((most_m / unit_m).log10().floor() as i32);
    let digit =
        [5.0, 2.0, 1.0].into_iter().find(|digit| digit * power * unit_m <= most_m).unwrap_or(1.0);
    digit * power * unit_m
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_are_round_in_their_unit() {
        assert_eq!(round_length_m(180.0, UnitSystem::Si), 100.0);
        assert_eq!(round_length_m(180.0, UnitSystem::Us), 500.0 * M_PER_FT);
        assert_eq!(round_length_m(2.5, UnitSystem::Si), 2.0);
    }
}
