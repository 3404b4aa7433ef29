//! Quartiles, the median among them, of plain numbers.

/// The value that so many quarters (1 to 3; 2 is the median) of sorted values do not exceed, the mean
/// of two where the cut falls between them: definition 2 of Hyndman & Fan (1996, The American
/// Statistician 50:361–365). There must be at least one value.
pub(crate) fn quartile(sorted: &[f64], quarters: usize) -> f64 {
    let cut = sorted.len() * quarters;
    let (whole, rest) = (cut / 4, cut % 4);
    match rest {
        0 => (sorted[whole - 1] + sorted[whole]) / 2.0,
        _ => sorted[whole],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quartiles_are_those_of_definition_two() {
        let eight = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0];
        assert_eq!([1, 2, 3].map(|q| quartile(&eight, q)), [2.5, 4.5, 6.5]);
        assert_eq!([1, 2, 3].map(|q| quartile(&eight[..5], q)), [2.0, 3.0, 4.0]);
        assert_eq!([1, 2, 3].map(|q| quartile(&eight[..1], q)), [1.0, 1.0, 1.0]);
    }
}
