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
}
