//! Data files in and data files out, one file per format.
//!
//! Readers turn files into the values of the crate `survey`, writers turn a map into bytes; only
//! [`write_files`] and [`GeotiffFile`] touch results on the disk. A fault in one record becomes a finding of the
//! survey, a fault of the whole file a [`FormatError`] that names it.
//!
//! On its way in, a file passes `recognise` (which format), the format's own file (records, one at a
//! time), `names` (what each value is), `interpret` (what a record says) and `collector` (the
//! survey).

mod archive;
mod calendar_csv;
mod calendar_ics;
mod collector;
mod columns;
mod compare_json;
mod dbf;
mod dbf_writer;
mod degrees;
mod delimited;
mod edits;
mod error;
mod exact_number;
mod fields;
mod geojson;
mod geopackage;
mod geotiff;
mod gpx;
mod gpx_reading;
mod input;
mod inspect;
mod inspected;
mod interpret;
mod join;
mod kml;
mod names;
mod outcome;
mod outcome_words;
mod overlap;
mod own_profile;
mod pairs_csv;
mod plain_text;
mod plan_csv;
mod plan_files;
mod plan_geopackage;
mod plan_geotiff;
mod plan_gpx;
mod plan_json;
mod plan_rows;
mod plan_shapefile;
mod pressure_unit;
mod profile_lines;
mod propose;
mod rates;
mod read;
mod recognise;
mod record;
mod ring_faults;
mod rounded;
mod season_csv;
mod season_json;
mod season_words;
mod shapefile;
mod spots_csv;
mod spots_file;
mod spots_geojson;
mod spots_gpx;
mod spots_json;
mod summary;
mod survey_csv;
mod survey_geojson;
mod survey_records;
mod table;
mod taskdata;
mod trial_csv;
mod trial_json;
mod values;
mod weather;
mod weather_columns;
mod wide_names;
mod write;

pub use archive::{
    Archive, ArchivedFile, ArchivedVisit, SeasonArchive, is_archive, read_archive,
    season_geopackage, unpack,
};
pub use calendar_csv::calendar_csv;
pub use calendar_ics::{CalendarFile, calendar_ics};
pub use columns::{Columns, DepthField, PressureField};
pub use compare_json::{CompareFile, compare_json};
pub use edits::read_edits;
pub use error::FormatError;
pub use geojson::{
    TrialWords, ZoneFile, read_boundary, read_earlier_zones, read_strata, read_trial_areas,
    read_zones, zones_geojson,
};
pub use geopackage::survey_geopackage;
pub use geotiff::{GeotiffFile, Quantity, depth_geotiff, geotiff};
pub use input::InputFile;
pub use inspect::inspect;
pub use inspected::{Inspected, InspectedLayer, InspectedZone};
pub use pairs_csv::pairs_csv;
pub use plan_files::{PlanFileSettings, plan_files};
pub use plan_json::{PlanSummary, earlier_plan_files, plan_json};
pub use pressure_unit::PressureUnit;
pub use rates::read_rates;
pub use read::{ReadSettings, read_survey};
pub use season_csv::{classes_csv, season_readings_csv, spots_csv, visits_csv};
pub use season_json::{SeasonSummary, SummaryStage, season_json};
pub use spots_csv::spots_table_csv;
pub use spots_file::SpotsFile;
pub use spots_geojson::spots_geojson;
pub use spots_gpx::spots_gpx;
pub use spots_json::{SpotsDesign, SpotsSummary, SpotsValue, SpotsValues, spots_json};
pub use summary::{Summary, listed_settings, summary_json};
pub use survey_csv::survey_csv;
pub use survey_geojson::survey_geojson;
pub use taskdata::{
    Taskdata, TaskdataSettings, USUAL_CELL_M, Version, Zones, inspect_taskdata, taskdata,
    taskdata_zip,
};
pub use trial_csv::trial_csv;
pub use trial_json::{TrialSummary, trial_json};
pub use weather::{WeatherFile, read_weather};
pub use write::{Output, refuse_existing, refuse_existing_file, write_files};
