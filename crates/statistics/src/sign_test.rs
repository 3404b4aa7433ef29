//! The sign test: whether differences are as often up as down.
//!
//! Of n differences that are not 0, the smaller of the numbers up and down is binomial with probability
//! one half; p is twice the probability of so few or fewer, at most 1 (Arbuthnott 1710; Conover 1999,
//! Practical Nonparametric Statistics, section 3.4, from memory).

/// How many differences go up and down, and the test that both are as likely.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SignTest {
    /// How many are above 0.
    pub up: usize,
    /// How many are below 0.
    pub down: usize,
    /// How many are 0; they do not count in the test.
    pub zero: usize,
    /// The exact probability of numbers at least so uneven, on both sides; 1 where all are 0.
    pub p: f64,
}

/// Counts signs and tests them. A difference that is not a number counts nowhere.
pub fn sign_test(differences: &[f64]) -> SignTest {
    let count = |is: fn(f64) -> bool| differences.iter().filter(|d| is(**d)).count();
    let (up, down) = (count(|d| d > 0.0), count(|d| d < 0.0));
    SignTest { up, down, zero: count(|d| d == 0.0), p: both_tails(up.min(down), up + down) }
}

/// Twice the probability of `few` heads or fewer of `n` throws of a coin, at most 1.
fn both_tails(few: usize, n: usize) -> f64 {
    if 2 * few == n {
        return 1.0;
    }
    let factorial = |count: usize| libm::lgamma(count as f64 + 1.0);
    let choices = factorial(n) - factorial(few) - factorial(n - few);
    let greatest = libm::exp(choices - n as f64 * std::f64::consts::LN_2);
    // From the greatest term down: C(n, k − 1) = C(n, k) · k/(n − k + 1).
    let (mut term, mut sum) = (1.0, 1.0);
    for k in (1..=few).rev() {
        term *= k as f64 / (n - k + 1) as f64;
        sum += term;
    }
    (2.0 * greatest * sum).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of six, one down: 2 · (1 + 6)/64.
    #[test]
    fn six_differences_can_be_counted_by_hand() {
        let test = sign_test(&[1.0, 2.0, 0.0, -1.0, 3.0, 3.0, f64::NAN, 4.0]);
        assert_eq!((test.up, test.down, test.zero), (5, 1, 1));
        assert!((test.p - 14.0 / 64.0).abs() < 1e-15);
    }

    #[test]
    fn even_numbers_and_no_numbers_have_a_probability_of_one() {
        assert_eq!(sign_test(&[]).p, 1.0);
        assert_eq!(sign_test(&[0.0, 0.0]).p, 1.0);
        assert_eq!(sign_test(&[1.0, -1.0, 2.0, -2.0]).p, 1.0);
        assert_eq!(sign_test(&[1.0, -1.0, 2.0]).p, 1.0);
    }

    /// Arbuthnott (1710): in 82 years out of 82 more boys than girls were christened in London, 1 in 2⁸²
    /// for one side.
    #[test]
    fn eighty_two_years_of_more_boys_are_as_likely_as_arbuthnott_says() {
        let p = sign_test(&[1.0; 82]).p;
        assert!((p * 2.0_f64.powi(81) - 1.0).abs() < 1e-12, "{p}");
    }
}
