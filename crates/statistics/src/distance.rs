//! Distance between two places of a plane.

/// In the unit of the places. Squares of places on Earth in metres do not overflow.
pub(crate) fn distance(a: &[f64; 2], b: &[f64; 2]) -> f64 {
    let [x, y] = [a[0] - b[0], a[1] - b[1]];
    (x * x + y * y).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_and_four_are_five_apart() {
        assert_eq!(distance(&[1.0, 1.0], &[-2.0, 5.0]), 5.0);
        assert_eq!(distance(&[7.0, 1.0], &[7.0, 1.0]), 0.0);
    }
}
