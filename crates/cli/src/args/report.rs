//! Names and help of `report`.

use std::path::PathBuf;

use clap::Args;
use survey::Date;

use super::{ChanceArgs, CheckOptions, InterpolationArgs, ReadOptions, ZoneArgs};

#[derive(Debug, Args)]
pub struct ReportArgs {
    /// Folder of a field with its loosedepth.toml, or the archive of a season: all its visits. With the
    /// days of two visits after it these two: north-bench 2025-04-14 2025-08-24. Or one survey, a file
    /// as `map` reads it
    #[arg(value_name = "FIELD", num_args = 1..=3, required = true)]
    pub visits: Vec<PathBuf>,

    /// Day of the one visit of a field folder that is wanted: 2025-07-08
    #[arg(long, value_name = "DATE", conflicts_with = "date")]
    pub visit: Option<Date>,

    #[command(flatten)]
    pub read: ReadOptions,

    #[command(flatten)]
    pub check: CheckOptions,

    #[command(flatten)]
    pub result: ReportResult,

    /// Limits between depth classes, in inches (us) or centimetres (si); a limit belongs to the
    /// deeper class [default: those of loosedepth.toml, else 3,6,9,12,15,18 or 10,20,30,40,50]
    #[arg(long, allow_hyphen_values = true, value_name = "DEPTHS", value_delimiter = ',')]
    pub classes: Option<Vec<f64>>,

    #[command(flatten)]
    pub interpolation: InterpolationArgs,

    #[command(flatten)]
    pub zones: ZoneArgs,

    #[command(flatten)]
    pub chance: ChanceArgs,

    /// Title of the report [default: the name in the settings file, the boundary file or the survey
    /// file]
    #[arg(long, value_name = "TEXT")]
    pub title: Option<String>,
}

/// Where a report goes.
#[derive(Debug, Args)]
pub struct ReportResult {
    /// Folder for report.html and map-sheet.pdf; made where it is missing. Or a file ending in .html,
    /// which has map-sheet.pdf beside it [default: of a field folder, its folder `results`, or there
    /// the folder of the visit or of the two]
    #[arg(long, value_name = "FOLDER|FILE.html")]
    pub out: Option<PathBuf>,

    /// Replace a report that is already there
    #[arg(long)]
    pub replace: bool,
}
