//! Tests of differences between pairs, second less first.

use serde_json::Value;
use statistics::{SignedRank, Zeros};

use super::check::Check;
use super::{number, numbers};

/// R: base and its package stats.
pub fn of_r(expected: &Value, first: &[f64], second: &[f64]) -> Vec<Check> {
    let differences = differences(first, second);
    let mut ranks = Check::new("signed ranks");
    let found = statistics::signed_rank(&differences, Zeros::Dropped).unwrap();
    ranks.compare_all(
        &expected["wilcoxon"],
        &[
            ("V", found.positive),
            ("n_nonzero", found.nonzero as f64),
            ("p_normal_no_correction", found.p),
            ("p_normal_with_continuity", found.p_corrected),
        ],
    );
    let middle = pseudomedian(&expected["wilcoxon"], &differences);
    let mut signs = Check::new("signs");
    signs_of(
        &mut signs,
        &expected["sign_test"],
        ["n_up", "n_down", "n_zero", "p_exact"],
        &differences,
    );
    let mut correlations = Check::new("correlations");
    correlations.compare_all(
        expected,
        &[
            ("pearson", statistics::correlation(first, second).unwrap()),
            ("spearman", statistics::rank_correlation(first, second).unwrap()),
            ("kendall", statistics::kendalls_tau(first, second).unwrap()),
        ],
    );
    vec![means(expected, &differences), ranks, middle, signs, correlations]
}

/// `SciPy`, and formulas in `NumPy`.
pub fn of_python(expected: &Value, first: &[f64], second: &[f64]) -> Vec<Check> {
    let differences = differences(first, second);
    let mut ranks = Check::new("signed ranks");
    signed_ranks(&mut ranks, &expected["wilcoxon"], &differences);
    let mut signs = Check::new("signs");
    signs_of(&mut signs, &expected["sign_test"], ["up", "down", "zero", "p"], &differences);
    let mut agreement = Check::new("correlation, concordance, limits");
    agreement.compare_all(
        expected,
        &[
            ("pearson", statistics::correlation(first, second).unwrap()),
            ("spearman", statistics::rank_correlation(first, second).unwrap()),
            (
                "lin_ccc_population_variance",
                statistics::concordance(first, second).unwrap().coefficient,
            ),
        ],
    );
    let limits = statistics::limits_of_agreement(first, second).unwrap();
    let limits = [("bias", limits.bias), ("lower", limits.lower), ("upper", limits.upper)];
    agreement.compare_all(&expected["bland_altman"], &limits);
    vec![means(expected, &differences), ranks, signs, agreement]
}

pub fn differences(first: &[f64], second: &[f64]) -> Vec<f64> {
    first.iter().zip(second).map(|(first, second)| second - first).collect()
}

pub fn means(expected: &Value, differences: &[f64]) -> Check {
    let mut check = Check::new("t test of the mean");
    let found = statistics::paired_t(differences, 0.95).unwrap();
    check.compare_all(
        expected,
        &[
            ("n", found.n as f64),
            ("mean_diff", found.mean),
            ("sd_diff", found.sd),
            ("median_diff", statistics::median(differences).unwrap()),
            ("t", found.t),
            ("p", found.p),
        ],
    );
    if let Some(degrees) = expected.get("df") {
        check.compare("df", found.degrees_of_freedom, number(degrees));
        let interval = numbers(&expected["ci95"]);
        check.compare("ci95 below", found.interval[0], interval[0]);
        check.compare("ci95 above", found.interval[1], interval[1]);
    }
    check
}

/// R leaves differences of 0 out, and looks for roots to 1e-4. Where the two averages in the middle are
/// apart, each value between them is a root of its equation for the estimate.
fn pseudomedian(expected: &Value, differences: &[f64]) -> Check {
    let mut check = Check::within("pseudomedian (by R to 1e-4)", 1e-4);
    let nonzero: Vec<f64> = differences.iter().copied().filter(|d| *d != 0.0).collect();
    let found = statistics::pseudomedian(&nonzero, 0.95).unwrap();
    let [low, high] = middle_averages(&nonzero);
    let theirs = number(&expected["hodges_lehmann_pseudomedian"]);
    check.compare("estimate", found.estimate, (low + high) / 2.0);
    check.compare("root for the estimate", theirs.clamp(low, high), theirs);
    let interval = numbers(&expected["ci95"]);
    check.compare("ci95 below", found.interval[0], interval[0]);
    check.compare("ci95 above", found.interval[1], interval[1]);
    check
}

fn middle_averages(values: &[f64]) -> [f64; 2] {
    let pairs = (0..values.len()).flat_map(|i| (0..=i).map(move |j| (i, j)));
    let mut averages: Vec<f64> = pairs.map(|(i, j)| (values[i] + values[j]) / 2.0).collect();
    averages.sort_by(f64::total_cmp);
    [averages[(averages.len() - 1) / 2], averages[averages.len() / 2]]
}

/// `SciPy` gives z of the smaller sum.
pub fn signed_ranks(check: &mut Check, expected: &Value, differences: &[f64]) {
    for (name, zeros) in
        [("wilcox", Zeros::Dropped), ("pratt", Zeros::Pratt), ("zsplit", Zeros::Split)]
    {
        let found = statistics::signed_rank(differences, zeros).unwrap();
        let least = least_sum(&found, zeros, differences.len());
        let plain = &expected[name];
        let theirs = if plain["T"].is_number() { &plain["T"] } else { &plain["T_min"] };
        check.compare(name, least, number(theirs));
        check.compare_all(plain, &[("z", -found.z.abs()), ("p", found.p)]);
        let corrected = &expected[format!("{name}_corrected")];
        if corrected.is_object() {
            check.compare_all(corrected, &[("T_min", least), ("p", found.p_corrected)]);
        }
    }
}

/// The sum of positive or of negative ranks, whichever is less.
fn least_sum(found: &SignedRank, zeros: Zeros, all: usize) -> f64 {
    let sum = |n: usize| (n * (n + 1) / 2) as f64;
    let whole = match zeros {
        Zeros::Dropped => sum(found.nonzero),
        Zeros::Pratt => sum(all) - sum(all - found.nonzero),
        Zeros::Split => sum(all),
    };
    found.positive.min(whole - found.positive)
}

pub fn signs_of(check: &mut Check, expected: &Value, names: [&str; 4], differences: &[f64]) {
    let found = statistics::sign_test(differences);
    let [up, down, zero, p] = names;
    let counts = [found.up, found.down, found.zero].map(|count| count as f64);
    check.compare_all(expected, &[(up, counts[0]), (down, counts[1]), (zero, counts[2])]);
    check.compare_all(expected, &[(p, found.p)]);
}
