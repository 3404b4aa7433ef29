//! Treatments compared.

use serde_json::Value;
use statistics::Term;

use super::check::Check;
use super::files::Table;
use super::numbers;

/// Nematodes before and after fumigation, in R.
pub fn eelworm(expected: &Value, table: &Table) -> Vec<Check> {
    vec![
        groups(&expected["by_treatment"], table),
        two_groups(&expected["control_vs_rest_log_ratio"], table),
        covariance(expected, table),
    ]
}

fn groups(expected: &Value, table: &Table) -> Check {
    let mut check = Check::new("groups");
    let fumigants = table.texts("fumigant");
    for (name, expected) in expected.as_object().unwrap() {
        let of = |values: Vec<f64>| -> Vec<f64> {
            let all = fumigants.iter().zip(values);
            all.filter(|(fumigant, _)| *fumigant == name).map(|(_, value)| value).collect()
        };
        let [first, second] = ["initial", "final"].map(|when| of(table.numbers(when)));
        let [log_first, log_second] = ["initial", "final"].map(|when| of(logarithms(table, when)));
        let means = statistics::welch(&first, &second, 0.95).unwrap();
        let ratios = super::paired::differences(&log_first, &log_second);
        let ratio = statistics::paired_t(&ratios, 0.95).unwrap();
        check.compare_all(
            expected,
            &[
                ("n", ratio.n as f64),
                ("mean_initial", means.means[0]),
                ("mean_final", means.means[1]),
                ("mean_change", means.difference),
                ("mean_log_ratio", ratio.mean),
                ("sd_log_ratio", ratio.sd),
            ],
        );
    }
    check
}

fn logarithms(table: &Table, name: &str) -> Vec<f64> {
    table.numbers(name).into_iter().map(f64::ln).collect()
}

/// R subtracts the second mean, of the control, from the first.
fn two_groups(expected: &Value, table: &Table) -> Check {
    let mut check = Check::new("two groups");
    let ratios =
        super::paired::differences(&logarithms(table, "initial"), &logarithms(table, "final"));
    let fumigants = table.texts("fumigant");
    let group = |is_control: bool| -> Vec<f64> {
        let of_group = |&(fumigant, _): &(&str, f64)| (fumigant == "Con") == is_control;
        let all = fumigants.iter().copied().zip(ratios.iter().copied());
        all.filter(of_group).map(|(_, ratio)| ratio).collect()
    };
    let (rest, control) = (group(false), group(true));
    let welch = statistics::welch(&control, &rest, 0.95).unwrap();
    let means = numbers(&expected["means"]);
    check.compare("mean of the rest", welch.means[1], means[0]);
    check.compare("mean of the control", welch.means[0], means[1]);
    let pooled = statistics::pooled_t(&control, &rest, 0.95).unwrap();
    for (name, found) in [("welch", welch), ("pooled", pooled)] {
        check.compare_all(
            &expected[name],
            &[("t", found.t), ("df", found.degrees_of_freedom), ("p", found.p)],
        );
    }
    let ranks = statistics::rank_sum(&control, &rest).unwrap();
    check.compare_all(&expected["mann_whitney"], &[("W", ranks.u), ("p", ranks.p)]);
    check
}

fn covariance(expected: &Value, table: &Table) -> Check {
    let mut check = Check::new("analysis of covariance");
    let numbered = |name: &str| -> Vec<usize> {
        let texts = table.texts(name);
        let mut known = texts.clone();
        known.sort_unstable();
        known.dedup();
        texts.iter().map(|text| known.binary_search(text).unwrap()).collect()
    };
    let (blocks, fumigants) = (numbered("block"), numbered("fumigant"));
    let before = logarithms(table, "initial");
    let terms = [Term::Factor(&blocks), Term::Covariate(&before), Term::Factor(&fumigants)];
    let found = statistics::analysis_of_variance(&logarithms(table, "final"), &terms).unwrap();
    let expected = &expected["ancova_log"];
    let [df, squares, f, p] = ["df", "ss", "F", "p"].map(|name| numbers(&expected[name]));
    for (term, effect) in found.terms.iter().enumerate() {
        check.compare("df", effect.degrees_of_freedom, df[term]);
        check.compare("ss", effect.sum_of_squares, squares[term]);
        check.compare("F", effect.f, f[term]);
        check.compare("p", effect.p, p[term]);
    }
    check.compare("residual df", found.residual_degrees_of_freedom, df[3]);
    check.compare("residual ss", found.residual_sum_of_squares, squares[3]);
    check
}

/// The ripped strip of the demo field against what was neither ripped nor driven on; `SciPy`.
pub fn strip(expected: &Value, table: &Table) -> Check {
    let mut check = Check::new("two groups");
    let depths = table.numbers("april_in");
    let (treatments, lanes) = (table.texts("treatment"), table.texts("in_lane"));
    let chosen = |is: &dyn Fn(usize) -> bool| -> Vec<f64> {
        (0..depths.len()).filter(|&row| is(row)).map(|row| depths[row]).collect()
    };
    let strip = chosen(&|row| treatments[row] == "ripped");
    let untreated = chosen(&|row| treatments[row] == "none" && lanes[row] == "false");
    let welch = statistics::welch(&untreated, &strip, 0.95).unwrap();
    let ranks = statistics::rank_sum(&untreated, &strip).unwrap();
    check.compare_all(
        expected,
        &[
            ("n_strip", welch.counts[1] as f64),
            ("n_untreated", welch.counts[0] as f64),
            ("mean_strip", welch.means[1]),
            ("mean_untreated", welch.means[0]),
            ("welch_t", welch.t),
            ("welch_p", welch.p),
            ("mann_whitney_U", ranks.u),
            ("mann_whitney_p", ranks.p),
        ],
    );
    check
}
