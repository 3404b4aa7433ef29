//! Inverse-distance weighting.

use geostat::{Idw, Search, leave_one_out_idw};

use super::Check;
use super::set::{Set, is_tied, number, numbers, search};

pub fn estimates(set: &Set) -> Check {
    let mut check = Check::new("inverse distance");
    for run in set.runs("idw") {
        let power = number(&run["power"]);
        let idw = Idw::new(power, search(run)).unwrap();
        for (k, expected) in numbers(&run["pred"]).into_iter().enumerate() {
            if is_tied(run, k) {
                check.tied += 1;
                continue;
            }
            let ours = idw.estimate(&set.samples, &set.index, set.targets[k]);
            let at = || format!("power {power}, {} {}, target {k}", run["nmax"], run["maxdist"]);
            check.compare(ours, expected, set.sd, at);
        }
    }
    check
}

pub fn leave_one_out(set: &Set) -> Check {
    let mut check = Check::new("inverse distance, leave-one-out");
    for run in set.runs("idw_loo") {
        if run["n_tied_points"].as_u64() != Some(0) {
            check.tied += 1;
            continue;
        }
        let power = number(&run["power"]);
        // Beside another power, so that a mix-up of their order is seen.
        let powers = [9.5, power];
        let results =
            leave_one_out_idw(&set.samples, &set.index, search(run), None, &powers).unwrap();
        let ours = &results[1];
        for (name, ours) in [("me", ours.me), ("mae", ours.mae), ("rmse", ours.rmse)] {
            let at = || format!("{name}, power {power}, {}", run["nmax"]);
            check.compare(ours, number(&run[name]), set.sd, at);
        }
        if run["pred"].is_array() {
            for (pair, expected) in ours.pairs.iter().zip(numbers(&run["pred"])) {
                let at = || format!("sample {}, power {power}, {}", pair.index, run["nmax"]);
                check.compare(pair.estimated, expected, set.sd, at);
            }
        }
    }
    check
}

/// Samples of another file, where a set has one, estimated from those of the set.
pub fn validation(set: &Set) -> Check {
    let mut check = Check::new("inverse distance, other samples");
    let described = &set.expected["validation"];
    let others = set.others(described);
    let idw = Idw::new(2.0, Search::EVERYTHING).unwrap();
    for (&place, expected) in others.iter().zip(numbers(&described["idw2"]["pred"])) {
        let ours = idw.estimate(&set.samples, &set.index, place);
        check.compare(ours, expected, set.sd, || format!("at {place:?}"));
    }
    check
}
