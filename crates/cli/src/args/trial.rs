//! Arguments of `loosedepth trial`.

use std::path::PathBuf;

use clap::Args;
use survey::Depth;

use super::VisitPairArgs;

#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("ground").required(true).args(["areas", "group"]))]
pub struct TrialArgs {
    #[command(flatten)]
    pub visits: VisitPairArgs,

    /// Which ground was treated and which was left to compare with: GeoJSON polygons with a
    /// `treatment` (treated or check) and, where wanted, a `strip` or `name` and a `block`; or the
    /// plan.geojson of a plan with check strips. Instead of it: --group NAME with --treated and
    /// --check
    #[arg(long, value_name = "FILE.geojson", conflicts_with = "group")]
    pub areas: Option<PathBuf>,

    /// The word of the file for treated ground [default: treated]
    #[arg(long, value_name = "WORD")]
    pub treated: Option<String>,

    /// The word of the file for check ground [default: check, control or untreated]
    #[arg(long = "check", value_name = "WORD")]
    pub check_word: Option<String>,

    /// Property of the later visit's readings that names the strip, with --group; without it all probes
    /// of one treatment are one strip
    #[arg(long, value_name = "NAME", requires = "group")]
    pub strip_field: Option<String>,

    /// The strips to treat were drawn by lot: adds the test that rests on the draw. Check strips of a
    /// plan of ours were drawn, but treated ground beside them was not, so a plan has no such test
    #[arg(long)]
    pub randomised: bool,

    /// The smallest difference that matters: 2in, 5cm [default: half a mark of the rod, 1.5in or
    /// 4cm]
    #[arg(long, value_name = "DEPTH")]
    pub matters: Option<Depth>,

    /// Confidence of the intervals, 0.5 to less than 1
    #[arg(long, value_name = "SHARE", default_value_t = 0.95)]
    pub confidence: f64,

    /// Seed of the draws where the lot could have fallen in more than 100 000 ways, and of the orders that
    /// tell whether near probes changed alike
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,

    /// Mean moistures that differ by no more percentage points count as equal [default: 3]
    #[arg(long, value_name = "POINTS")]
    pub moisture_within: Option<f64>,

    /// Spots of the two visits that are no farther apart are one: 10m, 30ft [default: half the typical
    /// spacing of the readings; without names at most 15 m]
    #[arg(long, value_name = "LENGTH")]
    pub pair_within: Option<survey::Length>,

    /// Folder for trial.json, trial.csv and trial.png; without it nothing is written
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,

    /// Replace results that FOLDER already holds
    #[arg(long, requires = "out")]
    pub replace: bool,
}
