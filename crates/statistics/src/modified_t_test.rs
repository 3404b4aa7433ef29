//! The correlation of two measurements at the same places, tested with as many values as their likeness
//! among neighbours leaves.
//!
//! With R and S the correlations of each measurement between places and B = I − 11′/n, the effective
//! size is 1 + tr(B·R)·tr(B·S)/tr(B·R·B·S), and F = (size − 2)·r²/(1 − r²) with 1 and size − 2
//! degrees of freedom (Clifford, Richardson and Hémon 1989, Assessing the significance of the correlation
//! between two spatial processes, Biometrics 45:123–134; Dutilleul 1993, Modifying the t test for assessing
//! the correlation between two spatial processes, Biometrics 49:305–314). Correlations between places are
//! Moran's I of classes of distance, equally wide from 0 to the greatest, each holding its upper bound: the
//! variant of Dutilleul, Pelletier and Alpargu (2008, Journal of Statistical Planning and Inference).
//! Formulas from memory, held against `SpatialPack` 0.4-1.

use crate::correlation::Joint;
use crate::distance::distance;
use crate::fisher_f;

/// How many classes of distance there are if none is said, as in `SpatialPack`: common practice.
const CLASSES: usize = 13;

/// The result of the modified t test.
#[derive(Debug, Clone, PartialEq)]
pub struct ModifiedT {
    /// Pearson's correlation.
    pub correlation: f64,
    /// How many independent places would tell as much.
    pub effective_size: f64,
    /// The statistic, with 1 degree of freedom above the line.
    pub f: f64,
    /// The effective size less two.
    pub degrees_of_freedom: f64,
    /// The probability of a correlation at least so far from 0 where the true one is 0.
    pub p: f64,
    /// The classes of distance by size; none is left out, empty ones have a Moran's I of 0.
    pub classes: Vec<DistanceClass>,
}

/// Pairs of places that are about so far apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DistanceClass {
    /// The greatest distance, in the unit of the places.
    pub up_to: f64,
    /// How many pairs there are.
    pub pairs: usize,
    /// Moran's I of both measurements.
    pub morans_i: [f64; 2],
}

/// As many classes of distance as Sturges (1926) would take for n values: 1.5 + 3.3 log₁₀(pairs),
/// rounded down.
pub fn sturges_classes(n: usize) -> usize {
    let pairs = n as f64 * (n as f64 - 1.0) / 2.0;
    if n < 2 { 1 } else { (1.5 + 3.3 * libm::log10(pairs)) as usize }
}

/// Tests the correlation of two measurements at the same places, with 13 classes of distance if `classes`
/// says nothing. Its time grows with the square of the number of places.
///
/// `None` where [`correlation`](crate::correlation) has none, where the places are not as many, are not
/// finite or lie all at one place, where there is no class, and where the effective size is not above 2.
pub fn modified_t_test(
    a: &[f64],
    b: &[f64],
    places: &[[f64; 2]],
    classes: Option<usize>,
) -> Option<ModifiedT> {
    let joint = Joint::of(a, b)?;
    let farthest = farthest(places).filter(|_| places.len() == a.len())?;
    let count = classes.filter(|count| *count > 0).or(classes.is_none().then_some(CLASSES))?;
    let centred = |values: &[f64], mean: f64| values.iter().map(|v| v - mean).collect::<Vec<f64>>();
    let values = [centred(a, joint.a.mean), centred(b, joint.b.mean)];
    let squares = [joint.a.sum_of_squares, joint.b.sum_of_squares];
    let pairs = Pairs::of(&values, places, bounds(farthest, count));
    let classes = pairs.classes(squares.map(|squares| squares / joint.a.count()));
    let effective_size = pairs.effective_size(&classes);
    let correlation = joint.correlation();
    let degrees_of_freedom = effective_size - 2.0;
    let f = degrees_of_freedom * correlation * correlation / (1.0 - correlation * correlation);
    (degrees_of_freedom > 0.0).then(|| ModifiedT {
        correlation,
        effective_size,
        f,
        degrees_of_freedom,
        p: fisher_f::probability_above(f, 1.0, degrees_of_freedom),
        classes,
    })
}

/// The greatest distance between two places.
fn farthest(places: &[[f64; 2]]) -> Option<f64> {
    let pairs = (1..places.len()).flat_map(|i| (0..i).map(move |j| (i, j)));
    let farthest = pairs.map(|(i, j)| distance(&places[i], &places[j])).fold(0.0, f64::max);
    let finite = places.iter().flatten().all(|place| place.is_finite());
    (finite && farthest > 0.0).then_some(farthest)
}

/// The upper bounds of classes, added up width by width.
fn bounds(farthest: f64, classes: usize) -> Vec<f64> {
    let width = farthest / classes as f64;
    let bounds = (0..classes).scan(0.0, |bound, _| {
        *bound += width;
        Some(*bound)
    });
    bounds.collect()
}

/// Counts and sums of products of all pairs, by class of distance.
struct Pairs {
    bounds: Vec<f64>,
    counts: Vec<usize>,
    products: Vec<[f64; 2]>,
    /// For each place, how many others are in each class.
    of_place: Vec<Vec<u32>>,
}

impl Pairs {
    fn of(values: &[Vec<f64>; 2], places: &[[f64; 2]], bounds: Vec<f64>) -> Self {
        let classes = bounds.len();
        let mut pairs = Pairs {
            bounds,
            counts: vec![0; classes],
            products: vec![[0.0; 2]; classes],
            of_place: vec![vec![0; classes]; places.len()],
        };
        for i in 1..places.len() {
            for j in 0..i {
                let class = pairs.class_of(distance(&places[i], &places[j]));
                pairs.counts[class] += 1;
                pairs.products[class][0] += values[0][i] * values[0][j];
                pairs.products[class][1] += values[1][i] * values[1][j];
                pairs.of_place[i][class] += 1;
                pairs.of_place[j][class] += 1;
            }
        }
        pairs
    }

    /// The greatest distance may lie beyond the last bound by rounding.
    fn class_of(&self, distance: f64) -> usize {
        self.bounds.partition_point(|bound| *bound < distance).min(self.bounds.len() - 1)
    }

    fn classes(&self, variances: [f64; 2]) -> Vec<DistanceClass> {
        let class = |class: usize| {
            let pairs = self.counts[class];
            let moran = |which: usize| match pairs {
                0 => 0.0,
                _ => self.products[class][which] / pairs as f64 / variances[which],
            };
            DistanceClass { up_to: self.bounds[class], pairs, morans_i: [moran(0), moran(1)] }
        };
        (0..self.bounds.len()).map(class).collect()
    }

    /// The traces need the sums r and s of rows of both matrices, and the sum of all their products, alone:
    /// tr(B·R) = n − ΣΣR/n, tr(B·R·B·S) = ΣΣ R·S − 2 Σ rᵢ·sᵢ/n + ΣΣR·ΣΣS/n².
    fn effective_size(&self, classes: &[DistanceClass]) -> f64 {
        let n = self.of_place.len() as f64;
        let row = |of_place: &Vec<u32>| {
            let mut sums = [1.0; 2];
            for (class, &count) in classes.iter().zip(of_place) {
                sums[0] += f64::from(count) * class.morans_i[0];
                sums[1] += f64::from(count) * class.morans_i[1];
            }
            sums
        };
        let rows: Vec<[f64; 2]> = self.of_place.iter().map(row).collect();
        let whole = [0, 1].map(|which| rows.iter().map(|row| row[which]).sum::<f64>());
        let along: f64 = rows.iter().map(|row| row[0] * row[1]).sum();
        let both =
            |class: &DistanceClass| class.pairs as f64 * class.morans_i[0] * class.morans_i[1];
        let products = n + 2.0 * classes.iter().map(both).sum::<f64>();
        let traces = (n - whole[0] / n) * (n - whole[1] / n);
        1.0 + traces / (products - 2.0 * along / n + whole[0] * whole[1] / (n * n))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const A: [f64; 7] = [1.0, 4.0, 2.0, 8.0, 5.0, 7.0, 1.5];
    const B: [f64; 7] = [2.0, 3.0, 1.0, 9.0, 7.0, 5.0, 0.5];
    const PLACES: [[f64; 2]; 7] =
        [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [3.0, 3.0], [4.0, 3.0], [3.0, 5.0], [1.0, 1.0]];

    /// The traces as they are written, with whole matrices.
    fn effective_size_by_matrices(test: &ModifiedT) -> f64 {
        let n = PLACES.len();
        let correlation = |which: usize| {
            let at = move |i: usize, j: usize| {
                let apart = distance(&PLACES[i], &PLACES[j]);
                let class = test.classes.iter().find(|class| apart <= class.up_to + 1e-12);
                if i == j { 1.0 } else { class.unwrap().morans_i[which] }
            };
            (0..n).map(|i| (0..n).map(|j| at(i, j)).collect()).collect::<Vec<Vec<f64>>>()
        };
        let times = |a: &[Vec<f64>], b: &[Vec<f64>]| -> Vec<Vec<f64>> {
            let at = |i: usize, j: usize| (0..n).map(|k| a[i][k] * b[k][j]).sum();
            (0..n).map(|i| (0..n).map(|j| at(i, j)).collect()).collect()
        };
        let centre: Vec<Vec<f64>> = (0..n)
            .map(|i| (0..n).map(|j| f64::from(u8::from(i == j)) - 1.0 / n as f64).collect())
            .collect();
        let trace = |matrix: &[Vec<f64>]| (0..n).map(|i| matrix[i][i]).sum::<f64>();
        let [a, b] = [0, 1].map(|which| times(&centre, &correlation(which)));
        1.0 + trace(&a) * trace(&b) / trace(&times(&a, &b))
    }

    #[test]
    fn traces_are_those_of_whole_matrices() {
        let test = modified_t_test(&A, &B, &PLACES, Some(4)).unwrap();
        assert!((test.effective_size - effective_size_by_matrices(&test)).abs() < 1e-10);
        assert_eq!(test.classes.iter().map(|class| class.pairs).sum::<usize>(), 21);
    }

    /// Four places in a row, three classes: 1, 2 and 3 apart, three, two and one pairs. Of −3, −1, 1, 3
    /// with the variance 5 the mean products are 5/3, −3 and −9.
    #[test]
    fn a_row_of_four_can_be_checked_by_hand() {
        let places = [0.0, 1.0, 2.0, 3.0].map(|x| [x, 7.0]);
        let pairs = Pairs::of(
            &[vec![-3.0, -1.0, 1.0, 3.0], vec![-1.0, 1.0, 1.0, -1.0]],
            &places,
            bounds(3.0, 3),
        );
        let classes = pairs.classes([5.0, 1.0]);
        assert_eq!(classes.iter().map(|class| class.pairs).collect::<Vec<_>>(), [3, 2, 1]);
        let expected = [[1.0 / 3.0, -1.0 / 3.0], [-0.6, -1.0], [-1.8, 1.0]];
        for (class, expected) in classes.iter().zip(expected) {
            for (found, expected) in class.morans_i.iter().zip(expected) {
                assert!((found - expected).abs() < 1e-15, "{class:?}");
            }
        }
    }

    #[test]
    fn places_that_do_not_fit_have_no_test() {
        assert_eq!(modified_t_test(&A, &B, &PLACES[1..], None), None);
        assert_eq!(modified_t_test(&A, &B, &[[1.0, 1.0]; 7], None), None);
        assert_eq!(modified_t_test(&A, &[3.0; 7], &PLACES, None), None);
        assert_eq!(modified_t_test(&A, &B, &PLACES, Some(0)), None);
    }

    #[test]
    fn sturges_takes_fifteen_classes_for_178_places() {
        assert_eq!(sturges_classes(178), 15);
        assert_eq!(sturges_classes(0), 1);
    }
}
