//! Mean and spread of some values.

/// How many values there are, their mean and the sum of the squares of what is left.
pub(crate) struct Moments {
    pub n: usize,
    pub mean: f64,
    pub sum_of_squares: f64,
}

impl Moments {
    /// `None` for fewer than two values, or where one is not a finite number.
    ///
    /// Both sums are corrected by a second pass (Chan and others 1983, The American Statistician
    /// 37:242–247, from memory).
    pub fn of(values: &[f64]) -> Option<Self> {
        if values.len() < 2 || !values.iter().all(|value| value.is_finite()) {
            return None;
        }
        let count = values.len() as f64;
        let first = values.iter().sum::<f64>() / count;
        let mean = first + values.iter().map(|value| value - first).sum::<f64>() / count;
        let left = values.iter().map(|value| value - mean).sum::<f64>();
        let squares = values.iter().map(|value| (value - mean) * (value - mean)).sum::<f64>();
        let sum_of_squares = (squares - left * left / count).max(0.0);
        Some(Moments { n: values.len(), mean, sum_of_squares })
    }

    pub fn count(&self) -> f64 {
        self.n as f64
    }

    /// With n − 1 below the line.
    pub fn variance(&self) -> f64 {
        self.sum_of_squares / (self.count() - 1.0)
    }
}

/// Whether a standard error is more than rounding makes of values that are all alike.
pub(crate) fn is_more_than_rounding(standard_error: f64, mean: f64) -> bool {
    standard_error > 10.0 * f64::EPSILON * mean.abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_great_mean_does_not_hide_the_spread() {
        let values = [1e9 + 4.0, 1e9 + 7.0, 1e9 + 13.0, 1e9 + 16.0];
        let moments = Moments::of(&values).unwrap();
        assert_eq!((moments.n, moments.mean), (4, 1e9 + 10.0));
        assert_eq!((moments.sum_of_squares, moments.variance()), (90.0, 30.0));
    }

    #[test]
    fn one_value_or_one_that_is_no_number_has_no_moments() {
        assert!(Moments::of(&[1.0]).is_none());
        assert!(Moments::of(&[1.0, f64::NAN, 2.0]).is_none());
        assert!(Moments::of(&[1.0, f64::INFINITY]).is_none());
    }
}
