//! Empirical variograms and fits.

use std::path::Path;

use geostat::{Bins, Direction, EmpiricalVariogram, Estimator, Weighting};
use serde_json::Value;

use super::Check;
use super::kriging::shape;
use super::set::{Set, number, numbers, read_json, text};

/// How far above the optimum a weighted sum of squares may lie.
const FIT_LIMIT: f64 = 1e-6;

/// Longest range of a fit, in cutoffs.
const LONGEST_RANGE: f64 = 20.0;

/// Pairs, mean distances and semivariances of every class.
pub fn semivariances(set: &Set) -> Check {
    let mut check = Check::new("semivariances");
    for run in set.runs("variogram") {
        let classes = run["bins"].as_array().unwrap();
        let label = text(&run["label"]);
        match run["alpha"].as_array() {
            None => {
                compare(&mut check, label, &of(set, run, &bins(run), None), classes.iter());
                if label.starts_with("gstat default") {
                    let ours = of(set, run, &Bins::Default, None);
                    compare(&mut check, label, &ours, classes.iter());
                }
            }
            Some(azimuths) => {
                for azimuth_deg in azimuths.iter().map(number) {
                    let tolerance_deg = number(&run["tol_hor"]);
                    let direction = Some(Direction { azimuth_deg, tolerance_deg });
                    let ours = of(set, run, &bins(run), direction);
                    let expected = classes.iter();
                    let expected = expected.filter(|c| number(&c["dir_hor"]) == azimuth_deg);
                    compare(&mut check, label, &ours, expected);
                }
            }
        }
    }
    check
}

/// The weighted sums of squares of fits against gstat's: how far ours lie above them. gstat does not
/// reach the optimum of every fit, so ours may lie below. Left out are its method 2, which minimises
/// another sum, and fits that ran to ranges beyond those that ours, and the optimum, may have.
pub fn fits(set: &Set) -> Check {
    let mut check = Check::new("fits, no worse than gstat's");
    check.limit = FIT_LIMIT;
    for run in set.runs("fits") {
        let variogram = fitted_variogram(set, run);
        if number(&run["range"]) <= LONGEST_RANGE * number(&variogram["cutoff"]) {
            compare_fit(&mut check, set, run, number(&run["SSErr"]));
        }
    }
    check
}

/// The same against the optimum of each fit, where a file in the folder has them.
pub fn optima(set: &Set, optima: &Path) -> Check {
    let mut check = Check::new("fits, no worse than the optimum");
    check.limit = FIT_LIMIT;
    let name = text(&set.expected["dataset"]);
    let all = read_json(optima);
    for run in all["sets"][name].as_array().unwrap() {
        compare_fit(&mut check, set, run, number(&run["optimum"]["SSErr"]));
    }
    check
}

fn compare_fit(check: &mut Check, set: &Set, run: &Value, squares: f64) {
    let weighting = match run["fit_method"].as_u64() {
        Some(7) => Weighting::PairsPerSquaredDistance,
        Some(1) => Weighting::Pairs,
        Some(6) => Weighting::Equal,
        _ => return,
    };
    let name = text(&run["model"]);
    let variogram = fitted_variogram(set, run);
    let ours = of(set, variogram, &bins(variogram), None).fit(shape(name), weighting).unwrap();
    // One that lies below is as good as one that is equal.
    let ours = ours.weighted_squares.max(squares);
    check.compare(ours, squares, 0.0, || {
        format!("{name}, {}, method {}", run["estimator"], run["fit_method"])
    });
}

/// The variogram that a fit was made to: that of the given classes of equal width.
fn fitted_variogram<'a>(set: &'a Set, fit: &Value) -> &'a Value {
    let is_fitted = |run: &&Value| {
        run["estimator"] == fit["estimator"] && text(&run["label"]).starts_with("given bins")
    };
    set.runs("variogram").iter().find(is_fitted).unwrap()
}

fn of(set: &Set, run: &Value, bins: &Bins, direction: Option<Direction>) -> EmpiricalVariogram {
    let estimator = match text(&run["estimator"]) {
        "matheron" => Estimator::Matheron,
        "cressie_hawkins" => Estimator::CressieHawkins,
        other => panic!("an estimator named {other}"),
    };
    EmpiricalVariogram::new(&set.samples, estimator, bins, direction).unwrap()
}

fn bins(run: &Value) -> Bins {
    match run["boundaries"].is_array() {
        true => Bins::UpperLimits(numbers(&run["boundaries"])),
        false => Bins::Width { width_m: number(&run["width"]), cutoff_m: number(&run["cutoff"]) },
    }
}

fn compare<'a>(
    check: &mut Check,
    label: &str,
    ours: &EmpiricalVariogram,
    expected: impl Iterator<Item = &'a Value>,
) {
    let expected: Vec<&Value> = expected.collect();
    let count = |count: usize| count as f64;
    let at = || format!("{label}, number of classes");
    check.compare(count(ours.classes.len()), count(expected.len()), 1.0, at);
    for (class, expected) in ours.classes.iter().zip(expected) {
        let numbers =
            [("np", count(class.pairs)), ("dist", class.distance_m), ("gamma", class.semivariance)];
        for (name, ours) in numbers {
            let at = || format!("{label}, {name} of the class at {} m", class.distance_m);
            check.compare(ours, number(&expected[name]), 0.0, at);
        }
    }
}
