//! A threshold with the words the user typed it in, which are the words printed.

use std::fmt;
use std::str::FromStr;

use crate::units::{Pressure, UnitSystem, tidy};

/// A pressure that ends the loose layer, and how it is written.
#[derive(Debug, Clone, PartialEq)]
pub struct Threshold {
    pressure: Pressure,
    text: String,
}

impl Threshold {
    /// A threshold written in the units of a system: `200 psi`, `1379 kPa`.
    pub fn in_units(pressure: Pressure, units: UnitSystem) -> Self {
        Threshold { pressure, text: units.pressure_text(pressure) }
    }

    /// A threshold as a file gives it: in psi where that is a whole number, as a file in psi has it,
    /// else in kPa.
    pub fn plain(pressure: Pressure) -> Self {
        let psi = pressure.psi();
        let text = match (psi - psi.round()).abs() <= 1e-9 * psi {
            true => format!("{} psi", psi.round()),
            false => format!("{} kPa", tidy(pressure.kpa(), 1)),
        };
        Threshold { pressure, text }
    }

    /// The pressure.
    pub fn pressure(&self) -> Pressure {
        self.pressure
    }

    /// Without the space, for the name of a column: `200psi`, `2MPa`.
    pub fn in_a_name(&self) -> String {
        self.text.replace(' ', "")
    }
}

/// As [`Pressure`] is read; number and unit are kept: `2MPa` stays 2 MPa, whatever the units of the
/// output.
impl FromStr for Threshold {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let pressure: Pressure = text.parse()?;
        let split =
            text.find(char::is_alphabetic).expect("a pressure was read, so there is a unit");
        let (number, unit) = text.split_at(split);
        let number: f64 = number.trim().parse().expect("a pressure was read, so there is a number");
        let unit = match unit.trim().to_lowercase().as_str() {
            "kpa" => "kPa",
            "mpa" => "MPa",
            "pa" => "Pa",
            "bar" => "bar",
            _ => "psi",
        };
        Ok(Threshold { pressure, text: format!("{} {unit}", tidy(number, 6)) })
    }
}

/// Number and unit: `200 psi`, `2 MPa`.
impl fmt::Display for Threshold {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(&self.text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_unit_of_a_file_is_kept() {
        let plain = |pressure| Threshold::plain(pressure).to_string();
        assert_eq!(plain(Pressure::from_psi(180.0)), "180 psi");
        assert_eq!(plain(Pressure::from_kpa(1379.0)), "1379 kPa");
        assert_eq!(plain(Pressure::from_kpa(2000.0)), "2000 kPa");
    }

    #[test]
    fn the_unit_typed_is_the_unit_printed() {
        let printed = |text: &str| text.parse::<Threshold>().unwrap().to_string();
        assert_eq!(
            ["200psi", " 2 mpa ", "1379kPa", "13.80 bar"].map(printed),
            ["200 psi", "2 MPa", "1379 kPa", "13.8 bar"]
        );
        let threshold: Threshold = "2MPa".parse().unwrap();
        assert_eq!(threshold.in_a_name(), "2MPa");
        assert!((threshold.pressure().kpa() - 2000.0).abs() < 1e-9);
        assert!("200".parse::<Threshold>().unwrap_err().contains("no unit"));
    }
}
