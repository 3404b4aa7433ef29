//! Tables of classes first and later.

use serde_json::Value;
use statistics::ClassTable;

use super::check::Check;
use super::{number, numbers};

/// The table of values sorted by breaks; a class holds its lower limit.
pub fn table_of(first: &[f64], later: &[f64], breaks: [&[f64]; 2]) -> ClassTable {
    let class = |breaks: &[f64], value: f64| breaks.iter().filter(|limit| **limit <= value).count();
    let mut table = ClassTable::new(breaks[0].len() + 1);
    for (&first, &later) in first.iter().zip(later) {
        table.add(class(breaks[0], first), class(breaks[1], later), 1.0);
    }
    table
}

pub fn given(counts: &Value) -> ClassTable {
    let rows: Vec<Vec<f64>> = counts.as_array().unwrap().iter().map(numbers).collect();
    ClassTable::from_rows(&rows).unwrap()
}

/// scikit-learn's kappas, and formulas in `NumPy`.
pub fn checks(expected: &Value, table: &ClassTable) -> Check {
    let mut check = Check::new("classes first and later");
    let counts = given(&expected["counts_rows_first_cols_second"]);
    for first in 0..counts.classes() {
        for later in 0..counts.classes() {
            check.compare("counts", table.amount(first, later), counts.amount(first, later));
        }
    }
    let found = table.agreement().unwrap();
    let errors = table.kappa_standard_error().unwrap();
    let bowker = table.bowker().unwrap();
    check.compare_all(
        expected,
        &[
            ("agreement", found.observed),
            ("expected", found.expected),
            ("kappa", found.kappa),
            ("kappa_formula", found.kappa),
            ("se", errors.standard_error),
            ("se_null", errors.standard_error_null),
            ("kappa_linear", found.kappa_linear),
            ("kappa_quadratic", found.kappa_quadratic),
            ("bowker_chi2", bowker.chi_squared),
            ("bowker_df", bowker.degrees_of_freedom),
            ("bowker_p", bowker.p),
            ("allocation_disagreement", found.allocation),
        ],
    );
    // Where classes are as common in both this is 0, and rounding all that is left.
    let quantity = number(&expected["quantity_disagreement"]);
    check.compare("1 + quantity", 1.0 + found.quantity, 1.0 + quantity);
    check
}
