//! Running the built command, and surveys to run it on.

#![expect(clippy::unwrap_used, reason = "a test may panic")]
#![allow(dead_code, reason = "each test uses some of it")]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::{Value, json};

/// The project's root.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// A file of the demo field.
pub fn demo(name: &str) -> String {
    root().join("demo-data/north-bench").join(name).display().to_string()
}

/// What the command did.
pub struct Run {
    pub exit: i32,
    pub stdout: String,
    pub stderr: String,
}

/// Runs the command in a folder.
pub fn loosedepth(folder: &Path, args: &[&str]) -> Run {
    let Output { status, stdout, stderr } = Command::new(env!("CARGO_BIN_EXE_loosedepth"))
        .args(args)
        .current_dir(folder)
        // Neither may change a result: PROJ looks for nothing outside the program.
        .env("PROJ_DATA", "/nowhere")
        .env("PROJ_LIB", "/nowhere")
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    Run { exit: status.code().unwrap(), stdout: text(stdout), stderr: text(stderr) }
}

/// A point feature.
pub fn point(lon_deg: f64, lat_deg: f64, properties: &Value) -> Value {
    json!({
        "type": "Feature",
        "properties": properties,
        "geometry": { "type": "Point", "coordinates": [lon_deg, lat_deg] },
    })
}

/// Twenty readings in four rows of five, 30 m apart, depths in inches.
pub fn features() -> Vec<Value> {
    (0..20)
        .map(|k| {
            let (column, row) = (f64::from(k % 5), f64::from(k / 5));
            point(-95.62 + 4e-4 * column, 41.93 + 3e-4 * row, &json!({ "depth_in": 3 * (k % 5) }))
        })
        .collect()
}

pub fn collection(features: &[Value]) -> String {
    json!({ "type": "FeatureCollection", "features": features }).to_string()
}

/// A ring around the twenty readings, closed.
pub fn ring() -> Value {
    json!([
        [-95.6202, 41.9298],
        [-95.618, 41.9298],
        [-95.618, 41.9312],
        [-95.6202, 41.9312],
        [-95.6202, 41.9298]
    ])
}

/// Compares text with a kept file.
pub fn assert_as_kept(text: &str, name: &str) {
    let kept = std::fs::read_to_string(root().join("tests/expected").join(name)).unwrap();
    assert_eq!(text, kept, "tests/expected/{name} differs");
}
