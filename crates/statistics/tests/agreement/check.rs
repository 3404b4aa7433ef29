//! One kind of result compared, number by number.

use serde_json::Value;

use super::number;

pub struct Check {
    /// What is compared.
    pub what: &'static str,
    /// The largest difference that is allowed, relative to their number; or as it is.
    pub limit: f64,
    pub is_absolute: bool,
    /// How many numbers were compared.
    pub compared: usize,
    /// How many were not, because of ties: programs choose differently among neighbours equally far.
    pub tied: usize,
    /// The largest difference.
    pub largest: f64,
    /// Where that was.
    pub at: String,
}

impl Check {
    /// Independent double-precision programs agree to this; most to a thousandth of it.
    pub fn new(what: &'static str) -> Self {
        Check {
            what,
            limit: 1e-9,
            is_absolute: false,
            compared: 0,
            tied: 0,
            largest: 0.0,
            at: String::new(),
        }
    }

    /// For results that another program finds to so much only.
    pub fn within(what: &'static str, limit: f64) -> Self {
        Check { limit, is_absolute: true, ..Check::new(what) }
    }

    pub fn compare(&mut self, name: &str, ours: f64, theirs: f64) {
        self.compared += 1;
        let scale = if self.is_absolute || theirs == 0.0 { 1.0 } else { theirs.abs() };
        let apart = (ours - theirs).abs() / scale;
        let apart = if apart.is_nan() { f64::INFINITY } else { apart };
        if apart > self.largest {
            self.largest = apart;
            self.at = format!("{name}: {ours}, expected {theirs}");
        }
    }

    /// Compares numbers that an object holds under the names given with ours.
    pub fn compare_all(&mut self, expected: &Value, ours: &[(&str, f64)]) {
        for &(name, ours) in ours {
            self.compare(name, ours, number(&expected[name]));
        }
    }

    /// Whether anything was compared or could not be for ties, and nothing is too far apart.
    pub fn passes(&self) -> bool {
        self.compared + self.tied > 0 && self.largest <= self.limit
    }
}
