//! Classes of a raster's values, for the maps of probability and of standard error.

use geostat::Raster;
use mapping::PROBABILITY_LIMITS;
use survey::units::{signed, tidy};
use survey::{Depth, UnitSystem};

/// The most classes of a map of standard errors.
const MOST_CLASSES: f64 = 6.0;

/// Classes by rising value. A limit belongs to the class above it; the lowest and the highest class
/// are open.
#[derive(Debug, Clone, PartialEq)]
pub struct ValueClasses {
    /// Limits between classes, in the raster's unit.
    limits: Vec<f64>,
    /// A name with its unit for each class, one more than there are limits.
    names: Vec<String>,
}

impl ValueClasses {
    /// Of probabilities from 0 to 1: below 10 %, 25 %, 50 %, 75 %, 90 %, and above.
    pub fn probability() -> Self {
        let percent: Vec<String> = [0.0]
            .iter()
            .chain(&PROBABILITY_LIMITS)
            .chain(&[1.0])
            .map(|share| tidy(share * 100.0, 0))
            .collect();
        let names = percent.windows(2).map(|ends| format!("{}–{} %", ends[0], ends[1]));
        ValueClasses { limits: PROBABILITY_LIMITS.into(), names: names.collect() }
    }

    /// Of standard errors in centimetres: no more than six classes, equally wide, at least a tenth of
    /// the reader's unit, with round limits in it, from the least to the greatest value there is. Where all values are equal, or
    /// there is none, there is one class.
    pub fn standard_error(error_cm: &Raster, units: UnitSystem) -> Self {
        let known = || error_cm.values.iter().copied().filter(|cm| cm.is_finite());
        let in_unit = |cm: f64| units.depth(Depth::from_cm(cm));
        let least = in_unit(known().fold(f64::INFINITY, f64::min));
        let most = in_unit(known().fold(f64::NEG_INFINITY, f64::max));
        let unit = units.depth_unit();
        if most - least < 1e-6 {
            return ValueClasses {
                limits: vec![],
                names: vec![format!("{} {unit}", tidy(least, 2))],
            };
        }
        if !(most - least).is_finite() {
            return ValueClasses { limits: vec![], names: vec![format!("no value, {unit}")] };
        }
        let step = class_width(least, most);
        let (first, last) = (whole_below(least / step), whole_above(most / step));
        let limit = |k: i64| tidy(k as f64 * step, 4);
        let names = (first..last).map(|k| format!("{}–{} {unit}", limit(k), limit(k + 1)));
        let limits = (first + 1..last).map(|k| units.depth_from(k as f64 * step).cm());
        ValueClasses { limits: limits.collect(), names: names.collect() }
    }

    /// Of changes in centimetres, later minus earlier, between rising limits: each name has its sign and
    /// says which way it goes, `−7.5 to −4.5 in, thinner`, since in grey print both ends are dark.
    pub fn change(limits_cm: &[f64], units: UnitSystem) -> Self {
        let unit = units.depth_unit();
        let number = |cm: f64| signed(units.depth(Depth::from_cm(cm)), 2);
        let first = limits_cm
            .first()
            .map(|&cm| format!("below {} {unit}{}", number(cm), way(None, Some(cm))));
        let between = limits_cm.windows(2).map(|ends| {
            let (low, high) = (ends[0], ends[1]);
            format!("{} to {} {unit}{}", number(low), number(high), way(Some(low), Some(high)))
        });
        let last = limits_cm
            .last()
            .map(|&cm| format!("{} {unit} or more{}", number(cm), way(Some(cm), None)));
        let names: Vec<String> = first.into_iter().chain(between).chain(last).collect();
        match names.is_empty() {
            true => ValueClasses { limits: vec![], names: vec![format!("any change, {unit}")] },
            false => ValueClasses { limits: limits_cm.into(), names },
        }
    }

    /// How many.
    #[expect(clippy::len_without_is_empty, reason = "there is always a class")]
    pub fn len(&self) -> usize {
        self.names.len()
    }

    /// The class of a value, 0 the lowest; `None` for NaN.
    pub fn class_of(&self, value: f64) -> Option<usize> {
        (!value.is_nan()).then(|| self.limits.iter().filter(|&&limit| limit <= value).count())
    }

    /// The limits between classes, rising.
    pub(crate) fn limits(&self) -> &[f64] {
        &self.limits
    }

    /// The sign of all values of a class, where they have one: `−` or `+`.
    pub(crate) fn sign(&self, class: usize) -> Option<&'static str> {
        let below = class.checked_sub(1).and_then(|k| self.limits.get(k));
        match (below, self.limits.get(class)) {
            (_, Some(&above)) if above <= 0.0 => Some("−"),
            (Some(&below), _) if below >= 0.0 => Some("+"),
            _ => None,
        }
    }

    /// A class with its limits and unit: `25–50 %`.
    pub fn name(&self, class: usize) -> &str {
        &self.names[class]
    }
}

/// Which way changes between two limits go, if one way.
fn way(from_cm: Option<f64>, to_cm: Option<f64>) -> &'static str {
    match (from_cm, to_cm) {
        (_, Some(to)) if to <= 0.0 => ", thinner",
        (Some(from), _) if from >= 0.0 => ", deeper",
        _ => "",
    }
}

/// Least width of a class of standard errors, in the reader's unit: a finer one would show as ground
/// less sure what is as sure as the rest, for all anyone can tell.
const LEAST_WIDTH: f64 = 0.1;

/// The smallest round width of classes that needs no more than so many.
fn class_width(least: f64, most: f64) -> f64 {
    let classes = |step: f64| (whole_above(most / step) - whole_below(least / step)) as f64;
    (-6..6)
        .flat_map(|power| {
            [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0].map(|digit| digit * power_of_ten(power))
        })
        .find(|&step| step >= LEAST_WIDTH && classes(step) <= MOST_CLASSES)
        .unwrap_or(most)
}

/// Exact for powers whose reciprocal is whole.
fn power_of_ten(power: i32) -> f64 {
    let whole = |power: i32| (0..power).fold(1.0, |product, _| product * 10.0);
    if power < 0 { 1.0 / whole(-power) } else { whole(power) }
}

/// Rounding errors of a unit's factor must not open a class of their own.
const SLACK: f64 = 1e-9;

fn whole_below(number: f64) -> i64 {
    (number + SLACK).floor() as i64
}

fn whole_above(number: f64) -> i64 {
    (number - SLACK).ceil() as i64
}

#[cfg(test)]
mod tests {
    use super::*;
    use geostat::Grid;

    fn raster(values: &[f64]) -> Raster {
        let grid = Grid::new(0.0, 0.0, 1.0, values.len(), 1).unwrap();
        Raster { grid, values: values.to_vec() }
    }

    fn names(classes: &ValueClasses) -> Vec<&str> {
        (0..classes.len()).map(|class| classes.name(class)).collect()
    }

    #[test]
    fn classes_of_probability_are_named_in_percent() {
        let classes = ValueClasses::probability();
        let all = ["0–10 %", "10–25 %", "25–50 %", "50–75 %", "75–90 %", "90–100 %"];
        assert_eq!(names(&classes), all);
        let of = [0.0, 0.1, 0.4999, 0.5, 0.9, 1.0, f64::NAN].map(|p| classes.class_of(p));
        assert_eq!(of, [Some(0), Some(1), Some(2), Some(3), Some(5), Some(5), None]);
    }

    #[test]
    fn classes_of_change_are_named_with_sign_and_way() {
        let limits_cm = [-4.5, -1.5, 1.5, 4.5].map(|inches: f64| inches * 2.54);
        let classes = ValueClasses::change(&limits_cm, UnitSystem::Us);
        let all = [
            "below −4.5 in, thinner",
            "−4.5 to −1.5 in, thinner",
            "−1.5 to +1.5 in",
            "+1.5 to +4.5 in, deeper",
            "+4.5 in or more, deeper",
        ];
        assert_eq!(names(&classes), all);
        let signs: Vec<Option<&str>> = (0..5).map(|class| classes.sign(class)).collect();
        assert_eq!(signs, [Some("−"), Some("−"), None, Some("+"), Some("+")]);
        let of = [-11.43, -11.44, 0.0, 3.81, 99.0, f64::NAN].map(|cm| classes.class_of(cm));
        assert_eq!(of, [Some(1), Some(0), Some(2), Some(3), Some(4), None]);
    }

    #[test]
    fn classes_of_change_meet_at_nought_without_a_middle_one() {
        let classes = ValueClasses::change(&[0.0], UnitSystem::Si);
        assert_eq!(names(&classes), ["below 0 cm, thinner", "0 cm or more, deeper"]);
        assert_eq!(ValueClasses::change(&[], UnitSystem::Si).len(), 1);
    }

    #[test]
    fn classes_of_standard_error_are_round_in_the_reader_s_unit() {
        let errors = raster(&[2.54 * 1.2, f64::NAN, 2.54 * 3.9]);
        let classes = ValueClasses::standard_error(&errors, UnitSystem::Us);
        let inches = ["1–1.5 in", "1.5–2 in", "2–2.5 in", "2.5–3 in", "3–3.5 in", "3.5–4 in"];
        assert_eq!(names(&classes), inches);
        assert_eq!(classes.class_of(2.54 * 3.9), Some(5));
        let classes = ValueClasses::standard_error(&errors, UnitSystem::Si);
        assert_eq!(names(&classes), ["3–4.5 cm", "4.5–6 cm", "6–7.5 cm", "7.5–9 cm", "9–10.5 cm"]);
    }

    #[test]
    fn equal_errors_make_one_class_and_none_are_no_crash() {
        let classes = ValueClasses::standard_error(&raster(&[5.08; 3]), UnitSystem::Us);
        assert_eq!(names(&classes), ["2 in"]);
        let classes = ValueClasses::standard_error(&raster(&[f64::NAN; 3]), UnitSystem::Us);
        assert_eq!(classes.len(), 1);
    }

    #[test]
    fn errors_that_hardly_differ_are_not_made_to_look_different() {
        let errors = raster(&[2.54 * 4.74, 2.54 * 4.79]);
        let classes = ValueClasses::standard_error(&errors, UnitSystem::Us);
        assert_eq!(names(&classes), ["4.7–4.8 in"]);
    }

    #[test]
    fn any_greater_spread_makes_four_to_six_classes() {
        for k in 5..400 {
            let errors = raster(&[1.0, 1.0 + 0.07 * f64::from(k)]);
            let classes = ValueClasses::standard_error(&errors, UnitSystem::Si);
            assert!((4..=6).contains(&classes.len()), "{:?}", names(&classes));
        }
    }
}
