//! Our results held against files of results that other programs made. The tests do it for the sets that may
//! be copied, the example `reference` for all.

pub mod check;
mod classes;
mod files;
mod paired;
mod sets;
mod spatial;
mod trial;

pub use files::Files;
pub use sets::checks_of;

use serde_json::Value;

/// A number of a file; NaN where it says null.
fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN)
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().expect("a list of numbers").iter().map(number).collect()
}
