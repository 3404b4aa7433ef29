//! From the field's plane to the page.

use geo::{BoundingRect, Coord, MultiPolygon};
use survey::EastNorth;

use crate::frame::Rect;

/// A piece of the field's plane shown in a rectangle of the page, north up.
#[derive(Debug, Clone, Copy)]
pub(crate) struct View {
    /// Pixels per metre.
    pub scale: f64,
    left: f64,
    top: f64,
    west_m: f64,
    north_m: f64,
}

impl View {
    /// Polygons as large as they fit, in the middle of a rectangle.
    pub fn fit(polygons: &MultiPolygon, room: Rect) -> View {
        let bounds = polygons.bounding_rect().expect("a field has ground");
        let scale = (room.width / bounds.width()).min(room.height / bounds.height());
        View {
            scale,
            left: room.left + (room.width - scale * bounds.width()) / 2.0,
            top: room.top + (room.height - scale * bounds.height()) / 2.0,
            west_m: bounds.min().x,
            north_m: bounds.max().y,
        }
    }

    /// Where a place of the plane stands on the page.
    pub fn on_page(&self, place: impl Into<Coord>) -> (f64, f64) {
        let place = place.into();
        (
            self.left + (place.x - self.west_m) * self.scale,
            self.top + (self.north_m - place.y) * self.scale,
        )
    }

    /// The place of the plane shown at a place on the page.
    pub fn in_plane(&self, (x, y): (f64, f64)) -> EastNorth {
        EastNorth {
            easting_m: self.west_m + (x - self.left) / self.scale,
            northing_m: self.north_m - (y - self.top) / self.scale,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    #[test]
    fn a_field_fits_in_the_middle_with_north_up() {
        let field = MultiPolygon(vec![polygon![
            (x: 100.0, y: 200.0), (x: 300.0, y: 200.0), (x: 300.0, y: 300.0), (x: 100.0, y: 300.0),
        ]]);
        let view = View::fit(&field, Rect::new(0.0, 0.0, 400.0, 400.0));
        assert_eq!(view.scale, 2.0);
        assert_eq!(view.on_page(Coord { x: 100.0, y: 300.0 }), (0.0, 100.0));
        assert_eq!(view.on_page(Coord { x: 300.0, y: 200.0 }), (400.0, 300.0));
        let back = view.in_plane((400.0, 300.0));
        assert_eq!((back.easting_m, back.northing_m), (300.0, 200.0));
    }
}
