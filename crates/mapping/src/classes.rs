//! Depth classes: the marks that divide the loose-layer depth, and their names.

use survey::units::tidy;
use survey::{Depth, UnitSystem};

use crate::error::MappingError;

/// The most classes whose colours can still be told apart in print and by colour-blind readers.
pub const MOST_CLASSES: usize = 8;

/// Classes of loose-layer depth, from the surface down. A limit belongs to the deeper class, and
/// the last class has no lower end: it also holds what was not reached.
#[derive(Debug, Clone, PartialEq)]
pub struct DepthClasses {
    limits: Vec<Depth>,
    units: UnitSystem,
}

impl DepthClasses {
    /// Classes between limits given in the depth unit of `units`, the unit they are named in.
    ///
    /// # Errors
    /// When there is no limit, there are more than [`MOST_CLASSES`] − 1, or they are not from 0.01
    /// to 1000, each at least 0.01 greater than the one before.
    pub fn new(limits: &[f64], units: UnitSystem) -> Result<Self, MappingError> {
        // Limits that print alike would give classes of one name.
        let increasing = limits.windows(2).all(|pair| pair[1] - pair[0] >= 0.01);
        let sound = limits.iter().all(|limit| (0.01..=1_000.0).contains(limit));
        if !(increasing && sound && (1..MOST_CLASSES).contains(&limits.len())) {
            let given: Vec<String> = limits.iter().map(ToString::to_string).collect();
            return Err(MappingError::Limits {
                given: given.join(","),
                least: 1,
                most: MOST_CLASSES - 1,
            });
        }
        let limits = limits.iter().map(|&limit| units.depth_from(limit)).collect();
        Ok(DepthClasses { limits, units })
    }

    /// The marks of a rod, every 3 inches to 18 (common practice); in SI units every 10 cm to 50.
    pub fn rod_marks(units: UnitSystem) -> Self {
        let limits: &[f64] = match units {
            UnitSystem::Us => &[3.0, 6.0, 9.0, 12.0, 15.0, 18.0],
            UnitSystem::Si => &[10.0, 20.0, 30.0, 40.0, 50.0],
        };
        DepthClasses::new(limits, units).expect("increasing and few")
    }

    /// How many classes.
    #[expect(clippy::len_without_is_empty, reason = "there are always at least two")]
    pub fn len(&self) -> usize {
        self.limits.len() + 1
    }

    /// The class of a depth in centimetres, 0 the shallowest. A depth on a limit is in the deeper
    /// class: limits are compared as the same centimetres that readings become in a raster.
    pub fn class_of_cm(&self, depth_cm: f64) -> usize {
        self.limits.partition_point(|limit| limit.cm() <= depth_cm)
    }

    /// Where a class begins: zero for the first.
    pub fn from(&self, class: usize) -> Depth {
        match class {
            0 => Depth::from_m(0.0),
            _ => self.limits[class - 1],
        }
    }

    /// Where a class ends, which is already in the next; `None` for the last.
    pub fn below(&self, class: usize) -> Option<Depth> {
        self.limits.get(class).copied()
    }

    /// A class's name with its unit: `3–6 in`, `≥ 18 in`.
    pub fn name(&self, class: usize) -> String {
        let number = |depth| tidy(self.units.depth(depth), 2);
        let unit = self.units.depth_unit();
        match self.below(class) {
            Some(below) => format!("{}–{} {unit}", number(self.from(class)), number(below)),
            None => format!("≥ {} {unit}", number(self.from(class))),
        }
    }

    /// The units the classes are named in.
    pub fn units(&self) -> UnitSystem {
        self.units
    }

    /// The limits, increasing.
    pub fn limits(&self) -> &[Depth] {
        &self.limits
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limit_belongs_to_the_deeper_class() {
        let classes = DepthClasses::rod_marks(UnitSystem::Us);
        let class = |inches| classes.class_of_cm(Depth::from_in(inches).cm());
        assert_eq!([0.0, 2.9, 3.0, 17.999, 18.0, 24.0].map(class), [0, 0, 1, 5, 6, 6]);
    }

    #[test]
    fn every_eighth_of_an_inch_is_on_its_own_limit() {
        for eighths in 1..=480 {
            let inches = f64::from(eighths) / 8.0;
            let classes = DepthClasses::new(&[inches], UnitSystem::Us).unwrap();
            assert_eq!(classes.class_of_cm(Depth::from_in(inches).cm()), 1, "{inches} in");
        }
    }

    #[test]
    fn names_carry_their_unit_and_the_last_has_no_end() {
        let classes = DepthClasses::new(&[3.0, 7.5], UnitSystem::Us).unwrap();
        let names: Vec<String> = (0..classes.len()).map(|class| classes.name(class)).collect();
        assert_eq!(names, ["0–3 in", "3–7.5 in", "≥ 7.5 in"]);
        assert_eq!(DepthClasses::rod_marks(UnitSystem::Si).name(5), "≥ 50 cm");
    }

    #[test]
    fn limits_that_make_no_classes_are_refused() {
        let eight = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0];
        for limits in [
            &[][..],
            &[0.0, 3.0],
            &[6.0, 3.0],
            &[3.0, 3.0],
            &[3.001, 3.004],
            &[1e300],
            &[f64::NAN],
            &eight,
        ] {
            assert!(DepthClasses::new(limits, UnitSystem::Us).is_err(), "{limits:?}");
        }
    }
}
