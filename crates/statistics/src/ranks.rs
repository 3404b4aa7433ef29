//! Ranks of values, from 1 up; equal values share the mean of their ranks.

/// The ranks of some values, in the order of the values.
pub(crate) struct Ranks {
    pub ranks: Vec<f64>,
    /// Σ (t³ − t) over each t equal values: what ties take from variances of sums of ranks.
    pub ties: f64,
}

impl Ranks {
    /// Values that are not numbers come last.
    pub fn of(values: &[f64]) -> Self {
        let mut order: Vec<usize> = (0..values.len()).collect();
        order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
        let mut ranks = vec![0.0; values.len()];
        let (mut passed, mut ties) = (0, 0.0);
        for equal in order.chunk_by(|&a, &b| values[a] == values[b]) {
            let count = equal.len() as f64;
            let rank = passed as f64 + f64::midpoint(1.0, count);
            for &index in equal {
                ranks[index] = rank;
            }
            ties += count * count * count - count;
            passed += equal.len();
        }
        Ranks { ranks, ties }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_values_share_the_mean_of_their_ranks() {
        let ranks = Ranks::of(&[5.0, -0.0, 7.0, 5.0, 0.0, 5.0]);
        assert_eq!(ranks.ranks, [4.0, 1.5, 6.0, 4.0, 1.5, 4.0]);
        assert_eq!(ranks.ties, 24.0 + 6.0);
    }
}
