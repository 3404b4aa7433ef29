//! How many strips would show a difference that matters.
//!
//! n = 2 s² (t(1 − α/2) + t(power))² / δ² strips a side, with both quantiles of Student's t at the degrees of
//! freedom that n strips give, so the smallest n that is not below its own right side is looked for (Cochran
//! and Cox 1957, Experimental Designs, 2nd edition, section 2.21, from memory; held in a test against the
//! known figure of R's `power.t.test`).

use statistics::student;

/// The chance to show a difference that is there, which the number of strips is worked out for: common
/// practice.
pub const POWER: f64 = 0.8;

/// More strips a side are no trial any more.
const MOST: usize = 1_000;

/// The fewest strips a side, at least 2, that show a difference with 80 % power where strips of one side have
/// a standard deviation of `strip_sd`; `None` where that takes more than 1000. In pairs each block has one
/// strip of each side.
pub fn strips_needed(
    strip_sd: f64,
    difference: f64,
    confidence: f64,
    in_pairs: bool,
) -> Option<usize> {
    let ratio = strip_sd / difference;
    (2..=MOST).find(|&count| {
        let pairs = (count - 1) as f64;
        let degrees = if in_pairs { pairs } else { 2.0 * pairs };
        let shown = student::quantile(f64::midpoint(1.0, confidence), degrees);
        let quantiles = shown + student::quantile(POWER, degrees);
        2.0 * ratio * ratio * quantiles * quantiles <= count as f64
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// R's `power.t.test(delta = 1, power = 0.8)` gives 16.71 strips a side (from memory).
    #[test]
    fn one_standard_deviation_takes_seventeen_strips_a_side() {
        assert_eq!(strips_needed(1.0, 1.0, 0.95, false), Some(17));
        assert_eq!(strips_needed(2.54, 2.54, 0.95, false), Some(17));
    }

    #[test]
    fn fewer_strips_show_a_greater_difference_and_never_fewer_than_two() {
        let mut before = usize::MAX;
        for difference in [0.3, 0.5, 1.0, 2.0, 5.0, 100.0] {
            let count = strips_needed(1.0, difference, 0.95, false).unwrap();
            assert!(count <= before && count >= 2, "{difference} {count}");
            let in_pairs = strips_needed(1.0, difference, 0.95, true).unwrap();
            assert!(in_pairs >= count, "{difference} {in_pairs}");
            before = count;
        }
        assert_eq!(before, 2);
    }

    #[test]
    fn what_no_trial_can_show_is_not_promised() {
        assert_eq!(strips_needed(100.0, 1.0, 0.95, false), None);
    }
}
