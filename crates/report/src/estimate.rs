//! Numbers that are not sure: a mean with its interval, and what lies between two bounds.

use survey::EastNorth;

/// A mean with its interval, centimetres. Below 0 the loose layer became thinner, or thinner than that
/// it is compared with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The mean.
    pub mean_cm: f64,
    /// Lower and upper end of its interval.
    pub interval_cm: [f64; 2],
    /// How sure the interval is, 0 to 1: 0.95.
    pub confidence: f64,
    /// How many numbers it is the mean of.
    pub count: usize,
}

/// A number that lies between two bounds, centimetres: equal where it is known, infinite where nothing
/// is known on that side ("not reached").
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Between {
    /// At least so much; negative infinity where nothing is known.
    pub low_cm: f64,
    /// At most so much; infinity where nothing is known.
    pub high_cm: f64,
}

/// The change at a spot that both visits read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairedSpot {
    /// Where it is.
    pub position: EastNorth,
    /// Later minus earlier depth.
    pub change: Between,
}
