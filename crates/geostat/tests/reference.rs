//! Results against R gstat 2.1-0.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

mod agreement;

use std::path::Path;

use agreement::{Set, checks};

/// Every result of gstat in the files that may be copied; see `tests/reference/README.md`.
#[test]
fn results_agree_with_gstat() {
    let folder = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference"));
    let mut compared = 0;
    for name in ["mercer_hall_wheat", "demo_field_a_april"] {
        let set = Set::read(&folder.join(format!("{name}.gstat.json")));
        for check in checks(&set) {
            assert!(check.passes(), "{name}, {}: {:e} at {}", check.what, check.largest, check.at);
            compared += check.compared;
        }
    }
    assert!(compared > 31_000, "{compared}");
}
