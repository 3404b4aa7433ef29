//! What the spots probed on both visits say about a change.
//!
//! Each spot is compared with itself, so that the differences between spots do not blur the change. Spots
//! are the evidence; cells of a raster are not, however many there are. Spots near each other tell partly
//! the same, so beside the plain interval stands one with the number of spots that would tell as much if
//! they were independent.
//!
//! Where a reading was not reached the change is only bounded. The mean, the t test and the signed-rank
//! test take the depth probed for the depth, as the maps do: with the earlier reading not reached the true
//! fall is at least as great, with the later one the true rise. The sign test counts a spot where its
//! direction is certain, the median has bounds, and the comparison as groups takes "not reached" as it is.

use mapping::FittedVariogram;
use statistics::{
    Lifetime, LogRank, MeanTest, ModifiedT, Pseudomedian, SignTest, SignedRank, Zeros,
};
use survey::{KaplanMeier, Reading};

use crate::kriged_change::{change_variogram, changes_as_samples};
use crate::pairs::{Pair, Pairs};
use crate::reading_change::ReadingChange;

/// What paired spots say about a change, centimetres.
#[derive(Debug, Clone)]
pub struct PairedChange {
    /// How far the readings tell the changes.
    pub counts: ChangeCounts,
    /// Mean of the changes, "not reached" at the depth probed; `None` without a pair.
    pub mean_cm: Option<f64>,
    /// Paired t test of the same changes, as if spots were independent of each other.
    pub t: Option<MeanTest>,
    /// How far near spots tell the same, and the interval of the mean with that.
    pub effective: EffectiveMean,
    /// Wilcoxon's signed-rank test of the same changes; changes of 0 are ranked with the others, and their
    /// ranks left out (Pratt 1959).
    pub signed_rank: Option<SignedRank>,
    /// Their pseudomedian, the median of the means of all two of them.
    pub pseudomedian: Option<Pseudomedian>,
    /// Sign test of the spots whose direction is certain.
    pub signs: SignTest,
    /// Least and greatest that the median of the true changes can be; `None` where nothing bounds it.
    pub median_cm: [Option<f64>; 2],
    /// The depths of both visits as two groups.
    pub groups: Option<Groups>,
    /// How the depths of both visits go together, tested with the effective number of spots.
    pub correlation: Option<ModifiedT>,
}

/// How many changes are told how far.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ChangeCounts {
    /// Both readings reached.
    pub exact: usize,
    /// The earlier one not: the change is at most so much.
    pub at_most: usize,
    /// The later one not: the change is at least so much.
    pub at_least: usize,
    /// Neither.
    pub unknown: usize,
}

/// How many independent values tell as much of the mean as spots of which near ones tell partly the same.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum EffectiveMean {
    /// More than two.
    Of {
        /// How many, by the variogram of the changes; at most the number of spots.
        size: f64,
        /// Mean ± t · sd / √size, centimetres, with size − 1 degrees of freedom.
        interval_cm: [f64; 2],
    },
    /// No more than two: the spots tell so much the same that the mean has no interval.
    TooFew {
        /// How many.
        size: f64,
    },
    /// Not known, for the changes have no variogram; or there is nothing to test.
    Unknown,
}

/// Depths of the same spots on two visits, "not reached" taken as it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Groups {
    /// Kaplan–Meier median of the earlier visit.
    pub earlier_median: Reading,
    /// The same of the later one.
    pub later_median: Reading,
    /// Log-rank test of the two, which does not know that the spots are the same; `None` where nothing tells
    /// them apart.
    pub log_rank: Option<LogRank>,
}

/// What pairs say about a change, with intervals of a confidence.
pub fn paired_change(pairs: &Pairs, confidence: f64) -> PairedChange {
    let changes: Vec<ReadingChange> = pairs.pairs.iter().map(Pair::change).collect();
    let as_read_cm: Vec<f64> = pairs.pairs.iter().map(Pair::as_read_cm).collect();
    // Readings at marks differ by equal sizes, which rounding must not tell apart.
    let evened_cm = statistics::evened(&as_read_cm);
    let t = statistics::paired_t(&as_read_cm, confidence);
    PairedChange {
        counts: ChangeCounts::of(pairs),
        mean_cm: mean(&as_read_cm),
        effective: effective_mean(pairs, t.as_ref(), confidence).unwrap_or(EffectiveMean::Unknown),
        signed_rank: statistics::signed_rank(&evened_cm, Zeros::Pratt),
        pseudomedian: statistics::pseudomedian(&evened_cm, confidence).filter(|_| t.is_some()),
        signs: statistics::sign_test(&certain_directions(&changes)),
        median_cm: median_bounds_cm(&changes),
        groups: groups(pairs),
        correlation: correlation(pairs),
        t,
    }
}

impl ChangeCounts {
    /// Those of pairs.
    pub(crate) fn of(pairs: &Pairs) -> Self {
        let mut counts = ChangeCounts::default();
        for change in pairs.pairs.iter().map(Pair::change) {
            *match change {
                ReadingChange::Exactly(_) => &mut counts.exact,
                ReadingChange::AtMost(_) => &mut counts.at_most,
                ReadingChange::AtLeast(_) => &mut counts.at_least,
                ReadingChange::Unknown => &mut counts.unknown,
            } += 1;
        }
        counts
    }

    /// All of them.
    pub fn all(&self) -> usize {
        self.exact + self.at_most + self.at_least + self.unknown
    }
}

fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// The interval of the mean again; `None` where it is not known how far near spots tell the same.
fn effective_mean(pairs: &Pairs, t: Option<&MeanTest>, confidence: f64) -> Option<EffectiveMean> {
    let t = t?;
    let samples = changes_as_samples(pairs)?;
    let FittedVariogram { model, .. } = change_variogram(&samples, geostat::Anisotropy::NONE)?;
    let covariance = |distance_m: f64| match distance_m > 0.0 {
        true => model.structure_covariance(distance_m),
        false => model.sill(),
    };
    let size = statistics::effective_size_of_mean(&pairs.places(), covariance);
    if size.is_nan() {
        return None;
    }
    // Two independent values or fewer have no interval worth the name.
    if size <= 2.0 {
        return Some(EffectiveMean::TooFew { size });
    }
    let quantile = statistics::student::quantile(f64::midpoint(1.0, confidence), size - 1.0);
    let half_cm = quantile * t.sd / size.sqrt();
    Some(EffectiveMean::Of { size, interval_cm: [t.mean - half_cm, t.mean + half_cm] })
}

/// Changes whose direction is certain, and those that are exactly 0.
fn certain_directions(changes: &[ReadingChange]) -> Vec<f64> {
    let certain = |change: &ReadingChange| match *change {
        ReadingChange::Exactly(cm) => Some(cm),
        change if change.is_fall() => change.most_cm(),
        change if change.is_rise() => change.least_cm(),
        _ => None,
    };
    changes.iter().filter_map(certain).collect()
}

/// The median of the least that changes can be, and of the greatest.
fn median_bounds_cm(changes: &[ReadingChange]) -> [Option<f64>; 2] {
    let least = changes.iter().map(|change| change.least_cm().unwrap_or(f64::NEG_INFINITY));
    let most = changes.iter().map(|change| change.most_cm().unwrap_or(f64::INFINITY));
    [least.collect(), most.collect()].map(finite_median)
}

fn finite_median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let [low, high] = [values.len().checked_sub(1)? / 2, values.len() / 2];
    Some(f64::midpoint(values[low], values[high])).filter(|median| median.is_finite())
}

fn groups(pairs: &Pairs) -> Option<Groups> {
    let readings = |of: fn(&Pair) -> Reading| pairs.pairs.iter().map(of).collect::<Vec<Reading>>();
    let (earlier, later) = (readings(|pair| pair.earlier), readings(|pair| pair.later));
    let log_rank = match earlier == later {
        true => None,
        false => statistics::log_rank(&[&lifetimes(&earlier), &lifetimes(&later)]),
    };
    Some(Groups {
        earlier_median: KaplanMeier::of(&earlier)?.median(),
        later_median: KaplanMeier::of(&later)?.median(),
        log_rank,
    })
}

/// Depths as the log-rank test takes them: to a tenth of a micrometre, so that the same mark in inches and in
/// centimetres is one value.
pub(crate) fn lifetimes(readings: &[Reading]) -> Vec<Lifetime> {
    let lifetime = |reading: &Reading| Lifetime {
        value: (reading.at_least().cm() * 1e5).round(),
        ended: !reading.is_not_reached(),
    };
    readings.iter().map(lifetime).collect()
}

/// Depths of both visits go together where what makes a spot deep stays: its soil, its traffic.
fn correlation(pairs: &Pairs) -> Option<ModifiedT> {
    let depths = |of: fn(&Pair) -> Reading| -> Vec<f64> {
        pairs.pairs.iter().map(|pair| of(pair).at_least().cm()).collect()
    };
    let (earlier, later) = (depths(|pair| pair.earlier), depths(|pair| pair.later));
    // Of a visit with itself it is 1, which tells nothing.
    match earlier == later {
        true => None,
        false => statistics::modified_t_test(&earlier, &later, &pairs.places(), None),
    }
}

#[cfg(test)]
mod tests {
    use survey::{Depth, EastNorth};

    use super::*;
    use crate::pairs::{MatchedBy, PairsWithin};

    fn reached(cm: f64) -> Reading {
        Reading::Reached(Depth::from_cm(cm))
    }

    fn not_reached(cm: f64) -> Reading {
        Reading::NotReached { probed_to: Depth::from_cm(cm) }
    }

    /// Pairs in rows of ten, 20 m apart.
    fn pairs(readings: &[(Reading, Reading)]) -> Pairs {
        let pair = |(k, &(earlier, later)): (usize, &(Reading, Reading))| {
            let place =
                EastNorth { easting_m: 20.0 * (k % 10) as f64, northing_m: 20.0 * (k / 10) as f64 };
            Pair {
                id: k.to_string(),
                later_id: k.to_string(),
                matched_by: MatchedBy::Name,
                earlier_place: place,
                later_place: place,
                earlier,
                later,
                earlier_spot: k,
                later_spot: k,
            }
        };
        Pairs {
            pairs: readings.iter().enumerate().map(pair).collect(),
            only_earlier: 0,
            only_later: 0,
            within: PairsWithin::all_m(10.0),
            notes: Vec::new(),
        }
    }

    /// Student's sleep data (Student 1908, Biometrika 6:1–25; figures of R's `t.test`): t = −4.0621,
    /// 9 degrees of freedom, p = 0.002833, mean −1.58, interval −2.459886 to −0.7001142.
    #[test]
    fn the_paired_t_is_students_own() {
        let first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
        let second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];
        let readings: Vec<_> =
            first.iter().zip(second).map(|(a, b)| (reached(20.0 + b), reached(20.0 + a))).collect();
        let found = paired_change(&pairs(&readings), 0.95);
        let t = found.t.unwrap();
        assert!((t.t + 4.0621).abs() < 5e-5 && (t.p - 0.002_833).abs() < 5e-7, "{t:?}");
        assert!((t.interval[0] + 2.459_886).abs() < 1e-5);
        assert!((t.interval[1] + 0.700_114).abs() < 1e-5);
        assert!((found.mean_cm.unwrap() + 1.58).abs() < 1e-9);
        // Ten pairs have no variogram.
        assert_eq!(found.effective, EffectiveMean::Unknown);
    }

    #[test]
    fn each_kind_of_change_is_counted_and_only_certain_signs_are() {
        let found = paired_change(
            &pairs(&[
                (reached(30.0), reached(20.0)),
                (reached(30.0), reached(30.0)),
                (not_reached(45.0), reached(20.0)),
                // At most 0: the direction is not certain.
                (not_reached(45.0), reached(45.0)),
                (reached(20.0), not_reached(45.0)),
                (not_reached(45.0), not_reached(45.0)),
            ]),
            0.95,
        );
        let expected = ChangeCounts { exact: 2, at_most: 2, at_least: 1, unknown: 1 };
        assert_eq!((found.counts, found.counts.all()), (expected, 6));
        assert_eq!([found.signs.down, found.signs.up, found.signs.zero], [2, 1, 1]);
    }

    /// Changes −9, −7, at most −5, −3, −1: whatever the third truly is, the middle one of five lies at −5
    /// at most and at −7 at least.
    #[test]
    fn the_median_has_bounds_as_far_as_there_are_any() {
        use ReadingChange::{AtLeast, AtMost, Exactly, Unknown};
        let of = |changes: &[ReadingChange]| median_bounds_cm(changes);
        let five = [Exactly(-9.0), Exactly(-7.0), AtMost(-5.0), Exactly(-3.0), Exactly(-1.0)];
        assert_eq!(of(&five), [Some(-7.0), Some(-5.0)]);
        assert_eq!(of(&[Exactly(-2.0), Exactly(4.0)]), [Some(1.0), Some(1.0)]);
        assert_eq!(of(&[AtMost(-2.0), AtMost(-4.0), Exactly(1.0)]), [None, Some(-2.0)]);
        assert_eq!(of(&[AtLeast(2.0), Unknown, Exactly(1.0)]), [Some(1.0), None]);
        assert_eq!(of(&[]), [None, None]);
    }

    #[test]
    fn a_visit_beside_itself_has_no_test() {
        let readings: Vec<_> = (0..60)
            .map(|k| reached(f64::from(k * 7 % 11)))
            .map(|reading| (reading, reading))
            .collect();
        let found = paired_change(&pairs(&readings), 0.95);
        assert_eq!((found.mean_cm, found.signs.zero), (Some(0.0), 60));
        assert!(found.t.is_none() && found.effective == EffectiveMean::Unknown);
        assert!(found.signed_rank.is_none() && found.pseudomedian.is_none());
        assert!(found.correlation.is_none());
        assert!(found.groups.unwrap().log_rank.is_none());
    }

    #[test]
    fn without_pairs_there_is_nothing_to_say() {
        let found = paired_change(&pairs(&[]), 0.95);
        assert_eq!((found.mean_cm, found.median_cm), (None, [None, None]));
        assert!(found.t.is_none() && found.groups.is_none() && found.correlation.is_none());
    }

    /// Changes that are alike in blocks of three by three spots, beside those without any order.
    #[test]
    fn spots_that_tell_the_same_count_for_fewer_and_widen_the_interval() {
        let blocks = |k: usize| {
            let block = k % 10 / 3 + 4 * (k / 30);
            20.0 + (block * block * 7 % 11) as f64 + 0.1 * (k * 7 % 5) as f64
        };
        let alone = |k: usize| 20.0 + (k * k * 31 % 17) as f64;
        let effective = |later_cm: &dyn Fn(usize) -> f64| {
            let pair = |k| (reached(25.0), reached(later_cm(k)));
            let found = paired_change(&pairs(&(0..100).map(pair).collect::<Vec<_>>()), 0.95);
            let EffectiveMean::Of { size, interval_cm } = found.effective else {
                panic!("{:?}", found.effective)
            };
            (size, interval_cm, found.t.unwrap().interval)
        };
        let (size, near_cm, plain_cm) = effective(&blocks);
        assert!(size < 30.0, "{size}");
        let width = |[low, high]: [f64; 2]| high - low;
        assert!(width(near_cm) > 1.5 * width(plain_cm), "{near_cm:?} {plain_cm:?}");
        let (alone, ..) = effective(&alone);
        assert!(alone > 60.0, "{alone}");
    }

    /// A change that goes evenly from one edge of the field to the other: all spots tell of one thing.
    #[test]
    fn spots_that_tell_one_thing_have_no_interval() {
        let pair = |k: usize| (reached(40.0), reached(20.0 + 2.0 * (k / 10 + k % 10) as f64));
        let found = paired_change(&pairs(&(0..100).map(pair).collect::<Vec<_>>()), 0.95);
        let EffectiveMean::TooFew { size } = found.effective else {
            panic!("{:?}", found.effective)
        };
        assert!(size > 0.0 && size <= 2.0, "{size}");
    }

    /// By way of metres 7 in and 17.78 cm are not the same number.
    #[test]
    fn marks_in_inches_tie_with_those_in_centimetres() {
        let inches = |mark: f64| Reading::Reached(Depth::from_in(mark));
        assert_ne!(Depth::from_in(7.0), Depth::from_cm(17.78), "else this tests nothing");
        let marks = [(inches(3.0), 7.62), (inches(7.0), 17.78), (inches(9.0), 22.86)];
        let twins: Vec<_> = marks.iter().map(|(inches, cm)| (*inches, reached(*cm))).collect();
        let test = paired_change(&pairs(&twins), 0.95).groups.unwrap().log_rank.unwrap();
        assert_eq!((test.chi_squared, test.p), (0.0, 1.0));
    }

    /// Depths 10 to 50, of which half become not reached at 30: as groups the later median is beyond the
    /// rod while the earlier is known.
    #[test]
    fn groups_take_not_reached_as_it_is() {
        let readings: Vec<_> =
            (0..41).map(|k| (reached(10.0 + f64::from(k)), not_reached(30.0))).collect();
        let groups = paired_change(&pairs(&readings), 0.95).groups.unwrap();
        assert_eq!(groups.earlier_median, reached(30.0));
        assert_eq!(groups.later_median, not_reached(30.0));
        assert!(groups.log_rank.unwrap().p < 1e-4);
    }
}
