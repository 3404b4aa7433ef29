//! Polygons of the plane in degrees, rounded so that they stay valid.

use geo::{Coord, LineString, MapCoords, MultiPolygon, Polygon};
use survey::{EastNorth, Utm};

use crate::error::FormatError;
use crate::ring_faults::{Patience, ring_fault};

/// Decimals of a degree that positions are rounded to: 1.1 mm. More, up to [`MOST_DECIMALS`], only
/// where rounding would make a polygon touch or cross itself.
pub(crate) const DECIMALS: u32 = 8;
const MOST_DECIMALS: u32 = 12;

/// Each zone's polygons in degrees, rounded to the fewest decimals that keep all of them valid. A place
/// that two zones share is the same in both.
pub(crate) fn degrees<'z>(
    utm: Utm,
    zones: impl IntoIterator<Item = (&'z str, &'z MultiPolygon)>,
) -> Result<Vec<MultiPolygon>, FormatError> {
    let in_degrees =
        |polygons: &MultiPolygon| polygons.map_coords(|c| utm.unproject(EastNorth::from(c)).into());
    let (ids, exact): (Vec<&str>, Vec<MultiPolygon>) =
        zones.into_iter().map(|(id, polygons)| (id, in_degrees(polygons))).unzip();
    let mut problem = None;
    for decimals in DECIMALS..=MOST_DECIMALS {
        let rounded: Vec<MultiPolygon> = exact.iter().map(|p| round(p, decimals)).collect();
        match rounded
            .iter()
            .enumerate()
            .find_map(|(k, p)| Some((k, ring_fault(p, &mut Patience::endless())?.problem)))
        {
            None => return Ok(rounded),
            first => problem = first,
        }
    }
    let (zone, problem) = problem.expect("every rounding was tried");
    Err(FormatError::InvalidZone { id: ids[zone].to_owned(), problem })
}

/// A number of degrees with so many decimals.
pub(crate) fn rounded(degrees: f64, decimals: u32) -> f64 {
    let factor = 10_f64.powi(decimals as i32);
    (degrees * factor).round() / factor
}

/// Positions rounded to so many decimals, without repeats.
fn round(polygons: &MultiPolygon, decimals: u32) -> MultiPolygon {
    let ring = |ring: &LineString| -> LineString {
        let round = |c: &Coord| Coord { x: rounded(c.x, decimals), y: rounded(c.y, decimals) };
        let mut coords: Vec<Coord> = ring.0.iter().map(round).collect();
        coords.dedup();
        LineString::new(coords)
    };
    polygons
        .iter()
        .map(|p| Polygon::new(ring(p.exterior()), p.interiors().iter().map(ring).collect()))
        .collect()
}
