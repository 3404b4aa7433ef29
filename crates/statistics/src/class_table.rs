//! What was of one class first and of one class later, counted or measured: a square table.

/// Amounts by first class (row) and later class (column); counts or areas, none below 0.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassTable {
    classes: usize,
    /// Row by row.
    amounts: Vec<f64>,
}

impl ClassTable {
    /// A table of so many classes with nothing in it.
    pub fn new(classes: usize) -> Self {
        ClassTable { classes, amounts: vec![0.0; classes * classes] }
    }

    /// A table of given rows; `None` where they are not as many as each is long, or an amount is below
    /// 0 or not a finite number.
    pub fn from_rows<R: AsRef<[f64]>>(rows: &[R]) -> Option<Self> {
        let amounts: Vec<f64> = rows.iter().flat_map(AsRef::as_ref).copied().collect();
        let square = rows.iter().all(|row| row.as_ref().len() == rows.len());
        let proper = amounts.iter().all(|amount| amount.is_finite() && *amount >= 0.0);
        (square && proper).then_some(ClassTable { classes: rows.len(), amounts })
    }

    /// Adds an amount that was of one class first and of another later.
    ///
    /// # Panics
    /// When the table has no such class.
    pub fn add(&mut self, first: usize, later: usize, amount: f64) {
        assert!(
            first < self.classes && later < self.classes,
            "a class of the table is to be given"
        );
        self.amounts[first * self.classes + later] += amount;
    }

    /// How many classes there are.
    pub fn classes(&self) -> usize {
        self.classes
    }

    /// The amount that was of one class first and of another later.
    ///
    /// # Panics
    /// When the table has no such class.
    pub fn amount(&self, first: usize, later: usize) -> f64 {
        assert!(later < self.classes, "a class of the table is to be given");
        self.amounts[first * self.classes + later]
    }

    /// The whole amount.
    pub fn total(&self) -> f64 {
        self.amounts.iter().sum()
    }

    /// The amount of each class first.
    pub fn first_totals(&self) -> Vec<f64> {
        (0..self.classes).map(|i| (0..self.classes).map(|j| self.amount(i, j)).sum()).collect()
    }

    /// The amount of each class later.
    pub fn later_totals(&self) -> Vec<f64> {
        (0..self.classes).map(|j| (0..self.classes).map(|i| self.amount(i, j)).sum()).collect()
    }

    /// All pairs of a first and a later class, row by row.
    pub(crate) fn places(&self) -> impl Iterator<Item = (usize, usize)> + use<> {
        let classes = self.classes;
        (0..classes).flat_map(move |first| (0..classes).map(move |later| (first, later)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_first_and_columns_are_later() {
        let mut table = ClassTable::new(3);
        table.add(0, 2, 4.0);
        table.add(0, 2, 1.0);
        table.add(1, 1, 2.0);
        assert_eq!((table.amount(0, 2), table.amount(2, 0), table.total()), (5.0, 0.0, 7.0));
        assert_eq!(table.first_totals(), [5.0, 2.0, 0.0]);
        assert_eq!(table.later_totals(), [0.0, 2.0, 5.0]);
        let rows = [[0.0, 0.0, 5.0], [0.0, 2.0, 0.0], [0.0; 3]];
        assert_eq!(ClassTable::from_rows(&rows), Some(table));
    }

    #[test]
    fn a_table_is_square_and_has_no_amount_below_zero() {
        assert_eq!(ClassTable::from_rows(&[vec![1.0, 2.0]]), None);
        assert_eq!(ClassTable::from_rows(&[[1.0, -2.0], [0.0, 0.0]]), None);
        assert_eq!(ClassTable::from_rows(&[[1.0, f64::NAN], [0.0, 0.0]]), None);
    }
}
