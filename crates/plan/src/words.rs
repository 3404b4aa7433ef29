//! Amounts and doses with their units, for people.

use survey::UnitSystem;
use survey::units::{
    KG_PER_LB, KG_PER_SHORT_TON, KG_PER_T, L_PER_US_GAL, M2_PER_AC, M2_PER_HA, tidy,
};

use crate::operation::{Operation, OperationKind};
use crate::plan::Dose;

impl Dose {
    /// The dose with its unit: `14 in`, `1.5 ton/ac` (short tons of 2000 lb), `3.36 t/ha`, `20 gal/ac`
    /// (US gallons), `187 L/ha`.
    pub fn text(self, units: UnitSystem) -> String {
        let (per_area, area) = (ha_per_area(units), units.area_unit());
        match self {
            Dose::Depth(depth) => units.depth_text(depth),
            Dose::Mass(rate) => format!("{}/{area}", mass_text(rate.kg_per_ha() * per_area, units)),
            Dose::Volume(rate) => {
                format!("{}/{area}", volume_text(rate.l_per_ha() * per_area, units))
            }
        }
    }

    /// A rate that [`Dose::text`] gives in tons as terminals show it, in pounds or kilograms: `7156 lb/ac`.
    pub fn in_small_unit(self, units: UnitSystem) -> Option<String> {
        let Dose::Mass(rate) = self else { return None };
        let kg = rate.kg_per_ha() * ha_per_area(units);
        let MassUnits { large_kg, small, small_kg, .. } = MassUnits::of(units);
        let text = || format!("{} {small}/{}", amount(kg / small_kg), units.area_unit());
        is_large(kg, large_kg).then(text)
    }
}

/// Hectares in the reader's unit of area.
fn ha_per_area(units: UnitSystem) -> f64 {
    match units {
        UnitSystem::Us => M2_PER_AC / M2_PER_HA,
        UnitSystem::Si => 1.0,
    }
}

/// The units of masses, with the kilograms in each.
struct MassUnits {
    large: &'static str,
    large_kg: f64,
    small: &'static str,
    small_kg: f64,
}

impl MassUnits {
    fn of(units: UnitSystem) -> Self {
        match units {
            UnitSystem::Us => MassUnits {
                large: "ton",
                large_kg: KG_PER_SHORT_TON,
                small: "lb",
                small_kg: KG_PER_LB,
            },
            UnitSystem::Si => {
                MassUnits { large: "t", large_kg: KG_PER_T, small: "kg", small_kg: 1.0 }
            }
        }
    }
}

/// Whether a mass is told in the large unit. A rate of just one ton may come out a rounding error below it.
fn is_large(kg: f64, large_kg: f64) -> bool {
    kg >= large_kg * (1.0 - 1e-9)
}

/// Words with a capital at their beginning.
pub fn capitalised(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Names for a message, the first twenty where there are more.
pub(crate) fn listed<T: AsRef<str>>(all: &[T]) -> String {
    const MOST: usize = 20;
    let shown: Vec<&str> = all.iter().take(MOST).map(AsRef::as_ref).collect();
    match all.len() - shown.len() {
        0 => shown.join(", "),
        more => format!("{} and {more} more", shown.join(", ")),
    }
}

impl Operation {
    /// The product needed in all with its unit; `None` for tillage.
    pub fn total_text(&self, units: UnitSystem) -> Option<String> {
        self.total.map(|total| self.kind.amount_text(total, units))
    }

    /// What the hopper or tank holds with its unit, where its size is given.
    pub fn hopper_text(&self, units: UnitSystem) -> Option<String> {
        self.hopper.map(|hopper| self.kind.amount_text(hopper, units))
    }
}

impl OperationKind {
    /// An amount of the product with its unit: kilograms of one by mass, litres of one by volume.
    pub(crate) fn amount_text(&self, amount: f64, units: UnitSystem) -> String {
        match self {
            OperationKind::AmendVolume { .. } => volume_text(amount, units),
            _ => mass_text(amount, units),
        }
    }
}

/// A mass with its unit: short tons or tonnes from one on, else pounds or kilograms.
pub fn mass_text(kg: f64, units: UnitSystem) -> String {
    let MassUnits { large, large_kg, small, small_kg } = MassUnits::of(units);
    match is_large(kg, large_kg) {
        true => format!("{} {large}", amount(kg / large_kg)),
        false => format!("{} {small}", amount(kg / small_kg)),
    }
}

/// A volume with its unit: US gallons or litres.
pub fn volume_text(litres: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => format!("{} gal", amount(litres / L_PER_US_GAL)),
        UnitSystem::Si => format!("{} L", amount(litres)),
    }
}

/// Three figures and more: what a scale or a flow meter shows.
fn amount(number: f64) -> String {
    match number {
        number if number >= 1000.0 => tidy(number, 0),
        number if number >= 100.0 => tidy(number, 1),
        number => tidy(number, 2),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rate::{MassRate, VolumeRate};
    use survey::Depth;

    #[test]
    fn doses_carry_their_unit() {
        let gypsum = Dose::Mass(MassRate::from_kg_per_ha(7378.8));
        assert_eq!(gypsum.text(UnitSystem::Us), "3.29 ton/ac");
        assert_eq!(gypsum.text(UnitSystem::Si), "7.38 t/ha");
        assert_eq!(gypsum.in_small_unit(UnitSystem::Us).as_deref(), Some("6583 lb/ac"));
        let light = Dose::Mass(MassRate::from_kg_per_ha(112.085_115_6));
        assert_eq!(light.in_small_unit(UnitSystem::Us), None);
        assert_eq!(light.text(UnitSystem::Us), "100 lb/ac");
        assert_eq!(light.text(UnitSystem::Si), "112.1 kg/ha");
        let liquid = Dose::Volume(VolumeRate::from_l_per_ha(187.079_2));
        assert_eq!(liquid.text(UnitSystem::Us), "20 gal/ac");
        assert_eq!(liquid.text(UnitSystem::Si), "187.1 L/ha");
        assert_eq!(Dose::Depth(Depth::from_in(14.0)).text(UnitSystem::Us), "14 in");
    }

    #[test]
    fn long_lists_are_cut() {
        let names: Vec<String> = (1..=22).map(|number| format!("Z{number}")).collect();
        assert_eq!(listed(&names[..2]), "Z1, Z2");
        assert!(listed(&names).ends_with("Z19, Z20 and 2 more"));
    }

    #[test]
    fn a_ton_is_two_thousand_pounds_and_a_tonne_a_thousand_kilograms() {
        assert_eq!(mass_text(1999.0 * KG_PER_LB, UnitSystem::Us), "1999 lb");
        assert_eq!(mass_text(2000.0 * KG_PER_LB, UnitSystem::Us), "1 ton");
        assert_eq!(mass_text(999.9, UnitSystem::Si), "999.9 kg");
        assert_eq!(mass_text(1000.0, UnitSystem::Si), "1 t");
    }
}
