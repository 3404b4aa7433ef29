//! Treated against check strips: the difference of their means and how far it can be trusted.
//!
//! The strip is the unit, whatever the number of probes in it: probes of one strip got one treatment and
//! lie close together, so they are no replicates of it (Hurlbert 1984, Ecological Monographs 54:187–211,
//! "pseudoreplication"). Without blocks the interval is Welch's (1947, Biometrika 34:28–35). With blocks it
//! is that of least squares with an effect for each block and one for the treatment: with `t` treated and
//! `c` check strips in a block and the difference `d` of their means,
//!
//! estimate = Σ w d / Σ w,   w = t c / (t + c),   standard error² = s² / Σ w,
//!
//! with s² the mean square of the residuals over N − blocks − 1 degrees of freedom. With one strip of each
//! side in a block that is the paired t test (Cochran and Cox 1957, Experimental Designs, 2nd edition,
//! chapter 4, from memory).

use std::collections::BTreeMap;

use statistics::student;

/// What was done to a strip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Treatment {
    /// Treated.
    Treated,
    /// Left as it was, to compare with.
    Check,
}

impl Treatment {
    /// `treated` or `check`.
    pub fn name(self) -> &'static str {
        match self {
            Treatment::Treated => "treated",
            Treatment::Check => "check",
        }
    }
}

/// The value of one strip: a mean over its probes.
#[derive(Debug, Clone, PartialEq)]
pub struct StripValue {
    /// What was done to it.
    pub treatment: Treatment,
    /// The block it lies in, where strips lie in blocks.
    pub block: Option<String>,
    /// The value, in any unit.
    pub value: f64,
}

/// Treated less check, in the unit of the values.
#[derive(Debug, Clone, PartialEq)]
pub struct Contrast {
    /// Strips that count: treated, check.
    pub strips: [usize; 2],
    /// Blocks with strips of both sides; `None` where strips do not lie in several such blocks.
    pub blocks: Option<usize>,
    /// Mean of the treated and of the check strips. With blocks each block weighs as in the difference.
    pub means: [f64; 2],
    /// Mean of the treated less mean of the check strips.
    pub difference: f64,
    /// How far it can be trusted; `None` where strips do not tell: one on a side, or no spread at all.
    pub spread: Option<Spread>,
}

/// What the spread between strips says of a difference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Standard deviation between strips of one side, over both sides (and within blocks).
    pub strip_sd: f64,
    /// Standard error of the difference.
    pub standard_error: f64,
    /// Degrees of freedom, whole only with blocks.
    pub degrees_of_freedom: f64,
    /// The difference over its standard error.
    pub t: f64,
    /// Chance of a difference at least as far from 0 where there is none.
    pub p: f64,
    /// Interval at the confidence asked for.
    pub interval: [f64; 2],
}

/// Compares treated with check strips. Strips of a block without the other side do not count. `None` where
/// a side has no strip, or blocks are given and none has both sides. Confidence is above 0 and below 1.
pub fn contrast(strips: &[StripValue], confidence: f64) -> Option<Contrast> {
    let blocks = complete_blocks(strips);
    match blocks.as_slice() {
        [] => None,
        [only] => Some(without_blocks(only, confidence)),
        several => Some(with_blocks(several, confidence)),
    }
}

/// Values of the treated and of the check strips of one block.
pub(crate) type Sides = [Vec<f64>; 2];

/// The strips of each block that has both sides, by the blocks' names; strips without a block are one.
pub(crate) fn complete_blocks(strips: &[StripValue]) -> Vec<Sides> {
    let mut blocks: BTreeMap<Option<&str>, Sides> = BTreeMap::new();
    for strip in strips {
        let sides = blocks.entry(strip.block.as_deref()).or_default();
        sides[strip.treatment as usize].push(strip.value);
    }
    blocks.into_values().filter(|sides| sides.iter().all(|side| !side.is_empty())).collect()
}

/// The weight of a block's difference.
pub(crate) fn weight([treated, check]: &Sides) -> f64 {
    let (treated, check) = (treated.len() as f64, check.len() as f64);
    treated * check / (treated + check)
}

pub(crate) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Sum of squares about the mean.
pub(crate) fn squares(values: &[f64]) -> f64 {
    let mean = mean(values);
    values.iter().map(|value| (value - mean) * (value - mean)).sum()
}

fn without_blocks(sides: &Sides, confidence: f64) -> Contrast {
    let [treated, check] = sides;
    let means = [mean(treated), mean(check)];
    let counts = [treated.len(), check.len()];
    let difference = means[0] - means[1];
    Contrast {
        strips: counts,
        blocks: None,
        means,
        difference,
        spread: welch(sides, difference, confidence),
    }
}

fn welch(sides: &Sides, difference: f64, confidence: f64) -> Option<Spread> {
    let [treated, check] = sides;
    if treated.len() < 2 || check.len() < 2 {
        return None;
    }
    let found = statistics::welch(check, treated, confidence)?;
    let degrees = (treated.len() + check.len() - 2) as f64;
    let strip_sd = ((squares(treated) + squares(check)) / degrees).sqrt();
    let is_sound = is_spread(found.standard_error, sides) && found.degrees_of_freedom.is_finite();
    is_sound.then_some(Spread {
        strip_sd,
        standard_error: found.standard_error,
        degrees_of_freedom: found.degrees_of_freedom,
        t: difference / found.standard_error,
        p: found.p,
        interval: found.interval,
    })
}

/// Whether a standard error is more than what rounding leaves where all strips are alike.
fn is_spread(standard_error: f64, sides: &Sides) -> bool {
    let greatest = sides.iter().flatten().fold(0.0, |most: f64, value| most.max(value.abs()));
    standard_error > 1e-12 * greatest
}

fn with_blocks(blocks: &[Sides], confidence: f64) -> Contrast {
    let weights: f64 = blocks.iter().map(weight).sum();
    let weighed = |of: &dyn Fn(&Sides) -> f64| {
        blocks.iter().map(|sides| weight(sides) * of(sides)).sum::<f64>() / weights
    };
    let count = |side: usize| blocks.iter().map(|sides| sides[side].len()).sum();
    let means = [weighed(&|sides| mean(&sides[0])), weighed(&|sides| mean(&sides[1]))];
    let difference = weighed(&|sides| mean(&sides[0]) - mean(&sides[1]));
    let strips: [usize; 2] = [count(0), count(1)];
    Contrast {
        strips,
        blocks: Some(blocks.len()),
        means,
        difference,
        spread: least_squares(blocks, weights, difference, confidence),
    }
}

/// The spread about an effect for each block and one for the treatment.
fn least_squares(
    blocks: &[Sides],
    weights: f64,
    difference: f64,
    confidence: f64,
) -> Option<Spread> {
    let within: f64 = blocks.iter().flatten().map(|side| squares(side)).sum();
    let off = |sides: &Sides| mean(&sides[0]) - mean(&sides[1]) - difference;
    let between: f64 = blocks.iter().map(|sides| weight(sides) * off(sides) * off(sides)).sum();
    let strips: usize = blocks.iter().flatten().map(Vec::len).sum();
    let degrees = (strips - blocks.len() - 1) as f64;
    let strip_sd = ((within + between) / degrees).sqrt();
    let standard_error = strip_sd / weights.sqrt();
    let all: Sides = [0, 1].map(|side| blocks.iter().flat_map(|b| b[side].clone()).collect());
    is_spread(standard_error, &all).then(|| {
        let t = difference / standard_error;
        let reach = student::quantile(f64::midpoint(1.0, confidence), degrees) * standard_error;
        Spread {
            strip_sd,
            standard_error,
            degrees_of_freedom: degrees,
            t,
            p: 2.0 * student::probability_below(-t.abs(), degrees),
            interval: [difference - reach, difference + reach],
        }
    })
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use proptest::prelude::*;

    pub(crate) fn strip(treatment: Treatment, block: Option<&str>, value: f64) -> StripValue {
        StripValue { treatment, block: block.map(str::to_owned), value }
    }

    pub(crate) fn strips(treated: &[f64], check: &[f64]) -> Vec<StripValue> {
        let side = |treatment, values: &[f64]| -> Vec<StripValue> {
            values.iter().map(|&value| strip(treatment, None, value)).collect()
        };
        [side(Treatment::Treated, treated), side(Treatment::Check, check)].concat()
    }

    fn near(found: f64, expected: f64) -> bool {
        (found - expected).abs() <= 1e-9 * expected.abs().max(1.0)
    }

    /// Student's sleep data as pairs (Student 1908, Biometrika 6:1–25): t −4.0621, 9 degrees of freedom,
    /// p 0.002833, mean −1.58, interval −2.45989 to −0.70011.
    #[test]
    fn blocks_of_two_are_the_paired_test() {
        let first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
        let second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];
        let names: Vec<String> = (0..10).map(|k| k.to_string()).collect();
        let all: Vec<StripValue> = (0..10)
            .flat_map(|k| {
                let block = Some(names[k].as_str());
                [
                    strip(Treatment::Treated, block, first[k]),
                    strip(Treatment::Check, block, second[k]),
                ]
            })
            .collect();
        let found = contrast(&all, 0.95).unwrap();
        let spread = found.spread.unwrap();
        assert_eq!((found.strips, found.blocks), ([10, 10], Some(10)));
        assert!(near(found.difference, -1.58));
        assert!((spread.t + 4.0621).abs() < 5e-5 && spread.degrees_of_freedom == 9.0);
        assert!((spread.p - 0.002_833).abs() < 5e-7, "{}", spread.p);
        assert!((spread.interval[0] + 2.459_89).abs() < 5e-6, "{:?}", spread.interval);
        assert!((spread.interval[1] + 0.700_11).abs() < 5e-6);
    }

    /// By hand: means 6 and 3; variances 4 and 1; standard error √(4/3 + 1/3) = √(5/3); degrees of
    /// freedom (25/9) / (16/18 + 1/18) = 50/17.
    #[test]
    fn without_blocks_the_sides_may_spread_unequally() {
        let found = contrast(&strips(&[4.0, 6.0, 8.0], &[2.0, 3.0, 4.0]), 0.95).unwrap();
        let spread = found.spread.unwrap();
        assert_eq!((found.means, found.difference, found.blocks), ([6.0, 3.0], 3.0, None));
        assert!(near(spread.standard_error, (5.0_f64 / 3.0).sqrt()));
        assert!(near(spread.degrees_of_freedom, 50.0 / 17.0));
        assert!(near(spread.strip_sd, 2.5_f64.sqrt()));
    }

    /// Two blocks, one of 2 + 1 strips, weights 2/3 and 1/2: differences 2 and 4 give (4/3 + 2)/(7/6) = 20/7.
    /// Residuals: within 2; between 2/3 (6/7)² + 1/2 (8/7)² = 8/7; 5 − 2 − 1 = 2 degrees of freedom.
    #[test]
    fn blocks_of_unequal_size_weigh_as_least_squares_weighs_them() {
        let all = [
            strip(Treatment::Treated, Some("a"), 4.0),
            strip(Treatment::Treated, Some("a"), 6.0),
            strip(Treatment::Check, Some("a"), 3.0),
            strip(Treatment::Treated, Some("b"), 9.0),
            strip(Treatment::Check, Some("b"), 5.0),
            // A block without the other side does not count.
            strip(Treatment::Check, Some("c"), 99.0),
        ];
        let found = contrast(&all, 0.9).unwrap();
        let spread = found.spread.unwrap();
        assert_eq!((found.strips, found.blocks), ([3, 2], Some(2)));
        assert!(near(found.difference, 20.0 / 7.0));
        assert!(near(spread.strip_sd * spread.strip_sd, (2.0 + 8.0 / 7.0) / 2.0));
        assert!(near(spread.standard_error, (11.0_f64 / 7.0).sqrt() / (7.0_f64 / 6.0).sqrt()));
        // 2.920 is the published 95 % point of two degrees of freedom (NIST e-Handbook, 1.3.6.7.2).
        let reach = (spread.interval[1] - spread.interval[0]) / 2.0 / spread.standard_error;
        assert!((reach - 2.920).abs() < 5e-4, "{reach}");
    }

    #[test]
    fn one_strip_on_a_side_or_strips_all_alike_give_no_interval() {
        assert!(contrast(&strips(&[4.0], &[1.0, 2.0]), 0.95).unwrap().spread.is_none());
        assert!(contrast(&strips(&[4.1, 4.1], &[1.3, 1.3]), 0.95).unwrap().spread.is_none());
        assert!(contrast(&strips(&[4.0], &[]), 0.95).is_none());
        assert!(contrast(&[], 0.95).is_none());
    }

    proptest! {
        #[test]
        fn the_season_itself_plays_no_part_and_sides_swapped_turn_the_sign(
            values in proptest::collection::vec(-50.0..50.0_f64, 6..20),
            treated in 2_usize..4,
            constant in -100.0..100.0_f64,
            in_blocks in any::<bool>(),
        ) {
            let side = |k: usize, swap: bool| match (k < treated) != swap {
                true => Treatment::Treated,
                false => Treatment::Check,
            };
            let block = |k: usize| in_blocks.then_some(["a", "b"][k % 2]);
            let all = |swap: bool, constant: f64| {
                let strips: Vec<StripValue> = values
                    .iter()
                    .enumerate()
                    .map(|(k, value)| strip(side(k, swap), block(k), value + constant))
                    .collect();
                contrast(&strips, 0.95).unwrap()
            };
            let (plain, moved, swapped) = (all(false, 0.0), all(false, constant), all(true, 0.0));
            let (a, b, c) =
                (plain.spread.unwrap(), moved.spread.unwrap(), swapped.spread.unwrap());
            let limit = 1e-9 * a.standard_error.max(1.0);
            prop_assert!((plain.difference - moved.difference).abs() < limit);
            prop_assert!((a.standard_error - b.standard_error).abs() < limit);
            prop_assert!((plain.difference + swapped.difference).abs() < limit);
            prop_assert!((a.interval[0] + c.interval[1]).abs() < 1e-6 * (1.0 + a.interval[0].abs()));
            prop_assert!((a.p - c.p).abs() < 1e-9);
        }
    }
}
