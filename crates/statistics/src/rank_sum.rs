//! The rank-sum test: whether the values of one sample tend to be greater than those of another.
//!
//! U is the number of pairs in which the second sample's value is the greater, equal ones a half. Its mean is
//! n₁·n₂/2 and its variance n₁·n₂/12 · (n + 1 − Σ(t³ − t)/(n(n − 1))) with n values in all, for each t of
//! equal ones (Wilcoxon 1945, Biometrics Bulletin 1:80–83; Mann and Whitney 1947, Annals of Mathematical
//! Statistics 18:50–60; Lehmann 1975, Nonparametrics, section 1.4, from memory).

use crate::normal;
use crate::ranks::Ranks;

/// Up to so many values in each sample, without equal ones, the distribution is counted out: common
/// practice.
const MOST_COUNTED: usize = 50;

/// The result of the rank-sum test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RankSum {
    /// U: in how many pairs the second sample's value is the greater, equal ones a half.
    pub u: f64,
    /// U less its mean over its standard deviation.
    pub z: f64,
    /// The probability of a |z| at least so great by the normal distribution, on both sides.
    pub p: f64,
    /// The same with U moved by a half towards its mean, for U goes by steps.
    pub p_corrected: f64,
    /// The same counted out, where no two values are equal and neither sample has more than 50.
    pub p_exact: Option<f64>,
}

/// Tests whether the values of `b` tend to be greater, or smaller, than those of `a`. Two are equal only
/// when they are so to the last digit: differences go through [`evened`](crate::evened) first, all at once.
///
/// `None` where a sample has no value or one that is not a finite number, and where all are equal.
pub fn rank_sum(a: &[f64], b: &[f64]) -> Option<RankSum> {
    let both = [a, b].concat();
    if a.is_empty() || b.is_empty() || !both.iter().all(|value| value.is_finite()) {
        return None;
    }
    let (of_a, of_b, n) = (a.len() as f64, b.len() as f64, both.len() as f64);
    let ranks = Ranks::of(&both);
    let u = ranks.ranks[a.len()..].iter().sum::<f64>() - of_b * (of_b + 1.0) / 2.0;
    let variance = of_a * of_b / 12.0 * (n + 1.0 - ranks.ties / (n * (n - 1.0)));
    if variance <= 0.0 {
        return None;
    }
    let (off, sd) = (u - of_a * of_b / 2.0, variance.sqrt());
    let countable = ranks.ties == 0.0 && a.len().max(b.len()) <= MOST_COUNTED;
    Some(RankSum {
        u,
        z: off / sd,
        p: normal::both_tails(off / sd),
        p_corrected: normal::both_tails((off.abs() - 0.5).max(0.0) / sd),
        p_exact: countable.then(|| counted_out(u as usize, a.len(), b.len())),
    })
}

/// Twice the probability of a U at least so far from its mean on its side, at most 1.
fn counted_out(u: usize, of_a: usize, of_b: usize) -> f64 {
    let orders = orders(of_a, of_b);
    let few = u.min(of_a * of_b - u);
    let [tail, all] = [&orders[..=few], &orders[..]].map(|counts| counts.iter().sum::<f64>());
    (2.0 * tail / all).min(1.0)
}

/// How many of the orders of both samples have each U, from 0 to n₁·n₂ (Mann and Whitney 1947).
fn orders(of_a: usize, of_b: usize) -> Vec<f64> {
    // By size of the second sample: the greatest value of all is either of b, above all of a, or of a.
    let mut by_size: Vec<Vec<f64>> = vec![vec![1.0]; of_b + 1];
    for size_a in 1..=of_a {
        for size_b in 1..=of_b {
            let mut counts = vec![0.0; size_a * size_b + 1];
            for (u, count) in by_size[size_b].iter().enumerate() {
                counts[u] += count;
            }
            for (u, count) in by_size[size_b - 1].iter().enumerate() {
                counts[u + size_a] += count;
            }
            by_size[size_b] = counts;
        }
    }
    by_size.pop().expect("there is a list for each size")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two of each: the six orders have U = 0, 1, 2, 2, 3, 4.
    #[test]
    fn two_of_each_have_six_orders() {
        assert_eq!(orders(2, 2), [1.0, 1.0, 2.0, 1.0, 1.0]);
        assert_eq!(orders(3, 1), [1.0; 4]);
    }

    /// Hollander and Wolfe (1973, Nonparametric Statistical Methods, 69 f.): permeability of membranes at
    /// term and at 12 to 26 weeks; the example of R's `wilcox.test`, which prints W = 35 for the first and
    /// p-value = 0.1272 for one side.
    #[test]
    fn permeabilities_are_as_published() {
        let at_term = [0.80, 0.83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, 0.73, 1.46];
        let before = [1.15, 0.88, 0.90, 0.74, 1.21];
        let test = rank_sum(&before, &at_term).unwrap();
        assert_eq!(test.u, 35.0);
        assert!((test.p_exact.unwrap() - 2.0 * 0.1272).abs() < 0.0001, "{test:?}");
        assert_eq!(rank_sum(&at_term, &before).unwrap().u, 15.0);
    }

    /// 1, 2, 2 and 2, 3: the second is greater in 4 of 6 pairs and equal in 2.
    #[test]
    fn equal_values_count_a_half_and_narrow_the_spread() {
        let test = rank_sum(&[1.0, 2.0, 2.0], &[2.0, 3.0]).unwrap();
        assert_eq!((test.u, test.p_exact), (5.0, None));
        assert!((test.z - 2.0 / (0.5_f64 * (6.0 - 24.0 / 20.0)).sqrt()).abs() < 1e-15);
    }

    #[test]
    fn samples_without_a_difference_in_values_have_no_test() {
        assert_eq!(rank_sum(&[], &[1.0]), None);
        assert_eq!(rank_sum(&[2.0, 2.0], &[2.0]), None);
        assert_eq!(rank_sum(&[f64::NAN], &[2.0]), None);
    }
}
