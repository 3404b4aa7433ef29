//! Kriging. A variance counts in relation to the sill: at a sample it is 0 but for rounding.

use geostat::{
    Anisotropy, CrossValidation, GlobalKriging, Kriged, Kriging, Neighbours, Search, Shape, Trend,
    Variogram, leave_one_out_kriging,
};
use serde_json::Value;

use super::Check;
use super::set::{Set, is_tied, number, numbers, search, text};

/// gstat's places and weights of the quadrature in a block have fewer digits.
const BLOCK_LIMIT: f64 = 1e-7;

pub fn ordinary(set: &Set) -> Check {
    let mut check = Check::new("ordinary kriging");
    for run in set.runs("ok") {
        compare(&mut check, set, run, &settings(run));
    }
    check
}

pub fn error_variance(set: &Set) -> Check {
    let mut check = Check::new("ordinary kriging, nugget as error");
    let run = &set.expected["ok_err_nugget"];
    let kriging = settings(run);
    let nugget = kriging.variogram().nugget;
    compare(&mut check, set, run, &kriging.with_error_variance(nugget).unwrap());
    check
}

pub fn direction(set: &Set) -> Check {
    let mut check = Check::new("ordinary kriging, direction");
    let run = &set.expected["ok_anis"];
    let kriging = settings(run);
    compare(&mut check, set, run, &kriging);
    let ours = leave_one_out_kriging(&set.samples, &set.index, &kriging).unwrap();
    compare_figures(&mut check, set, &run["loo"], &ours);
    check
}

pub fn trend(set: &Set) -> Check {
    let mut check = Check::new("kriging with a linear trend");
    let run = &set.expected["uk_linear"];
    compare(&mut check, set, run, &settings(run).with_trend(Trend::Linear));
    check
}

pub fn block(set: &Set) -> Check {
    let mut check = Check::new("block kriging");
    check.limit = BLOCK_LIMIT;
    let run = &set.expected["ok_block"];
    let kriging = settings(run);
    let global = GlobalKriging::new(&set.samples, &kriging).unwrap();
    let size = [number(&run["block"][0]), number(&run["block"][1])];
    let cell = |place| global.cell(place, size).unwrap();
    compare_estimates(&mut check, set, run, &set.targets, &kriging, cell);
    check
}

pub fn leave_one_out(set: &Set) -> Check {
    let mut check = Check::new("ordinary kriging, leave-one-out");
    for run in set.runs("ok_loo") {
        let kriging = settings(run);
        if has_ties(set, kriging.search()) {
            check.tied += 1;
            continue;
        }
        let ours = leave_one_out_kriging(&set.samples, &set.index, &kriging).unwrap();
        compare_figures(&mut check, set, run, &ours);
        if run["pred"].is_array() {
            let expected = numbers(&run["pred"]).into_iter().zip(numbers(&run["var"]));
            for (pair, (value, variance)) in ours.pairs.iter().zip(expected) {
                let at = || format!("sample {}, {}", pair.index, run["nmax"]);
                check.compare(pair.estimated, value, set.sd, at);
                let sill = kriging.variogram().sill();
                check.compare(pair.variance.unwrap(), variance, sill, at);
            }
        }
    }
    check
}

/// Samples of another file, where a set has one, estimated from those of the set.
pub fn validation(set: &Set) -> Check {
    let mut check = Check::new("ordinary kriging, other samples");
    let described = &set.expected["validation"];
    let (run, places) = (&described["ok"], set.others(described));
    let kriging = settings(run);
    let global = GlobalKriging::new(&set.samples, &kriging).unwrap();
    let at = |place| global.estimate(place);
    compare_estimates(&mut check, set, run, &places, &kriging, at);
    check
}

/// The settings of a run.
fn settings(run: &Value) -> Kriging {
    let [nugget, partial_sill, range_m] =
        ["nugget", "psill", "range"].map(|name| number(&run["model"][name]));
    let shape = shape(text(&run["model"]["model"]));
    let mut variogram = Variogram::new(shape, nugget, partial_sill, range_m).unwrap();
    if let Some(azimuth_deg) = run["anis"]["azimuth_deg_clockwise_from_north"].as_f64() {
        let ratio = number(&run["anis"]["ratio_minor_over_major"]);
        variogram.anisotropy = Anisotropy::new(azimuth_deg, ratio).unwrap();
    }
    Kriging::new(variogram).unwrap().with_search(search(run)).unwrap()
}

pub fn shape(name: &str) -> Shape {
    match name {
        "Sph" => Shape::Spherical,
        "Exp" => Shape::Exponential,
        "Gau" => Shape::Gaussian,
        other => panic!("a shape named {other}"),
    }
}

fn compare(check: &mut Check, set: &Set, run: &Value, kriging: &Kriging) {
    let places = &set.targets;
    if kriging.search() == Search::EVERYTHING {
        let global = GlobalKriging::new(&set.samples, kriging).unwrap();
        compare_estimates(check, set, run, places, kriging, |place| global.estimate(place));
    } else {
        let at = |place| kriging.estimate(&set.samples, &set.index, place).unwrap();
        compare_estimates(check, set, run, places, kriging, at);
    }
}

fn compare_estimates(
    check: &mut Check,
    set: &Set,
    run: &Value,
    places: &[[f64; 2]],
    kriging: &Kriging,
    estimate: impl Fn([f64; 2]) -> Kriged,
) {
    let expected = numbers(&run["pred"]).into_iter().zip(numbers(&run["var"]));
    let sill = kriging.variogram().sill();
    for (k, (value, variance)) in expected.enumerate() {
        if is_tied(run, k) {
            check.tied += 1;
            continue;
        }
        let ours = estimate(places[k]);
        let at = || format!("{}, {} {}, target {k}", run["model"], run["nmax"], run["maxdist"]);
        check.compare(ours.value, value, set.sd, at);
        check.compare(ours.variance, variance, sill, at);
    }
}

fn compare_figures(check: &mut Check, set: &Set, run: &Value, ours: &CrossValidation) {
    let figures = [
        ("me", ours.me, set.sd),
        ("mae", ours.mae, set.sd),
        ("rmse", ours.rmse, set.sd),
        ("msdr", ours.msdr(), 1.0),
    ];
    for (name, ours, scale) in figures {
        if run[name].is_number() {
            let at = || format!("{name}, {} {}", run["model"], run["nmax"]);
            check.compare(ours, number(&run[name]), scale, at);
        }
    }
}

/// Whether for some sample the last neighbour and the next are equally far, up to rounding.
fn has_ties(set: &Set, search: Search) -> bool {
    let Neighbours::Nearest(count) = search.neighbours else { return false };
    let mut found = Vec::new();
    set.samples.as_slice().iter().any(|sample| {
        let place = [sample.easting_m, sample.northing_m];
        // The sample itself is the nearest.
        set.index.find(place, Search::nearest(count + 2), &mut found);
        found.sort_by(|a, b| a.squared_m2.total_cmp(&b.squared_m2));
        found[count + 1].squared_m2 - found[count].squared_m2 <= 1e-9 * found[count].squared_m2
    })
}
