//! The field's metric plane: one UTM zone, reached through PROJ.
//!
//! PROJ's data base is inside the program (see `.cargo/config.toml`), so no file, path or
//! environment of the machine changes a coordinate.

use std::cell::RefCell;

use geo::{GeodesicArea, MapCoords, MultiPolygon};
use proj::Proj;

use crate::error::SurveyError;
use crate::position::{EastNorth, LonLat};

/// How far from its zone's central meridian a place may lie, in degrees of the equator's length. A
/// zone is 6° wide there; one degree more on each side keeps a field that crosses the edge in one
/// plane, where the scale is still within 0.25 %. Farther north the degrees are shorter, and the
/// wide zones of Norway and Svalbard are within it.
const MAX_OFF_MERIDIAN_DEG: f64 = 4.0;

/// One zone of the Universal Transverse Mercator grid on WGS 84.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Utm {
    zone: u8,
    north: bool,
}

impl Utm {
    /// The zone that holds a place, with the exceptions for Norway (zone 32 V) and Svalbard
    /// (zones 31, 33, 35, 37 X): NGA.SIG.0012 (2014), section 7-3.
    ///
    /// # Errors
    /// [`SurveyError::OutsideUtm`] beyond 84° north or 80° south, or off the Earth.
    pub fn for_place(place: LonLat) -> Result<Utm, SurveyError> {
        let LonLat { lon_deg, lat_deg } = place;
        if !place.is_on_earth() || !(-80.0..=84.0).contains(&lat_deg) {
            return Err(SurveyError::OutsideUtm { place });
        }
        let plain = (((lon_deg + 180.0) / 6.0).floor() as i32).rem_euclid(60) as u8 + 1;
        let zone = match lat_deg {
            56.0..64.0 if (3.0..12.0).contains(&lon_deg) => 32,
            72.0..=84.0 if (0.0..42.0).contains(&lon_deg) => match lon_deg {
                ..9.0 => 31,
                ..21.0 => 33,
                ..33.0 => 35,
                _ => 37,
            },
            _ => plain,
        };
        Ok(Utm { zone, north: lat_deg >= 0.0 })
    }

    /// EPSG code: 326zz on the northern half, 327zz on the southern.
    pub fn epsg(self) -> u16 {
        (if self.north { 32_600 } else { 32_700 }) + u16::from(self.zone)
    }

    /// Name as EPSG writes it: `WGS 84 / UTM zone 15N`.
    pub fn name(self) -> String {
        let half = if self.north { 'N' } else { 'S' };
        format!("WGS 84 / UTM zone {}{half}", self.zone)
    }

    /// Longitude of the zone's central meridian, degrees.
    pub fn central_meridian_deg(self) -> f64 {
        f64::from(self.zone) * 6.0 - 183.0
    }

    /// Into the plane.
    ///
    /// # Errors
    /// [`SurveyError::FarFromField`] for a place off the Earth or too far from the zone's central
    /// meridian: PROJ would give numbers for it, but no usable ones.
    pub fn project(self, place: LonLat) -> Result<EastNorth, SurveyError> {
        let off = (place.lon_deg - self.central_meridian_deg() + 540.0).rem_euclid(360.0) - 180.0;
        let far = || SurveyError::FarFromField { place };
        if !place.is_on_earth()
            || off.abs() * place.lat_deg.to_radians().cos() > MAX_OFF_MERIDIAN_DEG
        {
            return Err(far());
        }
        let (easting_m, northing_m) = self
            .with_proj(|proj| proj.convert((place.lon_deg, place.lat_deg)))
            .map_err(|_| far())?;
        Ok(EastNorth { easting_m, northing_m })
    }

    /// Out of the plane, for a place that [`Utm::project`] could have made.
    pub fn unproject(self, place: EastNorth) -> LonLat {
        let (lon_deg, lat_deg) = self
            .with_proj(|proj| proj.project((place.easting_m, place.northing_m), true))
            .expect("the inverse of UTM is defined for every finite place near its zone");
        LonLat { lon_deg, lat_deg }
    }

    /// True area on the ground of polygons in the plane, square metres; holes are left out.
    ///
    /// The rings are taken back to the globe and measured on the ellipsoid: Karney (2013),
    /// "Algorithms for geodesics", J. Geodesy 87:43–55, the method of PROJ's own geodesics.
    pub fn ground_area_m2(self, polygons: &MultiPolygon) -> f64 {
        polygons
            .map_coords(|coord| self.unproject(coord.into()).into())
            .geodesic_area_signed()
            .abs()
    }

    /// Runs something with this thread's PROJ transformation between longitude/latitude in
    /// degrees and this zone. Making one takes 10 to 15 ms and it cannot change threads, so each
    /// thread keeps the last it used.
    fn with_proj<T>(self, run: impl FnOnce(&Proj) -> T) -> T {
        thread_local! {
            static LAST: RefCell<Option<(Utm, Proj)>> = const { RefCell::new(None) };
        }
        LAST.with_borrow_mut(|last| {
            if last.as_ref().is_none_or(|(utm, _)| *utm != self) {
                let target = format!("EPSG:{}", self.epsg());
                let proj = Proj::new_known_crs("EPSG:4326", &target, None)
                    .expect("PROJ carries EPSG:4326 and every UTM zone in its built-in data");
                *last = Some((self, proj));
            }
            let (_, proj) = last.as_ref().expect("set above");
            run(proj)
        })
    }
}
