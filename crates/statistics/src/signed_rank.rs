//! Wilcoxon's test that differences between pairs lie evenly around 0.
//!
//! The sum V of the ranks of |d| of the positive differences has the mean n(n + 1)/4 and the variance
//! n(n + 1)(2n + 1)/24 − Σ(t³ − t)/48 for each t of equal |d| (Wilcoxon 1945, Biometrics Bulletin 1:80–83;
//! Hollander and Wolfe 1999, section 3.1, from memory). Differences of 0, z of them:
//!
//! * dropped before ranking (Wilcoxon);
//! * ranked, and then left out (Pratt 1959, Remarks on zeros and ties in the Wilcoxon signed rank
//!   procedures, Journal of the American Statistical Association 54:655–667): the mean is less by
//!   z(z + 1)/4 and the variance by z(z + 1)(2z + 1)/24 (Cureton 1967, same journal 62:1068–1069);
//! * ranked, and half of their ranks counted on either side; they are ties as all others are.

use crate::normal;
use crate::ranks::Ranks;
use crate::sign_choices::{MOST_RANKS, probabilities_at_most};

/// What happens to differences of 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Zeros {
    /// They are left out before ranking.
    Dropped,
    /// They are ranked with the others, and their ranks left out (Pratt 1959).
    Pratt,
    /// They are ranked with the others, and half of their ranks counted as positive.
    Split,
}

/// The result of the signed-rank test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SignedRank {
    /// V, the sum of the ranks of the positive differences.
    pub positive: f64,
    /// How many differences are not 0.
    pub nonzero: usize,
    /// V less its mean over its standard deviation.
    pub z: f64,
    /// The probability of a |z| at least so great by the normal distribution, on both sides.
    pub p: f64,
    /// The same with V moved by a half towards its mean, for V goes by steps.
    pub p_corrected: f64,
    /// The same counted out, where there are at most 50 differences, no two of them equally great, and
    /// none 0.
    pub p_exact: Option<f64>,
}

/// Tests that differences lie evenly around 0. Two are equally great only when they are equal to the
/// last digit: differences of readings go through [`evened`](crate::evened) first.
///
/// `None` where all differences are 0 or there is none, and where one is not a finite number.
pub fn signed_rank(differences: &[f64], zeros: Zeros) -> Option<SignedRank> {
    let is_zero = |difference: &&f64| **difference == 0.0;
    let zero = differences.iter().filter(is_zero).count();
    if zero == differences.len() || !differences.iter().all(|difference| difference.is_finite()) {
        return None;
    }
    let ranked: Vec<f64> = match zeros {
        Zeros::Dropped => differences.iter().copied().filter(|d| *d != 0.0).collect(),
        Zeros::Pratt | Zeros::Split => differences.to_vec(),
    };
    let sizes: Vec<f64> = ranked.iter().map(|difference| difference.abs()).collect();
    let ranks = Ranks::of(&sizes);
    let positive = sum_of_positive(&ranked, &ranks.ranks, zeros);
    let (mean, variance) = expected(ranked.len(), zero, ranks.ties, zeros);
    let off = positive - mean;
    let sd = variance.sqrt();
    let moved = (off.abs() - 0.5).max(0.0);
    let countable = zero == 0 && ranks.ties == 0.0 && ranked.len() <= MOST_RANKS;
    Some(SignedRank {
        positive,
        nonzero: differences.len() - zero,
        z: off / sd,
        p: normal::both_tails(off / sd),
        p_corrected: normal::both_tails(moved / sd),
        p_exact: countable.then(|| counted_out(positive, ranked.len())),
    })
}

fn sum_of_positive(ranked: &[f64], ranks: &[f64], zeros: Zeros) -> f64 {
    let share = |difference: f64| match (difference == 0.0, zeros) {
        (true, Zeros::Split) => 0.5,
        _ => f64::from(u8::from(difference > 0.0)),
    };
    ranked.iter().zip(ranks).map(|(&difference, rank)| share(difference) * rank).sum()
}

/// Mean and variance of V for so many ranked differences, of which some are 0.
fn expected(ranked: usize, zero: usize, ties: f64, zeros: Zeros) -> (f64, f64) {
    let sum = |n: usize| n as f64 * (n as f64 + 1.0);
    let squares = |n: usize| sum(n) * (2.0 * n as f64 + 1.0);
    match zeros {
        Zeros::Dropped | Zeros::Split => (sum(ranked) / 4.0, squares(ranked) / 24.0 - ties / 48.0),
        Zeros::Pratt => {
            let z = zero as f64;
            let ties = ties - (z * z * z - z);
            let mean = (sum(ranked) - sum(zero)) / 4.0;
            (mean, (squares(ranked) - squares(zero)) / 24.0 - ties / 48.0)
        }
    }
}

fn counted_out(positive: f64, n: usize) -> f64 {
    let at_most = probabilities_at_most(n);
    let sum = positive as usize;
    (2.0 * at_most[sum.min(n * (n + 1) / 2 - sum)]).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Zeros; 3] = [Zeros::Dropped, Zeros::Pratt, Zeros::Split];

    /// Hollander and Wolfe (1973, Nonparametric Statistical Methods, 29): depression scores of nine
    /// patients before and after; the example of R's `wilcox.test`, which prints V = 40 and
    /// p-value = 0.01953 for one side, so 0.03906 for both.
    #[test]
    #[expect(clippy::approx_constant, reason = "a score is not the number of the circle")]
    fn depression_scores_are_as_published() {
        let before = [1.83, 0.50, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.30];
        let after = [0.878, 0.647, 0.598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29];
        let differences: Vec<f64> = before.iter().zip(after).map(|(a, b)| a - b).collect();
        for zeros in ALL {
            let test = signed_rank(&differences, zeros).unwrap();
            assert_eq!((test.positive, test.nonzero), (40.0, 9));
            assert_eq!(test.p_exact, Some(20.0 / 512.0));
        }
    }

    /// −1, 2, 3, and two of 0: dropped, V = 2 + 3 of 6; ranked, the zeros share 1 and 2.
    #[test]
    fn zeros_are_dropped_left_out_or_split() {
        let differences = [0.0, 3.0, -1.0, 0.0, 2.0];
        let [dropped, pratt, split] = ALL.map(|zeros| signed_rank(&differences, zeros).unwrap());
        assert_eq!([dropped.positive, pratt.positive, split.positive], [5.0, 9.0, 10.5]);
        let z = |off: f64, variance: f64| off / variance.sqrt();
        assert_eq!(dropped.z, z(2.0, 84.0 / 24.0));
        assert_eq!(pratt.z, z(9.0 - 6.0, (330.0 - 30.0) / 24.0));
        assert_eq!(split.z, z(3.0, 330.0 / 24.0 - 6.0 / 48.0));
        assert!([dropped, pratt, split].iter().all(|t| t.nonzero == 3 && t.p_exact.is_none()));
    }

    #[test]
    fn without_zeros_all_three_are_the_same() {
        let differences = [1.0, -2.0, 2.0, 5.0, -0.5, 2.0];
        let tests = ALL.map(|zeros| signed_rank(&differences, zeros));
        assert!(tests.iter().all(|test| test.is_some() && *test == tests[0]));
    }

    #[test]
    fn the_correction_never_goes_beyond_the_middle() {
        let test = signed_rank(&[1.0, -2.0, -3.0, 4.0], Zeros::Dropped).unwrap();
        assert_eq!((test.z, test.p, test.p_corrected, test.p_exact), (0.0, 1.0, 1.0, Some(1.0)));
        let test = signed_rank(&[1.0, 2.0, 3.0, -4.0], Zeros::Dropped).unwrap();
        assert!(test.p < test.p_corrected);
    }

    #[test]
    fn no_difference_has_no_test() {
        for zeros in ALL {
            assert_eq!(signed_rank(&[], zeros), None);
            assert_eq!(signed_rank(&[0.0, -0.0], zeros), None);
            assert_eq!(signed_rank(&[1.0, f64::NAN], zeros), None);
        }
    }
}
