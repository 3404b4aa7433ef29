//! How many spots a wanted precision takes: n = t²·s² / (r·m)², with the mean m, the standard deviation s, the
//! part r of the mean that the estimate may be off by, and Student's t (Cochran 1977, Sampling Techniques, 3rd
//! edition, section 4.6, from memory).
//!
//! t depends on n in its turn. Published worked cases take t with the degrees of freedom of the spots already
//! read ([`sample_size`]); before a new visit t is that of the spots to come, so the least n is sought that is
//! no less than its own formula ([`spots_needed`]). Both hold for spots drawn at random, each by itself: near
//! spots that read alike tell less.

use statistics::student;

/// Mean and spread of readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Their mean, in any unit.
    pub mean: f64,
    /// Their standard deviation, with n − 1 below the line, in the same unit.
    pub standard_deviation: f64,
}

/// The most spots that are counted up to.
const MOST: usize = 1_000_000_000;

impl Spread {
    /// Mean and spread of some numbers; `None` for fewer than two.
    pub fn of(values: &[f64]) -> Option<Self> {
        if values.len() < 2 {
            return None;
        }
        let count = values.len() as f64;
        let mean = values.iter().sum::<f64>() / count;
        let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
        Some(Spread { mean, standard_deviation: (squares / (count - 1.0)).sqrt() })
    }

    /// Standard deviation over mean.
    pub fn coefficient_of_variation(&self) -> f64 {
        self.standard_deviation / self.mean
    }
}

/// n of the formula for a given t, not yet a whole number.
pub fn sample_size(spread: Spread, off_by: f64, t: f64) -> f64 {
    let ratio = t * spread.standard_deviation / (off_by * spread.mean);
    ratio * ratio
}

/// The least number of spots whose mean lies within `off_by` of the true mean (0.1: 10 % of it) with this confidence
/// (0.95), on either side: the least n from 2 on that is no less than the formula with t of n − 1 degrees of
/// freedom. `None` where the mean is not above 0 or more than a thousand million would be needed.
pub fn spots_needed(spread: Spread, off_by: f64, confidence: f64) -> Option<usize> {
    if !(spread.mean > 0.0 && off_by > 0.0 && spread.standard_deviation.is_finite()) {
        return None;
    }
    let is_enough = |n: usize| n as f64 >= sample_size(spread, off_by, t_of(n, confidence));
    let mut high = 2;
    while !is_enough(high) {
        high *= 2;
        if high > MOST {
            return None;
        }
    }
    // t falls with n, so once enough is always enough.
    let mut low = high / 2;
    while high - low > 1 {
        let middle = usize::midpoint(low, high);
        if is_enough(middle) { high = middle } else { low = middle }
    }
    Some(high)
}

/// How far the mean of so many spots may be off, as a part of it, with this confidence.
pub fn precision_of(spread: Spread, spots: usize, confidence: f64) -> f64 {
    let error = spread.standard_deviation / (spots as f64).sqrt();
    t_of(spots.max(2), confidence) * error / spread.mean
}

/// t of both sides for so many spots.
fn t_of(spots: usize, confidence: f64) -> f64 {
    student::quantile(f64::midpoint(1.0, confidence), (spots - 1) as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn published(values: &[f64], t: f64) -> f64 {
        sample_size(Spread::of(values).unwrap(), 0.1, t)
    }

    /// Mississippi Administrative Code, title 11, part 8, chapter 2, appendix 11-8-2-A, addenda I, J and K
    /// (sample adequacy for ground cover, hay and trees): ten samples each, t = 1.383 for 9 degrees of freedom,
    /// 10 % of the mean. They come to 13, 32.77 rounded up to 33, and 28 samples.
    #[test]
    fn the_cases_of_the_mississippi_code_come_out() {
        let cover = [86.0, 90.0, 76.0, 82.0, 40.0, 76.0, 40.0, 82.0, 86.0, 90.0];
        let hay = [72.2, 80.0, 22.0, 96.5, 100.2, 25.0, 81.0, 96.0, 100.9, 51.0];
        let trees = [7.0, 10.0, 4.0, 5.0, 10.0, 11.0, 3.0, 7.0, 10.0, 10.0];
        assert_eq!(published(&cover, 1.383).ceil(), 13.0);
        assert_eq!(published(&trees, 1.383).ceil(), 28.0);
        let hay = published(&hay, 1.383);
        assert!((hay - 32.77).abs() < 0.005, "{hay}");
        assert_eq!(hay.ceil(), 33.0);
        // Their t is that of one side at 90 %, which is both sides at 80 %.
        assert!((t_of(10, 0.8) - 1.383).abs() < 0.000_5);
    }

    /// Colorado Division of Reclamation, Mining and Safety, file 1250747, page 52, table SA (Cedar Creek
    /// Associates, Cochran's formula, t of one side at 90 %, 10 % of the mean): means 48.83, 64.40 and 51.95,
    /// variances 188.06, 134.67 and 204.58, of 72, 20 and 20 samples, give 13.20, 5.72 and 13.36.
    #[test]
    fn the_cases_of_a_colorado_survey_come_out() {
        for (mean, variance, samples, expected) in
            [(48.83, 188.06_f64, 72, 13.20), (64.40, 134.67, 20, 5.72), (51.95, 204.58, 20, 13.36)]
        {
            let spread = Spread { mean, standard_deviation: variance.sqrt() };
            let n = sample_size(spread, 0.1, t_of(samples, 0.8));
            assert!((n - expected).abs() < 0.006, "{n} {expected}");
        }
    }

    /// Reckoned by hand from a table of t: with a coefficient of variation of 30 % and 10 % off at 95 %, 37 spots
    /// have t = 2.028 (36 degrees of freedom) and need 37.02, 38 have t = 2.026 and need 36.95.
    #[test]
    fn t_is_that_of_the_spots_to_come() {
        let spread = Spread { mean: 10.0, standard_deviation: 3.0 };
        assert_eq!(spots_needed(spread, 0.1, 0.95), Some(38));
        assert!(precision_of(spread, 38, 0.95) <= 0.1 && precision_of(spread, 37, 0.95) > 0.1);
    }

    #[test]
    fn no_spread_takes_two_spots_and_no_mean_takes_none() {
        let spread = |mean, standard_deviation| Spread { mean, standard_deviation };
        assert_eq!(spots_needed(spread(10.0, 0.0), 0.1, 0.95), Some(2));
        assert_eq!(spots_needed(spread(0.0, 3.0), 0.1, 0.95), None);
        assert_eq!(spots_needed(spread(1e-9, 3.0), 0.1, 0.95), None);
        assert_eq!(Spread::of(&[4.0]), None);
    }
}
