//! Polygons as TASKDATA writes them.
//!
//! The subset that both versions read: rings closed by their first point, one exterior in a polygon, more
//! polygons where the ground is parted.

use geo::{Coord, LineString, MapCoords, MultiPolygon, Polygon, Validation};
use survey::units::tidy;
use survey::{EastNorth, Utm};

use super::settings::Version;
use super::xml::Element;
use crate::error::FormatError;

/// What a polygon stands for.
#[derive(Clone, Copy)]
pub(super) enum PolygonKind {
    Boundary = 1,
    TreatmentZone = 2,
}

/// Decimals of a degree: a tenth of a millimetre, the most that version 4 takes.
const DECIMALS: i32 = 9;
/// What version 3 may take where rounding to nine would make a polygon touch or cross itself.
const MOST_DECIMALS: i32 = 12;

/// The polygons of some ground (PLN).
///
/// # Errors
/// When they cannot be written so that each is valid.
pub(super) fn polygons(
    utm: Utm,
    version: Version,
    kind: PolygonKind,
    id: &str,
    ground: &MultiPolygon,
) -> Result<Vec<Element>, FormatError> {
    ground
        .iter()
        .map(|polygon| {
            let area_m2 = utm.ground_area_m2(&MultiPolygon::from(polygon.clone()));
            let degrees = polygon.map_coords(|c| Coord::from(utm.unproject(EastNorth::from(c))));
            let written = rounded(&degrees, version)
                .map_err(|problem| FormatError::InvalidZone { id: id.to_owned(), problem })?;
            let rings = std::iter::once((1, written.exterior()));
            let rings = rings.chain(written.interiors().iter().map(|hole| (2, hole)));
            Ok(Element::new("PLN")
                .with("A", kind as u8)
                .with("C", area_m2.round())
                .holding(rings.map(|(kind, ring)| ring_element(kind, ring))))
        })
        .collect()
}

fn ring_element(kind: u8, ring: &LineString) -> Element {
    let point = |c: &Coord| {
        let degrees = |degrees: f64| tidy(degrees, MOST_DECIMALS as usize);
        Element::new("PNT").with("A", 2).with("C", degrees(c.y)).with("D", degrees(c.x))
    };
    Element::new("LSG").with("A", kind).holding(ring.0.iter().map(point))
}

/// A polygon with the fewest decimals from nine on that keep it valid.
fn rounded(polygon: &Polygon, version: Version) -> Result<Polygon, String> {
    let most = match version {
        Version::V3 => MOST_DECIMALS,
        Version::V4 => DECIMALS,
    };
    let mut problem = String::new();
    for decimals in DECIMALS..=most {
        let factor = 10_f64.powi(decimals);
        let round = |degrees: f64| (degrees * factor).round() / factor;
        let ring = |ring: &LineString| {
            let mut corners: Vec<Coord> =
                ring.0.iter().map(|c| Coord { x: round(c.x), y: round(c.y) }).collect();
            corners.dedup();
            LineString::new(corners)
        };
        let holes = polygon.interiors().iter().map(ring).collect();
        let rounded = Polygon::new(ring(polygon.exterior()), holes);
        match rounded.check_validation() {
            Ok(()) => return Ok(rounded),
            Err(invalid) => problem = invalid.to_string(),
        }
    }
    Err(problem)
}
