//! Visits of a made-up field for tests.

use geo::{Coord, LineString, MultiPolygon, Polygon};
use mapping::{DepthClasses, MapSettings, map_survey};
use survey::{
    Boundary, CheckSettings, Date, Depth, EastNorth, Insertion, LonLat, Measured, Outcome, Survey,
    UnitSystem, Utm, check,
};

use crate::visit::Visit;

/// South-west corner of the field, in the zone's plane.
pub(crate) const CORNER: EastNorth = EastNorth { easting_m: 448_000.0, northing_m: 4_650_000.0 };

fn utm() -> Utm {
    Utm::for_place(LonLat { lon_deg: -93.6, lat_deg: 42.0 }).unwrap()
}

fn lon_lat(east_m: f64, north_m: f64) -> LonLat {
    utm().unproject(EastNorth {
        easting_m: CORNER.easting_m + east_m,
        northing_m: CORNER.northing_m + north_m,
    })
}

/// A square field of so many metres.
pub(crate) fn boundary(side_m: f64) -> Boundary {
    let corners = [(0.0, 0.0), (side_m, 0.0), (side_m, side_m), (0.0, side_m), (0.0, 0.0)];
    let corner = |(east_m, north_m)| Coord::from(lon_lat(east_m, north_m));
    let ring: LineString = corners.into_iter().map(corner).collect();
    Boundary { name: None, polygons: MultiPolygon::new(vec![Polygon::new(ring, vec![])]) }
}

/// A probe: its name, metres east and north of the corner, and what was read.
pub(crate) type Probe = (String, [f64; 2], Outcome);

/// Reached at so many centimetres.
pub(crate) fn reached(cm: f64) -> Outcome {
    Outcome::Reached(Depth::from_cm(cm))
}

/// Not reached down to so many centimetres.
pub(crate) fn not_reached(cm: f64) -> Outcome {
    Outcome::NotReached { probed_to: Depth::from_cm(cm) }
}

/// How the field is mapped.
pub(crate) fn settings(cell_m: f64) -> MapSettings {
    MapSettings {
        cell_m: Some(cell_m),
        classes: DepthClasses::new(&[10.0, 20.0, 30.0], UnitSystem::Si).unwrap(),
        ..MapSettings::new(UnitSystem::Si)
    }
}

/// A visit to a square field of so many metres.
pub(crate) fn visit(
    day: &str,
    moisture_pct: Option<f64>,
    side_m: f64,
    probes: &[Probe],
    settings: &MapSettings,
) -> Visit {
    let insertion = |(k, (id, [east_m, north_m], outcome)): (usize, &Probe)| Insertion {
        id: Some(id.clone()).filter(|id| !id.is_empty()),
        date: day.parse::<Date>().ok(),
        moisture_pct,
        ..Insertion::at(k + 1, lon_lat(*east_m, *north_m), Measured::Once(*outcome))
    };
    let insertions: Vec<Insertion> = probes.iter().enumerate().map(insertion).collect();
    let survey = Survey { features: insertions.len(), insertions, ..Survey::default() };
    let threshold = Some("200psi".parse().unwrap());
    let check_settings = CheckSettings { threshold, ..CheckSettings::default() };
    let survey = check(&survey, Some(&boundary(side_m)), &check_settings).unwrap();
    let map = map_survey(&survey, settings).unwrap();
    Visit { name: day.into(), survey, map }
}

/// Places on a square grid of so many by so many, metres from the corner, with names.
pub(crate) fn square(count: usize, spacing_m: f64) -> Vec<(String, [f64; 2])> {
    let place = |k: usize| {
        let [column, row] = [k % count, k / count].map(|n| (n as f64 + 0.5) * spacing_m);
        (format!("P{k}"), [column, row])
    };
    (0..count * count).map(place).collect()
}
