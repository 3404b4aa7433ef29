//! What was measured in a field: insertions of a penetrometer, where and when, and what must be
//! true of them before a map is made.
//!
//! Lengths are metres, pressures pascals, places on the globe are [`LonLat`] in degrees and places
//! in the field's plane [`EastNorth`] in metres. A reader fills a [`Survey`]; [`check`] turns it
//! into a [`CheckedSurvey`], the only thing a map is made from, and collects [`Finding`]s on the way.
//!
//! ```
//! use survey::{CheckSettings, Depth, Insertion, LonLat, Measured, Outcome, Survey, check};
//!
//! let insertion = |number: usize, lon_deg: f64, outcome| {
//!     Insertion::at(number, LonLat { lon_deg, lat_deg: 41.93 }, Measured::Once(outcome))
//! };
//! let survey = Survey {
//!     features: 3,
//!     insertions: vec![
//!         insertion(1, -95.620, Outcome::Reached(Depth::from_in(6.0))),
//!         insertion(2, -95.619, Outcome::Reached(Depth::from_in(9.0))),
//!         insertion(3, -95.618, Outcome::NotReached { probed_to: Depth::from_in(18.0) }),
//!     ],
//!     ..Survey::default()
//! };
//! let checked = check(&survey, None, &CheckSettings::default())?;
//! assert_eq!(checked.spots().len(), 3);
//! assert_eq!(checked.not_reached(), 1);
//! assert_eq!(checked.field().utm().epsg(), 32615);
//! # Ok::<(), survey::SurveyError>(())
//! ```

mod boundary;
mod censored;
mod check;
mod checked;
mod coordinate_system;
mod crossing;
mod crs;
mod date_range;
mod edits;
mod error;
mod finding;
mod insertion;
mod position;
mod pressure_units;
mod profile;
mod profile_summary;
mod quartile;
mod shares;
pub mod spacing;
mod threshold;
mod tight_layer;
mod tight_layers;
pub mod units;

pub use boundary::{Boundary, Field, FieldOrigin};
pub use censored::{Combined, KaplanMeier, Step, combined};
pub use check::{CheckSettings, DEFAULT_THRESHOLD_PSI, check};
pub use checked::{CheckedSurvey, Moisture, NoReading, Reading, Spot};
pub use coordinate_system::{CoordinateSystem, ToLonLat};
pub use crs::Utm;
pub use date_range::DateRange;
pub use edits::{Edit, EditError, apply_edits};
pub use error::SurveyError;
pub use finding::{Finding, RecordKind, Severity, Subject};
pub use insertion::{DepthUnit, Insertion, Measured, Outcome, Survey};
pub use position::{EastNorth, LonLat};
pub use profile::{ConeIndex, Profile};
pub use profile_summary::{DepthSummary, depth_marks, summary_by_depth};
pub use shares::SharesAbove;
pub use threshold::Threshold;
pub use tight_layer::TightLayer;
pub use tight_layers::{LayersFound, TightLayers};
pub use units::{Area, Depth, Length, Pressure, UnitSystem};

pub use jiff::civil::Date;
