//! What all charts have in common: drawn by plotters into an SVG string and nested in the page.
//!
//! Axes are of `f64`: with whole numbers plotters can look for ticks for ever. Its text is sized in
//! line heights, of which its SVG writer takes 1 / 1.24 for the em.

use plotters::coord::Shift;
use plotters::element::PathElement;
use plotters::prelude::{DrawingArea, IntoDrawingArea, SVGBackend};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontDesc, FontFamily, FontStyle, FontTransform, RGBColor, TextStyle};

use crate::fonts::{FAMILY, register};
use crate::frame::Rect;
use crate::palette::{Rgb, SOFT_INK};
use crate::svg::{Svg, escape, number};

/// Size of a chart's text, pixels to the em.
pub(crate) const SIZE: f64 = 19.0;

/// What plotters' SVG writer divides sizes by.
const PLOTTERS_PER_EM: f64 = 1.24;

/// A drawing area of plotters that ends up in a string.
pub(crate) type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;

/// Drawing into a string fails for want of a font only, and the fonts are built in.
pub(crate) const SAFE: &str = "drawing into a string with built-in fonts";

/// Draws a chart into a rectangle of the page.
pub(crate) fn nest(svg: &mut Svg, title: &str, place: Rect, draw: impl FnOnce(&Area)) {
    nest_enlarged(svg, title, place, 1.0, draw);
}

/// Draws a chart so many times enlarged, lines and text too. The area of plotters is smaller than the
/// rectangle in proportion.
pub(crate) fn nest_enlarged(
    svg: &mut Svg,
    title: &str,
    place: Rect,
    times: f64,
    draw: impl FnOnce(&Area),
) {
    register();
    let (width, height) = ((place.width / times) as u32, (place.height / times) as u32);
    let mut chart = String::new();
    {
        let area = SVGBackend::with_string(&mut chart, (width, height)).into_drawing_area();
        draw(&area);
        area.present().expect(SAFE);
    }
    let place = format!(
        r#"<svg x="{}" y="{}" role="img" "#,
        number(place.left.round()),
        number(place.top.round())
    );
    let size = |width: f64, height: f64| {
        format!(r#"width="{}" height="{}""#, number(width), number(height))
    };
    let (width, height) = (f64::from(width), f64::from(height));
    let enlarged = size(width * times, height * times);
    let chart = chart.replacen(&size(width, height), &enlarged, 1);
    let named = chart.replacen("<svg ", &place, 1);
    let title = format!(">\n<title>{}</title>", escape(title));
    svg.raw(named.replacen('>', &title, 1).trim_end());
}

/// Text of a chart.
pub(crate) fn text_style(colour: Rgb, horizontal: HPos, vertical: VPos) -> TextStyle<'static> {
    let font = FontDesc::new(FontFamily::Name(FAMILY), SIZE * PLOTTERS_PER_EM, FontStyle::Normal);
    TextStyle { color: rgb(colour).to_backend_color(), ..TextStyle::from(font) }
        .pos(Pos::new(horizontal, vertical))
}

/// Text of a chart's upright axis, read from below upwards.
pub(crate) fn turned_style() -> TextStyle<'static> {
    text_style(SOFT_INK, HPos::Center, VPos::Top).transform(FontTransform::Rotate270)
}

/// A colour of the page as plotters takes it.
pub(crate) fn rgb(Rgb(red, green, blue): Rgb) -> RGBColor {
    RGBColor(red, green, blue)
}

/// Draws the outline of a rectangle: plotters draws that of its own one pixel wide in SVG.
pub(crate) fn draw_frame(area: &Area, corners: [(i32, i32); 2], colour: Rgb, width: u32) {
    let [a, b] = corners;
    // Beyond the first corner, so that no notch is left there.
    let path = vec![a, (b.0, a.1), b, (a.0, b.1), a, (b.0, a.1)];
    area.draw(&PathElement::new(path, rgb(colour).stroke_width(width))).expect(SAFE);
}

/// The smallest step of 1, 2 or 5 times a power of ten that makes no more than so many.
pub(crate) fn round_step(span: f64, most: f64) -> f64 {
    (-3..6)
        .flat_map(|power| [1.0, 2.0, 5.0].map(|digit| digit * 10f64.powi(power)))
        .find(|step| span / step <= most)
        .unwrap_or(span)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::palette::INK;
    use plotters::element::Text;

    #[test]
    fn a_nested_chart_has_a_role_a_title_and_a_view_box() {
        let mut svg = Svg::default();
        nest(&mut svg, "a < b", Rect::new(10.0, 20.0, 200.0, 100.0), |area| {
            let style = text_style(INK, HPos::Left, VPos::Top);
            area.draw(&Text::new("9 in", (5, 5), style)).expect(SAFE);
        });
        let page = svg.document(300, 200, 200, "t", "s");
        assert!(page.contains("<svg x=\"10\" y=\"20\" role=\"img\" width=\"200\" height=\"100\" viewBox=\"0 0 200 100\""));
        assert!(page.contains("<title>a &lt; b</title>"));
        assert!(page.contains("font-family=\"Inter\" font-size=\"19\""));
    }

    #[test]
    fn an_enlarged_chart_fills_its_rectangle() {
        let mut svg = Svg::default();
        nest_enlarged(&mut svg, "t", Rect::new(0.0, 0.0, 300.0, 150.0), 1.5, |_| {});
        let page = svg.document(300, 150, 200, "t", "s");
        assert!(page.contains("width=\"300\" height=\"150\" viewBox=\"0 0 200 100\""), "{page}");
    }

    #[test]
    fn steps_are_round() {
        assert_eq!(round_step(34.0, 4.0), 10.0);
        assert_eq!(round_step(18.0, 8.0), 5.0);
    }
}
