//! Rates, amounts and prices as a user types them: `1.5 ton/ac`, `12000 lb`, `38 USD/ton`.
//!
//! `ton` is the US short ton of 2000 lb and `t` the tonne of 1000 kg; a rate that mixes one country's
//! ton with the other's area is refused, since nobody can tell which ton was meant.

use std::str::FromStr;

use survey::units::{
    KG_PER_LB, KG_PER_SHORT_TON, KG_PER_T, L_PER_US_GAL, M2_PER_AC, M2_PER_HA, tidy,
};

use crate::plan::Dose;
use crate::rate::{MassRate, VolumeRate};

/// The largest rates believed: ten times what is spread of lime and of slurry (common practice).
const MOST_KG_PER_HA: f64 = 300_000.0;
const MOST_L_PER_HA: f64 = 1_000_000.0;

/// A mass in kilograms or a volume in litres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// Kilograms.
    Mass(f64),
    /// Litres.
    Volume(f64),
}

/// One of a unit of mass or volume.
fn unit_amount(unit: &str) -> Option<Amount> {
    // `Mg` is a tonne; `mg` would be a thousandth of a gram.
    Some(match unit {
        "Mg" => Amount::Mass(KG_PER_T),
        "mg" => return None,
        _ => match unit.to_lowercase().as_str() {
            "lb" | "lbs" => Amount::Mass(KG_PER_LB),
            "ton" | "tons" => Amount::Mass(KG_PER_SHORT_TON),
            "t" | "tonne" | "tonnes" => Amount::Mass(KG_PER_T),
            "kg" => Amount::Mass(1.0),
            "gal" => Amount::Volume(L_PER_US_GAL),
            "l" => Amount::Volume(1.0),
            "m3" => Amount::Volume(1_000.0),
            _ => return None,
        },
    })
}

/// Square metres of a unit of area.
fn unit_area_m2(unit: &str) -> Option<f64> {
    match unit.to_lowercase().as_str() {
        "ac" | "acre" => Some(M2_PER_AC),
        "ha" => Some(M2_PER_HA),
        _ => None,
    }
}

/// A finite number, not negative, and what stands behind it.
fn split<'t>(text: &'t str, example: &str) -> Result<(f64, &'t str), String> {
    let text = text.trim();
    let end = text
        .find(|c: char| c.is_alphabetic() || c == '/')
        .ok_or_else(|| format!("{text:?} has no unit; write for example {example:?}"))?;
    let (number, unit) = text.split_at(end);
    match number.trim().parse::<f64>() {
        Ok(value) if value.is_finite() && value >= 0.0 => Ok((value, unit.trim())),
        Ok(value) if value < 0.0 => {
            Err(format!("{} is below zero; write for example {example:?}", number.trim()))
        }
        _ => Err(format!("{:?} is not a number; write for example {example:?}", number.trim())),
    }
}

/// Least and most that a hopper or tank holds, kilograms or litres.
const LEAST_HOPPER: f64 = 1.0;
const MOST_HOPPER: f64 = 1e6;
const AMOUNT: &str = "12000 lb";

/// What a hopper or tank holds: `12000 lb`, `6 ton`, `1200 gal`, `4 t`, `3000 L`.
impl FromStr for Amount {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (number, unit) = split(text, AMOUNT)?;
        let (size, amount) = match unit_amount(unit) {
            Some(Amount::Mass(kg)) => (number * kg, Amount::Mass(number * kg)),
            Some(Amount::Volume(litres)) => (number * litres, Amount::Volume(number * litres)),
            None => return Err(format!("unknown unit {unit:?}; use lb, ton, kg, t, gal or L")),
        };
        match (LEAST_HOPPER..=MOST_HOPPER).contains(&size) {
            true => Ok(amount),
            false => Err(format!(
                "{text:?} is no hopper or tank: from {LEAST_HOPPER} to {MOST_HOPPER} kg or L"
            )),
        }
    }
}

/// A rate of a product as typed.
#[derive(Debug, Clone, PartialEq)]
pub struct Rate {
    /// The rate, a mass or a volume.
    pub dose: Dose,
    /// The number typed.
    pub number: f64,
    /// The unit typed: `ton/ac`.
    pub unit: String,
}

impl Rate {
    /// In the unit it was typed in: `1.5 ton/ac`.
    pub fn text(&self) -> String {
        format!("{} {}", tidy(self.number, 3), self.unit)
    }

    /// So many times the rate.
    pub(crate) fn times(&self, factor: f64) -> Rate {
        let dose = match self.dose {
            Dose::Mass(rate) => Dose::Mass(MassRate::from_kg_per_ha(rate.kg_per_ha() * factor)),
            Dose::Volume(rate) => Dose::Volume(VolumeRate::from_l_per_ha(rate.l_per_ha() * factor)),
            depth @ Dose::Depth(_) => depth,
        };
        Rate { dose, number: self.number * factor, unit: self.unit.clone() }
    }
}

const RATE: &str = "1.5 ton/ac";

impl FromStr for Rate {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (number, unit) = split(text, RATE)?;
        let (of, area) = unit
            .split_once('/')
            .ok_or_else(|| format!("{unit:?} is no rate on an area; write for example {RATE:?}"))?;
        let (of, area) = (of.trim(), area.trim());
        let unknown =
            || format!("unknown unit {unit:?}; use ton/ac, lb/ac, gal/ac, t/ha, kg/ha or L/ha");
        let area_m2 = unit_area_m2(area).ok_or_else(unknown)?;
        refuse_mixed_tons(of, area)?;
        let per_ha = number * M2_PER_HA / area_m2;
        let dose = match unit_amount(of).ok_or_else(unknown)? {
            Amount::Mass(kg) => Dose::Mass(MassRate::from_kg_per_ha(per_ha * kg)),
            Amount::Volume(litres) => Dose::Volume(VolumeRate::from_l_per_ha(per_ha * litres)),
        };
        refuse_unbelievable(dose)?;
        Ok(Rate { dose, number, unit: format!("{of}/{area}") })
    }
}

/// `ton/ha` and `t/ac`: a short ton or a tonne?
fn refuse_mixed_tons(of: &str, area: &str) -> Result<(), String> {
    let is_hectare = area.eq_ignore_ascii_case("ha");
    match (of.to_lowercase().as_str(), is_hectare) {
        ("ton" | "tons", true) | ("t" | "tonne" | "tonnes", false) => Err(format!(
            "{of}/{area} may mean short tons of 2000 lb or tonnes of 1000 kg; write ton/ac for short \
             tons, t/ha for tonnes"
        )),
        _ => Ok(()),
    }
}

/// Refuses nothing at all, and more than anybody spreads.
pub(crate) fn refuse_unbelievable(dose: Dose) -> Result<(), String> {
    let (rate, most, unit) = match dose {
        Dose::Mass(rate) => (rate.kg_per_ha(), MOST_KG_PER_HA, "kg/ha"),
        Dose::Volume(rate) => (rate.l_per_ha(), MOST_L_PER_HA, "L/ha"),
        Dose::Depth(_) => return Ok(()),
    };
    match rate {
        0.0 => Err("a rate of nothing; to leave ground alone write do = \"leave\"".into()),
        rate if rate <= most => Ok(()),
        rate => Err(format!(
            "{} {unit} is more than is ever spread ({} {unit}); is the unit right?",
            tidy(rate, 0),
            tidy(most, 0)
        )),
    }
}

/// A price.
#[derive(Debug, Clone, PartialEq)]
pub struct Price {
    /// Of one of [`Price::per`].
    pub amount: f64,
    /// Three letters, as `USD`; `None` where the plan's own is meant.
    pub currency: Option<String>,
    /// What it buys.
    pub per: PricedUnit,
    /// As it was typed.
    pub text: String,
}

/// What a price is for one of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PricedUnit {
    /// So much of a product.
    Amount(Amount),
    /// So many square metres.
    Area(f64),
}

/// The highest price, of one of any unit in any currency.
const MOST_PRICE: f64 = 1e9;
const PRICE: &str = "38 USD/ton";

impl FromStr for Price {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (amount, rest) = split(text, PRICE)?;
        if amount > MOST_PRICE {
            return Err(format!("{text:?} is above {MOST_PRICE}; is that right?"));
        }
        let (currency, unit) = rest.split_once('/').ok_or_else(|| {
            format!("{text:?} does not say for what; write for example {PRICE:?}")
        })?;
        let (currency, unit) = (currency.trim(), unit.trim());
        let per = unit_amount(unit)
            .map(PricedUnit::Amount)
            .or_else(|| unit_area_m2(unit).map(PricedUnit::Area))
            .ok_or_else(|| {
                format!("unknown unit {unit:?}; use ton, lb, t, kg, gal, L, ac or ha behind the /")
            })?;
        let currency = match currency {
            "" => None,
            code => Some(code.parse::<Currency>()?.0),
        };
        Ok(Price { amount, currency, per, text: text.trim().to_owned() })
    }
}

/// Code of a currency: three letters, as ISO 4217 has them.
#[derive(Debug, Clone, PartialEq)]
pub struct Currency(pub String);

impl FromStr for Currency {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text.len() == 3 && text.bytes().all(|byte| byte.is_ascii_alphabetic()) {
            true => Ok(Currency(text.to_uppercase())),
            false => Err(format!("{text:?} is no currency; use three letters such as USD")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kg_per_ha(text: &str) -> f64 {
        match text.parse::<Rate>().unwrap().dose {
            Dose::Mass(rate) => rate.kg_per_ha(),
            other => panic!("{other:?}"),
        }
    }

    /// 1 short ton/ac is 907.18474 kg on 0.40468564224 ha.
    #[test]
    fn rates_are_turned_into_kilograms_per_hectare() {
        assert!((kg_per_ha("1 ton/ac") - 2_241.702_311_58).abs() < 1e-6);
        assert!((kg_per_ha("100 lb/ac") - 112.085_115_579).abs() < 1e-6);
        assert!((kg_per_ha("2.5 t/ha") - 2_500.0).abs() < 1e-9);
        assert!((kg_per_ha("2.5 Mg/ha") - 2_500.0).abs() < 1e-9);
        assert!((kg_per_ha("300kg/ha") - 300.0).abs() < 1e-9);
    }

    /// 1 US gal/ac is 3.785411784 L on 0.40468564224 ha.
    #[test]
    fn volumes_are_turned_into_litres_per_hectare() {
        let litres = |text: &str| match text.parse::<Rate>().unwrap().dose {
            Dose::Volume(rate) => rate.l_per_ha(),
            other => panic!("{other:?}"),
        };
        assert!((litres("1 gal/ac") - 9.353_956_02).abs() < 1e-6);
        assert!((litres("200 L/ha") - 200.0).abs() < 1e-9);
    }

    #[test]
    fn a_rate_that_cannot_be_meant_is_refused() {
        for (text, part) in [
            ("1.5", "has no unit"),
            ("1.5 ton", "no rate on an area"),
            ("x ton/ac", "not a number"),
            ("-1 ton/ac", "below zero"),
            (&format!("1{} ton/ac", "0".repeat(310)), "not a number"),
            ("1 bag/ac", "unknown unit"),
            ("1 ton/mi2", "unknown unit"),
            ("1 ton/ha", "short tons"),
            ("1 t/ac", "short tons"),
            ("5 mg/ha", "unknown unit"),
            ("0 ton/ac", "do = \"leave\""),
            ("1500 ton/ac", "is the unit right?"),
        ] {
            let problem = text.parse::<Rate>().unwrap_err();
            assert!(problem.contains(part), "{text}: {problem}");
        }
    }

    #[test]
    fn hoppers_hold_masses_or_volumes() {
        assert_eq!("6 ton".parse::<Amount>(), "12000 lb".parse::<Amount>());
        assert_eq!("2 m3".parse(), Ok(Amount::Volume(2_000.0)));
        assert!("0 lb".parse::<Amount>().unwrap_err().contains("from 1 to 1000000 kg or L"));
        assert!("2000000 kg".parse::<Amount>().unwrap_err().contains("is no hopper"));
        assert!("3 sacks".parse::<Amount>().unwrap_err().contains("unknown unit"));
    }

    #[test]
    fn prices_are_for_something_in_a_currency() {
        let price: Price = "38 usd/ton".parse().unwrap();
        assert_eq!((price.amount, price.currency.as_deref()), (38.0, Some("USD")));
        assert_eq!(price.per, PricedUnit::Amount(Amount::Mass(KG_PER_SHORT_TON)));
        let own: Price = "12.5/ac".parse().unwrap();
        assert_eq!((own.currency, own.per), (None, PricedUnit::Area(M2_PER_AC)));
        assert!("38 USD".parse::<Price>().unwrap_err().contains("for what"));
        assert!("38 dollars/ton".parse::<Price>().unwrap_err().contains("three letters"));
        assert!("2000000000 USD/t".parse::<Price>().unwrap_err().contains("is that right?"));
        assert!("38 USD/box".parse::<Price>().unwrap_err().contains("unknown unit"));
    }
}
