//! How much ground went from one depth class to another.
//!
//! Cells are cut by the field's outline, so areas are those of the maps' classes, before zones are drawn.
//! What is unsure about a cell's depth is unsure about its class: ground near a limit goes back and forth.

use geostat::Raster;
use mapping::DepthClasses;

use crate::pairs::Pairs;
use crate::visit::Visit;

/// True areas on the ground by the class of the earlier and of the later map, where both have one.
#[derive(Debug, Clone, PartialEq)]
pub struct Transitions {
    /// Square metres: rows are classes of the earlier map, columns of the later one, the shallowest first.
    pub areas_m2: Vec<Vec<f64>>,
}

impl Transitions {
    /// How many classes.
    pub fn classes(&self) -> usize {
        self.areas_m2.len()
    }

    /// Ground that both maps have, square metres.
    pub fn mapped_m2(&self) -> f64 {
        self.sum_m2(|_, _| true)
    }

    /// Ground of a class at the earlier visit, square metres.
    pub fn earlier_m2(&self, class: usize) -> f64 {
        self.sum_m2(|earlier, _| earlier == class)
    }

    /// Ground of a class at the later visit, square metres.
    pub fn later_m2(&self, class: usize) -> f64 {
        self.sum_m2(|_, later| later == class)
    }

    /// Ground that stayed in its class, square metres.
    pub fn same_m2(&self) -> f64 {
        self.sum_m2(|earlier, later| later == earlier)
    }

    /// Ground that went to a shallower class, square metres.
    pub fn shallower_m2(&self) -> f64 {
        self.sum_m2(|earlier, later| later < earlier)
    }

    /// Ground that went to a deeper class, square metres.
    pub fn deeper_m2(&self) -> f64 {
        self.sum_m2(|earlier, later| later > earlier)
    }

    /// An area as a share of the ground that both maps have.
    pub fn share(&self, area_m2: f64) -> f64 {
        area_m2 / self.mapped_m2()
    }

    fn sum_m2(&self, counts: impl Fn(usize, usize) -> bool) -> f64 {
        let cells = self.areas_m2.iter().enumerate().flat_map(|(earlier, row)| {
            row.iter().enumerate().map(move |(later, &area_m2)| (earlier, later, area_m2))
        });
        cells
            .filter(|&(earlier, later, _)| counts(earlier, later))
            .fold(0.0, |sum, (_, _, area_m2)| sum + area_m2)
    }
}

/// The ground that went from each class to each; both visits have one grid and the same classes.
pub fn transitions(earlier: &Visit, later: &Visit) -> Transitions {
    let classes = &later.map.classes;
    let class = |depth_cm: f64| classes.class_of_cm(depth_cm) as f64;
    let from_to = |(&first, &second): (&f64, &f64)| match first.is_nan() || second.is_nan() {
        true => f64::NAN,
        false => class(first) * classes.len() as f64 + class(second),
    };
    let depths = earlier.map.depth_cm.values.iter().zip(&later.map.depth_cm.values);
    let raster = Raster { grid: later.map.depth_cm.grid, values: depths.map(from_to).collect() };
    let count = classes.len();
    let areas_m2 = later.map.areas_m2(&raster, count * count, |from_to| from_to as usize);
    Transitions { areas_m2: areas_m2.chunks(count).map(<[f64]>::to_vec).collect() }
}

/// How many paired spots went from each class to each, "not reached" by the depth probed: rows are classes
/// at the earlier visit, columns at the later one.
pub fn spot_transitions(pairs: &Pairs, classes: &DepthClasses) -> Vec<Vec<usize>> {
    let mut counts = vec![vec![0; classes.len()]; classes.len()];
    for pair in &pairs.pairs {
        let class = |reading: survey::Reading| classes.class_of_cm(reading.at_least().cm());
        counts[class(pair.earlier)][class(pair.later)] += 1;
    }
    counts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::made_up::{Probe, not_reached, reached, settings, square, visit};
    use crate::pairs::{PairsWithin, pair_spots};

    const SIDE_M: f64 = 150.0;

    /// West and east halves of a field with another depth each.
    fn halves(west: survey::Outcome, east: survey::Outcome) -> Visit {
        let side = |(id, place): (String, [f64; 2])| {
            let outcome = if place[0] < SIDE_M / 2.0 { west } else { east };
            (id, place, outcome)
        };
        let probes: Vec<Probe> = square(6, 25.0).into_iter().map(side).collect();
        visit("2025-04-14", None, SIDE_M, &probes, &settings(5.0))
    }

    /// Classes end at 10, 20 and 30 cm. The west goes from 20–30 to 10–20, the east stays: the interpolated
    /// depths between 25 and 35 pass 30 cm in the middle, where by symmetry half of the field begins.
    #[test]
    fn ground_goes_from_row_to_column() {
        let earlier = halves(reached(25.0), reached(35.0));
        let later = halves(reached(25.0), reached(25.0));
        let found = transitions(&earlier, &later);
        let half = found.mapped_m2() / 2.0;
        assert!((found.areas_m2[2][2] - half).abs() < 0.02 * half, "{found:?}");
        assert!((found.areas_m2[3][2] - half).abs() < 0.02 * half);
        assert_eq!(found.deeper_m2(), 0.0);
        assert_eq!(found.shallower_m2(), found.areas_m2[3][2]);
        assert_eq!(found.same_m2(), found.areas_m2[2][2]);
    }

    #[test]
    fn sums_are_the_classes_of_each_map() {
        let earlier = halves(reached(3.0), not_reached(45.0));
        let later = halves(reached(28.0), reached(8.0));
        let found = transitions(&earlier, &later);
        for (visit, of_class) in [
            (&earlier, Transitions::earlier_m2 as fn(&Transitions, usize) -> f64),
            (&later, Transitions::later_m2),
        ] {
            let map = &visit.map;
            let areas = map.areas_m2(&map.depth_cm, 4, |cm| map.classes.class_of_cm(cm));
            for (class, area_m2) in areas.into_iter().enumerate() {
                assert!((of_class(&found, class) - area_m2).abs() < 1e-6, "{class}");
            }
        }
        assert!((found.mapped_m2() - later.map.field_area_m2).abs() < 1e-2);
        let parts = found.same_m2() + found.shallower_m2() + found.deeper_m2();
        assert!((parts - found.mapped_m2()).abs() < 1e-6);
    }

    #[test]
    fn spots_go_from_row_to_column() {
        let earlier = halves(reached(25.0), not_reached(45.0));
        let later = halves(reached(25.0), reached(9.9));
        let pairs = pair_spots(&earlier.survey, &later.survey, PairsWithin::all_m(5.0));
        let counts = spot_transitions(&pairs, &later.map.classes);
        let mut expected = vec![vec![0; 4]; 4];
        (expected[2][2], expected[3][0]) = (18, 18);
        assert_eq!(counts, expected);
    }
}
