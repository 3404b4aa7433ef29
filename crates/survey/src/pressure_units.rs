//! Pressures as numbers of the reader's unit.

use crate::units::{Pressure, UnitSystem};

impl UnitSystem {
    /// Short name of the pressure unit: `psi` or `kPa`.
    pub fn pressure_unit(self) -> &'static str {
        match self {
            UnitSystem::Us => "psi",
            UnitSystem::Si => "kPa",
        }
    }

    /// A pressure as a number of [`UnitSystem::pressure_unit`].
    pub fn pressure(self, pressure: Pressure) -> f64 {
        match self {
            UnitSystem::Us => pressure.psi(),
            UnitSystem::Si => pressure.kpa(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pressure_is_a_number_of_the_readers_unit() {
        let threshold = Pressure::from_psi(200.0);
        assert!((UnitSystem::Us.pressure(threshold) - 200.0).abs() < 1e-9);
        assert!((UnitSystem::Si.pressure(threshold) - 1_378.951_458).abs() < 1e-6);
        assert_eq!(UnitSystem::Si.pressure_unit(), "kPa");
    }
}
