//! Doses and totals with their units, for people.

use survey::UnitSystem;
use survey::units::{M2_PER_AC, M2_PER_HA, tidy};

use crate::operation::{Operation, OperationKind};
use crate::plan::Dose;

/// Kilograms in one pound, exact (international avoirdupois pound).
const KG_PER_LB: f64 = 0.453_592_37;
/// Kilograms in one short ton of 2000 pounds, exact.
const KG_PER_SHORT_TON: f64 = 2_000.0 * KG_PER_LB;
/// Litres in one US gallon, exact (231 cubic inches).
const L_PER_GAL: f64 = 3.785_411_784;
/// Hectares in one acre.
const HA_PER_AC: f64 = M2_PER_AC / M2_PER_HA;

impl Dose {
    /// The dose with its unit: `14 in`, `1.5 ton/ac`, `35.5 cm`, `500 kg/ha`. Tons are short tons of
    /// 2000 lb; small rates are in pounds or kilograms.
    pub fn text(self, units: UnitSystem) -> String {
        match self {
            Dose::Depth(depth) => units.depth_text(depth),
            Dose::Mass(rate) => {
                let per_ac = rate.kg_per_ha() * HA_PER_AC;
                match units {
                    UnitSystem::Us => format!("{}/ac", mass_text(per_ac, units)),
                    UnitSystem::Si => format!("{}/ha", mass_text(rate.kg_per_ha(), units)),
                }
            }
            Dose::Volume(rate) => {
                let per_ac = rate.l_per_ha() * HA_PER_AC;
                match units {
                    UnitSystem::Us => format!("{}/ac", volume_text(per_ac, units)),
                    UnitSystem::Si => format!("{}/ha", volume_text(rate.l_per_ha(), units)),
                }
            }
        }
    }
}

impl Operation {
    /// The product needed in all with its unit; `None` for tillage.
    pub fn total_text(&self, units: UnitSystem) -> Option<String> {
        let total = self.total?;
        match self.kind {
            OperationKind::Loosen => None,
            OperationKind::AmendMass { .. } => Some(mass_text(total, units)),
            OperationKind::AmendVolume { .. } => Some(volume_text(total, units)),
        }
    }
}

/// A mass in tons or tonnes, from a fifth of one on, or in pounds or kilograms.
fn mass_text(kg: f64, units: UnitSystem) -> String {
    let (large, large_kg, small, small_kg) = match units {
        UnitSystem::Us => ("ton", KG_PER_SHORT_TON, "lb", KG_PER_LB),
        UnitSystem::Si => ("t", 1_000.0, "kg", 1.0),
    };
    match kg >= 0.2 * large_kg {
        true => format!("{} {large}", tidy(kg / large_kg, 2)),
        false => format!("{} {small}", tidy(kg / small_kg, 1)),
    }
}

fn volume_text(litres: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => format!("{} gal", tidy(litres / L_PER_GAL, 1)),
        UnitSystem::Si => format!("{} L", tidy(litres, 1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rate::{MassRate, VolumeRate};
    use survey::Depth;

    /// 1 short ton/ac = 907.18474 kg / 0.40468564224 ha = 2241.7023 kg/ha; 1 US gal/ac = 9.353958 L/ha
    /// (worked from the exact factors of NIST SP 811, 2008, appendix B).
    #[test]
    fn doses_carry_their_unit() {
        let mass = |kg_per_ha| Dose::Mass(MassRate::from_kg_per_ha(kg_per_ha));
        assert_eq!(mass(3_362.553_5).text(UnitSystem::Us), "1.5 ton/ac");
        assert_eq!(mass(224.170_23).text(UnitSystem::Us), "200 lb/ac");
        assert_eq!(mass(3_362.6).text(UnitSystem::Si), "3.36 t/ha");
        assert_eq!(mass(150.0).text(UnitSystem::Si), "150 kg/ha");
        let volume = Dose::Volume(VolumeRate::from_l_per_ha(93.539_58));
        assert_eq!(volume.text(UnitSystem::Us), "10 gal/ac");
        assert_eq!(Dose::Depth(Depth::from_in(14.0)).text(UnitSystem::Us), "14 in");
        assert_eq!(Dose::Depth(Depth::from_in(14.0)).text(UnitSystem::Si), "35.6 cm");
    }
}
