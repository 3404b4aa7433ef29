//! Numbers of a user's unit that read back to exactly the value in memory.
//!
//! Inside the program a depth of 7 in is the nearest binary number to 0.1778 m, and dividing by
//! 0.0254 need not give 7 again. So the number that is written is found by trying: the shortest
//! decimal near the quotient from which the reader's own arithmetic makes the same bits.

use serde_json::Value;
use survey::{Depth, DepthUnit, Pressure};

use crate::pressure_unit::PressureUnit;

/// Decimals of the shortest texts that are tried before the quotient itself.
const MOST_DECIMALS: usize = 17;
/// Neighbours of the quotient, in steps of its last binary digit, that are tried on each side. One
/// multiplication is off by half a step at most, so a number that exists is this near.
const NEIGHBOURS: usize = 4;
/// The units pressures are written in, of equally short ones the first.
const UNITS: [PressureUnit; 4] =
    [PressureUnit::Psi, PressureUnit::Kilopascals, PressureUnit::Megapascals, PressureUnit::Bars];
/// The largest whole number below which every whole number is a binary number.
const WHOLE: f64 = 9_007_199_254_740_992.0;

/// The shortest number near `guess` that `make` turns into `wanted`, where there is one.
fn number_making(wanted: f64, guess: f64, make: impl Fn(f64) -> f64) -> Option<f64> {
    let is_it = |number: &f64| make(*number) == wanted;
    let rounded = |decimals| format!("{guess:.decimals$}").parse().ok();
    let (mut below, mut above) = (guess, guess);
    let around = (0..NEIGHBOURS).flat_map(|_| {
        (below, above) = (below.next_down(), above.next_up());
        [below, above]
    });
    (0..=MOST_DECIMALS).filter_map(rounded).chain([guess]).chain(around).find(is_it)
}

/// A depth as a number of its unit; in metres where no number of that unit gives it exactly.
pub(crate) fn depth(depth: Depth, unit: DepthUnit) -> (f64, DepthUnit) {
    let m = depth.m();
    let guess = m / unit.depth(1.0).m();
    match number_making(m, guess, |number| unit.depth(number).m()) {
        Some(number) => (number, unit),
        None => (m, DepthUnit::Metres),
    }
}

/// The unit that gives all of some pressures exactly, with the shortest numbers, and the numbers: a
/// dial's 200 psi is 1378.951458633672 kPa, a logger's 1379 kPa is 200.00703841… psi.
pub(crate) fn pressures(pressures: &[Pressure]) -> (PressureUnit, Vec<f64>) {
    let number = |unit: PressureUnit, pressure: &Pressure| {
        let pa = pressure.pa();
        number_making(pa, pa / unit.pressure(1.0).pa(), |number| unit.pressure(number).pa())
    };
    let in_unit = |unit: PressureUnit| {
        let numbers: Option<Vec<f64>> = pressures.iter().map(|p| number(unit, p)).collect();
        numbers.map(|numbers| (unit, numbers))
    };
    let length = |(_, numbers): &(PressureUnit, Vec<f64>)| -> usize {
        numbers.iter().map(|number| number.to_string().len()).sum()
    };
    UNITS.into_iter().filter_map(in_unit).min_by_key(length).unwrap_or_else(|| {
        (PressureUnit::Pascals, pressures.iter().map(|pressure| pressure.pa()).collect())
    })
}

/// A number as the shortest JSON text that reads back to it; whole ones without `.0`.
pub(crate) fn value(number: f64) -> Value {
    match number.fract() == 0.0 && number.abs() < WHOLE {
        true => Value::from(number as i64),
        false => Value::from(number),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_of_a_rod_are_short_again() {
        for mark in 0..=96 {
            let inches = f64::from(mark) / 4.0;
            let of = |depth_of: Depth, unit| depth(depth_of, unit);
            assert_eq!(of(Depth::from_in(inches), DepthUnit::Inches), (inches, DepthUnit::Inches));
            let cm = f64::from(mark) / 10.0;
            assert_eq!(of(Depth::from_cm(cm), DepthUnit::Centimetres).0, cm);
            let mm = DepthUnit::Millimetres;
            assert_eq!(of(mm.depth(f64::from(mark)), mm).0, f64::from(mark));
        }
    }

    /// Two steps of the last digit of a depth lie within one of its number of centimetres only now
    /// and then; the search says so instead of writing a near miss.
    #[test]
    fn what_no_number_of_the_unit_gives_is_written_in_metres() {
        let mut m = 0.18_f64;
        let mut fell_back = 0;
        for _ in 0..1000 {
            m = m.next_up();
            for unit in [DepthUnit::Inches, DepthUnit::Centimetres, DepthUnit::Millimetres] {
                let (number, written) = depth(Depth::from_m(m), unit);
                assert_eq!(written.depth(number).m(), m);
                fell_back += usize::from(written == DepthUnit::Metres);
            }
        }
        assert!(fell_back > 0, "the case is not tested");
    }

    #[test]
    fn a_pressure_is_written_in_the_unit_it_was_typed_in() {
        let unit = |pressure| pressures(&[pressure]);
        assert_eq!(unit(Pressure::from_psi(200.0)), (PressureUnit::Psi, vec![200.0]));
        assert_eq!(unit(Pressure::from_kpa(1379.0)), (PressureUnit::Kilopascals, vec![1379.0]));
        assert_eq!(unit(Pressure::from_kpa(2000.0)), (PressureUnit::Megapascals, vec![2.0]));
        let odd = Pressure::from_pa(0.1 + 0.2);
        let (found, numbers) = unit(odd);
        assert_eq!(found.pressure(numbers[0]), odd);
    }

    #[test]
    fn whole_numbers_have_no_point() {
        assert_eq!(value(-95.0).to_string(), "-95");
        assert_eq!(value(0.1 + 0.2).to_string(), "0.30000000000000004");
    }
}
