//! What smoothing did to the zones' borders, in a sentence for the terminal.

use mapping::{BorderMoved, DepthMap};
use survey::UnitSystem;
use survey::units::tidy;

/// How far borders may have moved, how much ground changed zone by it, and where most.
pub fn smoothing(map: &DepthMap) -> String {
    sentence(map.border_tolerance_m, &map.borders, map.classes.units())
}

fn sentence(tolerance_m: f64, borders: &[BorderMoved], units: UnitSystem) -> String {
    if tolerance_m == 0.0 {
        return "zone borders run along the edges of cells".into();
    }
    let within = format!(
        "zone borders smoothed, within {} of the cells' edges",
        distance(tolerance_m, units)
    );
    let moved_m2 = borders.iter().fold(0.0, |sum, border| sum + border.moved_m2());
    // Of equals the first.
    let most = borders.iter().rev().max_by(|a, b| a.moved_m2().total_cmp(&b.moved_m2()));
    match most {
        Some(most) if moved_m2 > 0.0 => format!(
            "{within}: {} changed zone, most between {} and {} ({})",
            area(moved_m2, units),
            most.first,
            most.second.as_deref().unwrap_or("ground without a value"),
            area(most.moved_m2(), units),
        ),
        _ => format!("{within}; no ground changed zone"),
    }
}

/// A tolerance, which may be a few millimetres.
fn distance(distance_m: f64, units: UnitSystem) -> String {
    match distance_m < 0.1 {
        true => format!("{} mm", tidy(distance_m * 1e3, 3)),
        false => units.distance_text(distance_m),
    }
}

/// An area that may be small; some ground is not none.
fn area(area_m2: f64, units: UnitSystem) -> String {
    let (area, unit) = (units.area(area_m2), units.area_unit());
    match area < 0.005 {
        true => format!("less than 0.01 {unit}"),
        false => format!("{area:.2} {unit}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn border(
        first: &str,
        second: Option<&str>,
        to_first_m2: f64,
        to_second_m2: f64,
    ) -> BorderMoved {
        BorderMoved {
            first: first.into(),
            second: second.map(Into::into),
            length_m: 100.0,
            to_first_m2,
            to_second_m2,
        }
    }

    #[test]
    fn the_border_that_moved_most_is_named() {
        let borders = [
            border("Z1", Some("Z2"), 300.0, 100.0),
            border("Z2", Some("Z3"), 10.0, 400.0),
            border("Z3", None, 200.0, 210.0),
        ];
        assert_eq!(
            sentence(2.0, &borders, UnitSystem::Si),
            "zone borders smoothed, within 2 m of the cells' edges: 0.12 ha changed zone, most between Z2 \
             and Z3 (0.04 ha)"
        );
        let to_nothing = sentence(2.0, &borders[2..], UnitSystem::Us);
        assert!(to_nothing.contains("within 6.6 ft"), "{to_nothing}");
        assert!(
            to_nothing.contains("0.10 ac changed zone, most between Z3 and ground without a value")
        );
    }

    #[test]
    fn little_is_not_nothing() {
        let little = sentence(0.02, &[border("Z1", Some("Z2"), 1.0, 0.0)], UnitSystem::Us);
        assert!(little.contains("within 20 mm") && little.contains("less than 0.01 ac changed"));
        assert!(sentence(2.0, &[], UnitSystem::Us).ends_with("; no ground changed zone"));
        assert!(sentence(0.0, &[], UnitSystem::Us).ends_with("along the edges of cells"));
    }
}
