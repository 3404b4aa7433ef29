//! Numbers for files: rounded to what is meant, so that they are short and stay the same.

use serde_json::Value;

/// A number with at most so many decimals; null where it is not finite.
pub(crate) fn decimals(number: f64, decimals: i32) -> Value {
    let factor = 10_f64.powi(decimals);
    let rounded = (number * factor).round() / factor;
    // Zero without a sign.
    Value::from(rounded + 0.0)
}

/// A share as a percentage with three decimals.
pub(crate) fn percent(share: f64) -> Value {
    decimals(share * 100.0, 3)
}

/// A number with so many significant digits, for what may be very small, as a probability; null where it is
/// not finite.
pub(crate) fn significant(number: f64, digits: usize) -> Value {
    let text = format!("{number:.*e}", digits.saturating_sub(1));
    text.parse().ok().filter(|rounded: &f64| rounded.is_finite()).map_or(Value::Null, Value::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_never_nan() {
        assert_eq!(decimals(8.123_456, 2).to_string(), "8.12");
        assert_eq!(decimals(-0.001, 2).to_string(), "0.0");
        assert_eq!(decimals(f64::NAN, 2), Value::Null);
        assert_eq!(percent(0.314_159_2), Value::from(31.416));
    }

    #[test]
    fn small_numbers_keep_their_digits() {
        assert_eq!(significant(2.358_330_94e-20, 4).to_string(), "2.358e-20");
        assert_eq!(significant(0.049_96, 3).to_string(), "0.05");
        assert_eq!(significant(f64::NAN, 3), Value::Null);
        assert_eq!(significant(f64::INFINITY, 3), Value::Null);
    }
}
