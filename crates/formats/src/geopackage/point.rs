//! A point as GeoPackage stores it: OGC 12-128r19, clause 2.1.3 (`GeoPackageBinary`), around the
//! well-known binary of OGC 06-103r4, clause 8.

use survey::LonLat;

/// The spatial reference system of every point here: WGS 84, longitude first.
pub(super) const SRS_ID: i32 = 4326;
/// Flags: little-endian, no envelope (clause 2.1.3.1.1, table 7).
const LITTLE_ENDIAN: u8 = 0x01;
/// Flag of an empty geometry, whose numbers are NaN (requirement 152).
const EMPTY: u8 = 0x10;

/// The blob of a point; of one that is not finite, the empty point.
pub(super) fn blob(place: LonLat) -> Vec<u8> {
    let is_finite = place.lon_deg.is_finite() && place.lat_deg.is_finite();
    let (empty, [lon_deg, lat_deg]) = match is_finite {
        true => (0, [place.lon_deg, place.lat_deg]),
        false => (EMPTY, [f64::NAN, f64::NAN]),
    };
    let mut bytes = b"GP\0".to_vec();
    bytes.push(LITTLE_ENDIAN | empty);
    bytes.extend(SRS_ID.to_le_bytes());
    bytes.push(1);
    bytes.extend(1_u32.to_le_bytes());
    bytes.extend(lon_deg.to_le_bytes());
    bytes.extend(lat_deg.to_le_bytes());
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_point_is_29_bytes_with_longitude_first() {
        let bytes = blob(LonLat { lon_deg: -95.5, lat_deg: 42.0 });
        assert_eq!(bytes[..13], [0x47, 0x50, 0, 1, 0xE6, 0x10, 0, 0, 1, 1, 0, 0, 0]);
        assert_eq!(bytes[13..21], (-95.5_f64).to_le_bytes());
        assert_eq!(bytes[21..], 42.0_f64.to_le_bytes());
    }

    #[test]
    fn what_is_nowhere_is_an_empty_point() {
        let bytes = blob(LonLat { lon_deg: f64::INFINITY, lat_deg: 42.0 });
        assert_eq!((bytes[3], bytes.len()), (0x11, 29));
        assert!(f64::from_le_bytes(bytes[13..21].try_into().unwrap()).is_nan());
    }
}
