//! Our results held against files of results that other programs made. The tests do it for the sets
//! that may be copied, the example `reference` for all.

mod idw;
mod kriging;
pub mod set;
mod variogram;

pub use set::Set;

/// One kind of result compared, number by number.
pub struct Check {
    /// What is compared.
    pub what: &'static str,
    /// The largest relative difference that is allowed.
    pub limit: f64,
    /// How many numbers were compared.
    pub compared: usize,
    /// How many were not, because of ties: programs choose differently among samples equally far.
    pub tied: usize,
    /// The largest relative difference.
    pub largest: f64,
    /// Where that was.
    pub at: String,
}

impl Check {
    /// Independent double-precision programs agree to this; most to a thousandth of it.
    pub const LIMIT: f64 = 1e-9;

    pub fn new(what: &'static str) -> Self {
        Check { what, limit: Check::LIMIT, compared: 0, tied: 0, largest: 0.0, at: String::new() }
    }

    /// Compares two numbers. The difference counts in relation to theirs, or to the scale of such
    /// numbers where theirs is smaller, as a mean error near 0. No data agrees with no data alone.
    pub fn compare(&mut self, ours: f64, theirs: f64, scale: f64, at: impl FnOnce() -> String) {
        self.compared += 1;
        let apart = match (ours.is_nan(), theirs.is_nan()) {
            (true, true) => 0.0,
            (false, false) => (ours - theirs).abs() / theirs.abs().max(scale),
            _ => f64::INFINITY,
        };
        if apart > self.largest {
            self.largest = apart;
            self.at = format!("{}: {ours}, expected {theirs}", at());
        }
    }

    /// Whether anything was compared and nothing is too far apart.
    pub fn passes(&self) -> bool {
        self.compared > 0 && self.largest <= self.limit
    }
}

/// Everything that can be held against a set's file, and against the optima of its fits where
/// there is a file of those.
pub fn checks(set: &Set) -> Vec<Check> {
    let mut checks = vec![
        idw::estimates(set),
        idw::leave_one_out(set),
        variogram::semivariances(set),
        variogram::fits(set),
        kriging::ordinary(set),
        kriging::leave_one_out(set),
        kriging::error_variance(set),
        kriging::direction(set),
        kriging::trend(set),
        kriging::block(set),
    ];
    if set.expected["validation"].is_object() {
        checks.extend([idw::validation(set), kriging::validation(set)]);
    }
    if let Some(file) = set.beside("local-only/variogram_fit_optimum.json") {
        checks.push(variogram::optima(set, &file));
    }
    checks
}
