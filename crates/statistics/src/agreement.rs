//! How far two divisions into classes agree, beyond chance and by kind of disagreement.
//!
//! With shares pᵢⱼ of the whole and weights wᵢⱼ, agreement is Σ w·p, agreement by chance is
//! Σ wᵢⱼ·pᵢ₊·p₊ⱼ, and kappa = (observed − chance)/(1 − chance). Weights: 1 for the same class and else
//! 0 (Cohen 1960, Educational and Psychological Measurement 20:37–46); 1 − |i − j|/(k − 1) or
//! 1 − (i − j)²/(k − 1)² for classes in an order (Cohen 1968, Psychological Bulletin 70:213–220).
//! Standard errors: Fleiss, Cohen and Everitt (1969, Large sample standard errors of kappa and weighted
//! kappa, Psychological Bulletin 72:323–327). Quantity disagreement ½ Σ|pᵢ₊ − p₊ᵢ|, and the rest
//! allocation disagreement: Pontius and Millones (2011, Death to Kappa, International Journal of Remote
//! Sensing 32:4407–4429). Formulas from memory, held against published figures below.

use crate::class_table::ClassTable;

/// Agreement of two divisions into classes; shares of the whole are 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Agreement {
    /// The share that is of the same class in both.
    pub observed: f64,
    /// The share that would be by chance, with each class as common as it is.
    pub expected: f64,
    /// Agreement beyond chance: 1 for all the same, 0 for chance, below 0 for less.
    pub kappa: f64,
    /// The same where a class counts the more the nearer it is; for classes in an order.
    pub kappa_linear: f64,
    /// The same by the square of the distance; for classes in an order.
    pub kappa_quadratic: f64,
    /// The share that differs because classes are not as common in both.
    pub quantity: f64,
    /// The share that differs though classes are as common in both: they lie elsewhere.
    pub allocation: f64,
}

/// Standard errors of kappa, for counts of things that are independent of each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KappaError {
    /// For an interval around kappa.
    pub standard_error: f64,
    /// Where the true kappa is 0, for testing that.
    pub standard_error_null: f64,
}

/// What a pair of classes counts as agreement, from 0 to 1.
#[derive(Clone, Copy)]
enum Weights {
    Same,
    Linear,
    Quadratic,
}

impl Weights {
    fn of(self, first: usize, later: usize, classes: usize) -> f64 {
        let apart = first.abs_diff(later) as f64;
        let most = classes as f64 - 1.0;
        match self {
            _ if first == later => 1.0,
            Weights::Same => 0.0,
            Weights::Linear => 1.0 - apart / most,
            Weights::Quadratic => 1.0 - apart * apart / (most * most),
        }
    }
}

impl ClassTable {
    /// Agreement of the first with the later classes. `None` where nothing is in the table, and where
    /// all is of one and the same class in both, so that nothing else could be by chance.
    pub fn agreement(&self) -> Option<Agreement> {
        let shares = Shares::of(self)?;
        let observed = shares.observed(Weights::Same);
        let off =
            shares.first.iter().zip(&shares.later).map(|(first, later)| (first - later).abs());
        let quantity = 0.5 * off.sum::<f64>();
        Some(Agreement {
            observed,
            expected: shares.by_chance(Weights::Same),
            kappa: shares.kappa(Weights::Same)?,
            kappa_linear: shares.kappa(Weights::Linear)?,
            kappa_quadratic: shares.kappa(Weights::Quadratic)?,
            quantity,
            allocation: (1.0 - observed - quantity).max(0.0),
        })
    }

    /// Standard errors of kappa, for a table of counts: areas have none. `None` as for
    /// [`ClassTable::agreement`].
    pub fn kappa_standard_error(&self) -> Option<KappaError> {
        let shares = Shares::of(self)?;
        let (chance, kappa) = (shares.by_chance(Weights::Same), shares.kappa(Weights::Same)?);
        let [mut spread, mut spread_null] = [0.0; 2];
        for (first, later) in self.places() {
            let weight = Weights::Same.of(first, later, self.classes());
            // The mean weights of a row and a column are the shares of that class in the other.
            let mean = shares.later[first] + shares.first[later];
            let off = weight - mean * (1.0 - kappa);
            spread += shares.of_both(first, later) * off * off;
            let off = weight - mean;
            spread_null += shares.first[first] * shares.later[later] * off * off;
        }
        let middle = kappa - chance * (1.0 - kappa);
        let below = self.total() * (1.0 - chance) * (1.0 - chance);
        let error = |variance: f64| (variance.max(0.0) / below).sqrt();
        Some(KappaError {
            standard_error: error(spread - middle * middle),
            standard_error_null: error(spread_null - chance * chance),
        })
    }
}

struct Shares<'a> {
    table: &'a ClassTable,
    whole: f64,
    first: Vec<f64>,
    later: Vec<f64>,
}

impl Shares<'_> {
    fn of(table: &ClassTable) -> Option<Shares<'_>> {
        let whole = table.total();
        let shares = |totals: Vec<f64>| totals.into_iter().map(|total| total / whole).collect();
        let (first, later) = (shares(table.first_totals()), shares(table.later_totals()));
        (whole > 0.0).then_some(Shares { table, whole, first, later })
    }

    fn of_both(&self, first: usize, later: usize) -> f64 {
        self.table.amount(first, later) / self.whole
    }

    fn observed(&self, weights: Weights) -> f64 {
        self.sum(weights, |first, later| self.of_both(first, later))
    }

    fn by_chance(&self, weights: Weights) -> f64 {
        self.sum(weights, |first, later| self.first[first] * self.later[later])
    }

    fn sum(&self, weights: Weights, share: impl Fn(usize, usize) -> f64) -> f64 {
        let weighted =
            |(first, later)| weights.of(first, later, self.table.classes()) * share(first, later);
        self.table.places().map(weighted).sum()
    }

    fn kappa(&self, weights: Weights) -> Option<f64> {
        // Chance leaves nothing over where one class has all of both.
        let all = |shares: &[f64]| shares.iter().position(|share| *share == 1.0);
        if let (Some(first), Some(later)) = (all(&self.first), all(&self.later))
            && first == later
        {
            return None;
        }
        let chance = self.by_chance(weights);
        Some((self.observed(weights) - chance) / (1.0 - chance))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The usual worked example: of 50, 35 agree where 25 would by chance. For two classes the weighted
    /// kappas are the same.
    #[test]
    fn fifty_items_of_two_classes_have_a_kappa_of_two_fifths() {
        let table = ClassTable::from_rows(&[[20.0, 5.0], [10.0, 15.0]]).unwrap();
        let found = table.agreement().unwrap();
        for (found, expected) in [
            (found.observed, 0.7),
            (found.expected, 0.5),
            (found.kappa, 0.4),
            (found.kappa_linear, 0.4),
            (found.kappa_quadratic, 0.4),
            (found.quantity, 0.1),
            (found.allocation, 0.2),
        ] {
            assert!((found - expected).abs() < 1e-15, "{found} {expected}");
        }
    }

    /// Fleiss (1981), Statistical Methods for Rates and Proportions, 2nd ed., table 13.1: 100 patients
    /// diagnosed twice; kappa 0.68, standard error where the true kappa is 0 0.076 (from memory).
    #[test]
    fn a_hundred_diagnoses_are_as_fleiss_published() {
        let rows = [[75.0, 1.0, 4.0], [5.0, 4.0, 1.0], [0.0, 0.0, 10.0]];
        let table = ClassTable::from_rows(&rows).unwrap();
        let found = table.agreement().unwrap();
        assert!((found.observed - 0.89).abs() < 1e-12);
        assert!((found.expected - 0.66).abs() < 1e-12);
        assert!((found.kappa - 0.68).abs() < 0.005);
        let errors = table.kappa_standard_error().unwrap();
        assert!((errors.standard_error_null - 0.076).abs() < 0.0005, "{errors:?}");
    }

    /// A printout of SAS as the tests of statsmodels 0.14 give it (`test_inter_rater.py`): kappa 0.4842
    /// with the standard errors 0.1380 and, where the true one is 0, 0.1484; with linear weights 0.4701.
    #[test]
    fn nineteen_ratings_are_as_another_program_prints_them() {
        let rows = [[0.0, 4.0, 1.0], [0.0, 8.0, 0.0], [0.0, 1.0, 5.0]];
        let table = ClassTable::from_rows(&rows).unwrap();
        let (found, errors) = (table.agreement().unwrap(), table.kappa_standard_error().unwrap());
        for (found, printed) in [
            (found.kappa, 0.4842),
            (found.kappa_linear, 0.4701),
            (errors.standard_error, 0.1380),
            (errors.standard_error_null, 0.1484),
        ] {
            assert!((found - printed).abs() < 0.000_05, "{found} {printed}");
        }
    }

    #[test]
    fn classes_far_apart_weigh_more_against_agreement() {
        let near = ClassTable::from_rows(&[[5.0, 5.0, 0.0], [0.0, 5.0, 5.0], [0.0, 0.0, 10.0]]);
        let far = ClassTable::from_rows(&[[5.0, 0.0, 5.0], [0.0, 10.0, 0.0], [5.0, 0.0, 5.0]]);
        let [near, far] = [near, far].map(|table| table.unwrap().agreement().unwrap());
        assert_eq!(near.observed, far.observed);
        assert!(near.kappa_quadratic > near.kappa_linear && near.kappa_linear > near.kappa);
        assert!(far.kappa_quadratic < far.kappa_linear && far.kappa_linear < far.kappa);
        // Classes that only change places are all allocation.
        assert!(far.quantity == 0.0 && (far.allocation - 1.0 / 3.0).abs() < 1e-15);
    }

    #[test]
    fn a_table_that_leaves_nothing_to_chance_has_no_kappa() {
        assert_eq!(ClassTable::new(3).agreement(), None);
        let mut one = ClassTable::new(2);
        one.add(1, 1, 8.0);
        assert_eq!((one.agreement(), one.kappa_standard_error()), (None, None));
        one.add(0, 1, 2.0);
        assert!(one.agreement().unwrap().kappa.abs() < 1e-15);
        let mut moved = ClassTable::new(2);
        moved.add(0, 1, 3.0);
        let moved = moved.agreement().unwrap();
        assert_eq!((moved.observed, moved.kappa, moved.quantity), (0.0, 0.0, 1.0));
    }
}
