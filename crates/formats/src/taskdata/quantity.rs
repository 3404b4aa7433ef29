//! Doses as the whole numbers that are stored, and how a terminal shows them.

use plan::{Dose, Operation, OperationKind};
use survey::UnitSystem;
use survey::units::tidy;

use super::dictionary::{
    LARGE_VOLUME_PER_AREA, MASS_CONTENT, MASS_PER_AREA, TILLAGE_DEPTH, VOLUME_CONTENT,
    VOLUME_PER_AREA, known,
};
use super::xml::Element;

/// The largest volume per area that fits the finer of the two numbers for it, 2³¹ − 1 steps, L/ha.
const MOST_FINE_L_PER_HA: f64 = i32::MAX as f64 / 10_000.0;

/// What an operation sets, as the standard names it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Quantity {
    /// Number in the data dictionary.
    pub ddi: u16,
    /// What the terminal is to show for one stored step.
    scale: f64,
    unit: &'static str,
    decimals: u8,
}

impl Quantity {
    /// For all doses of an operation. Volumes take the finer number of the dictionary unless one of the
    /// doses is too large for it.
    pub fn of(operation: &Operation, doses: &[Dose], units: UnitSystem) -> Quantity {
        let amounts = doses.iter().filter_map(|&dose| amount(&operation.kind, dose));
        let largest = amounts.clone().fold(0.0, f64::max);
        let ddi = match operation.kind {
            OperationKind::Loosen => TILLAGE_DEPTH,
            OperationKind::AmendMass { .. } => MASS_PER_AREA,
            OperationKind::AmendVolume { .. } if largest <= MOST_FINE_L_PER_HA => VOLUME_PER_AREA,
            OperationKind::AmendVolume { .. } => LARGE_VOLUME_PER_AREA,
        };
        let (scale, unit) = shown_as(ddi, units);
        let smallest = amounts.filter(|&amount| amount > 0.0).fold(f64::INFINITY, f64::min);
        let decimals = match operation.kind {
            OperationKind::Loosen => 1,
            _ => decimals(smallest * steps_per_amount(ddi) * scale),
        };
        Quantity { ddi, scale, unit, decimals }
    }

    /// A dose as the whole number that is stored: rounded to the nearest, halves away from zero.
    ///
    /// # Errors
    /// Says what is wrong with it.
    pub fn stored(&self, kind: &OperationKind, dose: Dose) -> Result<i32, String> {
        let amount = amount(kind, dose).ok_or("is of another kind than the operation's")?;
        if !amount.is_finite() {
            return Err("is not a number".into());
        }
        if amount < 0.0 {
            return Err("is below zero".into());
        }
        // First to a millionth of a step, so that a half that unit factors made one is still a half.
        let steps = ((amount * steps_per_amount(self.ddi) * 1e6).round() / 1e6).round();
        match steps <= f64::from(i32::MAX) {
            true => Ok(steps as i32),
            false => Err("is larger than the standard's 32 bits hold".into()),
        }
    }

    /// How a terminal is to show it (VPN).
    pub fn presentation(&self, id: &str) -> Element {
        Element::new("VPN")
            .with("A", id)
            .with("B", 0)
            .with("C", tidy(self.scale, 12))
            .with("D", self.decimals)
            .with("E", self.unit)
    }
}

/// Number in the dictionary that says how a product is measured.
pub(super) fn product_content(kind: &OperationKind) -> Option<(&str, u16)> {
    match kind {
        OperationKind::Loosen => None,
        OperationKind::AmendMass { product } => Some((product, MASS_CONTENT)),
        OperationKind::AmendVolume { product } => Some((product, VOLUME_CONTENT)),
    }
}

/// A dose in centimetres, kg/ha or L/ha; `None` where it is not of the operation's kind.
fn amount(kind: &OperationKind, dose: Dose) -> Option<f64> {
    match (kind, dose) {
        (OperationKind::Loosen, Dose::Depth(depth)) => Some(depth.cm()),
        (OperationKind::AmendMass { .. }, Dose::Mass(rate)) => Some(rate.kg_per_ha()),
        (OperationKind::AmendVolume { .. }, Dose::Volume(rate)) => Some(rate.l_per_ha()),
        _ => None,
    }
}

fn steps_per_amount(ddi: u16) -> f64 {
    known(ddi).expect("every number that is written is known").steps_per_unit
}

/// Shown units in one stored step, and their name: 1 mm in inches, 1 mg/m² in pounds per acre, 0.01 mm³/m²
/// and 0.1 ml/m² in US gallons per acre, each worked from the exact factors (NIST SP 811, 2008, appendix
/// B.8).
fn shown_as(ddi: u16, units: UnitSystem) -> (f64, &'static str) {
    match (units, ddi) {
        (UnitSystem::Us, TILLAGE_DEPTH) => (0.039_370_078_740, "in"),
        (UnitSystem::Us, MASS_PER_AREA) => (0.008_921_791_216, "lb/ac"),
        (UnitSystem::Us, VOLUME_PER_AREA) => (0.000_010_690_664, "gal/ac"),
        (UnitSystem::Us, LARGE_VOLUME_PER_AREA) => (0.106_906_636_670, "gal/ac"),
        _ => {
            let entry = known(ddi).expect("every number that is written is known");
            (1.0 / entry.steps_per_unit, entry.unit)
        }
    }
}

/// Decimals that show three figures of a rate.
fn decimals(smallest: f64) -> u8 {
    match smallest {
        100.0.. => 0,
        10.0.. => 1,
        _ => 2,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plan::{MassRate, VolumeRate};
    use survey::Depth;

    fn operation(kind: OperationKind) -> Operation {
        let nothing = Dose::Depth(Depth::from_m(0.0));
        Operation {
            slug: "o".into(),
            name: "O".into(),
            kind,
            basis: None,
            treated_m2: 0.0,
            total: None,
            hopper: None,
            fills: None,
            cost: None,
            out_of_field: nothing,
            signal_lost: nothing,
        }
    }

    fn mass() -> OperationKind {
        OperationKind::AmendMass { product: "gypsum".into() }
    }

    fn volume() -> OperationKind {
        OperationKind::AmendVolume { product: "slurry".into() }
    }

    fn stored(kind: OperationKind, dose: Dose) -> Result<(u16, i32), String> {
        let operation = operation(kind);
        let quantity = Quantity::of(&operation, &[dose], UnitSystem::Si);
        quantity.stored(&operation.kind, dose).map(|steps| (quantity.ddi, steps))
    }

    #[test]
    fn doses_are_stored_in_the_steps_of_the_dictionary() {
        let depth = |cm| stored(OperationKind::Loosen, Dose::Depth(Depth::from_cm(cm)));
        let kg = |kg_per_ha| stored(mass(), Dose::Mass(MassRate::from_kg_per_ha(kg_per_ha)));
        let litres = |l_per_ha| stored(volume(), Dose::Volume(VolumeRate::from_l_per_ha(l_per_ha)));
        assert_eq!(depth(35.0), Ok((51, 350)));
        assert_eq!(depth(0.0), Ok((51, 0)));
        assert_eq!(kg(1_500.0), Ok((6, 150_000)));
        assert_eq!(kg(250.5), Ok((6, 25_050)));
        assert_eq!(litres(250.0), Ok((1, 2_500_000)));
        assert_eq!(litres(214_748.364_7), Ok((1, 2_147_483_647)));
        assert_eq!(litres(214_749.0), Ok((588, 214_749)));
        // 14 in are 355.6 mm.
        assert_eq!(stored(OperationKind::Loosen, Dose::Depth(Depth::from_in(14.0))), Ok((51, 356)));
    }

    #[test]
    fn halves_are_rounded_away_from_zero() {
        for (cm, mm) in [(0.05, 1), (0.15, 2), (0.25, 3), (35.55, 356), (35.549, 355)] {
            let dose = Dose::Depth(Depth::from_cm(cm));
            assert_eq!(stored(OperationKind::Loosen, dose), Ok((51, mm)), "{cm}");
        }
    }

    #[test]
    fn what_cannot_be_stored_is_refused() {
        let kg = |kg_per_ha| stored(mass(), Dose::Mass(MassRate::from_kg_per_ha(kg_per_ha)));
        assert!(kg(f64::NAN).unwrap_err().contains("not a number"));
        assert!(kg(f64::INFINITY).unwrap_err().contains("not a number"));
        assert!(kg(-1.0).unwrap_err().contains("below zero"));
        assert!(kg(21_474_836.5).unwrap_err().contains("32 bits"));
        assert!(kg(1e300).unwrap_err().contains("32 bits"));
        assert_eq!(kg(21_474_836.47), Ok((6, i32::MAX)));
        let depth = Dose::Depth(Depth::from_cm(3.0));
        assert!(stored(mass(), depth).unwrap_err().contains("another kind"));
    }

    /// 1 lb/ac = 0.45359237 kg / 0.40468564224 ha = 1.120851 kg/ha; 1 US gal/ac = 9.353958 L/ha.
    #[test]
    fn the_terminal_shows_the_readers_units() {
        let shown = |kind: OperationKind, dose: Dose| {
            let operation = operation(kind);
            let quantity = Quantity::of(&operation, &[dose], UnitSystem::Us);
            let steps = quantity.stored(&operation.kind, dose).unwrap();
            let shown = tidy(f64::from(steps) * quantity.scale, usize::from(quantity.decimals));
            format!("{shown} {}", quantity.unit)
        };
        assert_eq!(shown(OperationKind::Loosen, Dose::Depth(Depth::from_in(14.0))), "14 in");
        let rate = Dose::Mass(MassRate::from_kg_per_ha(3_362.553));
        assert_eq!(shown(mass(), rate), "3000 lb/ac");
        let rate = |gallons| Dose::Volume(VolumeRate::from_l_per_ha(gallons * 9.353_958));
        assert_eq!(shown(volume(), rate(12.5)), "12.5 gal/ac");
        assert_eq!(shown(volume(), rate(30_000.0)), "30000 gal/ac");
    }
}
