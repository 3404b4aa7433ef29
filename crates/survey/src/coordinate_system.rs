//! Coordinates of another system than WGS 84 longitude/latitude, and the way to that.
//!
//! PROJ's data base is inside the program and no grid of datum shifts with it. Between two datums
//! PROJ then takes the best way without one: from NAD 83 to WGS 84 that is no shift at all, right
//! to about 4 m, 2 m for NAD83(2011) (PROJ's own stated accuracy of these operations).

use std::fmt;
use std::str::FromStr;

use proj::{Area, Proj};

use crate::position::LonLat;

/// How far beyond its area of use a system's coordinates are still taken, degrees: fields at the
/// edge of a zone, never a mistaken system.
const MARGIN_DEG: f64 = 3.0;
/// A description longer than this is none.
const LONGEST_WKT: usize = 20_000;

/// A coordinate system that a file or a user names: an EPSG code, or well-known text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CoordinateSystem(String);

impl CoordinateSystem {
    /// The system a `.prj` file describes in well-known text (OGC 01-009 or ISO 19162).
    ///
    /// # Errors
    /// When the text is not well-known text. Whether PROJ knows it, [`ToLonLat::new`] tells.
    pub fn from_wkt(text: &str) -> Result<Self, String> {
        let text = text.trim();
        let keyword = text.split('[').next().unwrap_or_default();
        let known = ["GEOGCS", "PROJCS", "GEOGCRS", "PROJCRS", "GEODCRS", "COMPD_CS", "BOUNDCRS"];
        let sound = text.len() <= LONGEST_WKT && is_balanced(text);
        match known.contains(&keyword.trim()) && sound {
            true => Ok(CoordinateSystem(text.to_owned())),
            false => Err("does not describe a coordinate system in well-known text".into()),
        }
    }

    /// The system of an EPSG code: `EPSG:26915`, `urn:ogc:def:crs:EPSG::26915`.
    ///
    /// # Errors
    /// When the text is no such code, or PROJ does not know it.
    pub fn from_name(text: &str) -> Result<Self, String> {
        let system = text.parse()?;
        ToLonLat::new(&system)?;
        Ok(system)
    }

    /// The system that a `crs` member of GeoJSON or a user names by its EPSG code.
    fn from_code(text: &str) -> Option<Self> {
        let upper = text.trim().to_ascii_uppercase();
        let (_, code) = upper.rsplit_once("EPSG:")?;
        let code = code.rsplit(':').next()?;
        let code: u32 = code.parse().ok().filter(|code| (1024..=999_999).contains(code))?;
        Some(CoordinateSystem(format!("EPSG:{code}")))
    }

    /// Whether this is WGS 84 longitude and latitude, so that nothing is to be converted.
    pub fn is_wgs84_degrees(&self) -> bool {
        self.0 == "EPSG:4326" || (self.0.starts_with("GEOG") && names_wgs84(&self.0))
    }

    /// Its name: the code, or the first name in the well-known text.
    pub fn name(&self) -> &str {
        match self.0.starts_with("EPSG:") {
            true => &self.0,
            false => self.0.split('"').nth(1).unwrap_or("a system without a name"),
        }
    }
}

impl fmt::Display for CoordinateSystem {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A system by its EPSG code: `EPSG:26915`, `urn:ogc:def:crs:EPSG::26915`.
impl FromStr for CoordinateSystem {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        CoordinateSystem::from_code(text)
            .ok_or_else(|| format!("{text:?} is not an EPSG code; write for example EPSG:26915"))
    }
}

/// Whether quotes and brackets are closed, the last of them at the end of the text.
fn is_balanced(text: &str) -> bool {
    let mut open = 0_usize;
    let mut quoted = false;
    for (at, c) in text.char_indices() {
        match c {
            '"' => quoted = !quoted,
            '[' if !quoted => open += 1,
            ']' if !quoted && open == 0 => return false,
            ']' if !quoted => {
                open -= 1;
                if open == 0 {
                    return at + 1 == text.len();
                }
            }
            _ => {}
        }
    }
    false
}

/// Whether a description rests on the datum WGS 84, as EPSG and Esri write it.
fn names_wgs84(text: &str) -> bool {
    let plain: String = text.chars().filter(char::is_ascii_alphanumeric).collect();
    let plain = plain.to_ascii_uppercase();
    ["WGS1984", "WGS84", "WORLDGEODETICSYSTEM1984"].iter().any(|name| plain.contains(name))
}

/// The way from one coordinate system to WGS 84 longitude and latitude. It cannot change threads.
pub struct ToLonLat {
    proj: Proj,
    area: Option<Area>,
    name: String,
    on_wgs84: bool,
}

impl ToLonLat {
    /// Prepares the way; that takes some 10 ms.
    ///
    /// # Errors
    /// When PROJ does not know the system.
    pub fn new(system: &CoordinateSystem) -> Result<Self, String> {
        let unknown = || format!("PROJ does not know the coordinate system {system}");
        let crs = Proj::new(&system.0).map_err(|_| unknown())?;
        let proj = Proj::new_known_crs(&system.0, "EPSG:4326", None).map_err(|_| unknown())?;
        let described = crs.proj_info().description.unwrap_or_default();
        let name = match described.is_empty() || described == system.name() {
            true => system.name().to_owned(),
            false => format!("{} ({described})", system.name()),
        };
        let area = crs.area_of_use().ok().and_then(|(area, _)| area);
        let on_wgs84 = names_wgs84(&described) || names_wgs84(&system.0);
        Ok(ToLonLat { proj, area, name, on_wgs84 })
    }

    /// The system's name as EPSG writes it: `EPSG:26915 (NAD83 / UTM zone 15N)`.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Whether the system rests on the datum WGS 84: places then keep their full accuracy.
    pub fn is_on_wgs84(&self) -> bool {
        self.on_wgs84
    }

    /// The place at so much east and so much north, in the system's own unit.
    ///
    /// # Errors
    /// When the numbers name no place within the system's area of use: another system, or east and
    /// north changed.
    pub fn convert(&self, east: f64, north: f64) -> Result<LonLat, String> {
        let place = self.proj.convert((east, north)).ok();
        let place = place.map(|(lon_deg, lat_deg): (f64, f64)| LonLat { lon_deg, lat_deg });
        let given = LonLat { lon_deg: east, lat_deg: north };
        match place.filter(|place| place.is_on_earth()) {
            // Metres would be next to the system's origin, where no field lies.
            Some(place) if given.is_on_earth() && (place.lat_deg - north).abs() > 1.0 => {
                Err(format!("{east}, {north} looks like degrees, not like {}", self.name))
            }
            Some(place) if self.covers(place) => Ok(place),
            Some(LonLat { lon_deg, lat_deg }) => Err(format!(
                "{east}, {north} is at longitude {lon_deg:.3}, latitude {lat_deg:.3}, outside the \
                 area of {}",
                self.name
            )),
            None => Err(format!("{east}, {north} is no place in {}", self.name)),
        }
    }

    fn covers(&self, place: LonLat) -> bool {
        let Some(area) = self.area else {
            return true;
        };
        let wide = area.east - area.west;
        let wide = if wide < 0.0 { wide + 360.0 } else { wide };
        let east_of_west = (place.lon_deg - area.west + MARGIN_DEG).rem_euclid(360.0);
        let in_lat = area.south - MARGIN_DEG..=area.north + MARGIN_DEG;
        in_lat.contains(&place.lat_deg) && east_of_west <= wide + 2.0 * MARGIN_DEG
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn way(text: &str) -> ToLonLat {
        ToLonLat::new(&text.parse().unwrap()).unwrap()
    }

    #[test]
    fn a_place_comes_back_from_its_plane() {
        let place = LonLat { lon_deg: -95.62, lat_deg: 41.93 };
        let there = crate::Utm::for_place(place).unwrap().project(place).unwrap();
        for code in ["EPSG:32615", "urn:ogc:def:crs:EPSG::26915", "epsg:26915"] {
            let back = way(code).convert(there.easting_m, there.northing_m).unwrap();
            assert!((back.lon_deg - place.lon_deg).abs() < 1e-7, "{code} {back:?}");
            assert!((back.lat_deg - place.lat_deg).abs() < 1e-7, "{code} {back:?}");
        }
        assert!(way("EPSG:32615").is_on_wgs84());
        assert!(!way("EPSG:26915").is_on_wgs84());
        assert_eq!(way("EPSG:26915").name(), "EPSG:26915 (NAD83 / UTM zone 15N)");
    }

    #[test]
    fn degrees_stay_degrees_longitude_first() {
        let back = way("EPSG:4269").convert(-95.62, 41.93).unwrap();
        assert!((back.lon_deg + 95.62).abs() < 1e-9 && (back.lat_deg - 41.93).abs() < 1e-9);
        let feet = way("EPSG:3417");
        assert!(feet.convert(4_000_000.0, 3_500_000.0).is_ok(), "{}", feet.name());
    }

    #[test]
    fn numbers_of_another_system_are_refused() {
        let utm = way("EPSG:32615");
        for (east, north) in [(-95.62, 41.93), (4_645_000.0, 282_000.0), (f64::NAN, 1.0)] {
            assert!(utm.convert(east, north).is_err(), "{east} {north}");
        }
    }

    #[test]
    fn unknown_systems_are_refused() {
        assert!("26915".parse::<CoordinateSystem>().is_err());
        assert!("EPSG:x".parse::<CoordinateSystem>().is_err());
        assert!(ToLonLat::new(&"EPSG:999999".parse().unwrap()).is_err());
        assert!(CoordinateSystem::from_wkt("+proj=utm +zone=15").is_err());
        for text in ["PROJCS[\"x\"", "PROJCS[\"x]\"", "PROJCS[\"x\"]]", "PROJCS"] {
            assert!(CoordinateSystem::from_wkt(text).is_err(), "{text}");
        }
    }
}
