//! Where the rows of a sheet lie, in degrees.

use geo::{BoundingRect, Coord, Geometry, MapCoords, Point, Rect};
use survey::ToLonLat;

use super::layer::joined;
use super::sheet::{Shape, Sheet};

/// Shapes in degrees, and what is odd about all of them.
pub(super) struct Places {
    pub shapes: Vec<Option<Geometry>>,
    pub notes: Vec<String>,
}

impl Places {
    pub fn of(sheet: &Sheet) -> Places {
        let mut notes = Vec::new();
        let way = sheet.system.as_ref().and_then(|system| match ToLonLat::new(system) {
            Ok(way) => Some(way),
            Err(problem) => {
                notes.push(format!("is in {system}, which is not known: {problem}"));
                None
            }
        });
        if let Some(system) = sheet.system.as_ref().filter(|system| !system.is_wgs84_degrees()) {
            notes.push(format!(
                "is in {system}; many displays want longitude and latitude in WGS 84"
            ));
        }
        let shapes: Vec<Option<Geometry>> =
            sheet.rows.iter().map(|row| in_degrees(&row.shape, way.as_ref())).collect();
        let lost = sheet.rows.iter().zip(&shapes).find_map(|(row, shape)| {
            let coord = match &row.shape {
                Shape::Point(coord) => *coord,
                Shape::Polygons(polygons) => polygons.0.first()?.exterior().0.first().copied()?,
                _ => return None,
            };
            shape.is_none().then_some(coord)
        });
        if let Some(Coord { x, y }) = lost {
            notes.push(match x.abs() <= 90.0 && (90.0..=180.0).contains(&y.abs()) {
                true => format!(
                    "has coordinates that are no places, such as {x}, {y}; the latitude seems to stand \
                     first: write longitude, then latitude"
                ),
                false => format!(
                    "has coordinates that are not degrees, such as {x}, {y}; if they are UTM metres, many \
                     displays cannot use them: write longitude and latitude in WGS 84"
                ),
            });
        }
        Places { shapes, notes }
    }

    pub fn extent(&self) -> Option<[f64; 4]> {
        let frames = self.shapes.iter().flatten().filter_map(|shape| -> Option<Rect> {
            match shape {
                Geometry::Point(point) => Some(Rect::new(point.0, point.0)),
                Geometry::MultiPolygon(polygons) => polygons.bounding_rect(),
                _ => None,
            }
        });
        let frames = frames.map(|f| Some([f.min().x, f.min().y, f.max().x, f.max().y]));
        frames.fold(None, joined)
    }
}

/// A shape in degrees; `None` where it has none, or its numbers are no degrees.
fn in_degrees(shape: &Shape, way: Option<&ToLonLat>) -> Option<Geometry> {
    let place = |coord: Coord| {
        let place = match way {
            Some(way) => way.convert(coord.x, coord.y).map(Coord::from)?,
            None => coord,
        };
        let is_on_earth = place.x.abs() <= 180.0 && place.y.abs() <= 90.0;
        if is_on_earth { Ok(place) } else { Err(String::new()) }
    };
    match shape {
        Shape::Point(coord) => place(*coord).ok().map(|place| Point::from(place).into()),
        Shape::Polygons(polygons) => polygons.try_map_coords(place).ok().map(Geometry::from),
        Shape::Other(_) | Shape::None | Shape::Bad(_) => None,
    }
}
