//! The means of all pairs of values, each value with itself too: Walsh's averages.
//!
//! There are n(n + 1)/2. They are never written down: how many are at or below a value is counted along
//! the sorted values, once through for each, and the one of a given order is found by halving the numbers
//! an f64 can hold, at most 64 times.

/// Some values by size, whose averages are asked for.
pub(crate) struct Walsh {
    sorted: Vec<f64>,
}

impl Walsh {
    /// Of finite values.
    pub fn of(values: &[f64]) -> Self {
        let mut sorted = values.to_vec();
        sorted.sort_by(f64::total_cmp);
        Walsh { sorted }
    }

    /// How many averages there are.
    pub fn count(&self) -> usize {
        self.sorted.len() * (self.sorted.len() + 1) / 2
    }

    /// The averages' median: the middle one, or the mean of the two middle ones.
    pub fn median(&self) -> f64 {
        let (low, high) = ((self.count() - 1) / 2, self.count() / 2);
        f64::midpoint(self.nth(low), self.nth(high))
    }

    /// The average with `below` others before it.
    pub fn nth(&self, below: usize) -> f64 {
        let end = |value: Option<&f64>| order_of(*value.expect("there is a value"));
        let (mut low, mut high) = (end(self.sorted.first()), end(self.sorted.last()));
        while low < high {
            let middle = (i128::from(low) + i128::from(high)).div_euclid(2) as i64;
            match self.at_most(value_of(middle)) > below {
                true => high = middle,
                false => low = middle + 1,
            }
        }
        // Of −0 and 0, which are one value, this gives 0.
        value_of(low) + 0.0
    }

    /// How many averages are at most `limit`.
    fn at_most(&self, limit: f64) -> usize {
        let mut partners = self.sorted.len();
        let mut count = 0;
        for (first, &value) in self.sorted.iter().enumerate() {
            while partners > first && f64::midpoint(value, self.sorted[partners - 1]) > limit {
                partners -= 1;
            }
            if partners <= first {
                break;
            }
            count += partners - first;
        }
        count
    }
}

/// A whole number for each f64, in the same order, with −0 just before 0 (IEEE 754-2019, 5.10).
fn order_of(value: f64) -> i64 {
    mirrored(value.to_bits().cast_signed())
}

fn value_of(order: i64) -> f64 {
    f64::from_bits(mirrored(order).cast_unsigned())
}

/// Turns round the order of negative numbers, whose bits grow with their size.
fn mirrored(bits: i64) -> i64 {
    if bits < 0 { bits ^ i64::MAX } else { bits }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn written_down(values: &[f64]) -> Vec<f64> {
        let pairs = (0..values.len()).flat_map(|i| (i..values.len()).map(move |j| (i, j)));
        let mut all: Vec<f64> = pairs.map(|(i, j)| f64::midpoint(values[i], values[j])).collect();
        all.sort_by(f64::total_cmp);
        all
    }

    /// 1, 2 and 5: the averages 1, 1.5, 2, 3, 3.5, 5.
    #[test]
    fn three_values_have_six_averages() {
        let walsh = Walsh::of(&[5.0, 1.0, 2.0]);
        let found: Vec<f64> = (0..walsh.count()).map(|below| walsh.nth(below)).collect();
        assert_eq!(found, [1.0, 1.5, 2.0, 3.0, 3.5, 5.0]);
        assert_eq!(walsh.median(), 2.5);
    }

    #[test]
    fn an_average_of_zero_has_no_sign() {
        for values in [[-1.0, 1.0], [-0.0, -0.0], [0.0, -0.0]] {
            assert_eq!(Walsh::of(&values).nth(1).to_bits(), 0);
        }
    }

    proptest! {
        #[test]
        fn averages_are_those_written_down_to_the_last_digit(
            values in prop::collection::vec(
                prop_oneof![-1e3..1e3_f64, (-4..4_i32).prop_map(f64::from)], 1..30)
        ) {
            let walsh = Walsh::of(&values);
            let found: Vec<f64> = (0..walsh.count()).map(|below| walsh.nth(below)).collect();
            prop_assert_eq!(found, written_down(&values));
        }
    }
}
