//! The pseudomedian of differences: the median of the means of all pairs, and an interval for it.
//!
//! Hodges and Lehmann (1963, Estimates of location based on rank tests, Annals of Mathematical Statistics
//! 34:598–611). The interval holds every value that the signed-rank test with continuity correction does
//! not reject: of the averages by size, from the one with k before it to the one with k after it, for the
//! greatest k with P(V ≤ k) of at most half of what the confidence leaves (Hollander and Wolfe 1999,
//! section 3.3, from memory). P is counted out for at most 50 differences of which no two are equal, else
//! normal with the variance n(n + 1)(2n + 1)/24 − Σ(t³ − t)/48 for each t of equal differences.

use crate::normal;
use crate::ranks::Ranks;
use crate::sign_choices::{MOST_RANKS, probabilities_at_most};
use crate::walsh::Walsh;

/// A middle that a few far values do not move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pseudomedian {
    /// The median of the means of all pairs.
    pub estimate: f64,
    /// The least and the greatest value that agree with the differences.
    pub interval: [f64; 2],
    /// The confidence of the interval, 0 to 1: what was asked for or a little more, and less for so few
    /// differences that no interval between them has so much.
    pub confidence: f64,
}

/// The pseudomedian of differences, for a confidence between 0 and 1 (0.95). Differences of 0 count as
/// all others do.
///
/// `None` for fewer than two differences, and where one is not a finite number.
pub fn pseudomedian(differences: &[f64], confidence: f64) -> Option<Pseudomedian> {
    if differences.len() < 2 || !differences.iter().all(|difference| difference.is_finite()) {
        return None;
    }
    let walsh = Walsh::of(differences);
    let tail = f64::midpoint(0.0, 1.0 - confidence);
    let ties = Ranks::of(differences).ties;
    let (left_out, beyond) = match ties == 0.0 && differences.len() <= MOST_RANKS {
        true => counted_out(differences.len(), tail),
        false => normal(differences.len(), ties, tail),
    };
    Some(Pseudomedian {
        estimate: walsh.median(),
        interval: [walsh.nth(left_out), walsh.nth(walsh.count() - 1 - left_out)],
        confidence: (1.0 - 2.0 * beyond).max(0.0),
    })
}

/// How many averages lie outside the interval at each end, and the probability that goes with them.
fn counted_out(n: usize, tail: f64) -> (usize, f64) {
    let at_most = probabilities_at_most(n);
    let left_out = at_most.partition_point(|&p| p <= tail).saturating_sub(1);
    (left_out, at_most[left_out])
}

fn normal(n: usize, ties: f64, tail: f64) -> (usize, f64) {
    let n = n as f64;
    let mean = n * (n + 1.0) / 4.0;
    let sd = (n * (n + 1.0) * (2.0 * n + 1.0) / 24.0 - ties / 48.0).sqrt();
    let left_out = (mean - 0.5 + normal::quantile(tail) * sd).floor().max(0.0);
    (left_out as usize, normal::probability_below((left_out + 0.5 - mean) / sd))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The depression scores of Hollander and Wolfe (1973, 29). They give 0.46 for the estimate
    /// (example 3.3) and (0.010, 0.786) for the interval with a confidence of 0.961 (example 3.4, for
    /// before minus after); both from memory.
    #[test]
    #[expect(clippy::approx_constant, reason = "a score is not the number of the circle")]
    fn depression_scores_are_as_published() {
        let before = [1.83, 0.50, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.30];
        let after = [0.878, 0.647, 0.598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29];
        let differences: Vec<f64> = before.iter().zip(after).map(|(a, b)| a - b).collect();
        let found = pseudomedian(&differences, 0.95).unwrap();
        assert!((found.estimate - 0.46).abs() < 1e-9, "{found:?}");
        assert!((found.interval[0] - 0.010).abs() < 1e-9, "{found:?}");
        assert!((found.interval[1] - 0.786).abs() < 1e-9, "{found:?}");
        assert_eq!(found.confidence, 1.0 - 2.0 * 10.0 / 512.0);
    }

    /// For 76 the mean is 1463 and the variance 76 · 77 · 153/24 = 37 306.5: 1463 − 0.5 − 1.96 · 193.1
    /// is 1083.9. For 14 of which six are equal they are 52.5 and 253.75 − 210/48: 52 − 1.96 · 15.79 is
    /// 21.05, and without the ties it would be 20.8.
    #[test]
    fn many_or_equal_differences_take_the_normal_distribution_with_correction() {
        assert_eq!(normal(76, 0.0, 0.025).0, 1083);
        let (left_out, beyond) = normal(14, 210.0, 0.025);
        assert_eq!(left_out, 21);
        assert!((beyond - 0.024_82).abs() < 0.000_05, "{beyond}");
    }

    #[test]
    fn few_differences_have_their_range_and_say_what_confidence_that_has() {
        let found = pseudomedian(&[4.0, 1.0, 2.0], 0.95).unwrap();
        assert_eq!(found.interval, [1.0, 4.0]);
        assert_eq!(found.confidence, 0.75);
    }

    #[test]
    fn one_far_value_moves_it_little() {
        let mut differences: Vec<f64> = (0..60).map(|k| f64::from(k % 7)).collect();
        let before = pseudomedian(&differences, 0.95).unwrap();
        differences[0] = 1e6;
        let after = pseudomedian(&differences, 0.95).unwrap();
        assert!((before.estimate - after.estimate).abs() <= 0.5);
        assert!(after.interval[1] < 7.0);
    }

    #[test]
    fn equal_differences_have_an_interval_of_no_width() {
        let found = pseudomedian(&[2.0; 12], 0.95).unwrap();
        assert_eq!((found.estimate, found.interval), (2.0, [2.0, 2.0]));
        assert_eq!(pseudomedian(&[2.0], 0.95), None);
        assert_eq!(pseudomedian(&[2.0, f64::INFINITY], 0.95), None);
    }
}
