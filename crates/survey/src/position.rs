//! Where something is: on the globe ([`LonLat`]) or in the field's metric plane ([`EastNorth`]).

/// A place on the globe, WGS 84 degrees, longitude first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LonLat {
    /// Degrees east of Greenwich, −180 to 180.
    pub lon_deg: f64,
    /// Degrees north of the equator, −90 to 90.
    pub lat_deg: f64,
}

impl LonLat {
    /// Whether the two numbers are finite and name a place on Earth.
    pub fn is_on_earth(self) -> bool {
        self.lon_deg.abs() <= 180.0 && self.lat_deg.abs() <= 90.0
    }

    /// The same two numbers in the other order.
    pub fn swapped(self) -> LonLat {
        LonLat { lon_deg: self.lat_deg, lat_deg: self.lon_deg }
    }
}

/// A place in the field's UTM zone, metres, east first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EastNorth {
    /// Metres east, with UTM's false easting of 500 000 m.
    pub easting_m: f64,
    /// Metres north, with UTM's false northing of 10 000 000 m on the southern half.
    pub northing_m: f64,
}

impl EastNorth {
    /// Distance to another place in the plane, metres.
    pub fn distance_m(self, other: EastNorth) -> f64 {
        (self.easting_m - other.easting_m).hypot(self.northing_m - other.northing_m)
    }
}

impl From<LonLat> for geo::Coord {
    fn from(place: LonLat) -> Self {
        geo::Coord { x: place.lon_deg, y: place.lat_deg }
    }
}

impl From<EastNorth> for geo::Coord {
    fn from(place: EastNorth) -> Self {
        geo::Coord { x: place.easting_m, y: place.northing_m }
    }
}

impl From<geo::Coord> for EastNorth {
    fn from(coord: geo::Coord) -> Self {
        EastNorth { easting_m: coord.x, northing_m: coord.y }
    }
}
