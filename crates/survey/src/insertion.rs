//! One push of the rod into the ground, as the file tells it.

use jiff::civil::Date;

use crate::position::LonLat;
use crate::units::{Depth, Pressure};

/// One insertion of the penetrometer.
#[derive(Debug, Clone, PartialEq)]
pub struct Insertion {
    /// Its feature's place in the file, the first is 1.
    pub number: usize,
    /// The name the file gives the probe point.
    pub id: Option<String>,
    /// Where the rod went in.
    pub place: LonLat,
    /// How it ended.
    pub outcome: Outcome,
    /// The threshold the depth was read at, where the file says it.
    pub threshold: Option<Pressure>,
    /// The day, where the file says it.
    pub date: Option<Date>,
    /// Soil moisture in percent, where the file says it (by volume or by mass as the user records it).
    pub moisture_pct: Option<f64>,
    /// The unit the file gives the depth in, where there is a depth.
    pub depth_unit: Option<DepthUnit>,
}

/// How an insertion ended. "Not reached" is not a depth, and a stone is not a reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Outcome {
    /// The gauge first reached the threshold at this depth.
    Reached(Depth),
    /// The gauge stayed below the threshold all the way: a censored reading, the true depth is
    /// greater than the depth probed.
    NotReached {
        /// How deep the rod went.
        probed_to: Depth,
    },
    /// A stone or root stopped the rod: no reading.
    Refused,
    /// The spot was passed over: no reading.
    Skipped,
}

/// The unit a file gives a depth in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum DepthUnit {
    /// Inches.
    Inches,
    /// Centimetres.
    Centimetres,
    /// Millimetres.
    Millimetres,
    /// Metres.
    Metres,
}

impl DepthUnit {
    /// The unit of a name or suffix: `in`, `inch`, `inches`, `cm`, `mm`, `m`, in any case.
    pub fn from_name(name: &str) -> Option<DepthUnit> {
        match name.to_ascii_lowercase().as_str() {
            "in" | "inch" | "inches" => Some(DepthUnit::Inches),
            "cm" => Some(DepthUnit::Centimetres),
            "mm" => Some(DepthUnit::Millimetres),
            "m" => Some(DepthUnit::Metres),
            _ => None,
        }
    }

    /// Short name: `in`, `cm`, `mm`, `m`.
    pub fn name(self) -> &'static str {
        match self {
            DepthUnit::Inches => "in",
            DepthUnit::Centimetres => "cm",
            DepthUnit::Millimetres => "mm",
            DepthUnit::Metres => "m",
        }
    }

    /// The depth that is so many of this unit.
    pub fn depth(self, number: f64) -> Depth {
        match self {
            DepthUnit::Inches => Depth::from_in(number),
            DepthUnit::Centimetres => Depth::from_cm(number),
            DepthUnit::Millimetres => Depth::from_cm(number / 10.0),
            DepthUnit::Metres => Depth::from_m(number),
        }
    }
}

/// What one file of readings holds, before it is checked.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Survey {
    /// The name the file gives itself.
    pub name: Option<String>,
    /// How many records the file has, readable or not.
    pub features: usize,
    /// Every record that could be read, in file order.
    pub insertions: Vec<Insertion>,
    /// What was found while reading, a record that could not be read included.
    pub findings: Vec<crate::Finding>,
}
