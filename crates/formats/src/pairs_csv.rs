//! Spots probed on two visits as a table: RFC 4180 (IETF, October 2005), section 2, with line feeds. UTF-8,
//! comma, decimal point, a header; degrees with eight decimals, depths in the user's unit.
//!
//! `earlier_at_least` and `later_at_least` are true where the threshold was not reached and the depth is the
//! depth probed. `change_bound` says what the change then is: `exact`, `at most`, `at least` or `unknown`, and
//! the change of an unknown one is empty.

use season::{MatchedBy, Pair, Pairs, ReadingChange};
use survey::{Depth, Reading, UnitSystem, Utm};

use crate::plan_csv::field;

/// One line for each spot, in the order of the earlier visit; places are those of the earlier visit.
pub fn pairs_csv(pairs: &Pairs, utm: Utm, units: UnitSystem) -> String {
    let unit = units.depth_unit();
    let header = format!(
        "id,later_id,latitude,longitude,earlier_depth_{unit},earlier_at_least,later_depth_{unit},later_at_least,\
         change_{unit},change_bound,matched_by,apart_m\n"
    );
    header + &pairs.pairs.iter().map(|pair| line(pair, utm, units) + "\n").collect::<String>()
}

fn line(pair: &Pair, utm: Utm, units: UnitSystem) -> String {
    let place = utm.unproject(pair.earlier_place);
    let depth = |reading: Reading| number(reading.at_least().cm(), units);
    let change = match pair.change() {
        ReadingChange::Unknown => String::new(),
        _ => number(pair.as_read_cm(), units),
    };
    [
        field(&pair.id),
        field(&pair.later_id),
        format!("{:.8}", place.lat_deg),
        format!("{:.8}", place.lon_deg),
        depth(pair.earlier),
        pair.earlier.is_not_reached().to_string(),
        depth(pair.later),
        pair.later.is_not_reached().to_string(),
        change,
        pair.change().bound_name().into(),
        match pair.matched_by {
            MatchedBy::Name => "name".into(),
            MatchedBy::Place => "place".into(),
        },
        format!("{:.2}", pair.apart_m()),
    ]
    .join(",")
}

/// With at most four decimals.
fn number(cm: f64, units: UnitSystem) -> String {
    survey::units::tidy(units.depth(Depth::from_cm(cm)), 4)
}

#[cfg(test)]
mod tests {
    use survey::{EastNorth, LonLat};

    use super::*;

    #[test]
    fn a_line_a_spot_with_its_units_and_bounds() {
        let utm = Utm::for_place(LonLat { lon_deg: -93.6, lat_deg: 42.0 }).unwrap();
        let place = EastNorth { easting_m: 450_000.0, northing_m: 4_650_000.0 };
        let beside = EastNorth { easting_m: 450_003.0, northing_m: 4_650_004.0 };
        let reached = Reading::Reached(Depth::from_in(3.0));
        let deeper = Reading::NotReached { probed_to: Depth::from_in(18.0) };
        let pair = |id: &str, earlier, later| Pair {
            id: id.into(),
            later_id: "B".into(),
            matched_by: MatchedBy::Place,
            earlier_place: place,
            later_place: beside,
            earlier,
            later,
            earlier_spot: 0,
            later_spot: 0,
        };
        let pairs = Pairs {
            pairs: vec![pair("=A", deeper, reached), pair("C,D", deeper, deeper)],
            only_earlier: 0,
            only_later: 0,
            within: season::PairsWithin::all_m(10.0),
            notes: Vec::new(),
        };
        let table = pairs_csv(&pairs, utm, UnitSystem::Us);
        let LonLat { lon_deg, lat_deg } = utm.unproject(place);
        let where_ = format!("{lat_deg:.8},{lon_deg:.8}");
        let expected = format!(
            "id,later_id,latitude,longitude,earlier_depth_in,earlier_at_least,later_depth_in,later_at_least,\
             change_in,change_bound,matched_by,apart_m\n\
             '=A,B,{where_},18,true,3,false,-15,at most,place,5.00\n\
             \"C,D\",B,{where_},18,true,18,true,,unknown,place,5.00\n"
        );
        assert_eq!(table, expected);
        assert!(
            pairs_csv(&pairs, utm, UnitSystem::Si)
                .contains(",45.72,true,7.62,false,-38.1,at most,")
        );
    }
}
