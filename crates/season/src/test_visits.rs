//! Visits for tests: spots 30 m apart in rows of five.

use mapping::{DepthMap, MapSettings, map_survey};
use survey::{
    CheckSettings, Date, Depth, Insertion, LonLat, Measured, Outcome, Survey, UnitSystem, check,
};

use crate::visit::Visit;

/// What was read at a spot, inches.
#[derive(Clone, Copy)]
pub(crate) enum At {
    /// The threshold was reached there.
    Reached(f64),
    /// It was not, so deep.
    Deeper(f64),
    /// A stone.
    Stone,
}

/// A spot with its name, where it has one.
pub(crate) type NamedSpot<'a> = (Option<&'a str>, At);

/// A visit of a day in 2025 with a name and what was read at each spot.
pub(crate) fn visit(day: [i8; 2], moisture_pct: Option<f64>, spots: &[NamedSpot]) -> Visit {
    let places: Vec<[f64; 2]> =
        (0..spots.len()).map(|k| [(k % 5) as f64, (k / 5) as f64]).collect();
    visit_at(day, moisture_pct, spots, &places)
}

/// The same with places, in steps of about 30 m east and north.
pub(crate) fn visit_at(
    [month, day]: [i8; 2],
    moisture_pct: Option<f64>,
    spots: &[NamedSpot],
    places: &[[f64; 2]],
) -> Visit {
    let date = Date::constant(2025, month, day);
    let insertion = |(k, (spot, place)): (usize, (&NamedSpot, &[f64; 2]))| {
        let ((name, at), [east, north]) = (spot, place);
        let place = LonLat { lon_deg: -95.62 + 3.6e-4 * east, lat_deg: 41.93 + 2.7e-4 * north };
        let outcome = match *at {
            At::Reached(inches) => Outcome::Reached(Depth::from_in(inches)),
            At::Deeper(inches) => Outcome::NotReached { probed_to: Depth::from_in(inches) },
            At::Stone => Outcome::Refused,
        };
        Insertion {
            id: name.map(Into::into),
            date: Some(date),
            moisture_pct,
            ..Insertion::at(k + 1, place, Measured::Once(outcome))
        }
    };
    let survey = Survey {
        features: spots.len(),
        insertions: spots.iter().zip(places).enumerate().map(insertion).collect(),
        ..Survey::default()
    };
    let survey = check(&survey, None, &CheckSettings::default()).unwrap();
    let map: DepthMap = map_survey(&survey, &MapSettings::new(UnitSystem::Us)).unwrap();
    Visit { name: date.to_string(), survey, map }
}
