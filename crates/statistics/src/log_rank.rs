//! The log-rank test: whether groups of lifetimes, of which some ended before their end was seen, come from
//! one distribution. A lifetime may as well be the depth where something was first met.
//!
//! At each value where lifetimes end, d of the n that last so long, a group with m of them is expected to
//! have d·m/n; the covariances are those of the hypergeometric distribution, of two groups with m and k of
//! them d·(n − d)/(n − 1) · m/n · (δ − k/n), with δ 1 for a group with itself and else 0. Chi-squared is the
//! quadratic form of observed less expected
//! with the inverse of their sum over all values (Mantel 1966, Cancer Chemotherapy Reports 50:163–170;
//! Peto and Peto 1972, Journal of the Royal Statistical Society A 135:185–207; Kalbfleisch and Prentice
//! 2002, section 1.5, from memory).

use crate::chi_squared;

/// A time, or a depth, up to an end or to where it was lost sight of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lifetime {
    /// How long, or how deep; it may be any finite number.
    pub value: f64,
    /// Whether it ended there; else it is known only to be longer (censored).
    pub ended: bool,
}

/// The result of the log-rank test.
#[derive(Debug, Clone, PartialEq)]
pub struct LogRank {
    /// The distance of what was observed from what is expected.
    pub chi_squared: f64,
    /// Groups in which an end is expected, less one.
    pub degrees_of_freedom: f64,
    /// The probability of a chi-squared at least so great where all groups come from one distribution.
    pub p: f64,
    /// How many lifetimes ended, by group.
    pub observed: Vec<f64>,
    /// How many would have ended, by group.
    pub expected: Vec<f64>,
}

/// Tests whether groups of lifetimes come from one distribution. Lifetimes that are lost sight of at the
/// value where others end lasted so long (Kaplan and Meier 1958). Values are the same only when they are so
/// to the last digit.
///
/// `None` where fewer than two groups can be compared, or no value tells them apart, or a value is not a
/// finite number.
pub fn log_rank(groups: &[&[Lifetime]]) -> Option<LogRank> {
    let mut all: Vec<(usize, Lifetime)> = Vec::new();
    for (group, lifetimes) in groups.iter().enumerate() {
        all.extend(lifetimes.iter().map(|&lifetime| (group, lifetime)));
    }
    if !all.iter().all(|(_, lifetime)| lifetime.value.is_finite()) {
        return None;
    }
    all.sort_by(|(_, a), (_, b)| a.value.total_cmp(&b.value));
    let mut sums = Sums::new(groups);
    for tied in all.chunk_by(|(_, a), (_, b)| a.value == b.value) {
        sums.pass(tied);
    }
    sums.test()
}

/// What adds up along the values.
struct Sums {
    /// How many of each group last so long.
    lasting: Vec<f64>,
    observed: Vec<f64>,
    expected: Vec<f64>,
    covariance: Vec<Vec<f64>>,
}

impl Sums {
    fn new(groups: &[&[Lifetime]]) -> Self {
        let zeros = vec![0.0; groups.len()];
        Sums {
            lasting: groups.iter().map(|group| group.len() as f64).collect(),
            observed: zeros.clone(),
            expected: zeros.clone(),
            covariance: vec![zeros; groups.len()],
        }
    }

    /// Goes past lifetimes of one value.
    fn pass(&mut self, tied: &[(usize, Lifetime)]) {
        let ended = tied.iter().filter(|(_, lifetime)| lifetime.ended).count() as f64;
        if ended > 0.0 {
            self.expect(ended);
        }
        for &(group, lifetime) in tied {
            self.observed[group] += f64::from(u8::from(lifetime.ended));
            self.lasting[group] -= 1.0;
        }
    }

    fn expect(&mut self, ended: f64) {
        let n: f64 = self.lasting.iter().sum();
        // A last lifetime that ends alone is expected for certain.
        let spread = if n > 1.0 { ended * (n - ended) / (n - 1.0) } else { 0.0 };
        for (g, &of_g) in self.lasting.iter().enumerate() {
            self.expected[g] += ended * of_g / n;
            for (h, &of_h) in self.lasting.iter().enumerate() {
                let same = f64::from(u8::from(g == h));
                self.covariance[g][h] += spread * of_g / n * (same - of_h / n);
            }
        }
    }

    /// Of the groups with something expected all but one are taken: the last follows from the others.
    fn test(self) -> Option<LogRank> {
        let mut used: Vec<usize> =
            (0..self.expected.len()).filter(|&group| self.expected[group] > 0.0).collect();
        used.pop();
        let off: Vec<f64> = used.iter().map(|&g| self.observed[g] - self.expected[g]).collect();
        let row = |&g: &usize| used.iter().map(|&h| self.covariance[g][h]).collect();
        let chi_squared = quadratic_form(used.iter().map(row).collect(), off)?;
        let degrees_of_freedom = used.len() as f64;
        Some(LogRank {
            chi_squared,
            degrees_of_freedom,
            p: chi_squared::probability_above(chi_squared, degrees_of_freedom),
            observed: self.observed,
            expected: self.expected,
        })
    }
}

/// u′V⁻¹u by eliminating one row after the other; `None` where V has no inverse or no row.
fn quadratic_form(mut v: Vec<Vec<f64>>, mut u: Vec<f64>) -> Option<f64> {
    if u.is_empty() {
        return None;
    }
    let greatest = v.iter().enumerate().map(|(g, row)| row[g]).fold(0.0, f64::max);
    let mut sum = 0.0;
    for pivot in 0..u.len() {
        // What is left of a variance is positive, but for rounding.
        let left = v[pivot][pivot];
        if left <= 1e-12 * greatest {
            return None;
        }
        sum += u[pivot] * u[pivot] / left;
        let (above, below) = v.split_at_mut(pivot + 1);
        for (row, values) in below.iter_mut().enumerate() {
            let factor = values[pivot] / left;
            u[pivot + 1 + row] -= factor * u[pivot];
            for (value, pivot_value) in values.iter_mut().zip(&above[pivot]) {
                *value -= factor * pivot_value;
            }
        }
    }
    Some(sum)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lifetimes(values: &[f64], ended: bool) -> Vec<Lifetime> {
        values.iter().map(|&value| Lifetime { value, ended }).collect()
    }

    /// Freireich et al. (1963), Blood 21:699–716: weeks in remission from leukaemia.
    fn remissions() -> [Vec<Lifetime>; 2] {
        let placebo = [
            1.0, 1.0, 2.0, 2.0, 3.0, 4.0, 4.0, 5.0, 5.0, 8.0, 8.0, 8.0, 8.0, 11.0, 11.0, 12.0,
            12.0, 15.0, 17.0, 22.0, 23.0,
        ];
        let mut treated = lifetimes(&[6.0, 6.0, 6.0, 7.0, 10.0, 13.0, 16.0, 22.0, 23.0], true);
        let lost = [6.0, 9.0, 10.0, 11.0, 17.0, 19.0, 20.0, 25.0, 32.0, 32.0, 34.0, 35.0];
        treated.extend(lifetimes(&lost, false));
        [treated, lifetimes(&placebo, true)]
    }

    /// Kleinbaum and Klein (2012), Survival Analysis, 3rd ed., section 2.IV: log-rank statistic 16.79,
    /// 9 ends observed and 19.25 expected with 6-MP, 21 and 10.75 without.
    #[test]
    fn remissions_are_as_published() {
        let [treated, placebo] = remissions();
        let test = log_rank(&[&treated, &placebo]).unwrap();
        assert!((test.chi_squared - 16.79).abs() < 0.005, "{}", test.chi_squared);
        assert_eq!((&test.observed[..], test.degrees_of_freedom), (&[9.0, 21.0][..], 1.0));
        assert!((test.expected[0] - 19.25).abs() < 0.005, "{:?}", test.expected);
        assert!((test.expected[1] - 10.75).abs() < 0.005, "{:?}", test.expected);
    }

    #[test]
    fn a_group_twice_over_has_two_halves_of_what_is_expected() {
        let [treated, placebo] = remissions();
        let test = log_rank(&[&treated, &placebo, &treated]).unwrap();
        assert_eq!(test.degrees_of_freedom, 2.0);
        assert_eq!(test.expected[0], test.expected[2]);
        let [observed, expected] = [&test.observed, &test.expected].map(|s| s.iter().sum::<f64>());
        assert!((observed - expected).abs() < 1e-12);
    }

    /// One ends at 1, the other at 2: at 1 half an end is expected of either, with the variance ¼; at 2
    /// the last is expected for certain. So chi-squared is ½²/¼ = 1.
    #[test]
    fn two_lifetimes_can_be_checked_by_hand() {
        let groups = [lifetimes(&[1.0], true), lifetimes(&[2.0], true)];
        let test = log_rank(&[&groups[0], &groups[1]]).unwrap();
        assert_eq!((test.chi_squared, &test.expected[..]), (1.0, &[0.5, 1.5][..]));
    }

    #[test]
    fn groups_without_an_end_to_compare_have_no_test() {
        let lost = lifetimes(&[5.0, 6.0], false);
        let ended = lifetimes(&[5.0, 6.0], true);
        assert_eq!(log_rank(&[&lost, &lost]), None);
        assert_eq!(log_rank(&[&ended]), None);
        assert_eq!(log_rank(&[]), None);
        // All that could end end at once.
        assert_eq!(log_rank(&[&ended[..1], &ended[..1]]), None);
        // A group that is lost before the first end expects nothing and does not count.
        let early = lifetimes(&[1.0], false);
        let test = log_rank(&[&early, &ended, &lost]).unwrap();
        assert_eq!((test.degrees_of_freedom, test.expected[0]), (1.0, 0.0));
    }
}
