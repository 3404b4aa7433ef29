//! Semivariances estimated from samples, by distance.
//!
//! With N pairs of samples in a distance class and d the difference of the values of a pair:
//!
//! - Matheron (1962): Σ d² / 2N.
//! - Cressie and Hawkins (1980), Mathematical Geology 12:115–125 (from memory):
//!   (Σ √|d| / N)⁴ / 2 (0.457 + 0.494 / N). Some programs add 0.045 / N² to the divisor; gstat does
//!   not, and neither does this.
//!
//! A pair at the limit of two classes belongs to the nearer one: classes are (from, to], as in gstat.
//! Other programs have [from, to), which on gridded samples changes most classes.

use rayon::prelude::*;

use crate::error::GeostatError;
use crate::sample::{Sample, Samples};

/// Share of the diagonal of the samples' bounding box that default classes reach: gstat's, so that the
/// most used program has the same classes. It is not a third, and on gridded samples this matters.
const DEFAULT_REACH: f64 = 0.33333;
/// Number of default classes, as in gstat.
const DEFAULT_CLASSES: f64 = 15.0;
/// More classes are refused.
const MOST_CLASSES: usize = 1000;
/// Samples whose pairs are summed up together. Sums are added in the order of these parts, whatever
/// number of threads there is.
const ROWS: usize = 64;

/// How the semivariance of a distance class is estimated from the differences in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Estimator {
    /// Half the mean square difference: Matheron (1962).
    Matheron,
    /// The fourth power of the mean root difference, over 2 (0.457 + 0.494 / pairs), robust against
    /// outliers: Cressie and Hawkins (1980).
    CressieHawkins,
}

/// Limits of the distance classes.
#[derive(Debug, Clone, PartialEq)]
pub enum Bins {
    /// 15 of equal width, up to 0.33333 times the diagonal of the samples' bounding box.
    Default,
    /// Of equal width, metres, up to the cutoff, metres. The last is narrower where the cutoff is no
    /// multiple of the width.
    Width {
        /// Width of a class, metres.
        width_m: f64,
        /// Greatest distance, metres, that counts.
        cutoff_m: f64,
    },
    /// The upper limits of the classes, metres, growing; the first class begins at 0.
    UpperLimits(Vec<f64>),
}

/// Pairs of which direction count. A pair has two directions, and counts if either is near the azimuth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Direction {
    /// Degrees clockwise from north.
    pub azimuth_deg: f64,
    /// Greatest angle from it, degrees, inclusive; above 0. From 90 on every pair counts.
    pub tolerance_deg: f64,
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

impl EmpiricalVariogram {
    /// Most samples whose pairs are taken up.
    pub const MOST_SAMPLES: usize = 5000;

    /// Semivariances of all pairs of samples, or of those of one direction.
    ///
    /// Of more than [`EmpiricalVariogram::MOST_SAMPLES`] samples that many are taken: the samples in
    /// their order are divided in so many equal parts, and one is taken from each at a place that
    /// hops about from part to part in a fixed way, so that samples taken line by line do not all come
    /// from the same place of the line.
    ///
    /// # Errors
    /// When the limits of the classes are not finite, above 0 and growing or are more than 1000, or the
    /// direction's azimuth is not finite or its tolerance not above 0.
    pub fn new(
        samples: &Samples,
        estimator: Estimator,
        bins: &Bins,
        direction: Option<Direction>,
    ) -> Result<Self, GeostatError> {
        let classifier = Classifier::new(samples.as_slice(), bins)?;
        let towards = direction.map(Towards::new).transpose()?;
        let samples = some_of(samples.as_slice(), Self::MOST_SAMPLES);
        let pairs = Pairs { samples: &samples, estimator, classifier: &classifier, towards };
        let sums = pairs.sums();
        let classes = sums.iter().filter(|sum| sum.pairs > 0).map(|sum| sum.class(estimator));
        Ok(EmpiricalVariogram {
            estimator,
            cutoff_m: classifier.cutoff_m,
            classes: classes.collect(),
        })
    }
}

/// At most so many of the samples, in their order.
fn some_of(samples: &[Sample], most: usize) -> Vec<Sample> {
    if samples.len() <= most {
        return samples.to_vec();
    }
    let start = |part: usize| (part as u128 * samples.len() as u128 / most as u128) as usize;
    let one_of = |part: usize| {
        let (from, to) = (start(part), start(part + 1));
        samples[from + (scatter(part as u64) % (to - from) as u64) as usize]
    };
    (0..most).map(one_of).collect()
}

/// A number without visible order for each number: the last step of `SplitMix64` (Steele, Lea and Flood
/// 2014, Fast splittable pseudorandom number generators, from memory).
fn scatter(number: u64) -> u64 {
    let z = number.wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    let z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// Finds the class of a distance.
struct Classifier {
    cutoff_m: f64,
    limits: Limits,
    count: usize,
}

enum Limits {
    EqualWidth { width_m: f64 },
    Upper(Vec<f64>),
}

impl Classifier {
    fn new(samples: &[Sample], bins: &Bins) -> Result<Self, GeostatError> {
        let above_0 = |x: f64| x > 0.0 && x.is_finite();
        match bins {
            Bins::Default => {
                let cutoff_m = DEFAULT_REACH * diagonal_m(samples);
                // A single sample has no pairs, and any class will do.
                let cutoff_m = if cutoff_m > 0.0 { cutoff_m } else { 1.0 };
                Self::of_width(cutoff_m / DEFAULT_CLASSES, cutoff_m, DEFAULT_CLASSES)
            }
            &Bins::Width { width_m, cutoff_m } if above_0(width_m) && above_0(cutoff_m) => {
                Self::of_width(width_m, cutoff_m, (cutoff_m / width_m).ceil())
            }
            Bins::UpperLimits(limits_m)
                if (1..=MOST_CLASSES).contains(&limits_m.len())
                    && limits_m.iter().all(|&limit_m| above_0(limit_m))
                    && limits_m.is_sorted_by(|a, b| a < b) =>
            {
                let (cutoff_m, count) = (limits_m[limits_m.len() - 1], limits_m.len());
                Ok(Classifier { cutoff_m, limits: Limits::Upper(limits_m.clone()), count })
            }
            _ => Err(GeostatError::Bins),
        }
    }

    fn of_width(width_m: f64, cutoff_m: f64, count: f64) -> Result<Self, GeostatError> {
        match count <= MOST_CLASSES as f64 && cutoff_m.is_finite() {
            true => {
                // A width that is huge beside the cutoff makes one class, not none.
                let (limits, count) = (Limits::EqualWidth { width_m }, count.max(1.0) as usize);
                Ok(Classifier { cutoff_m, limits, count })
            }
            false => Err(GeostatError::Bins),
        }
    }

    /// The class of a distance above 0 and not beyond the cutoff.
    fn class(&self, distance_m: f64) -> usize {
        match &self.limits {
            Limits::EqualWidth { width_m } => {
                let widths = distance_m / width_m;
                let whole = widths as usize;
                let class = if whole as f64 == widths { whole.saturating_sub(1) } else { whole };
                // Rounding must not lead past the last class.
                class.min(self.count - 1)
            }
            Limits::Upper(limits_m) => limits_m.partition_point(|&limit_m| limit_m < distance_m),
        }
    }
}

/// Diagonal of the bounding box, metres.
fn diagonal_m(samples: &[Sample]) -> f64 {
    let extent = |of: fn(&Sample) -> f64| {
        let least = samples.iter().map(of).fold(f64::INFINITY, f64::min);
        samples.iter().map(of).fold(f64::NEG_INFINITY, f64::max) - least
    };
    let (east_m, north_m) = (extent(|s| s.easting_m), extent(|s| s.northing_m));
    (east_m * east_m + north_m * north_m).sqrt()
}

/// A direction as a unit vector, and the least cosine of the angle to it.
#[derive(Clone, Copy)]
struct Towards {
    east: f64,
    north: f64,
    least_cosine: f64,
}

impl Towards {
    fn new(direction: Direction) -> Result<Self, GeostatError> {
        let Direction { azimuth_deg, tolerance_deg } = direction;
        if !(azimuth_deg.is_finite() && tolerance_deg > 0.0) {
            return Err(GeostatError::Direction { azimuth_deg, tolerance_deg });
        }
        let azimuth = azimuth_deg.to_radians();
        // With some to spare: a pair just at the tolerance counts, whichever way its cosine is rounded.
        let least_cosine = match tolerance_deg < 90.0 {
            true => libm::cos(tolerance_deg.to_radians()) * (1.0 - 1e-12),
            false => 0.0,
        };
        Ok(Towards { east: libm::sin(azimuth), north: libm::cos(azimuth), least_cosine })
    }

    fn is_along(&self, east_m: f64, north_m: f64, distance_m: f64) -> bool {
        (east_m * self.east + north_m * self.north).abs() >= self.least_cosine * distance_m
    }
}

/// The pairs of some samples.
struct Pairs<'a> {
    samples: &'a [Sample],
    estimator: Estimator,
    classifier: &'a Classifier,
    towards: Option<Towards>,
}

/// Sums over the pairs of a class.
#[derive(Clone, Copy, Default)]
struct Sums {
    pairs: usize,
    distance_m: f64,
    /// Squares of differences, or roots of them.
    differences: f64,
}

impl Pairs<'_> {
    /// The sums of each class.
    fn sums(&self) -> Vec<Sums> {
        let starts: Vec<usize> = (0..self.samples.len()).step_by(ROWS).collect();
        let parts: Vec<Vec<Sums>> = starts.par_iter().map(|&start| self.part(start)).collect();
        let mut total = vec![Sums::default(); self.classifier.count];
        for part in parts {
            for (total, sums) in total.iter_mut().zip(part) {
                total.pairs += sums.pairs;
                total.distance_m += sums.distance_m;
                total.differences += sums.differences;
            }
        }
        total
    }

    /// The sums over the pairs of a few samples with those after them.
    fn part(&self, start: usize) -> Vec<Sums> {
        let mut sums = vec![Sums::default(); self.classifier.count];
        // Most pairs are too far apart, and which are cannot be guessed. Those that clearly are go
        // first, without a branch.
        let most_m2 = self.classifier.cutoff_m * self.classifier.cutoff_m * (1.0 + 1e-9);
        let mut near = vec![0; self.samples.len()];
        let end = self.samples.len().min(start + ROWS);
        for (index, a) in self.samples[..end].iter().enumerate().skip(start) {
            let after = &self.samples[index + 1..];
            let mut count = 0;
            for (other, b) in after.iter().enumerate() {
                let (east_m, north_m) = (a.easting_m - b.easting_m, a.northing_m - b.northing_m);
                near[count] = other;
                count += usize::from(east_m * east_m + north_m * north_m <= most_m2);
            }
            for &other in &near[..count] {
                self.add(a, &after[other], &mut sums);
            }
        }
        sums
    }

    /// Adds a pair to the sums of its class, if it has one.
    fn add(&self, a: &Sample, b: &Sample, sums: &mut [Sums]) {
        let (east_m, north_m) = (a.easting_m - b.easting_m, a.northing_m - b.northing_m);
        let distance_m = (east_m * east_m + north_m * north_m).sqrt();
        let counts = distance_m <= self.classifier.cutoff_m
            && self.towards.is_none_or(|t| t.is_along(east_m, north_m, distance_m));
        if counts {
            let sums = &mut sums[self.classifier.class(distance_m)];
            let difference = a.value - b.value;
            sums.pairs += 1;
            sums.distance_m += distance_m;
            sums.differences += match self.estimator {
                Estimator::Matheron => difference * difference,
                Estimator::CressieHawkins => difference.abs().sqrt(),
            };
        }
    }
}

impl Sums {
    fn class(&self, estimator: Estimator) -> DistanceClass {
        let pairs = self.pairs as f64;
        let mean = self.differences / pairs;
        let semivariance = match estimator {
            Estimator::Matheron => 0.5 * mean,
            Estimator::CressieHawkins => {
                let squared = mean * mean;
                0.5 * squared * squared / (0.457 + 0.494 / pairs)
            }
        };
        DistanceClass { pairs: self.pairs, distance_m: self.distance_m / pairs, semivariance }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn samples(all: &[(f64, f64, f64)]) -> Samples {
        let at = |&(easting_m, northing_m, value): &_| Sample { easting_m, northing_m, value };
        Samples::new(all.iter().map(at).collect()).unwrap()
    }

    /// Three samples in a line at 0, 1 and 3 m, values 1, 5 and 2: differences 4, 3 and 1 over 1, 2
    /// and 3 m.
    fn line() -> Samples {
        samples(&[(0.0, 0.0, 1.0), (1.0, 0.0, 5.0), (3.0, 0.0, 2.0)])
    }

    #[test]
    fn matheron_by_hand() {
        let bins = Bins::UpperLimits(vec![2.0, 2.5, 4.0]);
        let variogram = EmpiricalVariogram::new(&line(), Estimator::Matheron, &bins, None).unwrap();
        // 2 m belongs to the class up to 2 m; the class up to 2.5 m is empty and left out.
        let near = DistanceClass { pairs: 2, distance_m: 1.5, semivariance: 6.25 };
        let far = DistanceClass { pairs: 1, distance_m: 3.0, semivariance: 0.5 };
        assert_eq!(variogram.classes, [near, far]);
        assert_eq!(variogram.cutoff_m, 4.0);
    }

    #[test]
    fn cressie_and_hawkins_by_hand() {
        let bins = Bins::Width { width_m: 1.0, cutoff_m: 1.0 };
        let variogram =
            EmpiricalVariogram::new(&line(), Estimator::CressieHawkins, &bins, None).unwrap();
        // √4 to the fourth is 16; 16 / 2 (0.457 + 0.494) = 16 / 1.902.
        assert_eq!(variogram.classes.len(), 1);
        assert!((variogram.classes[0].semivariance - 8.412_197_686_645_636).abs() < 1e-14);
    }

    #[test]
    fn directions_count_both_ways_and_include_the_tolerance() {
        let corners =
            samples(&[(0.0, 0.0, 0.0), (1.0, 0.0, 1.0), (0.0, 1.0, 3.0), (1.0, 1.0, 9.0)]);
        let bins = Bins::Width { width_m: 2.0, cutoff_m: 2.0 };
        let pairs = |azimuth_deg, tolerance_deg| {
            let direction = Some(Direction { azimuth_deg, tolerance_deg });
            EmpiricalVariogram::new(&corners, Estimator::Matheron, &bins, direction)
                .unwrap()
                .classes
                .iter()
                .map(|class| class.pairs)
                .sum::<usize>()
        };
        for azimuth in [0.0, 90.0, 180.0, 270.0, -90.0] {
            assert_eq!(pairs(azimuth, 1.0), 2, "{azimuth}");
            // Both diagonals are just 45° off.
            assert_eq!(pairs(azimuth, 45.0), 4, "{azimuth}");
            assert_eq!(pairs(azimuth, 44.999), 2, "{azimuth}");
            assert_eq!(pairs(azimuth, 90.0), 6, "{azimuth}");
        }
        assert_eq!((pairs(45.0, 10.0), pairs(135.0, 10.0), pairs(225.0, 10.0)), (1, 1, 1));
    }

    #[test]
    fn a_single_sample_has_no_classes() {
        let one = samples(&[(3.0, 4.0, 5.0)]);
        let variogram =
            EmpiricalVariogram::new(&one, Estimator::Matheron, &Bins::Default, None).unwrap();
        assert!(variogram.classes.is_empty());
    }

    #[test]
    fn the_number_of_threads_does_not_matter() {
        let scattered = |k: u64| (scatter(k) >> 11) as f64 / 2e13;
        let many: Vec<_> = (0..700)
            .map(|k| (scattered(3 * k), scattered(3 * k + 1), scattered(3 * k + 2)))
            .collect();
        let many = samples(&many);
        let with = |threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| {
                EmpiricalVariogram::new(&many, Estimator::Matheron, &Bins::Default, None).unwrap()
            })
        };
        assert_eq!(with(1).classes.len(), 15);
        assert_eq!(with(1), with(3));
    }

    #[test]
    fn one_sample_is_taken_from_each_part() {
        let many: Vec<Sample> = (0..23)
            .map(|k| Sample { easting_m: f64::from(k), northing_m: 0.0, value: 0.0 })
            .collect();
        let some = some_of(&many, 5);
        // Parts begin at 0, 4, 9, 13 and 18.
        let parts = [0..4, 4..9, 9..13, 13..18, 18..23];
        assert_eq!(some.len(), parts.len());
        for (sample, part) in some.iter().zip(parts) {
            assert!(part.contains(&(sample.easting_m as i32)), "{sample:?} {part:?}");
        }
        assert_eq!(some_of(&many, 23), many);
    }

    #[test]
    fn bins_and_directions_that_mean_nothing_are_refused() {
        let of = |bins: Bins| EmpiricalVariogram::new(&line(), Estimator::Matheron, &bins, None);
        for (width_m, cutoff_m) in
            [(0.0, 1.0), (1.0, 0.0), (f64::NAN, 1.0), (1.0, f64::INFINITY), (1e-3, 2.0)]
        {
            assert!(of(Bins::Width { width_m, cutoff_m }).is_err(), "{width_m} {cutoff_m}");
        }
        for limits_m in [vec![], vec![0.0, 1.0], vec![1.0, 1.0], vec![2.0, 1.0], vec![f64::NAN]] {
            assert!(of(Bins::UpperLimits(limits_m)).is_err());
        }
        for (azimuth_deg, tolerance_deg) in [(f64::NAN, 10.0), (0.0, 0.0), (0.0, f64::NAN)] {
            let direction = Some(Direction { azimuth_deg, tolerance_deg });
            let bins = Bins::Default;
            assert!(
                EmpiricalVariogram::new(&line(), Estimator::Matheron, &bins, direction).is_err()
            );
        }
    }
}
