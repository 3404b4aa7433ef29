//! Methods compared by cross-validation: the typical error of each as a bar, the one in use marked.

use survey::{Depth, UnitSystem};

use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::palette::{HAIRLINE, INK, SOFT_INK};
use crate::svg::{Anchor, Paint, Svg, Type};

const SIZE: f64 = 21.0;
/// Height of a method: its name and its bar.
const ROW: f64 = 62.0;
const BAR: f64 = 14.0;

/// How a method did in cross-validation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MethodCheck<'a> {
    /// What it is: `field mean`, `inverse distance, power 3.25`.
    pub name: &'a str,
    /// Root mean square of reading minus estimate, centimetres; NaN where it could not be checked.
    pub rmse_cm: f64,
    /// Whether the map uses it.
    pub chosen: bool,
}

/// Height of the panel for so many methods.
pub(crate) fn height(methods: usize) -> f64 {
    methods as f64 * ROW
}

/// Draws a row for each method, from the top of a rectangle.
pub(crate) fn draw(svg: &mut Svg, methods: &[MethodCheck], units: UnitSystem, place: Rect) {
    let known = methods.iter().map(|method| method.rmse_cm).filter(|cm| cm.is_finite());
    let greatest = known.fold(0.0, f64::max);
    for (k, method) in methods.iter().enumerate() {
        let top = place.top + k as f64 * ROW;
        draw_method(svg, method, units, greatest, Rect { top, height: ROW, ..place });
    }
}

fn draw_method(svg: &mut Svg, method: &MethodCheck, units: UnitSystem, greatest: f64, place: Rect) {
    let style = match method.chosen {
        true => Type::semi_bold(SIZE),
        false => Type::regular(SIZE).colour(SOFT_INK),
    };
    let base = place.top + 22.0;
    let error = match method.rmse_cm.is_finite() {
        true => units.depth_text(Depth::from_cm(method.rmse_cm)),
        false => "not known".into(),
    };
    let room = place.width - fonts::width(&error, SIZE, Weight::SemiBold) - 24.0;
    let name = match method.chosen {
        true => format!("{} (used)", method.name.trim()),
        false => method.name.trim().to_owned(),
    };
    svg.text(&fonts::shorten(&name, SIZE, style.weight, room), (place.left, base), style);
    svg.text(&error, (place.right(), base), style.anchor(Anchor::End));
    if method.rmse_cm > 0.0 && method.rmse_cm.is_finite() {
        let width = place.width * method.rmse_cm / greatest;
        let colour = if method.chosen { INK } else { HAIRLINE };
        svg.rect(Rect::new(place.left, base + 10.0, width, BAR), Paint::fill(colour));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const METHODS: [MethodCheck; 3] = [
        MethodCheck { name: "field mean", rmse_cm: 12.7, chosen: false },
        MethodCheck { name: "inverse distance, power 3.25", rmse_cm: 11.43, chosen: true },
        MethodCheck { name: "kriging", rmse_cm: f64::NAN, chosen: false },
    ];

    fn panel(units: UnitSystem) -> String {
        let mut svg = Svg::default();
        draw(&mut svg, &METHODS, units, Rect::new(0.0, 0.0, 500.0, 300.0));
        svg.document(500, 300, 200, "t", "s")
    }

    #[test]
    fn every_error_has_its_unit_and_one_method_is_marked() {
        let svg = panel(UnitSystem::Us);
        for words in [">5 in<", ">4.5 in<", ">not known<", "power 3.25 (used)<"] {
            assert!(svg.contains(words), "{words}");
        }
        assert_eq!(svg.matches("(used)").count(), 1);
        assert!(panel(UnitSystem::Si).contains(">12.7 cm<"));
    }

    #[test]
    fn bars_are_as_long_as_errors_and_an_unknown_one_has_none() {
        let svg = panel(UnitSystem::Si);
        assert_eq!(svg.matches("<rect").count(), 2);
        assert!(svg.contains("width=\"500\" height=\"14\"") && svg.contains("width=\"450\""));
    }
}
