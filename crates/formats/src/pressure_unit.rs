//! The unit a file gives a pressure in.

use survey::Pressure;
use survey::units::PA_PER_PSI;

/// The unit a file gives a pressure in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PressureUnit {
    /// Pounds-force per square inch.
    Psi,
    /// Kilopascals.
    Kilopascals,
    /// Megapascals.
    Megapascals,
    /// Bars, 100 kPa.
    Bars,
    /// Pascals.
    Pascals,
}

impl PressureUnit {
    /// The unit of a name or suffix: `psi`, `kpa`, `mpa`, `bar`, `pa`, in any case.
    pub fn from_name(name: &str) -> Option<PressureUnit> {
        match name.to_ascii_lowercase().as_str() {
            "psi" => Some(PressureUnit::Psi),
            "kpa" => Some(PressureUnit::Kilopascals),
            "mpa" => Some(PressureUnit::Megapascals),
            "bar" => Some(PressureUnit::Bars),
            "pa" => Some(PressureUnit::Pascals),
            _ => None,
        }
    }

    /// Short name: `psi`, `kPa`, `MPa`, `bar`, `Pa`.
    pub fn name(self) -> &'static str {
        match self {
            PressureUnit::Psi => "psi",
            PressureUnit::Kilopascals => "kPa",
            PressureUnit::Megapascals => "MPa",
            PressureUnit::Bars => "bar",
            PressureUnit::Pascals => "Pa",
        }
    }

    /// The pressure that is so many of this unit.
    pub fn pressure(self, number: f64) -> Pressure {
        let pa = match self {
            PressureUnit::Psi => PA_PER_PSI,
            PressureUnit::Kilopascals => 1e3,
            PressureUnit::Megapascals => 1e6,
            PressureUnit::Bars => 1e5,
            PressureUnit::Pascals => 1.0,
        };
        Pressure::from_pa(number * pa)
    }
}
