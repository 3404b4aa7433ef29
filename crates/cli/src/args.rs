//! Names and help of commands and flags, nothing else.

mod calendar;
mod compare;
mod open;
mod report;
mod season;
mod spots;
mod trial;

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use serde::Deserialize;
use survey::{Area, Date, DateRange, Depth, Length, Threshold};

pub use calendar::CalendarArgs;
pub use compare::CompareArgs;
pub use open::OpenArgs;
pub use report::ReportArgs;
pub use season::SeasonArgs;
pub use spots::{SpotsArgs, SureBy};
pub use trial::TrialArgs;

const EXIT_CODES: &str = "Exit codes: 0 done; 1 failed, nothing written; 2 wrong arguments; \
3 done, but readings were left out or changed (see the findings).";

/// Maps the depth of a field's loose layer from hand-penetrometer readings
#[derive(Debug, Parser)]
#[command(name = "loosedepth", version, max_term_width = 98, after_help = EXIT_CODES)]
pub struct Cli {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Reads a survey and says what is in it and what is odd about it; writes nothing
    #[command(after_help = EXIT_CODES)]
    Check(CheckArgs),
    /// Maps a survey: depth raster, zones, picture, summary
    #[command(after_help = EXIT_CODES)]
    Map(MapArgs),
    /// Writes the depth raster of a survey alone, of any size
    #[command(after_help = EXIT_CODES)]
    Raster(RasterArgs),
    /// Sums up cone-index profiles: by depth, tight layers, a picture, a table of the probes
    #[command(after_help = EXIT_CODES)]
    Profile(ProfileArgs),
    /// Plans what to do in the zones of a map: tillage depths and rates, with their files
    #[command(after_help = EXIT_CODES)]
    Plan(PlanArgs),
    /// Tells whether a treatment worked: treated against check ground, before against after
    #[command(after_help = EXIT_CODES)]
    Trial(TrialArgs),
    /// Compares two visits of a field: what changed, how sure that is, and whether moisture allows to say
    /// so
    #[command(after_help = EXIT_CODES)]
    Compare(CompareArgs),
    /// Writes the checked survey as GeoJSON, CSV and GeoPackage
    #[command(after_help = EXIT_CODES)]
    Clean(CleanArgs),
    /// Plans visits every 10 to 14 days to the crop's reproductive stage; a table and a calendar file
    #[command(after_help = EXIT_CODES)]
    Calendar(CalendarArgs),
    /// Plans where to probe next: a grid, random spots, transects, gaps; files and a sheet to fill in
    #[command(after_help = EXIT_CODES)]
    Spots(Box<SpotsArgs>),
    /// Says what is in a file of zones, a plan or a raster, as a machine's terminal will see it
    #[command(after_help = EXIT_CODES)]
    Inspect(InspectArgs),
    /// Writes a report to look into: the grower's page first, then maps, charts and tables in one HTML
    /// file, and the map as a PDF sheet
    #[command(after_help = EXIT_CODES)]
    Report(ReportArgs),
    /// Follows a field through the season: maps every visit, medians, moisture, falls, late visits
    #[command(after_help = EXIT_CODES)]
    Season(SeasonArgs),
    /// Opens a page in the browser to read, map, plan and compare by hand; nothing leaves this machine
    #[command(after_help = EXIT_CODES)]
    Open(OpenArgs),
}

#[derive(Debug, Args)]
pub struct InspectArgs {
    /// TASKDATA (folder, XML or zip), GeoJSON, shapefile, GeoPackage, KML, GPX, CSV, GeoTIFF or the
    /// archive of a season; the content tells which
    pub file: PathBuf,

    /// Units of the areas that are printed
    #[arg(long, value_enum, default_value_t = Units::Us)]
    pub units: Units,
}

#[derive(Debug, Args)]
pub struct CheckArgs {
    #[command(flatten)]
    pub survey: SurveyArgs,
}

#[derive(Debug, Args)]
pub struct ProfileArgs {
    #[command(flatten)]
    pub read: ReadArgs,

    #[command(flatten)]
    pub result: OptionalResult,
}

#[derive(Debug, Args)]
pub struct CleanArgs {
    #[command(flatten)]
    pub survey: SurveyArgs,

    #[command(flatten)]
    pub result: ResultArgs,
}

/// A file of readings, or the folder of a field.
#[derive(Debug, Clone, Args)]
pub struct ReadArgs {
    /// Readings: GeoJSON, CSV, GPX waypoints or a shapefile of points; the content tells which. Or
    /// the folder of a field with its loosedepth.toml, or the archive of a season, and --visit
    #[arg(value_name = "SURVEY")]
    pub survey: PathBuf,

    /// Day of the visit of a field folder: 2025-07-08
    #[arg(long, value_name = "DATE", conflicts_with = "date")]
    pub visit: Option<Date>,

    #[command(flatten)]
    pub options: ReadOptions,
}

/// How a file of readings is read, and what of it is wanted.
#[derive(Debug, Clone, Default, Args)]
pub struct ReadOptions {
    /// Units of what is printed and of --classes [default: us, or those of the field folder]
    #[arg(long, value_enum)]
    pub units: Option<Units>,

    /// Pressure that ends the loose layer, with its unit: 200psi, 1379kPa, 2MPa; may be given
    /// several times. Single depths count if they were read at it, profiles are read at any
    /// [default: what the file says, 200psi if it says nothing]
    #[arg(long, value_name = "PRESSURE")]
    pub threshold: Vec<Threshold>,

    /// A profile reaches the threshold where it stays at or above it for this length (2in, 5cm),
    /// or down to its deepest reading, so that one stone does not count [default: 0in, the first
    /// crossing]
    #[arg(long, value_name = "LENGTH")]
    pub sustained: Option<Depth>,

    /// Day of the visit, 2025-04-14, or its days, 2025-04-14..2025-04-15; needed when the file
    /// holds several
    #[arg(long, value_name = "DATE")]
    pub date: Option<DateRange>,

    /// Property that holds the depth [default: a known name with its unit, such as `depth_in`]
    #[arg(long, value_name = "NAME", requires = "depth_unit")]
    pub depth_field: Option<String>,

    /// Unit of --depth-field
    #[arg(long, value_enum, value_name = "UNIT", requires = "depth_field")]
    pub depth_unit: Option<LengthUnit>,

    /// Which column says what, with its unit where it has one: `depth=D200:in`, `id=Point`,
    /// `cone_index=CI:kPa`; may be given several times
    #[arg(long, value_name = "WHAT=NAME[:UNIT]")]
    pub column: Vec<String>,

    /// Settings file: what is so for every visit of the field [default: loosedepth.toml beside
    /// SURVEY or in the field folder]
    #[arg(long, value_name = "FILE")]
    pub config: Option<PathBuf>,

    /// Coordinate system of the places, where it is not longitude and latitude in WGS 84:
    /// EPSG:26915
    #[arg(long, value_name = "EPSG:CODE")]
    pub crs: Option<String>,

    /// Table of readings to join to the waypoints of SURVEY by point id
    #[arg(long, value_name = "TABLE.csv")]
    pub join: Option<PathBuf>,

    /// Kept list of corrections, a CSV with point, field, old, new, who, why, and visit (its day)
    /// for a field folder; the survey's file stays as it is
    #[arg(long, value_name = "EDITS.csv")]
    pub edits: Option<PathBuf>,

    /// Property that tells groups apart, such as a treatment
    #[arg(long, value_name = "NAME")]
    pub group: Option<String>,

    /// Days of the visit, where it is one of a field folder.
    #[arg(skip)]
    pub days: Option<DateRange>,

    /// That field folder.
    #[arg(skip)]
    pub field: Option<PathBuf>,

    /// Days of all its visits.
    #[arg(skip)]
    pub days_of_all: Vec<DateRange>,
}

/// A survey and how it is checked.
#[derive(Debug, Clone, Args)]
pub struct SurveyArgs {
    #[command(flatten)]
    pub read: ReadArgs,

    #[command(flatten)]
    pub check: CheckOptions,
}

/// How far outside the boundary readings still count unless another distance is given.
pub const USUAL_EDGE_TOLERANCE_M: f64 = 5.0;

/// How readings are checked.
#[derive(Debug, Clone, Args)]
pub struct CheckOptions {
    /// Outline of the field: one GeoJSON Polygon or MultiPolygon; holes are not part of the
    /// field. Without it: the convex hull of the readings, widened by half their typical spacing
    #[arg(long, value_name = "FIELD.geojson")]
    pub boundary: Option<PathBuf>,

    /// Readings up to so many metres outside the boundary still count
    #[arg(long, allow_hyphen_values = true, value_name = "METRES", default_value_t = USUAL_EDGE_TOLERANCE_M)]
    pub edge_tolerance: f64,

    /// Length of the rod (18in, 45cm): deeper readings are left out
    #[arg(long, value_name = "LENGTH")]
    pub rod: Option<Depth>,

    /// Fail, and write nothing, when a reading is left out or doubtful
    #[arg(long)]
    pub strict: bool,
}

#[derive(Debug, Clone, Args)]
pub struct ResultArgs {
    /// Folder for the results; made where it is missing [default: of a field folder, its folder
    /// `results`]
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,

    /// Replace results that FOLDER already holds
    #[arg(long)]
    pub replace: bool,
}

#[derive(Debug, Args)]
pub struct OptionalResult {
    /// Folder for profile.png and profiles.csv; without it nothing is written
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,

    /// Replace results that FOLDER already holds
    #[arg(long, requires = "out")]
    pub replace: bool,
}

/// How depths between the readings are estimated.
#[derive(Debug, Clone, Args)]
pub struct InterpolationArgs {
    /// How depths between the readings are estimated. `auto` takes the least error in leave-one-out
    /// cross-validation; of equals the field mean, then inverse distance
    #[arg(long, value_enum, value_name = "METHOD", default_value_t = Method::Idw)]
    pub method: Method,

    /// Power of inverse-distance weighting, or `auto`: the one from 0.5 to 5 with the least error
    /// in leave-one-out cross-validation
    #[arg(long, allow_hyphen_values = true, value_name = "auto|P", default_value = "auto")]
    pub power: Power,

    /// Nearest readings each cell is estimated from [default: all, up to 2000 readings; else 64;
    /// kriging: all, up to 500 readings; else 32]
    #[arg(long, allow_hyphen_values = true, value_name = "N")]
    pub neighbours: Option<usize>,

    /// Direction in which readings count as nearer, such as traffic lanes: degrees clockwise from
    /// north, and the range across over the range along, 0.01 to 1: 15:0.5
    #[arg(long, allow_hyphen_values = true, value_name = "AZIMUTH:RATIO")]
    pub direction: Option<Direction>,

    /// At most so many readings from each quarter or eighth of the compass: quadrants:3, octants:2
    #[arg(long, value_name = "KIND:N")]
    pub sectors: Option<SectorLimit>,

    /// Smoothing length of inverse distance in metres: the map then misses the readings a little
    #[arg(long, allow_hyphen_values = true, value_name = "METRES", default_value_t = 0.0)]
    pub smoothing: f64,

    /// Ground farther than so many metres from every reading gets no value [default: 1.5 times
    /// the typical spacing of the readings]
    #[arg(long, allow_hyphen_values = true, value_name = "METRES")]
    pub reach: Option<f64>,

    /// Side of a cell in metres, whole millimetres [default: 1, 2 or 5 times a power of ten
    /// to suit the field, about 60 000 cells]
    #[arg(long, allow_hyphen_values = true, value_name = "METRES")]
    pub cell: Option<f64>,
}

#[derive(Debug, Args)]
pub struct RasterArgs {
    #[command(flatten)]
    pub survey: SurveyArgs,

    /// File for the raster, depth.tif for instance; its folder is made where it is missing
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,

    /// Replace FILE if it is there
    #[arg(long)]
    pub replace: bool,

    #[command(flatten)]
    pub interpolation: InterpolationArgs,
}

#[derive(Debug, Clone, Args)]
pub struct MapArgs {
    #[command(flatten)]
    pub survey: SurveyArgs,

    #[command(flatten)]
    pub result: ResultArgs,

    /// Limits between depth classes, in inches (us) or centimetres (si); a limit belongs to the
    /// deeper class [default: 3,6,9,12,15,18 or 10,20,30,40,50]
    #[arg(long, allow_hyphen_values = true, value_name = "DEPTHS", value_delimiter = ',')]
    pub classes: Option<Vec<f64>>,

    #[command(flatten)]
    pub interpolation: InterpolationArgs,

    #[command(flatten)]
    pub zones: ZoneArgs,

    #[command(flatten)]
    pub chance: ChanceArgs,

    /// Maps drawn at random around the readings of a kriged map, which give the 80 % interval of
    /// each class's ground; 0 for none, else 20 to 10000 [default: 100]
    #[arg(long, value_name = "N")]
    pub realisations: Option<usize>,

    /// Seed of those maps: the same seed gives the same maps [default: 1]
    #[arg(long, value_name = "N")]
    pub seed: Option<u64>,

    /// Title of the pictures [default: the name in the settings file, the boundary file or the
    /// survey file]
    #[arg(long, value_name = "TEXT")]
    pub title: Option<String>,
}

/// The chance of a thin loose layer.
#[derive(Debug, Clone, Args)]
pub struct ChanceArgs {
    /// Also maps the chance that the loose layer is thinner than this depth: 6in, 15cm; a reading
    /// of just that depth is not thinner
    #[arg(long, allow_hyphen_values = true, value_name = "DEPTH")]
    pub thinner_than: Option<Depth>,

    /// How that chance is estimated
    #[arg(long, value_enum, value_name = "HOW", default_value_t = Probability::Auto, requires = "thinner_than")]
    pub probability: Probability,
}

/// How zones are drawn.
#[derive(Debug, Clone, Args)]
pub struct ZoneArgs {
    /// Patches of less ground join the neighbour with the longest shared edge: 0.25ac, 0.1ha,
    /// 1000m2; 0ha keeps every patch [default: 0.1ha, or a hundredth of the field if that is less]
    #[arg(long, allow_hyphen_values = true, value_name = "AREA")]
    pub smallest_zone: Option<Area>,

    /// Ground that is probed and judged apart, such as headlands and haul lanes: GeoJSON polygons, each
    /// with a `name`; those of one name make one stratum, the first in the file wins where two overlap
    #[arg(long, value_name = "FILE.geojson")]
    pub strata: Option<PathBuf>,

    /// Zones keep the ids of an earlier visit, its zones.geojson, where at least half of the smaller
    /// of the two is the same ground; new zones get numbers above the highest
    #[arg(long, value_name = "ZONES.geojson")]
    pub earlier_zones: Option<PathBuf>,

    /// Zone borders are smoothed and move no farther than this from the edges of the cells: 2m,
    /// 6ft; 0m keeps them along the cells; 20 cells at most [default: one cell; 0m with
    /// --zone-cells]
    #[arg(long, allow_hyphen_values = true, value_name = "LENGTH")]
    pub border_tolerance: Option<Length>,

    /// Width of one pass of the machine: 30ft, 9m
    #[arg(long, allow_hyphen_values = true, value_name = "WIDTH")]
    pub swath: Option<Length>,

    /// Ground of a zone narrower than this goes to its neighbours: 60ft, 18m; 0m leaves it as it
    /// is [default: two swaths; nothing without --swath]
    #[arg(long, allow_hyphen_values = true, value_name = "WIDTH")]
    pub narrowest_zone: Option<Length>,

    /// Direction of the passes, degrees clockwise from north, 0 to 360, with --swath,
    /// --narrowest-zone or --zone-cells: zones are drawn along it, where there is room twice as long as --narrowest-zone [default: none]
    #[arg(long, allow_hyphen_values = true, value_name = "DEGREES")]
    pub heading: Option<f64>,

    /// Side of the squares that zones are made of, each with its mean depth, in line with --heading
    /// or with north: 30ft, 9m, or `swath` for that of --swath [default: the map's cells]
    #[arg(long, allow_hyphen_values = true, value_name = "WIDTH|swath")]
    pub zone_cells: Option<ZoneCells>,

    /// While there are more zones, the smallest joins the neighbour with the longest shared edge
    /// [default: no limit; more than seven zones are hard to work by]
    #[arg(long, value_name = "N")]
    pub most_zones: Option<usize>,
}

/// Two visits of a field.
#[derive(Debug, Clone, Args)]
pub struct VisitPairArgs {
    /// Two surveys, the earlier and the later: files as `map` reads them. Or the folder of a field with
    /// its loosedepth.toml and the days of two visits: north-bench 2025-04-14 2025-08-24
    #[arg(value_name = "VISIT", num_args = 2..=3, required = true)]
    pub visits: Vec<PathBuf>,

    #[command(flatten)]
    pub read: ReadOptions,

    #[command(flatten)]
    pub check: CheckOptions,

    /// Ground that is probed and judged apart, as `map` takes it [default: of a field folder, `strata`
    /// in its loosedepth.toml; of two files, that beside the earlier]
    #[arg(long, value_name = "FILE.geojson")]
    pub strata: Option<PathBuf>,
}

/// The side of the squares that zones are made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ZoneCells {
    Swath,
    Side(Length),
}

impl std::str::FromStr for ZoneCells {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text {
            "swath" => Ok(ZoneCells::Swath),
            _ => text.parse().map(ZoneCells::Side),
        }
    }
}

#[derive(Debug, Args)]
pub struct PlanArgs {
    /// Zones that `map` wrote, zones.geojson. Or the folder of a field, whose visit was mapped before,
    /// and --visit
    #[arg(value_name = "ZONES")]
    pub zones: PathBuf,

    /// Day of the visit of a field folder: 2025-07-08
    #[arg(long, value_name = "DATE")]
    pub visit: Option<Date>,

    /// What to do in which zones: a file with tables plan, field, tillage and one action for each; the
    /// README shows one [default: of a field folder, `rates` in its loosedepth.toml]
    #[arg(long, value_name = "RATES.toml", required_unless_present = "visit")]
    pub rates: Option<PathBuf>,

    #[command(flatten)]
    pub result: ResultArgs,

    #[command(flatten)]
    pub strips: StripArgs,

    #[command(flatten)]
    pub terminal: TerminalArgs,
}

/// What the machine's terminal gets.
#[derive(Debug, Args)]
pub struct TerminalArgs {
    /// How doses lie on the ground in TASKDATA
    #[arg(long, value_enum, value_name = "HOW", default_value_t = TaskdataZones::Zones)]
    pub taskdata: TaskdataZones,

    /// Version of ISO 11783-10: 3, which older terminals read as well, or 4
    #[arg(long, value_name = "3|4", default_value_t = 3, value_parser = clap::value_parser!(u8).range(3..=4))]
    pub taskdata_version: u8,

    /// Side of a grid cell in TASKDATA: 10m, 30ft [default: the width of a pass, or 10m]
    #[arg(long, value_name = "LENGTH")]
    pub taskdata_cell: Option<Length>,
}

/// How doses lie on the ground in TASKDATA.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum TaskdataZones {
    /// A grid with the number of a zone in each cell (grid type 1): every terminal that works by place
    /// reads it
    Zones,
    /// A grid with the dose in each cell (grid type 2)
    Doses,
    /// The outlines of the zones; not every terminal reads them
    Polygons,
}

/// How the machine passes over the field, and what it leaves untreated.
#[derive(Debug, Args)]
pub struct StripArgs {
    /// Width of a pass of the machine: 30ft, 9m [default: swath in the rates file]
    #[arg(long, value_name = "WIDTH")]
    pub swath: Option<Length>,

    /// Heading of the passes in degrees clockwise from north [default: heading in the rates file]
    #[arg(long, allow_hyphen_values = true, value_name = "DEGREES")]
    pub heading: Option<f64>,

    /// Strips left untreated from end to end to prove the treatment: whole passes, drawn at random, one
    /// in each of N blocks of equal treated ground [default: none]
    #[arg(long, value_name = "N")]
    pub check_strips: Option<usize>,

    /// Passes side by side in each check strip [default: 1]
    #[arg(long, value_name = "N", requires = "check_strips")]
    pub strip_passes: Option<usize>,

    /// Seed of the draw: the same seed draws the same passes [default: 1]
    #[arg(long, value_name = "N", requires = "check_strips")]
    pub seed: Option<u64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// Inches, psi, acres, feet
    Us,
    /// Centimetres, kPa, hectares, metres
    Si,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Method {
    /// Inverse distance
    Idw,
    /// The one of the other three with the least error; inverse distance below 50 readings
    Auto,
    /// Ordinary kriging, with its standard error; needs 50 readings, better 100
    Kriging,
    /// The mean of all readings, everywhere
    Mean,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Probability {
    /// Indicator kriging; inverse distance of the indicators below 50 readings, with fewer than 5
    /// on one side of the depth, or where no variogram fits
    Auto,
    /// Indicator kriging alone
    Indicator,
    /// From the kriged depth and its standard error, as if normally distributed
    Normal,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum LengthUnit {
    /// Inches
    In,
    /// Centimetres
    Cm,
}

/// A power, or the choice of one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Power {
    Auto,
    Fixed(f64),
}

impl std::str::FromStr for Power {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match (text, text.parse::<f64>()) {
            ("auto", _) => Ok(Power::Auto),
            (_, Ok(power)) if power > 0.0 && power <= 20.0 => Ok(Power::Fixed(power)),
            (_, Ok(_)) => Err("a power is above 0 and at most 20".into()),
            (_, Err(_)) => Err("neither `auto` nor a number".into()),
        }
    }
}

/// A direction and the ratio of the range across it to the range along it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Direction {
    pub azimuth_deg: f64,
    pub ratio: f64,
}

impl std::str::FromStr for Direction {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let parts = text.split_once(':').map(|(azimuth, ratio)| (azimuth.parse(), ratio.parse()));
        match parts {
            Some((Ok(azimuth_deg), Ok(ratio))) => {
                let is_turn = (-360.0..=360.0).contains(&azimuth_deg);
                match is_turn && (0.01..=1.0).contains(&ratio) {
                    true => Ok(Direction { azimuth_deg, ratio }),
                    false => Err("an azimuth is from -360 to 360, a ratio from 0.01 to 1".into()),
                }
            }
            _ => Err("not an azimuth and a ratio like 15:0.5".into()),
        }
    }
}

/// The most readings of one sector.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SectorLimit {
    pub octants: bool,
    pub most: usize,
}

impl std::str::FromStr for SectorLimit {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let problem = "not quadrants or octants with a number above 0, like quadrants:3";
        let (kind, most) = text.split_once(':').ok_or(problem)?;
        let octants = match kind {
            "quadrants" => false,
            "octants" => true,
            _ => return Err(problem.into()),
        };
        match most.parse() {
            Ok(most) if most > 0 => Ok(SectorLimit { octants, most }),
            _ => Err(problem.into()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_arguments_are_well_formed() {
        Cli::command().debug_assert();
    }
}
