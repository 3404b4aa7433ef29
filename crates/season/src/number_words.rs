//! Numbers as they stand in sentences.

use survey::units::tidy;

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
    fn a_small_probability_is_below_a_bound() {
        assert_eq!([p_text(0.031), p_text(1.0)], ["p = 0.031", "p = 1"]);
        assert_eq!([p_text(1e-4), p_text(9.9e-5)], ["p = 0.0001", "p < 0.0001"]);
    }
}
