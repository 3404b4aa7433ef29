//! Values at places: the modified t test, Moran's I and Geary's C, the mean of values that are alike.

use serde_json::Value;
use statistics::SpatialWeights;

use super::check::Check;
use super::{number, numbers};

/// `SpatialPack`'s `modified.ttest`, and the same formulas in `NumPy`.
pub fn modified_t(expected: &Value, a: &[f64], b: &[f64], places: &[[f64; 2]]) -> Check {
    let mut check = Check::new("modified t test");
    let count = number(&expected["nclass"]) as usize;
    let found = statistics::modified_t_test(a, b, places, Some(count)).unwrap();
    check.compare_all(
        expected,
        &[
            ("nclass", found.classes.len() as f64),
            ("corr", found.correlation),
            ("ESS", found.effective_size),
            ("dof", found.degrees_of_freedom),
            ("F", found.f),
            ("p", found.p),
        ],
    );
    let of_classes: [(&str, Vec<f64>); 4] = [
        ("card", found.classes.iter().map(|class| class.pairs as f64).collect()),
        ("upper_bounds", found.classes.iter().map(|class| class.up_to).collect()),
        ("moran_x", found.classes.iter().map(|class| class.morans_i[0]).collect()),
        ("moran_y", found.classes.iter().map(|class| class.morans_i[1]).collect()),
    ];
    for (name, ours) in of_classes {
        let Some(theirs) = expected.get(name).map(numbers) else { continue };
        assert_eq!(ours.len(), theirs.len(), "{name}");
        ours.iter().zip(theirs).for_each(|(ours, theirs)| check.compare(name, *ours, theirs));
    }
    check
}

/// spdep's tests of I and C, or those of esda.
pub fn autocorrelation(
    check: &mut Check,
    expected: &Value,
    values: &[f64],
    weights: &SpatialWeights,
) {
    let i = statistics::morans_i(values, weights).unwrap();
    let c = statistics::gearys_c(values, weights).unwrap();
    for (name, ours) in [
        ("I", i.statistic),
        ("EI", i.expected),
        ("var_randomisation", i.by_randomisation.variance),
        ("z_randomisation", i.by_randomisation.z),
        ("z_rand", i.by_randomisation.z),
        ("p2_randomisation", i.by_randomisation.p),
        ("var_normality", i.by_normality.variance),
        ("z_normality", i.by_normality.z),
        ("p2_normality", i.by_normality.p),
        ("geary_C", c.statistic),
        ("geary_var_normality", c.by_normality.variance),
        ("geary_var_randomisation", c.by_randomisation.variance),
        ("geary_p2", c.by_randomisation.p),
    ] {
        if let Some(theirs) = expected.get(name) {
            check.compare(name, ours, number(theirs));
        }
    }
}

/// spdep's tests with neighbours within a distance and with eight nearest neighbours.
pub fn of_places(expected: &Value, values: &[f64], places: &[[f64; 2]]) -> Vec<Check> {
    let band = &expected["distance_band"];
    let weights = SpatialWeights::within(places, number(&band["band"]));
    let mut within = Check::new("I and C, neighbours within a distance");
    within.compare("n_islands", weights.alone() as f64, number(&band["n_islands"]));
    autocorrelation(&mut within, &band["binary"], values, &weights);
    autocorrelation(&mut within, &band["row_standardised"], values, &weights.row_standardised());
    vec![within, nearest(&expected["knn8_row_standardised"], 8, values, places)]
}

/// Nearest neighbours; where some are equally far, programs choose differently.
pub fn nearest(expected: &Value, count: usize, values: &[f64], places: &[[f64; 2]]) -> Check {
    let mut check = Check::new("I and C, nearest neighbours");
    match is_tied(places, count) {
        true => check.tied = expected.as_object().unwrap().len(),
        false => {
            let weights = SpatialWeights::nearest(places, count).row_standardised();
            autocorrelation(&mut check, expected, values, &weights);
        }
    }
    check
}

/// Whether the last of so many neighbours of a place and the next are equally far, up to rounding.
fn is_tied(places: &[[f64; 2]], count: usize) -> bool {
    places.iter().any(|place| {
        let mut distances: Vec<f64> =
            places.iter().map(|other| (other[0] - place[0]).hypot(other[1] - place[1])).collect();
        distances.sort_by(f64::total_cmp);
        // The first is the place itself.
        distances[count + 1] - distances[count] <= 1e-9 * distances[count]
    })
}

/// The mean under an exponential model of covariance.
pub fn mean(expected: &Value, values: &[f64], places: &[[f64; 2]]) -> Check {
    let model = &expected["model"];
    let [nugget, sill, range] = ["nugget", "psill", "range"].map(|name| number(&model[name]));
    let covariance = |distance: f64| {
        let near = if distance == 0.0 { nugget } else { 0.0 };
        near + sill * (-distance / range).exp()
    };
    let size = statistics::effective_size_of_mean(places, covariance);
    let error = ((nugget + sill) / size).sqrt();
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let mut check = Check::new("mean of values that are alike");
    check.compare_all(
        expected,
        &[
            ("n_eff_mean", size),
            ("se_mean_model", error),
            ("z_mean", mean / error),
            ("p2_mean_normal", statistics::normal::both_tails(mean / error)),
        ],
    );
    check
}
