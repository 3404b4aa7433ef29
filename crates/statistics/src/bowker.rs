//! Bowker's test: whether as much goes from one class to another as back.
//!
//! χ² = Σ (nᵢⱼ − nⱼᵢ)²/(nᵢⱼ + nⱼᵢ) over pairs i < j, with a degree of freedom for each pair in which
//! anything is (Bowker 1948, A test for symmetry in contingency tables, Journal of the American
//! Statistical Association 43:572–574); for two classes the test of `McNemar` (1947) without correction.

use crate::chi_squared;
use crate::class_table::ClassTable;

/// The result of Bowker's test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bowker {
    /// How uneven the exchange between classes is.
    pub chi_squared: f64,
    /// How many pairs of classes exchange anything.
    pub degrees_of_freedom: f64,
    /// The probability of a chi-squared at least so great where exchange is even.
    pub p: f64,
}

impl ClassTable {
    /// Tests whether exchange between classes is even, for a table of counts of things that are
    /// independent of each other. `None` where nothing changes its class.
    pub fn bowker(&self) -> Option<Bowker> {
        let (mut chi_squared, mut degrees_of_freedom) = (0.0, 0.0);
        for (first, later) in self.places().filter(|(first, later)| first < later) {
            let (up, down) = (self.amount(first, later), self.amount(later, first));
            if up + down > 0.0 {
                chi_squared += (up - down) * (up - down) / (up + down);
                degrees_of_freedom += 1.0;
            }
        }
        (degrees_of_freedom > 0.0).then(|| Bowker {
            chi_squared,
            degrees_of_freedom,
            p: chi_squared::probability_above(chi_squared, degrees_of_freedom),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Agresti (1990), Categorical Data Analysis, 350 (from memory): approval of a president in two surveys,
    /// (150 − 86)²/236 = 17.36.
    #[test]
    fn approval_ratings_are_as_published() {
        let table = ClassTable::from_rows(&[[794.0, 150.0], [86.0, 570.0]]).unwrap();
        let test = table.bowker().unwrap();
        assert!((test.chi_squared - 17.36).abs() < 0.005);
        assert_eq!(test.degrees_of_freedom, 1.0);
        assert!((test.p - 3.1e-5).abs() < 0.05e-5, "{}", test.p);
    }

    #[test]
    fn pairs_without_exchange_do_not_count() {
        let rows = [[9.0, 4.0, 0.0], [0.0, 1.0, 6.0], [0.0, 2.0, 5.0]];
        let test = ClassTable::from_rows(&rows).unwrap().bowker().unwrap();
        assert_eq!((test.chi_squared, test.degrees_of_freedom), (4.0 + 2.0, 2.0));
        let rows = [[9.0, 0.0], [0.0, 1.0]];
        assert_eq!(ClassTable::from_rows(&rows).unwrap().bowker(), None);
    }
}
