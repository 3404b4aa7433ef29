//! Arguments of `season`.

use std::path::PathBuf;

use clap::Args;
use survey::Date;

use super::{CheckOptions, InterpolationArgs, ReadOptions, ResultArgs};

#[derive(Debug, Args)]
pub struct SeasonArgs {
    /// Folder of a field with its loosedepth.toml and its visits
    #[arg(value_name = "FIELD")]
    pub field: PathBuf,

    #[command(flatten)]
    pub read: ReadOptions,

    #[command(flatten)]
    pub check: CheckOptions,

    #[command(flatten)]
    pub result: ResultArgs,

    /// Limits between depth classes, in inches (us) or centimetres (si); a limit belongs to the
    /// deeper class [default: those of loosedepth.toml, else 3,6,9,12,15,18 or 10,20,30,40,50]
    #[arg(long, allow_hyphen_values = true, value_name = "DEPTHS", value_delimiter = ',')]
    pub classes: Option<Vec<f64>>,

    /// Depths that the share of shallower probes is told of, in the units of --classes [default: the
    /// limits between the classes]
    #[arg(long, allow_hyphen_values = true, value_name = "DEPTHS", value_delimiter = ',')]
    pub marks: Option<Vec<f64>>,

    /// Day of the visit that the falls of the spots are told from, to the last one [default: the first
    /// visit]
    #[arg(long, value_name = "DATE")]
    pub since: Option<Date>,

    /// A visit more days than this after the one before is late, 1 to 60
    #[arg(long, value_name = "DAYS", default_value_t = 14, value_parser = clap::value_parser!(u32).range(1..=60))]
    pub longest_gap: u32,

    #[command(flatten)]
    pub interpolation: InterpolationArgs,
}
