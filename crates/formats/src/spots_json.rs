//! `spots.json`: how spots were placed and from what, for the record.

use sampling::{PlannedSpot, Walk, Why};
use serde_json::{Value, json};

use crate::input::InputFile;
use crate::rounded::{decimals, percent};
use crate::spots_file::SpotsFile;
use crate::summary::pretty;

/// What a setting or a figure of the record is.
#[derive(Debug, Clone, PartialEq)]
pub enum SpotsValue {
    /// A number, in the unit that its name ends with.
    Number(f64),
    /// A count.
    Count(usize),
    /// Words.
    Text(String),
}

impl SpotsValue {
    fn json(&self) -> Value {
        match self {
            SpotsValue::Number(number) => decimals(*number, 4),
            SpotsValue::Count(count) => (*count).into(),
            SpotsValue::Text(text) => text.as_str().into(),
        }
    }
}

/// Names and what they are.
pub type SpotsValues = Vec<(&'static str, SpotsValue)>;

/// One way that spots were placed.
#[derive(Debug, Clone, PartialEq)]
pub struct SpotsDesign {
    /// What it is: `grid`, `random`, `strata`, `transects`, `again`, `least sure`.
    pub kind: &'static str,
    /// How many spots it placed.
    pub spots: usize,
    /// Its settings by name, each name with its unit.
    pub settings: SpotsValues,
}

/// What the record of planned spots is made from.
pub struct SpotsSummary<'a> {
    /// The program's version.
    pub version: &'a str,
    /// The spots.
    pub file: SpotsFile<'a>,
    /// The files they were made from, each with the part it plays.
    pub inputs: &'a [(&'static str, InputFile)],
    /// How far spots stay from the edge, metres.
    pub from_edge_m: f64,
    /// How they were placed.
    pub designs: &'a [SpotsDesign],
    /// The walk past them.
    pub walk: &'a Walk,
    /// Names of strata with their shares of the ground and spots.
    pub strata: &'a [(String, f64, usize)],
    /// How many spots a precision takes, where that was asked.
    pub sample_size: &'a [(&'static str, SpotsValue)],
    /// The names of the other files.
    pub files: &'a [String],
}

/// The record as JSON text.
pub fn spots_json(summary: &SpotsSummary) -> String {
    let SpotsSummary { file, walk, .. } = summary;
    let design = |design: &SpotsDesign| {
        let mut said = serde_json::Map::new();
        said.insert("kind".into(), design.kind.into());
        said.insert("spots".into(), design.spots.into());
        said.extend(named(&design.settings));
        Value::Object(said)
    };
    let stratum = |(name, share, spots): &(String, f64, usize)| json!({ "name": name, "ground_pct": percent(*share), "spots": spots });
    let start = file.utm.unproject(walk.start);
    let again = |spot: &&PlannedSpot| spot.why == Why::Again;
    pretty(&json!({
        "program": { "name": "loosedepth", "version": summary.version },
        "field": file.field_name,
        "files": summary.files,
        "inputs": summary.inputs.iter().map(|(role, file)| file.as_json(role)).collect::<Vec<_>>(),
        "crs": file.utm.name(),
        "spots": file.spots.len(),
        "spots_probed_before": file.spots.iter().filter(again).count(),
        "insertions_per_spot": file.insertions,
        "threshold": file.threshold.map(ToString::to_string),
        "from_edge_m": decimals(summary.from_edge_m, 3),
        "designs": summary.designs.iter().map(design).collect::<Vec<_>>(),
        "strata": summary.strata.iter().map(stratum).collect::<Vec<_>>(),
        "walk": {
            "start_lon_lat": [decimals(start.lon_deg, 7), decimals(start.lat_deg, 7)],
            "length_m": decimals(walk.length_m, 1),
            "back_to_start_m": decimals(walk.back_m, 1),
            "length_as_placed_m": decimals(walk.plain_m, 1),
        },
        "sample_size": match summary.sample_size {
            [] => Value::Null,
            some => Value::Object(named(some).collect()),
        },
    }))
}

fn named(values: &[(&'static str, SpotsValue)]) -> impl Iterator<Item = (String, Value)> {
    values.iter().map(|(name, value)| ((*name).to_owned(), value.json()))
}
