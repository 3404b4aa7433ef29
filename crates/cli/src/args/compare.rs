//! Names and help of `compare`.

use clap::Args;
use survey::Length;

use super::{InterpolationArgs, ResultArgs, VisitPairArgs};

#[derive(Debug, Args)]
pub struct CompareArgs {
    #[command(flatten)]
    pub visits: VisitPairArgs,

    #[command(flatten)]
    pub result: ResultArgs,

    /// Limits between depth classes, in inches (us) or centimetres (si); a limit belongs to the
    /// deeper class [default: 3,6,9,12,15,18 or 10,20,30,40,50]
    #[arg(long, allow_hyphen_values = true, value_name = "DEPTHS", value_delimiter = ',')]
    pub classes: Option<Vec<f64>>,

    /// Share of the intervals that hold what they are of, at least 0.5 and less than 1
    #[arg(long, allow_hyphen_values = true, value_name = "SHARE", default_value_t = 0.95)]
    pub confidence: f64,

    /// Two spots are the same if they are within this distance: 20ft, 5m; by their names where both
    /// visits name them, else each other's nearest [default: half the typical spacing; without
    /// names at most 15m]
    #[arg(long, value_name = "LENGTH")]
    pub pair_within: Option<Length>,

    /// Mean moistures that differ by no more percentage points count as equal [default: 3]
    #[arg(long, allow_hyphen_values = true, value_name = "POINTS")]
    pub moisture_within: Option<f64>,

    /// Also tells the mean change without the part that the season's own visits give to moisture; for
    /// a field folder with at least four visits. It can take real compaction for drying
    #[arg(long)]
    pub adjust_moisture: bool,

    #[command(flatten)]
    pub interpolation: InterpolationArgs,
}
