//! Invented samples held against what `SciPy`, statsmodels, lifelines and `NumPy` make of them; how the
//! file was made is in `reference/make_scipy_cases.py`.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use serde_json::Value;
use statistics::{
    ClassTable, Lifetime, Term, Zeros, chi_squared, fisher_f, normal, rank_sum, signed_rank,
    student,
};

fn cases(kind: &str) -> Value {
    let text = include_str!("reference/scipy_cases.json");
    serde_json::from_str::<Value>(text).unwrap()[kind].take()
}

fn list(value: &Value) -> &Vec<Value> {
    value.as_array().unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    list(value).iter().map(number).collect()
}

/// To nine digits: independent double-precision programs agree to more.
#[track_caller]
fn agrees(ours: f64, theirs: &Value) {
    let theirs = number(theirs);
    assert!((ours - theirs).abs() <= 1e-9 * theirs.abs(), "{ours}, expected {theirs}");
}

#[track_caller]
fn agrees_where_given(ours: Option<f64>, theirs: &Value) {
    assert_eq!(ours.is_none(), theirs.is_null());
    if let Some(ours) = ours {
        agrees(ours, theirs);
    }
}

#[test]
fn distributions_agree() {
    let all = cases("distributions");
    for case in list(&all["t"]) {
        agrees(student::both_tails(number(&case["t"]), number(&case["df"])), &case["both"]);
    }
    for case in list(&all["t_quantile"]) {
        agrees(student::quantile(number(&case["share"]), number(&case["df"])), &case["value"]);
    }
    for case in list(&all["chi_squared"]) {
        let found = chi_squared::probability_above(number(&case["value"]), number(&case["df"]));
        agrees(found, &case["above"]);
    }
    for case in list(&all["f"]) {
        let [value, df1, df2] = ["value", "df1", "df2"].map(|name| number(&case[name]));
        agrees(fisher_f::probability_above(value, df1, df2), &case["above"]);
    }
    for case in list(&all["normal_quantile"]) {
        agrees(normal::quantile(number(&case["share"])), &case["value"]);
    }
}

#[test]
fn tests_of_differences_agree() {
    for case in list(&cases("signed_rank")) {
        let differences = numbers(&case["differences"]);
        for (name, zeros) in
            [("dropped", Zeros::Dropped), ("pratt", Zeros::Pratt), ("split", Zeros::Split)]
        {
            let found = signed_rank(&differences, zeros).unwrap();
            agrees(found.positive, &case[name]["positive"]);
            agrees(found.p, &case[name]["p"]);
            agrees(found.p_corrected, &case[name]["p_corrected"]);
            agrees_where_given(found.p_exact, &case["p_exact"]);
        }
        agrees(statistics::sign_test(&differences).p, &case["sign_p"]);
        let found = statistics::paired_t(&differences, 0.9).unwrap();
        agrees(found.t, &case["t"]["t"]);
        agrees(found.p, &case["t"]["p"]);
        agrees(found.interval[0], &case["t"]["interval_90"][0]);
        agrees(found.interval[1], &case["t"]["interval_90"][1]);
    }
}

#[test]
fn tests_of_two_samples_agree() {
    for case in list(&cases("two_samples")) {
        let [a, b] = ["a", "b"].map(|name| numbers(&case[name]));
        let welch = statistics::welch(&a, &b, 0.95).unwrap();
        agrees(welch.t, &case["welch"]["t"]);
        agrees(welch.degrees_of_freedom, &case["welch"]["df"]);
        agrees(welch.p, &case["welch"]["p"]);
        agrees(welch.interval[0], &case["welch"]["interval_95"][0]);
        agrees(welch.interval[1], &case["welch"]["interval_95"][1]);
        let pooled = statistics::pooled_t(&a, &b, 0.95).unwrap();
        agrees(pooled.t, &case["pooled"]["t"]);
        agrees(pooled.p, &case["pooled"]["p"]);
        let ranks = rank_sum(&a, &b).unwrap();
        agrees(ranks.u, &case["u"]);
        agrees(ranks.p, &case["rank_p"]);
        agrees(ranks.p_corrected, &case["rank_p_corrected"]);
        agrees_where_given(ranks.p_exact, &case["rank_p_exact"]);
    }
}

#[test]
fn log_rank_tests_agree() {
    for case in list(&cases("log_rank")) {
        let group = |group: &Value| -> Vec<Lifetime> {
            let pairs = numbers(&group["values"]).into_iter().zip(list(&group["ended"]));
            pairs.map(|(value, e)| Lifetime { value, ended: e.as_bool().unwrap() }).collect()
        };
        let groups: Vec<Vec<Lifetime>> = list(&case["groups"]).iter().map(group).collect();
        let groups: Vec<&[Lifetime]> = groups.iter().map(Vec::as_slice).collect();
        let found = statistics::log_rank(&groups).unwrap();
        agrees(found.chi_squared, &case["chi_squared"]);
        agrees(found.degrees_of_freedom, &case["df"]);
        agrees(found.p, &case["p"]);
    }
}

#[test]
fn analyses_of_covariance_agree() {
    for case in list(&cases("covariance")) {
        let factor = |name: &str| -> Vec<usize> {
            list(&case[name]).iter().map(|group| group.as_u64().unwrap() as usize).collect()
        };
        let (blocks, treatments) = (factor("block"), factor("treatment"));
        let [before, after] = ["before", "after"].map(|name| numbers(&case[name]));
        let (block, treatment) = (Term::Factor(&blocks), Term::Factor(&treatments));
        let terms = [block, Term::Covariate(&before), treatment];
        let found = statistics::analysis_of_variance(&after, &terms).unwrap();
        for (k, term) in found.terms.iter().enumerate() {
            agrees(term.degrees_of_freedom, &case["df"][k]);
            agrees(term.sum_of_squares, &case["sum_of_squares"][k]);
            agrees(term.f, &case["f"][k]);
            agrees(term.p, &case["p"][k]);
        }
        agrees(found.residual_degrees_of_freedom, &case["df"][3]);
        agrees(found.residual_sum_of_squares, &case["sum_of_squares"][3]);
        let terms = [block, treatment, Term::Covariate(&before)];
        let found = statistics::analysis_of_variance(&after, &terms).unwrap();
        let slope = found.terms[2].slope.unwrap();
        agrees(slope.estimate, &case["slope_of_before"]);
        agrees(slope.standard_error, &case["error_of_slope"]);
    }
}

#[test]
fn tables_of_classes_agree() {
    for case in list(&cases("classes")) {
        let rows: Vec<Vec<f64>> = list(&case["rows"]).iter().map(numbers).collect();
        let table = ClassTable::from_rows(&rows).unwrap();
        let found = table.agreement().unwrap();
        agrees(found.kappa, &case["kappa"]);
        agrees(found.kappa_linear, &case["kappa_linear"]);
        agrees(found.kappa_quadratic, &case["kappa_quadratic"]);
        let errors = table.kappa_standard_error().unwrap();
        agrees(errors.standard_error, &case["error"]);
        agrees(errors.standard_error_null, &case["error_null"]);
        let bowker = table.bowker().unwrap();
        agrees(bowker.chi_squared, &case["bowker"]["chi_squared"]);
        agrees(bowker.degrees_of_freedom, &case["bowker"]["df"]);
        agrees(bowker.p, &case["bowker"]["p"]);
    }
}

#[test]
fn modified_t_tests_agree() {
    for case in list(&cases("modified_t")) {
        let [a, b] = ["a", "b"].map(|name| numbers(&case[name]));
        let place = |place: &Value| [number(&place[0]), number(&place[1])];
        let places: Vec<[f64; 2]> = list(&case["places"]).iter().map(place).collect();
        let count = list(&case["pairs"]).len();
        let classes = if count == 13 { None } else { Some(count) };
        let found = statistics::modified_t_test(&a, &b, &places, classes).unwrap();
        agrees(found.correlation, &case["correlation"]);
        agrees(found.effective_size, &case["effective_size"]);
        agrees(found.degrees_of_freedom, &case["df"]);
        agrees(found.f, &case["f"]);
        agrees(found.p, &case["p"]);
        assert_eq!(found.classes.len(), count);
        for (k, class) in found.classes.iter().enumerate() {
            agrees(class.up_to, &case["up_to"][k]);
            agrees(class.pairs as f64, &case["pairs"][k]);
            agrees(class.morans_i[0], &case["morans_i"][0][k]);
            agrees(class.morans_i[1], &case["morans_i"][1][k]);
        }
    }
}

#[test]
fn correlations_agree() {
    for case in list(&cases("pairs")) {
        let [a, b] = ["a", "b"].map(|name| numbers(&case[name]));
        agrees(statistics::correlation(&a, &b).unwrap(), &case["pearson"]);
        agrees(statistics::rank_correlation(&a, &b).unwrap(), &case["spearman"]);
        agrees(statistics::kendalls_tau(&a, &b).unwrap(), &case["kendall"]);
    }
}
