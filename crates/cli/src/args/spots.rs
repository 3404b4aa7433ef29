//! Names and help of `spots`.

use std::path::PathBuf;

use clap::Args;
use survey::{Date, Depth, Length, LonLat};

use super::ReadOptions;

#[derive(Debug, Args)]
pub struct SpotsArgs {
    /// Outline of the field: one GeoJSON Polygon or MultiPolygon. Or the folder of a field with its
    /// loosedepth.toml, or the archive of a season
    #[arg(value_name = "FIELD")]
    pub field: PathBuf,

    #[command(flatten)]
    pub design: DesignArgs,

    #[command(flatten)]
    pub earlier: EarlierArgs,

    #[command(flatten)]
    pub size: SampleSizeArgs,

    /// Spots stay so far from the edge and from holes: 15ft, 5m [default: 15ft or 5m]
    #[arg(long, value_name = "LENGTH")]
    pub from_edge: Option<Length>,

    /// Ground that is probed and judged apart, as `map` takes it [default: of a field folder, `strata`
    /// in its loosedepth.toml]
    #[arg(long, value_name = "FILE.geojson")]
    pub strata: Option<PathBuf>,

    /// Where the walk starts, a gate for instance: longitude and latitude in degrees, -95.6199,41.9301
    /// [default: the south-western corner of the field]
    #[arg(long, allow_hyphen_values = true, value_name = "LON,LAT")]
    pub start: Option<Gate>,

    /// Insertions at each spot, 1 to 12: four and more keep a map's error under 10 %
    #[arg(long, value_name = "N", default_value_t = 4, value_parser = clap::value_parser!(u8).range(1..=12))]
    pub insertions: u8,

    /// Seed of what is drawn at random: the same seed draws the same spots
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,

    /// Length of the rod, for the sheet: 18in, 45cm [default: of a field folder, `rod` in its
    /// loosedepth.toml]
    #[arg(long, value_name = "LENGTH")]
    pub rod: Option<Depth>,

    /// Title of the sheet [default: the name in the settings file or the boundary file]
    #[arg(long, value_name = "TEXT")]
    pub title: Option<String>,

    /// Folder for spots.gpx, spots.geojson, spots.csv, spots.json, spots.pdf, spots.png and record.html;
    /// without it a table is printed only [default: of a field folder, `spots` in its results]
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,

    /// Replace results that FOLDER already holds
    #[arg(long)]
    pub replace: bool,

    #[command(flatten)]
    pub read: ReadOptions,
}

/// How spots are placed.
#[derive(Debug, Args)]
pub struct DesignArgs {
    /// Spots on a square grid of this spacing, shifted so that most lie inside: 130ft, 40m
    #[arg(long, value_name = "LENGTH")]
    pub grid: Option<Length>,

    /// So many spots at random, every place of the field alike
    #[arg(long, value_name = "N")]
    pub random: Option<usize>,

    /// So many spots at random, divided by area among strata: those of --strata, and the depth classes
    /// of --zones
    #[arg(long, value_name = "N")]
    pub stratified: Option<usize>,

    /// Zones of an earlier map, zones.geojson: ground of one depth class is a stratum, but for ground of
    /// --strata
    #[arg(long, value_name = "ZONES.geojson", requires = "stratified")]
    pub zones: Option<PathBuf>,

    /// Each stratum gets at least so many spots
    #[arg(long, value_name = "N", default_value_t = 5, requires = "stratified")]
    pub at_least: usize,

    /// Lines at right angles to --heading, so far apart, with spots along them: 300ft, 90m
    #[arg(long, value_name = "LENGTH", requires = "heading")]
    pub transects: Option<Length>,

    /// From spot to spot on a line: 18ft, 5.5m [default: 0.618 of --swath, so that spots meet wheel
    /// lanes and beds alike]
    #[arg(long, value_name = "LENGTH", requires = "transects")]
    pub along: Option<Length>,

    /// Width of one pass of the machine: 30ft, 9m
    #[arg(long, value_name = "WIDTH", requires = "transects")]
    pub swath: Option<Length>,

    /// Direction of the passes, and of the rows of --grid, degrees clockwise from north, 0 to 360
    /// [default: of --grid north, or the field's longest side where more spots then lie inside]
    #[arg(long, allow_hyphen_values = true, value_name = "DEGREES")]
    pub heading: Option<f64>,
}

/// What an earlier visit is for.
#[derive(Debug, Args)]
pub struct EarlierArgs {
    /// Readings of an earlier visit, as `map` takes them, where FIELD is no folder
    #[arg(long, value_name = "SURVEY")]
    pub earlier: Option<PathBuf>,

    /// Day of the earlier visit of a field folder: 2025-07-08
    #[arg(long, value_name = "DATE", conflicts_with = "date")]
    pub visit: Option<Date>,

    /// Also the spots of the earlier visit, under their names, so that the two can be compared
    #[arg(long)]
    pub again: bool,

    /// Also so many spots where the map of the earlier visit is least sure: each where it lowers the
    /// mean kriging variance most, or with few readings where the nearest spot is farthest
    #[arg(long, value_name = "N")]
    pub least_sure: Option<usize>,

    /// What --least-sure goes by: `auto` is the variance from 50 readings on, where they tell of their
    /// neighbours
    #[arg(long, value_enum, value_name = "WHAT", default_value_t = SureBy::Auto, requires = "least_sure")]
    pub sure_by: SureBy,
}

/// What tells where a map is least sure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum SureBy {
    /// Kriging variance where there are 50 readings and their variogram tells of places, else distance
    Auto,
    /// Kriging variance
    Variance,
    /// Distance to the nearest spot
    Distance,
}

/// How many spots a precision takes.
#[derive(Debug, Args)]
pub struct SampleSizeArgs {
    /// Says how many spots bring the field's mean within so many percent of the true one, from the
    /// earlier visit or from --mean and --spread
    #[arg(long, value_name = "PERCENT")]
    pub precision: Option<f64>,

    /// How sure that is, percent: 50 to 99.9
    #[arg(long, value_name = "PERCENT", default_value_t = 95.0)]
    pub confidence: f64,

    /// Mean depth to reckon with: 9in, 23cm
    #[arg(long, value_name = "DEPTH", requires = "spread")]
    pub mean: Option<Depth>,

    /// Standard deviation of the depths to reckon with: 4in, 10cm
    #[arg(long, value_name = "DEPTH", requires = "mean")]
    pub spread: Option<Depth>,
}

/// Where a walk starts, as a user types it: `-95.6199,41.9301`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gate(pub LonLat);

impl std::str::FromStr for Gate {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || "write longitude and latitude in degrees, like -95.6199,41.9301";
        let (lon, lat) = text.split_once(',').ok_or_else(wrong)?;
        let degrees = |text: &str| text.trim().parse::<f64>().map_err(|_| wrong());
        let place = LonLat { lon_deg: degrees(lon)?, lat_deg: degrees(lat)? };
        match place.is_on_earth() {
            true => Ok(Gate(place)),
            false => Err("not on Earth; longitude comes first, then latitude".into()),
        }
    }
}
