//! The exact distribution of the sum of the positive ranks where each sign is as likely as the other.
//!
//! Of the 2ⁿ choices of signs of the ranks 1 to n, how many have each sum: rank by rank, from the counts
//! without it (Wilcoxon 1945, Individual comparisons by ranking methods, Biometrics Bulletin 1:80–83,
//! counts them by partitions).

/// Up to so many ranks every count is a whole number that an f64 holds, and the tables stay small.
pub(crate) const MOST_RANKS: usize = 50;

/// The probability of each sum from 0 to n(n + 1)/2 or less.
pub(crate) fn probabilities_at_most(n: usize) -> Vec<f64> {
    let most = n * (n + 1) / 2;
    let mut choices = vec![0.0; most + 1];
    choices[0] = 1.0;
    for rank in 1..=n {
        for sum in (rank..=most).rev() {
            choices[sum] += choices[sum - rank];
        }
    }
    let all = choices.iter().sum::<f64>();
    let mut passed = 0.0;
    let at_most = choices.into_iter().map(|count| {
        passed += count;
        passed / all
    });
    at_most.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three ranks: the sums 0, 1, 2, 3 (twice), 4, 5, 6.
    #[test]
    fn three_ranks_have_eight_choices() {
        let eighths: Vec<f64> = probabilities_at_most(3).iter().map(|p| p * 8.0).collect();
        assert_eq!(eighths, [1.0, 2.0, 3.0, 5.0, 6.0, 7.0, 8.0]);
    }

    /// Critical values of Wilcoxon's table for 5 % on both sides (Conover 1999, Practical Nonparametric
    /// Statistics, table A12, from memory): 8 for ten ranks, 52 for twenty, 434 for fifty.
    #[test]
    fn critical_values_are_those_of_the_published_table() {
        for (n, critical) in [(10, 8), (20, 52), (50, 434)] {
            let at_most = probabilities_at_most(n);
            assert!(at_most[critical] <= 0.025 && at_most[critical + 1] > 0.025, "{n}");
        }
    }
}
