//! Rates of a product on the ground.

/// Mass of a product on an area, kilograms per square metre inside.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct MassRate(f64);

impl MassRate {
    /// A rate of so many kilograms per hectare.
    pub fn from_kg_per_ha(kg_per_ha: f64) -> Self {
        MassRate(kg_per_ha / survey::units::M2_PER_HA)
    }

    /// The rate in kilograms per hectare.
    pub fn kg_per_ha(self) -> f64 {
        self.0 * survey::units::M2_PER_HA
    }
}

/// Volume of a product on an area, cubic metres per square metre inside.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct VolumeRate(f64);

impl VolumeRate {
    /// A rate of so many litres per hectare.
    pub fn from_l_per_ha(l_per_ha: f64) -> Self {
        VolumeRate(l_per_ha / 1e3 / survey::units::M2_PER_HA)
    }

    /// The rate in litres per hectare.
    pub fn l_per_ha(self) -> f64 {
        self.0 * 1e3 * survey::units::M2_PER_HA
    }
}
