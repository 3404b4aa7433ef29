//! Numbers as they stand in sentences.

use survey::units::tidy;

/// A number with its sign, at most so many decimals: `+3`, `−14.8` with a true minus (U+2212); `0` has none.
pub fn signed(number: f64, decimals: usize) -> String {
    match tidy(number.abs(), decimals) {
        nought if nought == "0" => nought,
        text if number < 0.0 => format!("−{text}"),
        text => format!("+{text}"),
    }
}

/// A probability that a test found: `p = 0.031`, `p < 0.0001`.
pub fn p_text(p: f64) -> String {
    match p < 1e-4 {
        true => "p < 0.0001".into(),
        false => format!("p = {}", tidy(p, 4)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_has_a_true_minus_and_nothing_has_no_sign() {
        assert_eq!([signed(3.0, 1), signed(-14.84, 1)], ["+3", "−14.8"]);
        assert_eq!([0.0, -0.0, 0.004, -0.004].map(|number| signed(number, 2)), ["0"; 4]);
    }

    #[test]
    fn a_small_probability_is_below_a_bound() {
        assert_eq!([p_text(0.031), p_text(1.0)], ["p = 0.031", "p = 1"]);
        assert_eq!([p_text(1e-4), p_text(9.9e-5)], ["p = 0.0001", "p < 0.0001"]);
    }
}
