//! Quantiles of some values.

/// The middle value, or the mean of the two middle ones; `None` without values or where one is NaN.
pub fn median(values: &[f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// The value with a share of the others below it, 0 to 1, between two neighbours by a straight line:
/// definition 7 of Hyndman and Fan (1996, The American Statistician 50:361–365). `None` without values
/// or where one is NaN.
pub fn quantile(values: &[f64], share: f64) -> Option<f64> {
    if values.is_empty() || values.iter().any(|value| value.is_nan()) {
        return None;
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let place = share.clamp(0.0, 1.0) * (sorted.len() - 1) as f64;
    let (below, above) = (sorted[place.floor() as usize], sorted[place.ceil() as usize]);
    match below == above {
        true => Some(below),
        false => Some(below + (place - place.floor()) * (above - below)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_median_is_the_middle_value_or_the_mean_of_two() {
        assert_eq!(median(&[3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median(&[4.0, 1.0, 2.0, 3.0]), Some(2.5));
        assert_eq!(median(&[]), None);
        assert_eq!(median(&[1.0, f64::NAN]), None);
    }

    #[test]
    fn quantiles_lie_on_a_line_between_neighbours() {
        let values = [10.0, 20.0, 40.0, 80.0, 160.0];
        for (share, value) in [(0.0, 10.0), (0.25, 20.0), (0.4, 32.0), (0.9, 128.0), (1.0, 160.0)] {
            assert!((quantile(&values, share).unwrap() - value).abs() < 1e-12, "{share}");
        }
    }
}
