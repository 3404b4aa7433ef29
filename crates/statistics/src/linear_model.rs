//! Analysis of variance and covariance by least squares, one term after the other.
//!
//! What a term explains beyond those before it is the sum of squares of the response along the term's columns
//! once these are at right angles to all columns before (Fisher 1925; sequential or "type I" sums of
//! squares). Columns are made so by Gram and Schmidt's way, twice over, which keeps the angles right to
//! rounding (Daniel, Gragg, Kaufman and Stewart 1976, Mathematics of Computation 30:772–795, from memory).

use crate::fisher_f;
use crate::moments::Moments;

/// Columns left with less of their length than this depend on those before them. R takes 1e-7 as well.
const LEAST_LEFT: f64 = 1e-7;

/// Something a response may depend on, with one entry for each of its values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Term<'a> {
    /// To which group each value belongs, as block or treatment; any numbers.
    Factor(&'a [usize]),
    /// A number that the response may rise with, as the value before treatment.
    Covariate(&'a [f64]),
}

/// What a response depends on, term by term.
#[derive(Debug, Clone, PartialEq)]
pub struct VarianceTable {
    /// The terms in the order in which they were given.
    pub terms: Vec<TermEffect>,
    /// What the terms leave free.
    pub residual_degrees_of_freedom: f64,
    /// What the terms leave unexplained.
    pub residual_sum_of_squares: f64,
}

/// What one term explains beyond those before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TermEffect {
    /// Groups less one, or 1 for a covariate; fewer where terms before say the same.
    pub degrees_of_freedom: f64,
    /// What it explains of the sum of squares.
    pub sum_of_squares: f64,
    /// Its mean square over the residual one; NaN where it has no degree of freedom.
    pub f: f64,
    /// The probability of an F at least so great where the response does not depend on it.
    pub p: f64,
    /// For a term with one degree of freedom, how much the response rises.
    pub slope: Option<Slope>,
}

/// How much a response rises with one unit of a covariate, or from the group of the smaller number to that
/// of the greater, the terms before it being equal: for the last term, all others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope {
    /// The rise.
    pub estimate: f64,
    /// Its standard error, by the mean square that all terms leave.
    pub standard_error: f64,
}

/// Fits a mean and the terms to a response, and tests each term beyond those before it.
///
/// `None` where a term has not as many entries as the response, where a number is not finite, and where the
/// terms leave nothing free or nothing but rounding.
pub fn analysis_of_variance(response: &[f64], terms: &[Term]) -> Option<VarianceTable> {
    let mut fit = Fit::new(response)?;
    let fitted: Option<Vec<Fitted>> = terms.iter().map(|term| fit.add(term)).collect();
    let residual_degrees_of_freedom = (response.len() - 1 - fit.directions.len()) as f64;
    let residual_sum_of_squares = dot(&fit.left, &fit.left);
    let mean_square = residual_sum_of_squares / residual_degrees_of_freedom;
    let rounding = f64::EPSILON * f64::EPSILON * dot(response, response);
    if residual_degrees_of_freedom <= 0.0 || residual_sum_of_squares <= 100.0 * rounding {
        return None;
    }
    let effect = |fitted: Fitted| fitted.effect(mean_square, residual_degrees_of_freedom);
    Some(VarianceTable {
        terms: fitted?.into_iter().map(effect).collect(),
        residual_degrees_of_freedom,
        residual_sum_of_squares,
    })
}

/// What has been fitted so far.
struct Fit {
    /// Columns of unit length at right angles to each other, all with the mean 0.
    directions: Vec<Vec<f64>>,
    /// What they and the mean leave of the response.
    left: Vec<f64>,
}

/// One term once fitted.
struct Fitted {
    columns: usize,
    sum_of_squares: f64,
    /// Along the last column: how far the response goes, and how long the column was.
    last: [f64; 2],
}

impl Fit {
    fn new(response: &[f64]) -> Option<Self> {
        Some(Fit { directions: Vec::new(), left: centred(response)? })
    }

    fn add(&mut self, term: &Term) -> Option<Fitted> {
        let mut fitted = Fitted { columns: 0, sum_of_squares: 0.0, last: [0.0; 2] };
        for column in columns(term) {
            if column.len() != self.left.len() {
                return None;
            }
            let Some((direction, length)) = self.direction(&centred(&column)?) else { continue };
            let along = dot(&direction, &self.left);
            take_away(&mut self.left, &direction, along);
            self.directions.push(direction);
            fitted.columns += 1;
            fitted.sum_of_squares += along * along;
            fitted.last = [along, length];
        }
        Some(fitted)
    }

    /// What is new in a column, and its length; nothing where it depends on those before.
    fn direction(&self, column: &[f64]) -> Option<(Vec<f64>, f64)> {
        let mut new = column.to_vec();
        for _ in 0..2 {
            for direction in &self.directions {
                let along = dot(direction, &new);
                take_away(&mut new, direction, along);
            }
        }
        let length = dot(&new, &new).sqrt();
        let whole = dot(column, column).sqrt();
        (length > LEAST_LEFT * whole)
            .then(|| (new.iter().map(|value| value / length).collect(), length))
    }
}

impl Fitted {
    fn effect(self, mean_square: f64, residual_degrees_of_freedom: f64) -> TermEffect {
        let degrees_of_freedom = self.columns as f64;
        let f = self.sum_of_squares / degrees_of_freedom / mean_square;
        let [along, length] = self.last;
        TermEffect {
            degrees_of_freedom,
            sum_of_squares: self.sum_of_squares,
            f,
            p: match self.columns {
                0 => f64::NAN,
                _ => {
                    fisher_f::probability_above(f, degrees_of_freedom, residual_degrees_of_freedom)
                }
            },
            slope: (self.columns == 1).then(|| Slope {
                estimate: along / length,
                standard_error: mean_square.sqrt() / length,
            }),
        }
    }
}

/// A covariate as it is; of a factor, for each group but the first whether values belong to it.
fn columns(term: &Term) -> Vec<Vec<f64>> {
    match term {
        Term::Covariate(values) => vec![values.to_vec()],
        Term::Factor(groups) => {
            let mut known = groups.to_vec();
            known.sort_unstable();
            known.dedup();
            let belongs = |group: usize| move |of: &usize| f64::from(u8::from(*of == group));
            let column = |&group: &usize| groups.iter().map(belongs(group)).collect();
            match known.len() {
                // A column for the length alone: it says nothing new.
                0 | 1 => vec![vec![0.0; groups.len()]],
                _ => known[1..].iter().map(column).collect(),
            }
        }
    }
}

/// Values less their mean; all 0 where only rounding would be left.
fn centred(values: &[f64]) -> Option<Vec<f64>> {
    let moments = Moments::of(values)?;
    let alike = moments.sum_of_squares.sqrt() <= 10.0 * f64::EPSILON * moments.mean.abs();
    Some(values.iter().map(|value| if alike { 0.0 } else { value - moments.mean }).collect())
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn take_away(values: &mut [f64], direction: &[f64], along: f64) {
    for (value, part) in values.iter_mut().zip(direction) {
        *value -= along * part;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::two_samples::pooled_t;

    /// Two blocks of two treatments: means 3 and 7 of blocks, 4 and 6 of treatments, grand mean 5, and
    /// what is left ±0.5: sums of squares 16, 4 and 1.
    #[test]
    fn four_plots_can_be_checked_by_hand() {
        let response = [1.5, 4.5, 6.5, 7.5];
        let terms = [Term::Factor(&[1, 1, 2, 2]), Term::Factor(&[0, 9, 0, 9])];
        let table = analysis_of_variance(&response, &terms).unwrap();
        let squares: Vec<f64> = table.terms.iter().map(|term| term.sum_of_squares).collect();
        assert!((squares[0] - 16.0).abs() < 1e-13 && (squares[1] - 4.0).abs() < 1e-13);
        assert!((table.residual_sum_of_squares - 1.0).abs() < 1e-13);
        assert_eq!(table.residual_degrees_of_freedom, 1.0);
        let slope = table.terms[1].slope.unwrap();
        assert!((slope.estimate - 2.0).abs() < 1e-14 && (slope.standard_error - 1.0).abs() < 1e-14);
        assert!((table.terms[1].f - 4.0).abs() < 1e-12);
    }

    /// Two groups alone are the t test with one variance, and F is its square.
    #[test]
    fn two_groups_are_the_pooled_t_test() {
        let (a, b) = ([3.0, 5.0, 4.5, 6.0], [7.0, 5.5, 9.0]);
        let response = [&a[..], &b[..]].concat();
        let table =
            analysis_of_variance(&response, &[Term::Factor(&[0, 0, 0, 0, 1, 1, 1])]).unwrap();
        let test = pooled_t(&a, &b, 0.95).unwrap();
        let (effect, slope) = (table.terms[0], table.terms[0].slope.unwrap());
        assert!((effect.f - test.t * test.t).abs() < 1e-12);
        assert!((effect.p - test.p).abs() < 1e-13);
        assert!((slope.estimate - test.difference).abs() < 1e-14);
        assert!((slope.standard_error - test.standard_error).abs() < 1e-14);
    }

    /// Around the line 2 + 3x with ±1 left over so that the line stays: x −1, −1, 1, 1.
    #[test]
    fn a_covariate_has_its_slope() {
        let terms = [Term::Covariate(&[-1.0, -1.0, 1.0, 1.0])];
        let table = analysis_of_variance(&[-2.0, 0.0, 4.0, 6.0], &terms).unwrap();
        let slope = table.terms[0].slope.unwrap();
        assert!((slope.estimate - 3.0).abs() < 1e-15);
        assert!((slope.standard_error - (2.0_f64 / 4.0).sqrt()).abs() < 1e-15);
    }

    #[test]
    fn a_term_that_says_nothing_new_has_no_degree_of_freedom() {
        let response = [1.0, 4.0, 6.0, 7.0, 3.0];
        let groups = [0, 0, 1, 1, 0];
        let same = [5.0, 5.0, 8.0, 8.0, 5.0];
        let rounding = [0.1 + 0.2, 0.3, 0.3, 0.3, 0.1 + 0.2];
        let terms = [
            Term::Factor(&groups),
            Term::Covariate(&same),
            Term::Factor(&[4, 4, 4, 4, 4]),
            Term::Covariate(&rounding),
        ];
        let table = analysis_of_variance(&response, &terms).unwrap();
        assert_eq!(table.residual_degrees_of_freedom, 3.0);
        for effect in &table.terms[1..] {
            assert_eq!((effect.degrees_of_freedom, effect.sum_of_squares), (0.0, 0.0));
            assert!(effect.f.is_nan() && effect.p.is_nan() && effect.slope.is_none());
        }
    }

    #[test]
    fn a_model_that_leaves_nothing_has_no_table() {
        assert_eq!(analysis_of_variance(&[1.0, 2.0], &[Term::Factor(&[0, 1])]), None);
        let line = [Term::Covariate(&[1.0, 2.0, 3.0])];
        assert_eq!(analysis_of_variance(&[0.1, 0.2, 0.3], &line), None);
        assert_eq!(analysis_of_variance(&[1.0, 2.0, 4.0], &[Term::Factor(&[0, 1])]), None);
        assert_eq!(analysis_of_variance(&[1.0, f64::NAN, 4.0], &[]), None);
    }
}
