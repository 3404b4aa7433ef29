//! Names of columns that hold the cone index at one depth: `ci_psi_1in`, `psi_2in`, `kpa_5cm`,
//! `CI kPa 7.5 cm`.

use survey::{Depth, DepthUnit};

use crate::names::{CONE_INDEX, plain};
use crate::pressure_unit::PressureUnit;

/// The pressure's unit, the depth's unit and the depth that a name tells.
pub(crate) fn wide(key: &str) -> Option<(PressureUnit, DepthUnit, Depth)> {
    let key = key.trim().trim_end_matches([')', ']']);
    let unit_at = key.rfind(|c: char| !c.is_ascii_alphabetic()).map(|at| at + 1)?;
    let before_unit = key.get(..unit_at)?.trim_end_matches(['_', ' ', '-']);
    let unit = DepthUnit::from_name(key.get(unit_at..)?)?;
    let is_digit = |c: char| c.is_ascii_digit() || c == '.';
    let stem = before_unit.trim_end_matches(is_digit);
    let number: f64 = before_unit[stem.len()..].parse().ok()?;
    let stem = plain(stem);
    let stem =
        ["_at", "_depth", "_d"].iter().find_map(|end| stem.strip_suffix(end)).unwrap_or(&stem);
    let pressure = match stem.rsplit_once('_') {
        Some((name, pressure)) if CONE_INDEX.contains(&name) => pressure,
        Some(_) => return None,
        None => stem,
    };
    let pressure = PressureUnit::from_name(pressure)?;
    number.is_finite().then(|| (pressure, unit, unit.depth(number)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn unit_and_depth_stand_in_the_name() {
        let inches = |n: f64| Some((PressureUnit::Psi, DepthUnit::Inches, Depth::from_in(n)));
        assert_eq!(wide("ci_psi_1in"), inches(1.0));
        assert_eq!(wide("psi_12in"), inches(12.0));
        assert_eq!(wide("Cone index (psi) 2 in"), inches(2.0));
        assert_eq!(wide("CI psi at 2.5 in"), inches(2.5));
        let kpa =
            |cm| Some((PressureUnit::Kilopascals, DepthUnit::Centimetres, Depth::from_cm(cm)));
        assert_eq!(wide("kpa_5cm"), kpa(5.0));
        assert_eq!(wide("ci_kpa_7.5cm"), kpa(7.5));
        for key in ["depth_in", "psi", "psi_in", "threshold_psi_2in", "x_2in", "2in", "psi_2", "é"]
        {
            assert_eq!(wide(key), None, "{key}");
        }
    }
}
