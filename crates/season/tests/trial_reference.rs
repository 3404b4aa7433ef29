//! Trials against data that are carried with the project, other programs, and trials made up by lot.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use season::{Spread, StripValue, Treatment, contrast, randomisation_test, strips_needed};
use statistics::{Random, normal};

/// Cochran and Cox 1950, Experimental Designs, table 3.1: nematode cysts before and after fumigation at
/// Rothamsted 1935, 48 plots in four blocks, 16 of them controls (see the notice beside the file).
const EELWORM: &str = include_str!("../../statistics/tests/reference/eelworm_fumigation.csv");

struct Plot {
    block: String,
    fumigant: String,
    before: f64,
    after: f64,
}

fn plots() -> Vec<Plot> {
    let plot = |line: &str| {
        let fields: Vec<&str> = line.split(',').collect();
        Plot {
            block: fields[0].into(),
            fumigant: fields[3].into(),
            before: fields[5].parse().unwrap(),
            after: fields[6].parse().unwrap(),
        }
    };
    EELWORM.lines().skip(1).map(plot).collect()
}

/// Plots of some fumigants against plots of another, with or without their blocks.
fn strips(
    treated: impl Fn(&Plot) -> bool,
    check: impl Fn(&Plot) -> bool,
    in_blocks: bool,
    value: impl Fn(&Plot) -> f64,
) -> Vec<StripValue> {
    let strip = |plot: &Plot| {
        let treatment = match (treated(plot), check(plot)) {
            (true, _) => Treatment::Treated,
            (_, true) => Treatment::Check,
            _ => return None,
        };
        let block = in_blocks.then(|| plot.block.clone());
        Some(StripValue { treatment, block, value: value(plot) })
    };
    plots().iter().filter_map(strip).collect()
}

fn is_control(plot: &Plot) -> bool {
    plot.fumigant == "Con"
}

fn change(plot: &Plot) -> f64 {
    plot.after - plot.before
}

#[track_caller]
fn assert_near(found: f64, expected: f64) {
    let off = (found - expected).abs() / expected.abs().max(1e-300);
    assert!(off <= 1e-9, "{found} for {expected}");
}

/// Means by treatment: R 4.2 (`aggregate`).
#[test]
fn means_of_the_sides_are_those_of_r() {
    let of = |fumigant: &'static str| {
        let treated = move |plot: &Plot| plot.fumigant == fumigant;
        let found = contrast(&strips(treated, is_control, false, change), 0.95).unwrap();
        (found.strips, found.means)
    };
    for (fumigant, mean) in [("Car", 104.25), ("Chl", 192.5), ("Cym", 198.875), ("See", 83.25)] {
        assert_eq!(of(fumigant), ([8, 16], [mean, 242.6875]), "{fumigant}");
    }
}

/// R 4.2, `t.test`: control against the rest, logarithm of after over before.
#[test]
fn without_blocks_the_interval_is_that_of_r() {
    let value = |plot: &Plot| libm::log(plot.after / plot.before);
    let found = contrast(&strips(|p| !is_control(p), is_control, false, value), 0.95).unwrap();
    let Spread { t, p, degrees_of_freedom, interval, .. } = found.spread.unwrap();
    assert_near(found.means[0], 0.894_860_198_397_108_5);
    assert_near(found.means[1], 1.248_256_008_764_072_8);
    assert_near(t, -2.062_893_096_633_78);
    assert_near(degrees_of_freedom, 32.427_872_564_320_93);
    assert_near(p, 0.047_206_454_304_252_15);
    // SciPy 1.17.1, ttest_ind(equal_var=False).confidence_interval(0.95).
    assert_near(interval[0], -0.702_163_951_637_388_8);
    assert_near(interval[1], -0.004_627_669_096_540_11);
}

/// `NumPy` 2.4.6 `linalg.lstsq` of a column for each block and one for the treatment, `SciPy` 1.17.1 `stats.t`.
#[test]
fn with_blocks_it_is_that_of_least_squares() {
    let found = contrast(&strips(|p| !is_control(p), is_control, true, change), 0.95).unwrap();
    let spread = found.spread.unwrap();
    assert_eq!((found.strips, found.blocks), ([32, 16], Some(4)));
    assert_near(found.difference, -97.968_75);
    assert_near(spread.standard_error, 29.167_226_211_064_083);
    assert_near(spread.degrees_of_freedom, 43.0);
    assert_near(spread.t, -3.358_864_133_704_875_2);
    assert_near(spread.p, 0.001_648_210_318_776_547_5);
    assert_near(spread.interval[0], -156.790_067_572_966_14);
    assert_near(spread.interval[1], -39.147_432_427_033_63);
}

/// `SciPy` 1.17.1, `permutation_test` of the absolute difference of means, independent, all ways, "greater".
#[test]
fn the_randomisation_test_counts_as_scipy_does() {
    let in_first = |plot: &Plot| plot.block == "B1";
    let rest = strips(
        |plot| in_first(plot) && !is_control(plot),
        |plot| in_first(plot) && is_control(plot),
        false,
        change,
    );
    let found = randomisation_test(&rest, 1).unwrap();
    assert_eq!(found.ways, 495.0);
    assert_near(found.p, 0.012_121_212_121_212_121);
    let two = strips(|p| p.fumigant == "See", |p| p.fumigant == "Car", false, change);
    let found = randomisation_test(&two, 1).unwrap();
    assert_eq!(found.ways, 12_870.0);
    assert_near(found.p, 0.575_912_975_912_976);
}

/// The power of the t test by the noncentral t distribution, `SciPy` 1.17.1 `stats.nct`: the fewest strips with
/// 80 % for differences of 1, 0.7 and 1.5 standard deviations.
#[test]
fn as_many_strips_are_asked_for_as_the_exact_power_asks() {
    for (ratio, a_side, pairs) in [(1.0, 17, 18), (0.7, 34, 35), (1.5, 9, 10)] {
        assert_eq!(strips_needed(1.0, ratio, 0.95, false), Some(a_side), "{ratio}");
        assert_eq!(strips_needed(1.0, ratio, 0.95, true), Some(pairs), "{ratio}");
    }
}

/// Trials made up by lot: strips a side, their spread, the effect and whether they lie in blocks of two.
struct MadeUp {
    strips: [usize; 2],
    sd: [f64; 2],
    effect: f64,
    block_sd: Option<f64>,
}

impl MadeUp {
    fn draw(&self, random: &mut Random) -> Vec<StripValue> {
        // Multiples of 2⁻⁴⁰, never 0 or 1.
        let mut deviate =
            || normal::quantile((random.below(1 << 40) as f64 + 0.5) / (1_u64 << 40) as f64);
        let blocks: Vec<f64> = (0..20).map(|_| self.block_sd.unwrap_or(0.0) * deviate()).collect();
        let mut all = Vec::new();
        for (side, treatment) in [Treatment::Treated, Treatment::Check].into_iter().enumerate() {
            for (k, block) in blocks.iter().take(self.strips[side]).enumerate() {
                let effect = if side == 0 { self.effect } else { 0.0 };
                all.push(StripValue {
                    treatment,
                    block: self.block_sd.map(|_| k.to_string()),
                    value: effect + block + self.sd[side] * deviate(),
                });
            }
        }
        all
    }

    /// Shares of 2000 trials whose interval holds the effect, lies above 0, and whose test is at most 5 %.
    fn shares(&self, seed: u64) -> [f64; 3] {
        const TRIALS: usize = 2_000;
        let mut random = Random::new(seed);
        let mut counts = [0_usize; 3];
        for _ in 0..TRIALS {
            let strips = self.draw(&mut random);
            let [low, high] = contrast(&strips, 0.95).unwrap().spread.unwrap().interval;
            let p = randomisation_test(&strips, 1).unwrap().p;
            let is = [low <= self.effect && self.effect <= high, low > 0.0, p <= 0.05];
            counts.iter_mut().zip(is).for_each(|(count, is)| *count += usize::from(is));
        }
        counts.map(|count| count as f64 / TRIALS as f64)
    }
}

/// Four standard errors of a share of 2000 are 0.020 at 0.95, 0.014 at 0.025 and 0.015 at 0.0286. Welch's
/// interval of few strips holds a little more or less than it says: 0.01 is added.
#[test]
fn intervals_hold_as_often_as_they_say_and_nothing_is_found_where_nothing_is() {
    let cases =
        [([4, 4], [1.0, 1.0], None), ([4, 8], [3.0, 1.0], None), ([6, 6], [1.0, 1.0], Some(5.0))];
    for (strips, sd, block_sd) in cases {
        let none = MadeUp { strips, sd, effect: 0.0, block_sd };
        let [holds, worked, _] = none.shares(11);
        assert!((holds - 0.95).abs() < 0.03, "{strips:?} {holds}");
        assert!((worked - 0.025).abs() < 0.024, "{strips:?} {worked}");
        let some = MadeUp { strips, sd, effect: 2.0, block_sd };
        assert!((some.shares(12)[0] - 0.95).abs() < 0.03, "{strips:?}");
    }
}

/// 4 + 4 strips: 2 of 70 ways reach 5 %. Six blocks of two: 2 of 64. Errors of 2000 trials as above.
#[test]
fn the_randomisation_test_errs_as_often_as_its_ways_say() {
    let plain = MadeUp { strips: [4, 4], sd: [1.0, 1.0], effect: 0.0, block_sd: None };
    let share = plain.shares(13)[2];
    assert!((share - 2.0 / 70.0).abs() < 0.015, "{share}");
    let in_blocks = MadeUp { strips: [6, 6], sd: [1.0, 1.0], effect: 0.0, block_sd: Some(5.0) };
    let share = in_blocks.shares(14)[2];
    assert!((share - 2.0 / 64.0).abs() < 0.016, "{share}");
}

/// With an effect of three standard deviations six blocks reach 2 / 64 where all six differences are above 0:
/// Φ(3/√2)⁶ = 0.98305⁶ = 0.902 of trials; four standard errors are 0.027.
#[test]
fn an_effect_is_found_where_there_is_one() {
    let some = MadeUp { strips: [6, 6], sd: [1.0, 1.0], effect: 3.0, block_sd: Some(5.0) };
    let [_, worked, by_lot] = some.shares(15);
    assert!(worked > 0.95 && (by_lot - 0.902).abs() < 0.027, "{worked} {by_lot}");
}
