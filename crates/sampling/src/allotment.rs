//! How many spots each stratum gets: in proportion to its area, and at least so many.

use crate::error::SamplingError;

/// Divides spots among strata by area, with at least so many in each. What a stratum has beyond that least is
/// its share of what is left, in whole numbers by the largest remainders (of equals the first); a stratum
/// whose share is below the least gets the least, and the others share the rest.
///
/// # Errors
/// When the least of all strata together are more than there are spots.
pub fn allot(count: usize, areas_m2: &[f64], least: usize) -> Result<Vec<usize>, SamplingError> {
    let strata = areas_m2.len();
    let needed = strata * least;
    if needed > count {
        return Err(SamplingError::TooFewForStrata { strata, least, needed, asked: count });
    }
    let mut is_least = vec![false; strata];
    loop {
        let held = is_least.iter().filter(|held| **held).count() * least;
        let free_m2: f64 =
            areas_m2.iter().zip(&is_least).filter(|(_, held)| !**held).map(|(area, _)| area).sum();
        let share = |k: usize| (count - held) as f64 * areas_m2[k] / free_m2;
        let below = (0..strata).find(|&k| !is_least[k] && share(k) < least as f64);
        match below {
            Some(k) => is_least[k] = true,
            None => {
                let share = |k: usize| if is_least[k] { least as f64 } else { share(k) };
                return Ok(whole(count, &(0..strata).map(share).collect::<Vec<_>>()));
            }
        }
    }
}

/// Shares that sum up to a count, as whole numbers that do.
fn whole(count: usize, shares: &[f64]) -> Vec<usize> {
    let mut numbers: Vec<usize> = shares.iter().map(|share| share.floor() as usize).collect();
    let mut order: Vec<usize> = (0..shares.len()).collect();
    order.sort_by(|&a, &b| {
        let left = |k: usize| shares[k] - shares[k].floor();
        left(b).total_cmp(&left(a)).then(a.cmp(&b))
    });
    let given: usize = numbers.iter().sum();
    for &k in order.iter().cycle().take(count.saturating_sub(given)) {
        numbers[k] += 1;
    }
    numbers
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_decide() {
        assert_eq!(allot(10, &[6.0, 3.0, 1.0], 0), Ok(vec![6, 3, 1]));
        // 4.67, 4.67, 4.67: the first two get one more.
        assert_eq!(allot(14, &[1.0, 1.0, 1.0], 0), Ok(vec![5, 5, 4]));
    }

    #[test]
    fn a_small_stratum_gets_the_least_and_the_others_share_the_rest() {
        // 1 % of 30 is less than 4; the other 26 go 2 : 1.
        assert_eq!(allot(30, &[66.0, 33.0, 1.0], 4), Ok(vec![17, 9, 4]));
        assert_eq!(allot(6, &[9.0, 1.0], 3), Ok(vec![3, 3]));
    }

    #[test]
    fn too_few_spots_are_refused() {
        let error = allot(5, &[1.0, 1.0], 3).unwrap_err();
        assert!(error.to_string().contains("2 strata with at least 3 spots each are 6"), "{error}");
    }
}
