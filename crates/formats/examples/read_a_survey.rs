//! Reads a survey of any format and says what is in it.
//!
//! ```text
//! cargo run -p formats --example read_a_survey -- demo-data/north-bench/visits/2025-04-14.geojson
//! ```

use std::error::Error;
use std::path::Path;

use formats::{ReadSettings, read_survey};

#[expect(clippy::print_stdout, reason = "an example shows its result")]
fn main() -> Result<(), Box<dyn Error>> {
    let path = std::env::args_os().nth(1).ok_or("give a file of readings")?;
    let (_, survey) = read_survey(Path::new(&path), &ReadSettings::default())?;
    println!(
        "{} {}s, {} insertions, {} findings",
        survey.features,
        survey.kind.name(),
        survey.insertions.len(),
        survey.findings.len()
    );
    Ok(())
}
