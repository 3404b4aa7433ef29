//! Variogram models fitted to empirical semivariances by weighted least squares.
//!
//! What is minimised is Σ w (γ̂ − γ)² over the distance classes, γ̂ being a class's semivariance, γ the
//! model's at the class's mean distance h, and N its pairs, with nugget ≥ 0, partial sill ≥ 0 and the
//! range from 1e-3 to 20 times the cutoff. Weights: [`Weighting`].
//!
//! The optimum is searched for in one dimension. For a given range the best sills are a linear least
//! squares problem in closed form, which leaves a function of the range alone (variable projection:
//! Golub and Pereyra 1973, SIAM Journal on Numerical Analysis 10:413–432, from memory). It may have
//! several minima. It is worked out at some 400 ranges; wherever one lies lower than both its
//! neighbours, the root of the slope between them is found by halving. The lowest of all is taken.
//! No start values are needed, and the result does not depend on any.

use crate::empirical_variogram::{DistanceClass, EmpiricalVariogram};
use crate::error::GeostatError;
use crate::variogram::{Shape, Variogram};

/// Shortest and longest range, in cutoffs.
const RANGES: [f64; 2] = [1e-3, 20.0];
/// Ranges at which the search begins, besides the classes' distances.
const STARTS: u32 = 400;
/// Shares of the nugget at which a search begins where it is not in closed form.
const SHARES: u32 = 32;
/// A model has three parameters.
const LEAST_CLASSES: usize = 3;

/// Weights of the distance classes. In brackets the number of gstat's `fit.method`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Weighting {
    /// N / h² (7).
    #[default]
    PairsPerSquaredDistance,
    /// N (1).
    Pairs,
    /// 1 (6).
    Equal,
    /// N / γ², with the model's γ (2): Cressie (1985), Mathematical Geology 17:563–586, from memory.
    ///
    /// The weights move with the model: what is minimised is Σ N (γ̂/γ − 1)² as a whole. gstat keeps
    /// the weights of the last step while it takes the next one, which ends elsewhere, and higher.
    PairsPerSquaredSemivariance,
}

/// A fitted model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VariogramFit {
    /// The model, the same in all directions.
    pub model: Variogram,
    /// The weights.
    pub weighting: Weighting,
    /// The weighted sum of squares. Comparable between shapes, not between weightings.
    pub weighted_squares: f64,
    /// Whether the range lies at its shortest or longest: the samples do not tell the range. Without a
    /// partial sill the range means nothing, and this is false.
    pub range_at_bound: bool,
}

impl VariogramFit {
    /// Whether kriging with the model is badly conditioned: a surface without bends, of Gaussian shape
    /// or Matérn smoothness above 2.5, and nearly no nugget, less than 0.001 of the sill. Two samples
    /// near each other then say the same to all digits (Posa 1989, Mathematical Geology 21:755–765,
    /// from memory; the limits are ours).
    pub fn is_badly_conditioned(&self) -> bool {
        let smooth = match self.model.shape {
            Shape::Spherical | Shape::Exponential => false,
            Shape::Gaussian => true,
            Shape::Matern { smoothness } => smoothness > 2.5,
        };
        smooth && self.model.nugget < 1e-3 * self.model.sill()
    }
}

impl EmpiricalVariogram {
    /// The model of a shape that fits best.
    ///
    /// # Errors
    /// When the smoothness of a Matérn shape is out of bounds, there are fewer than three classes, one
    /// is not finite or not above distance 0, or all semivariances are 0.
    pub fn fit(&self, shape: Shape, weighting: Weighting) -> Result<VariogramFit, GeostatError> {
        shape.check()?;
        self.check()?;
        let problem = Problem { classes: &self.classes, shape, weighting };
        let [shortest_m, longest_m] = RANGES.map(|share| share * self.cutoff_m);
        let log_range = lowest(&self.starts(), |log_range| {
            let best = problem.at_range(libm::exp(log_range));
            (best.squares, best.slope)
        });
        let range_m = libm::exp(log_range).clamp(shortest_m, longest_m);
        let best = problem.at_range(range_m);
        let at_bound = range_m <= shortest_m * (1.0 + 1e-9) || range_m >= longest_m * (1.0 - 1e-9);
        Ok(VariogramFit {
            model: Variogram::new(shape, best.nugget, best.partial_sill, range_m)?,
            weighting,
            weighted_squares: best.squares,
            range_at_bound: at_bound && best.partial_sill > 0.0,
        })
    }

    /// The best fit among several shapes: that of the smallest weighted sum of squares and, of equal
    /// ones, of the earlier shape. A fit that makes kriging badly conditioned
    /// ([`VariogramFit::is_badly_conditioned`]) is passed over unless all do.
    ///
    /// # Errors
    /// When there is no shape, or as [`EmpiricalVariogram::fit`].
    pub fn fit_best(
        &self,
        shapes: &[Shape],
        weighting: Weighting,
    ) -> Result<VariogramFit, GeostatError> {
        let fits = shapes.iter().map(|&shape| self.fit(shape, weighting));
        let fits = fits.collect::<Result<Vec<_>, _>>()?;
        let key = |fit: &VariogramFit| (fit.is_badly_conditioned(), fit.weighted_squares);
        let better = |a: VariogramFit, b: VariogramFit| if key(&b) < key(&a) { b } else { a };
        fits.into_iter().reduce(better).ok_or(GeostatError::NoShapes)
    }

    fn check(&self) -> Result<(), GeostatError> {
        let sound = |class: &DistanceClass| {
            class.pairs > 0
                && class.distance_m > 0.0
                && class.distance_m.is_finite()
                && class.semivariance >= 0.0
                && class.semivariance.is_finite()
        };
        if self.classes.len() < LEAST_CLASSES {
            return Err(GeostatError::TooFewClasses { classes: self.classes.len() });
        }
        if !(self.cutoff_m.is_normal() && self.cutoff_m > 0.0 && self.classes.iter().all(sound)) {
            return Err(GeostatError::Bins);
        }
        match self.classes.iter().any(|class| class.semivariance > 0.0) {
            true => Ok(()),
            false => Err(GeostatError::NoVariation),
        }
    }

    /// Logarithms of ranges at which to begin, growing: equal steps, and the distances of the classes
    /// with their middles, since a spherical model bends there.
    fn starts(&self) -> Vec<f64> {
        let [first, last] = RANGES.map(|share| libm::log(share * self.cutoff_m));
        let step = (last - first) / f64::from(STARTS - 1);
        let mut starts: Vec<f64> =
            (0..STARTS - 1).map(|k| first + f64::from(k) * step).chain([last]).collect();
        let distances = || self.classes.iter().map(|class| class.distance_m);
        let middles = distances().zip(distances().skip(1)).map(|(a, b)| 0.5 * (a + b));
        starts.extend(distances().chain(middles).map(libm::log));
        starts.retain(|start| (first..=last).contains(start));
        starts.sort_by(f64::total_cmp);
        starts.dedup();
        starts
    }
}

/// Where a function is lowest between the first and last of growing starts. The function gives its
/// value and its slope.
///
/// Each start below its neighbours is followed to the root of the slope; of a level stretch the last is.
fn lowest(starts: &[f64], function: impl Fn(f64) -> (f64, f64)) -> f64 {
    let values: Vec<f64> = starts.iter().map(|&start| function(start).0).collect();
    let mut best = (f64::INFINITY, starts[0]);
    let mut consider = |value: f64, at: f64| {
        if value < best.0 {
            best = (value, at);
        }
    };
    for (k, (&value, &start)) in values.iter().zip(starts).enumerate() {
        let before = k.saturating_sub(1);
        let after = (k + 1).min(starts.len() - 1);
        consider(value, start);
        if value <= values[before] && (value < values[after] || after == k) {
            let root = root_of_slope(starts[before], starts[after], |at| function(at).1);
            consider(function(root).0, root);
        }
    }
    best.1
}

/// A place where the slope turns from falling to rising, by halving to the last digit.
fn root_of_slope(mut from: f64, mut to: f64, slope: impl Fn(f64) -> f64) -> f64 {
    loop {
        let middle = 0.5 * (from + to);
        if middle <= from || middle >= to {
            return middle;
        }
        match slope(middle) > 0.0 {
            true => to = middle,
            false => from = middle,
        }
    }
}

/// What is to be fitted.
struct Problem<'a> {
    classes: &'a [DistanceClass],
    shape: Shape,
    weighting: Weighting,
}

/// The best sills for a range.
#[derive(Clone, Copy)]
struct Sills {
    nugget: f64,
    partial_sill: f64,
    /// The weighted sum of squares.
    squares: f64,
    /// How much it grows with the logarithm of the range. Since the sills are the best ones, it does
    /// not matter for this that they change, too.
    slope: f64,
}

/// A class at some range: its weight, semivariance, the structure's share of its sill there, and how
/// much that share grows with the logarithm of the range.
#[derive(Clone, Copy)]
struct Point {
    weight: f64,
    semivariance: f64,
    share: f64,
    slope: f64,
}

impl Problem<'_> {
    fn at_range(&self, range_m: f64) -> Sills {
        let points: Vec<Point> = self.classes.iter().map(|c| self.point(c, range_m)).collect();
        match self.weighting {
            Weighting::PairsPerSquaredSemivariance => relative(&points),
            _ => absolute(&points),
        }
    }

    fn point(&self, class: &DistanceClass, range_m: f64) -> Point {
        let (correlation, slope) = self.shape.correlation_and_slope(class.distance_m / range_m);
        let pairs = class.pairs as f64;
        let weight = match self.weighting {
            Weighting::PairsPerSquaredDistance => pairs / (class.distance_m * class.distance_m),
            Weighting::Pairs | Weighting::PairsPerSquaredSemivariance => pairs,
            Weighting::Equal => 1.0,
        };
        // t falls by as much as the logarithm of the range grows, and the share is 1 − correlation.
        Point { weight, semivariance: class.semivariance, share: 1.0 - correlation, slope }
    }
}

/// The sills of the least Σ w (γ̂ − nugget − partial sill · share)², neither below 0.
fn absolute(points: &[Point]) -> Sills {
    let sum = |of: &dyn Fn(&Point) -> f64| points.iter().map(|p| p.weight * of(p)).sum::<f64>();
    let total = sum(&|_| 1.0);
    let mean_share = sum(&|p| p.share) / total;
    let mean = sum(&|p| p.semivariance) / total;
    let spread = sum(&|p| (p.share - mean_share) * (p.share - mean_share));
    let together = sum(&|p| (p.share - mean_share) * (p.semivariance - mean));
    let line = match spread > 0.0 {
        true => together / spread,
        false => 0.0,
    };
    // The sum of squares is convex in the sills: where the best line has a negative part, the best of
    // all that have none lies on that limit.
    let (nugget, partial_sill) = match (mean - line * mean_share, line) {
        (_, line) if line <= 0.0 => (mean, 0.0),
        (nugget, line) if nugget >= 0.0 => (nugget, line),
        _ => (0.0, sum(&|p| p.share * p.semivariance) / sum(&|p| p.share * p.share)),
    };
    let residual = |p: &Point| p.semivariance - nugget - partial_sill * p.share;
    Sills {
        nugget,
        partial_sill,
        squares: sum(&|p| residual(p) * residual(p)),
        slope: -2.0 * partial_sill * sum(&|p| residual(p) * p.slope),
    }
}

/// The sills of the least Σ w (γ̂ / γ − 1)².
///
/// For a given share of the structure in the sill, 1 / sill is a linear least squares problem; the
/// share is searched for.
fn relative(points: &[Point]) -> Sills {
    let starts: Vec<f64> = (0..=SHARES).map(|k| f64::from(k) / f64::from(SHARES)).collect();
    let share = lowest(&starts, |share| {
        let (sills, slope) = relative_at(points, share);
        (sills.squares, slope)
    });
    relative_at(points, share).0
}

/// The same at a given share of the structure in the sill, and the slope by that share.
fn relative_at(points: &[Point], structure: f64) -> (Sills, f64) {
    let of_sill = |p: &Point| (1.0 - structure) + structure * p.share;
    let sum = |of: &dyn Fn(&Point) -> f64| points.iter().map(|p| p.weight * of(p)).sum::<f64>();
    let ratio = |p: &Point| p.semivariance / of_sill(p);
    let squared_ratios = sum(&|p| ratio(p) * ratio(p));
    let sill = squared_ratios / sum(&ratio);
    let residual = |p: &Point| ratio(p) / sill - 1.0;
    // Half the growth of the sum with the logarithm of a point's semivariance, turned.
    let pull = |p: &Point| residual(p) * (ratio(p) / sill) / of_sill(p);
    let squares = sum(&|p| residual(p) * residual(p));
    let sills = Sills {
        nugget: sill * (1.0 - structure),
        partial_sill: sill * structure,
        squares: if squares.is_nan() { f64::INFINITY } else { squares },
        slope: -2.0 * structure * sum(&|p| pull(p) * p.slope),
    };
    (sills, -2.0 * sum(&|p| pull(p) * (p.share - 1.0)))
}
