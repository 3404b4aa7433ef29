//! Semivariances estimated from samples, by distance.

/// How the semivariance of a distance class is estimated from the differences in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Estimator {
    /// Half the mean square difference: Matheron (1962).
    Matheron,
    /// The fourth power of the mean root difference, robust against outliers: Cressie and Hawkins (1980).
    CressieHawkins,
}

/// Pairs of samples whose distances fall in one class.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DistanceClass {
    /// How many pairs.
    pub pairs: usize,
    /// Mean distance of the pairs, metres.
    pub distance_m: f64,
    /// Semivariance, in squares of the values' unit.
    pub semivariance: f64,
}

/// Semivariance by distance. Classes without a pair are left out.
#[derive(Debug, Clone, PartialEq)]
pub struct EmpiricalVariogram {
    /// The estimator.
    pub estimator: Estimator,
    /// Greatest distance taken up, metres.
    pub cutoff_m: f64,
    /// The classes by growing distance.
    pub classes: Vec<DistanceClass>,
}
