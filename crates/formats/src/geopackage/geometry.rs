//! Geometries as GeoPackage stores them: OGC 12-128r19, clause 2.1.3 (`GeoPackageBinary`), around the
//! well-known binary of OGC 06-103r4, clause 8.

use geo::{BoundingRect, LineString, MultiPolygon, Polygon};
use survey::LonLat;

/// The spatial reference system of every point here: WGS 84, longitude first.
pub(crate) const SRS_ID: i32 = 4326;
/// Flags: little-endian, no envelope (clause 2.1.3.1.1, table 7).
const LITTLE_ENDIAN: u8 = 0x01;
/// Flag of an empty geometry, whose numbers are NaN (requirement 152).
const EMPTY: u8 = 0x10;

/// Flags of an envelope: west, east, south, north (table 7).
const WITH_ENVELOPE: u8 = 0x02;
/// Types of well-known binary.
const POINT: u32 = 1;
const POLYGON: u32 = 3;
const MULTI_POLYGON: u32 = 6;

/// The blob of polygons in degrees, with their envelope.
pub(crate) fn multi_polygon(polygons: &MultiPolygon) -> Vec<u8> {
    let mut bytes = header(LITTLE_ENDIAN | WITH_ENVELOPE);
    let frame = polygons.bounding_rect();
    let frame = frame.map_or([f64::NAN; 4], |f| [f.min().x, f.max().x, f.min().y, f.max().y]);
    bytes.extend(frame.iter().flat_map(|degrees| degrees.to_le_bytes()));
    begin(&mut bytes, MULTI_POLYGON);
    count(&mut bytes, polygons.0.len());
    polygons.iter().for_each(|one| polygon(&mut bytes, one));
    bytes
}

fn polygon(bytes: &mut Vec<u8>, polygon: &Polygon) {
    begin(bytes, POLYGON);
    let rings: Vec<&LineString> =
        std::iter::once(polygon.exterior()).chain(polygon.interiors()).collect();
    count(bytes, rings.len());
    for ring in rings {
        count(bytes, ring.0.len());
        bytes.extend(ring.0.iter().flat_map(|c| [c.x, c.y]).flat_map(f64::to_le_bytes));
    }
}

fn header(flags: u8) -> Vec<u8> {
    let mut bytes = b"GP\0".to_vec();
    bytes.push(flags);
    bytes.extend(SRS_ID.to_le_bytes());
    bytes
}

/// Byte order and type of a geometry of well-known binary.
fn begin(bytes: &mut Vec<u8>, kind: u32) {
    bytes.push(1);
    bytes.extend(kind.to_le_bytes());
}

fn count(bytes: &mut Vec<u8>, count: usize) {
    bytes.extend((count as u32).to_le_bytes());
}

/// The blob of a point; of one that is not finite, the empty point.
pub(crate) fn point(place: LonLat) -> Vec<u8> {
    let is_finite = place.lon_deg.is_finite() && place.lat_deg.is_finite();
    let (empty, [lon_deg, lat_deg]) = match is_finite {
        true => (0, [place.lon_deg, place.lat_deg]),
        false => (EMPTY, [f64::NAN, f64::NAN]),
    };
    let mut bytes = header(LITTLE_ENDIAN | empty);
    begin(&mut bytes, POINT);
    bytes.extend(lon_deg.to_le_bytes());
    bytes.extend(lat_deg.to_le_bytes());
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_point_is_29_bytes_with_longitude_first() {
        let bytes = point(LonLat { lon_deg: -95.5, lat_deg: 42.0 });
        assert_eq!(bytes[..13], [0x47, 0x50, 0, 1, 0xE6, 0x10, 0, 0, 1, 1, 0, 0, 0]);
        assert_eq!(bytes[13..21], (-95.5_f64).to_le_bytes());
        assert_eq!(bytes[21..], 42.0_f64.to_le_bytes());
    }

    #[test]
    fn what_is_nowhere_is_an_empty_point() {
        let bytes = point(LonLat { lon_deg: f64::INFINITY, lat_deg: 42.0 });
        assert_eq!((bytes[3], bytes.len()), (0x11, 29));
        assert!(f64::from_le_bytes(bytes[13..21].try_into().unwrap()).is_nan());
    }
}
