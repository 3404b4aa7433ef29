//! Differences that rounding alone makes unequal are made equal, for tests by ranks.
//!
//! 9 in less 6 in is 3 in, as is 6 in less 3 in; in centimetres 22.86 − 15.24 and 15.24 − 7.62 differ
//! in their last digit, and a test by ranks would take one for the greater.

/// Sizes closer than this part of the greatest are equal: a thousand times what rounding leaves of readings
/// that are a thousand times greater than their differences, and less than any reading tells.
const SAME_SHARE: f64 = 1e-9;

/// The differences with sizes that are equal up to rounding made equal to the last digit, and with 0 for
/// those that are nothing but rounding beside the greatest.
pub fn evened(differences: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..differences.len()).collect();
    order.sort_by(|&a, &b| differences[a].abs().total_cmp(&differences[b].abs()));
    let finite = differences.iter().filter(|difference| difference.is_finite());
    let greatest = finite.fold(0.0, |greatest: f64, difference| greatest.max(difference.abs()));
    let mut evened = differences.to_vec();
    // By size, each with the first that it is equal to. What is no number stays so.
    let mut size = 0.0;
    for index in order {
        let difference = &mut evened[index];
        if difference.abs() - size > SAME_SHARE * greatest {
            size = difference.abs();
        } else if difference.abs() >= size {
            *difference = size.copysign(*difference);
        }
    }
    evened
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Zeros, signed_rank};

    #[test]
    fn differences_of_marks_are_equal_in_any_unit() {
        let marks = [(3.0, 9.0), (0.0, 6.0), (12.0, 6.0), (9.0, 12.0), (6.0, 3.0), (15.0, 12.0)];
        let in_inches: Vec<f64> = marks.iter().map(|(first, later)| later - first).collect();
        let in_cm: Vec<f64> = marks
            .iter()
            .map(|(first, later)| later * 0.0254 * 100.0 - first * 0.0254 * 100.0)
            .collect();
        let test = |differences: &[f64]| signed_rank(differences, Zeros::Pratt).unwrap();
        assert!(test(&in_cm) != test(&in_inches), "the case is to show what rounding does");
        assert_eq!(test(&evened(&in_cm)), test(&in_inches));
    }

    #[test]
    fn what_is_rounding_alone_is_zero_and_all_else_stays() {
        let found = evened(&[0.1 + 0.2 - 0.3, 5.0, -5.0 - 4e-15, 4.999, f64::NAN, -0.001]);
        assert_eq!(found[..4], [0.0, 5.0, -5.0, 4.999]);
        assert!(found[4].is_nan() && found[5] == -0.001);
        assert!(evened(&[]).is_empty());
        assert_eq!(evened(&[1e-20, 0.0]), [1e-20, 0.0]);
    }

    /// Each is within the limit of the one before, but not of the first.
    #[test]
    fn a_chain_of_small_steps_is_not_drawn_together() {
        let chain = [1.0, 1.0 + 0.8e-9, 1.0 + 1.6e-9];
        let found = evened(&chain);
        assert_eq!(found, [1.0, 1.0, chain[2]]);
    }
}
