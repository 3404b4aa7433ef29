//! One push of the rod into the ground, as the file tells it.

use jiff::civil::{Date, Time};

use crate::position::LonLat;
use crate::profile::Profile;
use crate::units::{Depth, Pressure};

/// One insertion of the penetrometer.
#[derive(Debug, Clone, PartialEq)]
pub struct Insertion {
    /// Its record's place in the file, the first is 1. Of a profile that takes several lines, the
    /// first of them.
    pub number: usize,
    /// The name the file gives the probe point.
    pub id: Option<String>,
    /// Where the rod went in.
    pub place: LonLat,
    /// What was measured.
    pub measured: Measured,
    /// The threshold a single depth was read at, where the file says it. Profiles have none.
    pub threshold: Option<Pressure>,
    /// The day, where the file says it.
    pub date: Option<Date>,
    /// The time of day, where the file says it, as it stands there.
    pub time: Option<Time>,
    /// Soil moisture in percent, where the file says it (by volume or by mass as the user records it).
    pub moisture_pct: Option<f64>,
    /// The unit the file gives the depth in, where there is a depth.
    pub depth_unit: Option<DepthUnit>,
    /// Accuracy of the position that the receiver states, metres.
    pub accuracy_m: Option<f64>,
    /// Diameter of the cone's base.
    pub cone: Option<Depth>,
    /// Which penetrometer.
    pub instrument: Option<String>,
    /// Who pushed.
    pub operator: Option<String>,
    /// What the spot belongs to, where the user names a property for it: a treatment, a soil.
    pub group: Option<String>,
    /// What the file notes beside the reading.
    pub note: Option<String>,
}

impl Insertion {
    /// An insertion of which only this is known.
    pub fn at(number: usize, place: LonLat, measured: Measured) -> Self {
        Insertion {
            number,
            id: None,
            place,
            measured,
            threshold: None,
            date: None,
            time: None,
            moisture_pct: None,
            depth_unit: None,
            accuracy_m: None,
            cone: None,
            instrument: None,
            operator: None,
            group: None,
            note: None,
        }
    }

    /// How the insertion ended at a threshold: what the file says, or where a profile first
    /// reaches it and stays there for a length of `sustained`.
    pub fn outcome(&self, threshold: Pressure, sustained: Depth) -> Outcome {
        match &self.measured {
            Measured::Once(outcome) => *outcome,
            Measured::Profile(profile) => profile.outcome(threshold, sustained),
        }
    }
}

/// What one insertion measured.
#[derive(Debug, Clone, PartialEq)]
pub enum Measured {
    /// One depth, read at one threshold, or why there is none.
    Once(Outcome),
    /// Cone index at several depths.
    Profile(Profile),
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
    /// What the file calls its records.
    pub kind: crate::RecordKind,
    /// How many records the file has, readable or not.
    pub features: usize,
    /// Every record that could be read, in file order.
    pub insertions: Vec<Insertion>,
    /// What was found while reading, a record that could not be read included.
    pub findings: Vec<crate::Finding>,
}
