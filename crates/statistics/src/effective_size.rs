//! How many independent values tell as much about a mean as values that are alike where they are near.
//!
//! The mean of n values has the variance ΣΣ C(dᵢⱼ)/n², of independent ones C(0)/n: so n² C(0)/ΣΣ C(dᵢⱼ)
//! of those are worth as much (Griffith 2005, Effective geographic sample size in the presence of spatial
//! autocorrelation, Annals of the Association of American Geographers 95:740–760, from memory).

use crate::distance::distance;

/// The number of independent values whose mean is known as well as that of values at `places` with a
/// covariance by distance. `covariance(0.0)` is the variance of one value, nugget and all; between
/// places the distance is in their unit. 0 without places.
pub fn effective_size_of_mean(places: &[[f64; 2]], covariance: impl Fn(f64) -> f64) -> f64 {
    let count = places.len() as f64;
    let variance = covariance(0.0);
    let mut pairs = 0.0;
    for (index, place) in places.iter().enumerate() {
        let with = places[..index].iter().map(|other| covariance(distance(place, other)));
        pairs += with.sum::<f64>();
    }
    match places.is_empty() {
        true => 0.0,
        false => count * count * variance / (count * variance + 2.0 * pairs),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two places with a correlation of a half: 4/(2 + 1).
    #[test]
    fn two_places_can_be_checked_by_hand() {
        let places = [[0.0, 0.0], [3.0, 4.0]];
        let covariance = |distance: f64| if distance == 5.0 { 3.0 } else { 6.0 };
        assert!((effective_size_of_mean(&places, covariance) - 4.0 / 3.0).abs() < 1e-15);
    }

    #[test]
    fn independent_values_count_full_and_equal_ones_once() {
        let places: Vec<[f64; 2]> = (0..9).map(|k| [f64::from(k % 3), f64::from(k / 3)]).collect();
        let alone = |distance: f64| if distance > 0.0 { 0.0 } else { 2.0 };
        assert_eq!(effective_size_of_mean(&places, alone), 9.0);
        assert_eq!(effective_size_of_mean(&places, |_| 2.0), 1.0);
        assert_eq!(effective_size_of_mean(&[], |_| 2.0), 0.0);
    }
}
