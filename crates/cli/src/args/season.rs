//! Arguments of `season`.

use std::path::PathBuf;

use clap::Args;
use season::Rhythm;
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

    /// Leaves out the folder of maps of each visit, which `map` writes as well
    #[arg(long)]
    pub no_maps: bool,

    /// Limits between depth classes, in inches (us) or centimetres (si); a limit belongs to the
    /// deeper class [default: those of loosedepth.toml, else 3,6,9,12,15,18 or 10,20,30,40,50]
    #[arg(long, allow_hyphen_values = true, value_name = "DEPTHS", value_delimiter = ',')]
    pub classes: Option<Vec<f64>>,

    /// Depths that the share of shallower probes is told of, in the units of --classes [default:
    /// 6,12 or 15,30]
    #[arg(long, allow_hyphen_values = true, value_name = "DEPTHS", value_delimiter = ',')]
    pub marks: Option<Vec<f64>>,

    /// Day of the visit that the falls of the spots are told from, to the last one [default: the first
    /// visit]
    #[arg(long, value_name = "DATE")]
    pub since: Option<Date>,

    /// Days between two visits, the fewest and the most, or one number; a visit that comes later is late
    #[arg(long, value_name = "DAYS", default_value = "10..14")]
    pub visits_every: Rhythm,

    #[command(flatten)]
    pub interpolation: InterpolationArgs,
}
