//! Stored numbers in words.

use survey::units::tidy;

use super::designator::designator;
use super::dictionary::known;
use super::document::Document;
use super::elements::{Presentation, Variable};

/// Decimals of a number without a presentation: the finest step that is known, 0.0001 L/ha.
const MOST_DECIMALS: usize = 4;

impl Document {
    fn presentation(&self, variable: &Variable) -> Option<&Presentation> {
        self.presentations.get(variable.presentation.as_ref()?)
    }

    /// What a variable sets, with its unit: `tillage depth in cm`, `gypsum in kg/ha`.
    pub fn quantity(&self, variable: &Variable) -> String {
        let entry = known(variable.ddi);
        let product = variable.product.as_ref().and_then(|id| self.products.get(id));
        let name = match (product, entry) {
            (Some(product), _) => designator(product, "product without a name"),
            (None, Some(entry)) => entry.name.to_owned(),
            (None, None) => format!("data entry {}", variable.ddi),
        };
        match (self.presentation(variable), entry) {
            (Some(presentation), _) => format!("{name} in {}", unit(presentation)),
            (None, Some(entry)) => format!("{name} in {}", entry.unit),
            (None, None) => format!("{name} in steps of an unknown unit"),
        }
    }

    /// A stored number with its unit, as the terminal is told to show it and, where that differs, as it
    /// is: `35.6 cm`, `14 in (35.6 cm)`.
    pub fn value(&self, variable: &Variable, stored: i32) -> String {
        let meant = known(variable.ddi).map(|entry| {
            let number = f64::from(stored) / entry.steps_per_unit;
            (tidy(number, MOST_DECIMALS), entry.unit)
        });
        let shown = self.presentation(variable).map(|presentation| {
            let number = (f64::from(stored) + presentation.offset) * presentation.scale;
            (tidy(number, presentation.decimals), unit(presentation))
        });
        match (meant, shown) {
            (Some((meant, unit)), Some((shown, other))) if unit == other => match meant == shown {
                true => format!("{meant} {unit}"),
                false => format!("{meant} {unit} (shown as {shown} {unit})"),
            },
            (Some((meant, unit)), Some((shown, other))) => {
                format!("{shown} {other} ({meant} {unit})")
            }
            (Some((meant, unit)), None) => format!("{meant} {unit}"),
            (None, Some((shown, unit))) => {
                format!("{shown} {unit} ({stored} of data entry {})", variable.ddi)
            }
            (None, None) => format!("{stored} of data entry {}", variable.ddi),
        }
    }

    /// The same, with what 0 means for the machine.
    pub fn value_with_zero(&self, variable: &Variable) -> String {
        let value = self.value(variable, variable.stored);
        match known(variable.ddi).filter(|_| variable.stored == 0) {
            None => value,
            Some(entry) => match value.strip_suffix(')') {
                Some(start) => format!("{start}; {})", entry.at_zero),
                None => format!("{value} ({})", entry.at_zero),
            },
        }
    }
}

fn unit(presentation: &Presentation) -> String {
    designator(&presentation.unit, "an unnamed unit")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn variable(ddi: u16, presentation: Option<&str>) -> Variable {
        Variable { ddi, stored: 0, product: None, presentation: presentation.map(str::to_owned) }
    }

    fn document(scale: f64, decimals: usize, unit: &str) -> Document {
        let presentation = Presentation { offset: 0.0, scale, decimals, unit: unit.into() };
        let mut document = Document::default();
        document.presentations.insert("VPN1".into(), presentation);
        document
    }

    #[test]
    fn values_are_shown_as_the_terminal_shows_them() {
        let inches = document(0.039_370_078_74, 1, "in");
        assert_eq!(inches.value(&variable(51, Some("VPN1")), 356), "14 in (35.6 cm)");
        assert_eq!(inches.value(&variable(51, None), 356), "35.6 cm");
        assert_eq!(inches.quantity(&variable(51, Some("VPN1"))), "tillage depth in in");
        let kilograms = document(0.01, 0, "kg/ha");
        assert_eq!(kilograms.value(&variable(6, Some("VPN1")), 150_000), "1500 kg/ha");
        assert_eq!(
            kilograms.value(&variable(6, Some("VPN1")), 25_060),
            "250.6 kg/ha (shown as 251 kg/ha)"
        );
        assert_eq!(kilograms.value(&variable(999, None), 7), "7 of data entry 999");
        assert_eq!(kilograms.value_with_zero(&variable(6, None)), "0 kg/ha (off)");
        let zero = inches.value_with_zero(&variable(51, Some("VPN1")));
        assert_eq!(zero, "0 in (0 cm; tool at the surface)");
    }
}
