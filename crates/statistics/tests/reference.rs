//! Results held against those of R, `SciPy`, esda and others, for the sets that may be copied; the example
//! `reference` does it for all.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

mod agreement;

use std::fs;
use std::path::PathBuf;

use agreement::{Files, checks_of};

fn agrees(file: &str, sets: &[&str]) {
    let folder = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference"));
    let text = fs::read_to_string(folder.join(file).with_extension("json")).unwrap();
    let results: serde_json::Value = serde_json::from_str(&text).unwrap();
    let files = Files { folders: vec![folder] };
    for set in sets {
        for check in checks_of(file, set, &results[set], &files).unwrap() {
            assert!(check.passes(), "{file}, {set}, {}: {}", check.what, check.at);
        }
    }
}

#[test]
fn tests_agree_with_r() {
    agrees("season_R", &["eelworm"]);
}

#[test]
fn tests_agree_with_scipy() {
    agrees("season_python", &["eelworm", "kappa_worked"]);
    agrees("demo_field_a", &["paired_apr14_aug24", "april_strip_vs_untreated_off_lane"]);
}

#[test]
fn autocorrelation_agrees_with_esda() {
    agrees("season_python", &["libpysal_columbus", "esda_columbus"]);
}
