//! Data files in and data files out, one file per format.
//!
//! Readers turn files into the values of the crate `survey`, writers turn a map into bytes; only
//! [`write_files`] touches results on the disk. A fault in one record becomes a finding of the
//! survey, a fault of the whole file a [`FormatError`] that names it.

mod error;
mod geojson;
mod geotiff;
mod input;
mod rounded;
mod summary;
mod write;

pub use error::FormatError;
pub use geojson::{DepthField, ZoneFile, read_boundary, read_survey, zones_geojson};
pub use geotiff::depth_geotiff;
pub use input::InputFile;
pub use summary::{Summary, summary_json};
pub use write::{Output, refuse_existing, write_files};
