//! Arguments of `loosedepth calendar`.

use std::path::PathBuf;

use clap::Args;
use season::Rhythm;
use survey::{Date, DateRange, Length};

use super::Units;

#[derive(Debug, Args)]
pub struct CalendarArgs {
    /// Folder of a field with its loosedepth.toml, which tells visits, planting, crop, weather and
    /// stages seen; without it give --planted, --from or --visit
    #[arg(value_name = "FIELD")]
    pub field: Option<PathBuf>,

    /// Day of planting: 2025-05-06
    #[arg(long, value_name = "DATE")]
    pub planted: Option<Date>,

    /// What grows: corn, soybean or another name. For corn growing degrees tell when it silks;
    /// soybean flowers by day length, so its stages are those you see
    #[arg(long, value_name = "NAME")]
    pub crop: Option<String>,

    /// Daily weather, a CSV with `date`, `tmax_f`, `tmin_f` and, if known, `rain_in`; or `tmax_c`,
    /// `tmin_c`, `rain_mm`
    #[arg(long, value_name = "FILE.csv")]
    pub weather: Option<PathBuf>,

    /// Day of a visit made, 2025-05-20, or its days, 2025-05-20..2025-05-21, besides the visits of
    /// FIELD; may be given several times
    #[arg(long, value_name = "DATE")]
    pub visit: Vec<DateRange>,

    /// First day to go, where no visit is made yet [default: the day of planting]
    #[arg(long, value_name = "DATE")]
    pub from: Option<Date>,

    /// Days between two visits, the fewest and the most, or one number
    #[arg(long, value_name = "DAYS", default_value = "10..14")]
    pub visits_every: Rhythm,

    /// Stage that the visits go to: silking, tassel, flowering, or its code such as R1
    /// [default: silking of corn, flowering of others, R1]
    #[arg(long, value_name = "STAGE")]
    pub to_stage: Option<String>,

    /// A stage that was seen in the field, 2025-07-12:R1; may be given several times. What was seen
    /// stands above every estimate
    #[arg(long, value_name = "DATE:STAGE")]
    pub observed: Vec<DayOfStage>,

    /// Last day to plan to [default: the stage; 70 days ahead where it cannot be told when that is
    /// reached]
    #[arg(long, value_name = "DATE")]
    pub until: Option<Date>,

    /// Day that parts done from planned; visits and stages after it are left out, weather after it
    /// counts as a forecast and is marked "after today" [default: the day of the last visit or stage seen, else of planting]
    #[arg(long, value_name = "DATE")]
    pub today: Option<Date>,

    /// Rain of one day that soaks the soil: 0.5in, 13mm; a visit is best a day or two after it
    #[arg(long, value_name = "RAIN", default_value = "0.5in")]
    pub soaking_rain: Length,

    /// Planned visits ring so many days before in the calendar, 0 to 30 [default: never]
    #[arg(long, value_name = "DAYS", requires = "out", value_parser = clap::value_parser!(u32).range(0..=30))]
    pub remind_days: Option<u32>,

    /// Units of the rain that is printed [default: us, or those of the field folder]
    #[arg(long, value_enum)]
    pub units: Option<Units>,

    /// Folder for calendar.ics (for any calendar) and calendar.csv; without it nothing is written
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,

    /// Replace results that FOLDER already holds
    #[arg(long, requires = "out")]
    pub replace: bool,
}

/// A stage and the day it was seen, as a user types them: `2025-07-12:R1`.
#[derive(Debug, Clone, PartialEq)]
pub struct DayOfStage {
    pub date: Date,
    pub stage: String,
}

impl std::str::FromStr for DayOfStage {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (date, stage) = text.split_once(':').ok_or("write DATE:STAGE, like 2025-07-12:R1")?;
        let wrong = || format!("{:?} is not a date like 2025-07-12", date.trim());
        let date = date.trim().parse().map_err(|_| wrong())?;
        Ok(DayOfStage { date, stage: stage.trim().into() })
    }
}
