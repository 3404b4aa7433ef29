//! The north arrow. The map is drawn in the grid of its UTM zone; the arrow leans to true north.

use survey::{EastNorth, LonLat, Utm};

use crate::palette::{INK, SOFT_INK};
use crate::svg::{Anchor, Paint, Svg, Type, number};

/// Draws the arrow with its foot at a place, and its name to the left.
pub(crate) fn draw(svg: &mut Svg, (x, y): (f64, f64), utm: Utm, place: EastNorth) {
    draw_turned(svg, (x, y), true_north_deg(utm, place));
}

/// The same where the direction of true north is known, degrees clockwise from up.
pub(crate) fn draw_turned(svg: &mut Svg, (x, y): (f64, f64), turn_deg: f64) {
    let turn = number(turn_deg);
    let [left, right, foot, notch, tip] = [x - 10.0, x + 10.0, y, y - 8.0, y - 34.0].map(number);
    let middle = number(x);
    svg.raw(&format!(r#"<g transform="rotate({turn} {middle} {foot})">"#));
    svg.path(
        &format!("M{middle} {tip}L{left} {foot}L{middle} {notch}Z"),
        Paint::fill(INK).edge(INK, 1.4),
    );
    svg.path(
        &format!("M{middle} {tip}L{right} {foot}L{middle} {notch}Z"),
        Paint::default().edge(INK, 1.4),
    );
    svg.text("N", (x, y - 39.0), Type::semi_bold(20.0).anchor(Anchor::Middle));
    svg.raw("</g>");
    let style = Type::regular(19.0).colour(SOFT_INK).anchor(Anchor::End);
    svg.text("true north", (x - 20.0, y), style);
}

/// Direction of true north in the plane, degrees clockwise from grid north.
pub(crate) fn true_north_deg(utm: Utm, place: EastNorth) -> f64 {
    /// A step to the north, degrees: about 100 m.
    const STEP_DEG: f64 = 1e-3;
    let here = utm.unproject(place);
    let north = LonLat { lat_deg: here.lat_deg + STEP_DEG, ..here };
    utm.project(north).map_or(0.0, |north| {
        let (east_m, north_m) =
            (north.easting_m - place.easting_m, north.northing_m - place.northing_m);
        east_m.atan2(north_m).to_degrees()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn west_of_the_central_meridian_true_north_leans_right() {
        let place = LonLat { lon_deg: -95.62, lat_deg: 41.93 };
        let utm = Utm::for_place(place).unwrap();
        let turn = true_north_deg(utm, utm.project(place).unwrap());
        // tan(convergence) = tan(−2.62°) · sin(41.93°), so true north is 1.75° clockwise.
        assert!((turn - 1.751).abs() < 0.01, "{turn}");
    }
}
