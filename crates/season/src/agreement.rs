//! How far the depth classes of two visits agree.
//!
//! Over the ground, agreement is a description: cells of a map are estimates, not observations, so there is
//! no error of kappa and no test. Over paired spots it has a standard error.

use statistics::{Agreement, ClassTable, KappaError};

use crate::transitions::Transitions;

/// Agreement of classes over the ground and at paired spots.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassAgreement {
    /// Over the ground that both maps have, by area; `None` where all of it is of one class.
    pub ground: Option<Agreement>,
    /// At the paired spots; `None` where there is none or all are of one class.
    pub spots: Option<Agreement>,
    /// Standard error of kappa at the spots, as if they were independent of each other.
    pub spots_error: Option<KappaError>,
    /// Whether exchange between classes is even at the spots: Bowker's test.
    pub exchange: Option<statistics::Bowker>,
}

/// Agreement of classes from the ground and the spots that went from each class to each.
pub fn class_agreement(ground: &Transitions, spots: &[Vec<usize>]) -> ClassAgreement {
    let counts: Vec<Vec<f64>> =
        spots.iter().map(|row| row.iter().map(|&count| count as f64).collect()).collect();
    let spots = ClassTable::from_rows(&counts);
    ClassAgreement {
        ground: ClassTable::from_rows(&ground.areas_m2).and_then(|table| table.agreement()),
        spots: spots.as_ref().and_then(ClassTable::agreement),
        spots_error: spots.as_ref().and_then(ClassTable::kappa_standard_error),
        exchange: spots.as_ref().and_then(ClassTable::bowker),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: half of 10 ha stays shallow, a fifth deep; 3 ha went shallower. Observed 0.7; expected
    /// 0.5·0.8 + 0.5·0.2 = 0.5; kappa 0.4. The deep class shrank by 0.3 of the ground: all is quantity.
    #[test]
    fn ground_and_spots_are_judged_apart() {
        let ground = Transitions { areas_m2: vec![vec![50_000.0, 0.0], vec![30_000.0, 20_000.0]] };
        let found = class_agreement(&ground, &[vec![10, 0], vec![0, 0]]);
        let by_area = found.ground.unwrap();
        assert!((by_area.kappa - 0.4).abs() < 1e-12, "{by_area:?}");
        assert!((by_area.quantity - 0.3).abs() < 1e-12 && by_area.allocation.abs() < 1e-12);
        // All spots are of one class.
        assert!(found.spots.is_none() && found.spots_error.is_none() && found.exchange.is_none());
        let found = class_agreement(&ground, &[vec![5, 0], vec![3, 2]]);
        assert!((found.spots.unwrap().kappa - 0.4).abs() < 1e-12);
        assert!(found.spots_error.unwrap().standard_error > 0.0);
    }
}
