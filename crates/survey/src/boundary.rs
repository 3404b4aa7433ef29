//! The field: the ground inside a boundary, in its metric plane.

use geo::orient::Direction;
use geo::{
    Area, BoundingRect, Buffer, Centroid, ConvexHull, Coord, Distance, Euclidean, MapCoords,
    MultiPoint, MultiPolygon, Orient, Point, Polygon, Validation,
};

use crate::crossing::first_crossing;
use crate::crs::Utm;
use crate::error::SurveyError;
use crate::position::{EastNorth, LonLat};

/// The widest field accepted, metres: UTM distances stay within 0.1 % over it, and it keeps
/// squares of distances in whole micrometres well inside 128 bits.
const MAX_SPAN_M: f64 = 100_000.0;

/// A boundary as a file gives it.
#[derive(Debug, Clone, PartialEq)]
pub struct Boundary {
    /// The name the file gives the field.
    pub name: Option<String>,
    /// Rings in degrees, longitude first; holes are ground that is not part of the field.
    pub polygons: MultiPolygon,
}

/// The ground of one field in its UTM zone. Valid by construction: closed rings that do not cross,
/// outer rings counter-clockwise, holes clockwise, some ground inside.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    utm: Utm,
    polygons: MultiPolygon,
    ground_area_m2: f64,
    origin: FieldOrigin,
}

/// Where a field's outline comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FieldOrigin {
    /// A boundary file.
    Boundary,
    /// The convex hull of the probes, widened.
    HullOfProbes {
        /// By how much it was widened, metres.
        widened_m: f64,
    },
}

impl Field {
    /// The field inside a boundary.
    ///
    /// # Errors
    /// When a place is off the Earth or outside UTM, a ring is too short, lines cross, or no
    /// ground is enclosed.
    pub fn inside(boundary: &Boundary) -> Result<Field, SurveyError> {
        let rings = boundary
            .polygons
            .iter()
            .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()));
        for (index, ring) in rings.enumerate() {
            let positions = ring.0.len();
            if positions < 4 {
                return Err(SurveyError::ShortRing {
                    ring: format!("ring {}", index + 1),
                    positions,
                });
            }
            for &Coord { x, y } in &ring.0 {
                let place = LonLat { lon_deg: x, lat_deg: y };
                if !place.is_on_earth() {
                    return Err(SurveyError::OutsideUtm { place });
                }
            }
        }
        let middle = boundary.polygons.centroid().ok_or(SurveyError::EmptyBoundary)?;
        let utm = Utm::for_place(LonLat { lon_deg: middle.x(), lat_deg: middle.y() })?;
        let polygons = boundary.polygons.try_map_coords(|Coord { x, y }| {
            utm.project(LonLat { lon_deg: x, lat_deg: y }).map(Coord::from)
        })?;
        Field::in_plane(utm, &polygons)
    }

    /// The field inside a boundary that is already in the plane of a UTM zone, metres.
    ///
    /// # Errors
    /// When lines cross, no ground is enclosed, or the field is wider than 100 km.
    pub fn in_plane(utm: Utm, polygons: &MultiPolygon) -> Result<Field, SurveyError> {
        Field::from_plane(utm, polygons, FieldOrigin::Boundary)
    }

    /// The convex hull of probes, widened by half their typical spacing.
    ///
    /// # Errors
    /// When the probes all stand at one place.
    pub fn around(utm: Utm, probes: &[EastNorth], spacing_m: f64) -> Result<Field, SurveyError> {
        let widened_m = spacing_m / 2.0;
        let points: MultiPoint = probes.iter().map(|&p| Point::from(Coord::from(p))).collect();
        let hull: Polygon = points.convex_hull();
        let polygons = hull.buffer(widened_m);
        Field::from_plane(utm, &polygons, FieldOrigin::HullOfProbes { widened_m })
    }

    fn from_plane(
        utm: Utm,
        polygons: &MultiPolygon,
        origin: FieldOrigin,
    ) -> Result<Field, SurveyError> {
        let frame = polygons.bounding_rect().ok_or(SurveyError::EmptyBoundary)?;
        let span_m = frame.width().max(frame.height());
        if span_m > MAX_SPAN_M {
            return Err(SurveyError::HugeBoundary { span_km: span_m / 1e3 });
        }
        if let Err(invalid) = polygons.check_validation() {
            let crossing = first_crossing(polygons).map(|place| {
                let LonLat { lon_deg, lat_deg } = utm.unproject(place);
                format!("its lines meet near longitude {lon_deg:.6}, latitude {lat_deg:.6}")
            });
            let problem = crossing.unwrap_or_else(|| invalid.to_string());
            return Err(SurveyError::InvalidBoundary { problem });
        }
        if polygons.unsigned_area() < 1.0 {
            return Err(SurveyError::EmptyBoundary);
        }
        let polygons = polygons.orient(Direction::Default);
        let ground_area_m2 = utm.ground_area_m2(&polygons);
        Ok(Field { utm, polygons, ground_area_m2, origin })
    }

    /// The UTM zone of the plane.
    pub fn utm(&self) -> Utm {
        self.utm
    }

    /// The field's polygons in the plane, metres.
    pub fn polygons(&self) -> &MultiPolygon {
        &self.polygons
    }

    /// True area on the ground, square metres.
    pub fn ground_area_m2(&self) -> f64 {
        self.ground_area_m2
    }

    /// Area in the plane, square metres: the true area times the square of UTM's scale.
    pub fn plane_area_m2(&self) -> f64 {
        self.polygons.unsigned_area()
    }

    /// True area on the ground over the area in the plane: UTM's scale, squared. Taken for the same all
    /// over a field it is off by some millionths.
    pub fn ground_per_plane(&self) -> f64 {
        self.ground_area_m2 / self.plane_area_m2()
    }

    /// Where the outline comes from.
    pub fn origin(&self) -> FieldOrigin {
        self.origin
    }

    /// Distance from a place to the field, metres; 0 inside and on the boundary.
    pub fn distance_m(&self, place: EastNorth) -> f64 {
        Euclidean.distance(&Point::from(Coord::from(place)), &self.polygons)
    }
}
