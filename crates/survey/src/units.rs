//! Units and their factors, each factor in this one place.
//!
//! Inside the program lengths are metres, pressures pascals and areas square metres. A single
//! value is a newtype, so that a depth cannot be mistaken for a distance on the ground; what a
//! person reads is made by [`UnitSystem`].

use std::fmt;
use std::str::FromStr;

/// Metres in one inch, exact (international inch, 1959 agreement).
pub const M_PER_IN: f64 = 0.0254;
/// Metres in one foot, exact (international foot, 12 inches).
pub const M_PER_FT: f64 = 0.3048;
/// Metres in one mile, exact (international mile, 5280 feet).
pub const M_PER_MI: f64 = 1_609.344;
/// Square metres in one hectare, exact.
pub const M2_PER_HA: f64 = 10_000.0;
/// Square metres in one acre, exact (international acre, 43 560 square feet).
pub const M2_PER_AC: f64 = 4_046.856_422_4;
/// Kilograms in one pound, exact (international avoirdupois pound, 1959 agreement).
pub const KG_PER_LB: f64 = 0.453_592_37;
/// Kilograms in one US short ton, exact: 2000 pounds.
pub const KG_PER_SHORT_TON: f64 = 2_000.0 * KG_PER_LB;
/// Kilograms in one tonne, exact.
pub const KG_PER_T: f64 = 1_000.0;
/// Litres in one US liquid gallon, exact: 231 cubic inches.
pub const L_PER_US_GAL: f64 = 3.785_411_784;
/// Newtons in one pound-force, exact (0.45359237 kg × 9.80665 m/s²).
pub const N_PER_LBF: f64 = 4.448_221_615_260_5;
/// Pascals in one pound-force per square inch: [`N_PER_LBF`] / [`M_PER_IN`]².
pub const PA_PER_PSI: f64 = N_PER_LBF / (M_PER_IN * M_PER_IN);

/// A depth below the soil surface, in metres, positive downwards and finite.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Depth(f64);

impl Depth {
    /// A depth of so many metres.
    pub fn from_m(m: f64) -> Self {
        Depth(m)
    }

    /// A depth of so many inches.
    pub fn from_in(inches: f64) -> Self {
        Depth(inches * M_PER_IN)
    }

    /// A depth of so many centimetres.
    pub fn from_cm(cm: f64) -> Self {
        Depth(cm / 100.0)
    }

    /// The depth in metres.
    pub fn m(self) -> f64 {
        self.0
    }

    /// The depth in centimetres.
    pub fn cm(self) -> f64 {
        self.0 * 100.0
    }

    /// The depth in both units, for findings that do not know their reader: `9 in (22.9 cm)`.
    pub fn in_both_units(self) -> String {
        format!("{} in ({} cm)", tidy(self.inches(), 1), tidy(self.cm(), 1))
    }

    /// The depth in inches.
    pub fn inches(self) -> f64 {
        self.0 / M_PER_IN
    }
}

/// A pressure, in pascals: cone index, or the threshold that ends the loose layer.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Pressure(f64);

impl Pressure {
    /// A pressure of so many pascals.
    pub fn from_pa(pa: f64) -> Self {
        Pressure(pa)
    }

    /// A pressure of so many pounds-force per square inch.
    pub fn from_psi(psi: f64) -> Self {
        Pressure(psi * PA_PER_PSI)
    }

    /// A pressure of so many kilopascals.
    pub fn from_kpa(kpa: f64) -> Self {
        Pressure(kpa * 1e3)
    }

    /// The pressure in pascals.
    pub fn pa(self) -> f64 {
        self.0
    }

    /// The pressure in pounds-force per square inch.
    pub fn psi(self) -> f64 {
        self.0 / PA_PER_PSI
    }

    /// The pressure in kilopascals.
    pub fn kpa(self) -> f64 {
        self.0 / 1e3
    }

    /// Whether two pressures are the same threshold: equal to within 0.1 %, which makes 1379 kPa
    /// and 200 psi one threshold, and 300 psi and 2 MPa (3 % apart) two.
    pub fn is_same_threshold(self, other: Pressure) -> bool {
        (self.0 - other.0).abs() <= 1e-3 * self.0.max(other.0)
    }
}

/// A pressure with its unit, as a user types it: `200psi`, `1379 kPa`, `2MPa`, `13.8 bar`.
impl FromStr for Pressure {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (number, unit) = number_and_unit(text, "200psi or 1379kPa")?;
        let pa_per_unit = match unit.as_str() {
            "psi" => PA_PER_PSI,
            "kpa" => 1e3,
            "mpa" => 1e6,
            "bar" => 1e5,
            "pa" => 1.0,
            _ => {
                return Err(format!("unknown pressure unit {unit:?}; use psi, kPa, MPa or bar"));
            }
        };
        match number > 0.0 {
            true => Ok(Pressure(number * pa_per_unit)),
            false => Err(format!("a pressure must be above zero, not {number}")),
        }
    }
}

/// A depth or length with its unit, as a user types it: `18in`, `5 cm`, `40mm`.
impl FromStr for Depth {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (number, unit) = number_and_unit(text, "18in or 45cm")?;
        let unit = crate::DepthUnit::from_name(&unit)
            .ok_or_else(|| format!("unknown unit {unit:?}; use in, cm, mm or m"))?;
        match number >= 0.0 {
            true => Ok(unit.depth(number)),
            false => Err(format!("a depth cannot be negative ({number})")),
        }
    }
}

/// An area on the ground, in square metres, finite and not negative.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Area(f64);

impl Area {
    /// The area in square metres.
    pub fn m2(self) -> f64 {
        self.0
    }
}

/// An area with its unit, as a user types it: `0.25ac`, `0.1 ha`, `1000m2`.
impl FromStr for Area {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (number, unit) = number_and_unit(text, "0.25ac or 0.1ha")?;
        let m2_per_unit = match unit.as_str() {
            "ac" => M2_PER_AC,
            "ha" => M2_PER_HA,
            "m2" | "m²" => 1.0,
            _ => return Err(format!("unknown area unit {unit:?}; use ac, ha or m2")),
        };
        match number >= 0.0 {
            true => Ok(Area(number * m2_per_unit)),
            false => Err(format!("an area cannot be negative ({number})")),
        }
    }
}

/// A length on the ground, in metres, finite and not negative.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Length(f64);

impl Length {
    /// The length in metres.
    pub fn m(self) -> f64 {
        self.0
    }
}

/// A length with its unit, as a user types it: `6ft`, `2 m`, `50cm`.
impl FromStr for Length {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (number, unit) = number_and_unit(text, "6ft or 2m")?;
        let m_per_unit = match unit.as_str() {
            "ft" => M_PER_FT,
            "in" => M_PER_IN,
            "m" => 1.0,
            "cm" => 0.01,
            "mm" => 0.001,
            _ => return Err(format!("unknown unit {unit:?}; use ft, in, m, cm or mm")),
        };
        match number >= 0.0 {
            true => Ok(Length(number * m_per_unit)),
            false => Err(format!("a length cannot be negative ({number})")),
        }
    }
}

/// A finite number and the unit behind it, in lower case.
fn number_and_unit(text: &str, example: &str) -> Result<(f64, String), String> {
    let text = text.trim();
    let split = text
        .find(|c: char| c.is_alphabetic())
        .ok_or_else(|| format!("{text:?} has no unit; write for example {example}"))?;
    let (number, unit) = text.split_at(split);
    match number.trim().parse::<f64>() {
        Ok(value) if value.is_finite() => Ok((value, unit.to_lowercase())),
        _ => Err(format!("{:?} is not a number", number.trim())),
    }
}

/// The units of what a person reads. Files for machines name their unit in each field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnitSystem {
    /// Inches, psi, acres, feet.
    Us,
    /// Centimetres, kPa, hectares, metres.
    Si,
}

impl UnitSystem {
    /// Short name of the depth unit: `in` or `cm`.
    pub fn depth_unit(self) -> &'static str {
        match self {
            UnitSystem::Us => "in",
            UnitSystem::Si => "cm",
        }
    }

    /// Short name of the area unit: `ac` or `ha`.
    pub fn area_unit(self) -> &'static str {
        match self {
            UnitSystem::Us => "ac",
            UnitSystem::Si => "ha",
        }
    }

    /// A depth as a number of [`UnitSystem::depth_unit`].
    pub fn depth(self, depth: Depth) -> f64 {
        match self {
            UnitSystem::Us => depth.inches(),
            UnitSystem::Si => depth.cm(),
        }
    }

    /// The depth that is so many of [`UnitSystem::depth_unit`].
    pub fn depth_from(self, number: f64) -> Depth {
        match self {
            UnitSystem::Us => Depth::from_in(number),
            UnitSystem::Si => Depth::from_cm(number),
        }
    }

    /// An area in square metres as a number of [`UnitSystem::area_unit`].
    pub fn area(self, area_m2: f64) -> f64 {
        match self {
            UnitSystem::Us => area_m2 / M2_PER_AC,
            UnitSystem::Si => area_m2 / M2_PER_HA,
        }
    }

    /// A pressure with its unit, for people: `200 psi`, `1379 kPa`.
    pub fn pressure_text(self, pressure: Pressure) -> String {
        match self {
            UnitSystem::Us => format!("{:.0} psi", pressure.psi()),
            UnitSystem::Si => format!("{:.0} kPa", pressure.kpa()),
        }
    }

    /// A distance on the ground with its unit, for people: `30 ft`, `9.1 m`.
    pub fn distance_text(self, distance_m: f64) -> String {
        match self {
            UnitSystem::Us => format!("{} ft", tidy(distance_m / M_PER_FT, 1)),
            UnitSystem::Si => format!("{} m", tidy(distance_m, 1)),
        }
    }

    /// A way to walk with its unit, for people: `850 ft`, `2.4 mi`; `850 m`, `3.8 km`.
    pub fn way_text(self, way_m: f64) -> String {
        let (small, small_m, large, large_m) = match self {
            UnitSystem::Us => ("ft", M_PER_FT, "mi", M_PER_MI),
            UnitSystem::Si => ("m", 1.0, "km", 1_000.0),
        };
        match way_m >= large_m {
            true => format!("{:.1} {large}", way_m / large_m),
            false => format!("{:.0} {small}", way_m / small_m),
        }
    }

    /// A depth with its unit, for people: `7.5 in`, `19 cm`.
    pub fn depth_text(self, depth: Depth) -> String {
        format!("{} {}", tidy(self.depth(depth), 1), self.depth_unit())
    }
}

impl fmt::Display for UnitSystem {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(match self {
            UnitSystem::Us => "us",
            UnitSystem::Si => "si",
        })
    }
}

/// A number with at most so many decimals and no trailing zeros: `7`, `7.5`, never `-0`.
pub fn tidy(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    let text = match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.'),
        false => &text,
    };
    if text == "-0" { "0".into() } else { text.into() }
}

/// A number with its sign, as print has it, at most so many decimals: `+3`, `−14.8` with a true minus
/// (U+2212); `0` has none.
pub fn signed(number: f64, decimals: usize) -> String {
    match tidy(number.abs(), decimals) {
        nought if nought == "0" => nought,
        text if number < 0.0 => format!("−{text}"),
        text => format!("+{text}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_has_a_true_minus_and_nothing_has_no_sign() {
        assert_eq!([signed(3.0, 1), signed(-14.84, 1)], ["+3", "−14.8"]);
        assert_eq!([0.0, -0.0, 0.004, -0.004].map(|number| signed(number, 2)), ["0"; 4]);
    }

    /// NIST SP 811 (2008), appendix B.8: 1 psi = 6.894 757 kPa, 1 acre = 4046.873 m² is the US
    /// survey acre; the international acre here is 43 560 × 0.3048² m².
    #[test]
    fn factors_are_the_published_ones() {
        assert!((PA_PER_PSI - 6_894.757_293_168_361).abs() < 1e-9);
        assert!((KG_PER_SHORT_TON - 907.184_74).abs() < 1e-9);
        assert!((L_PER_US_GAL - 231.0 * 1e3 * M_PER_IN * M_PER_IN * M_PER_IN).abs() < 1e-12);
        assert!((M2_PER_AC - 43_560.0 * 0.3048 * 0.3048).abs() < 1e-9);
        assert!((Pressure::from_psi(200.0).pa() - 1_378_951.458_633_672_2).abs() < 1e-6);
    }

    #[test]
    fn rod_marks_come_back_as_whole_inches() {
        for mark in 0..=24 {
            assert_eq!(tidy(Depth::from_in(f64::from(mark)).inches(), 6), mark.to_string());
        }
    }

    #[test]
    fn pressure_is_read_with_its_unit() {
        let psi: Pressure = "200psi".parse().unwrap();
        assert!((psi.psi() - 200.0).abs() < 1e-12);
        assert!(psi.is_same_threshold("1379 kPa".parse().unwrap()));
        assert!(psi.is_same_threshold("1.379 MPa".parse().unwrap()));
        assert!("200".parse::<Pressure>().unwrap_err().contains("no unit"));
        assert!("20 acres".parse::<Pressure>().unwrap_err().contains("unknown"));
        assert!("-2 psi".parse::<Pressure>().unwrap_err().contains("above zero"));
    }

    #[test]
    fn area_is_read_with_its_unit() {
        let m2 = |text: &str| text.parse::<Area>().map(Area::m2);
        assert_eq!(m2("1 ha"), Ok(10_000.0));
        assert_eq!(m2("1000m2"), Ok(1_000.0));
        assert_eq!(m2("0ac"), Ok(0.0));
        assert!(m2("0.25").unwrap_err().contains("no unit"));
        assert!(m2("-1ha").unwrap_err().contains("negative"));
    }

    #[test]
    fn length_is_read_with_its_unit() {
        let m = |text: &str| text.parse::<Length>().map(Length::m);
        assert_eq!(m("2 ft"), Ok(0.6096));
        assert!((m("100in").unwrap() - 2.54).abs() < 1e-12);
        assert_eq!(m("2.5 M"), Ok(2.5));
        assert_eq!(m("50cm"), Ok(0.5));
        assert_eq!(m("0mm"), Ok(0.0));
        assert!(m("2").unwrap_err().contains("no unit"));
        assert!(m("2 km").unwrap_err().contains("unknown"));
        assert!(m("-1m").unwrap_err().contains("negative"));
    }

    #[test]
    fn three_hundred_psi_is_not_two_megapascals() {
        let psi = Pressure::from_psi(300.0);
        assert!(!psi.is_same_threshold(Pressure::from_pa(2e6)));
    }

    #[test]
    fn a_long_way_is_in_the_large_unit() {
        assert_eq!(UnitSystem::Us.way_text(259.08), "850 ft");
        assert_eq!(UnitSystem::Us.way_text(1_609.344 * 2.44), "2.4 mi");
        assert_eq!(UnitSystem::Si.way_text(999.0), "999 m");
        assert_eq!(UnitSystem::Si.way_text(3_800.0), "3.8 km");
    }

    #[test]
    fn tidy_drops_zeros_and_the_sign_of_nothing() {
        assert_eq!(tidy(7.50, 2), "7.5");
        assert_eq!(tidy(-0.001, 1), "0");
        assert_eq!(tidy(120.0, 0), "120");
    }
}
