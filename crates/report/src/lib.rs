//! The page a grower reads: one map with its legend, charts, checks and cautions.
//!
//! [`map_svg`] writes a landscape US Letter page (11 × 8.5 in, [`PAGE_WIDTH_PX`] × [`PAGE_HEIGHT_PX`]
//! at [`DPI`]) as SVG, and [`map_png`] turns the same drawing into a picture. The units are those of
//! the map's depth classes. Fonts are built in, and the same map gives the same bytes.
//!
//! Other pages of the same size and style show one thing each: [`probability_png`] how likely the loose
//! layer is thinner than a depth, [`error_png`] how far the map may be off, [`variogram_png`] how unlike
//! readings are by their distance, [`profile_png`] cone index by depth. What they say of methods and
//! checks is given to them as sentences; they compute nothing but the drawing.
//!
//! [`record_page()`] is another kind of page: it runs in a phone's browser and records a survey.
//!
//! Lengths on the page are pixels at [`DPI`], from the upper left corner, and stand in variables
//! named `x` and `y`; places in the field keep their own names.

mod base_map;
mod change_page;
mod chart;
mod class_picture;
mod compass;
mod confidence;
mod error;
mod error_page;
mod estimate;
mod estimate_chart;
mod falls_table;
mod fonts;
mod footer;
mod frame;
mod graticule;
mod ground_panel;
mod group_style;
mod header;
mod histogram;
mod html;
mod label_point;
mod labels;
mod legend;
mod map_legend;
mod map_panel;
mod marks;
mod method_panel;
mod notice;
mod operator_map;
mod operator_sheet;
mod operator_table;
#[cfg(test)]
mod operator_tests;
mod outline;
mod page;
mod palette;
mod pdf_file;
mod png_file;
mod probability_page;
mod probe_marks;
mod profile_chart;
mod profile_page;
mod profile_panel;
mod raster_page;
mod record_page;
mod reliability_chart;
mod scale_bar;
mod scatter;
mod season_axis;
mod season_chart;
mod season_page;
mod season_panel;
mod spots_map;
mod spots_sheet;
mod spots_table;
#[cfg(test)]
mod spots_tests;
mod strip_chart;
mod surface_panel;
mod svg;
#[cfg(test)]
mod testing;
#[cfg(test)]
mod testing_change;
#[cfg(test)]
mod testing_season;
#[cfg(test)]
mod testing_trial;
#[cfg(test)]
mod testing_uncertainty;
#[cfg(test)]
mod testing_variogram;
mod text_block;
mod transition_panel;
mod treatment;
mod trial_page;
mod value_classes;
mod variogram_chart;
mod variogram_page;
mod variogram_words;
mod view;
mod visit_facts;
mod visits_layout;
mod visits_page;
mod where_in_field;
mod wording;

pub use change_page::{ChangePage, TransitionTable, change_limits_cm, change_png, change_svg};
pub use confidence::{LITTLE_SKILL, how_sure};
pub use error::ReportError;
pub use error_page::{ErrorPage, error_png, error_svg};
pub use estimate::{Between, Estimate, PairedSpot};
pub use footer::MAP_CAUTIONS;
pub use html::{
    BASE_CSS, ChangeView, Chart, ClassView, Column, FONT_REGULAR_WOFF2, FONT_SEMI_BOLD_WOFF2,
    GrowerSummary, MAP_JS, MapView, MapViewOptions, ReportPage, Section, Table, VisitView,
    ZonePath, ZonePaths, check_chart, map_view, on_page, page_path, profile_chart, readings_chart,
    report_html, season_chart, variogram_chart, zone_paths,
};
pub use method_panel::MethodCheck;
pub use notice::Notice;
pub use operator_sheet::{operator_pdf, operator_png, operator_svg};
pub use page::{DPI, MapPage, PAGE_HEIGHT_PX, PAGE_WIDTH_PX, map_svg};
pub use palette::{Rgb, class_colour};
pub use pdf_file::map_pdf;
pub use png_file::map_png;
pub use probability_page::{ProbabilityPage, probability_png, probability_svg};
pub use profile_page::{ProfileGroup, ProfilePage, profile_png, profile_svg};
pub use record_page::{RecordPage, RecordSpot, record_page};
pub use reliability_chart::ReliabilityClass;
pub use season_page::{
    SeasonDepth, SeasonPage, SeasonVisit, SeasonWindow, SpotFall, season_png, season_svg,
};
pub use spots_sheet::{SpotsSheet, spots_pdf, spots_png, spots_svgs};
pub use trial_page::{TrialPage, TrialStrip, trial_png, trial_svg};
pub use value_classes::ValueClasses;
pub use variogram_page::{DirectionalVariogram, VariogramPage, variogram_png, variogram_svg};
pub use visit_facts::VisitFacts;
pub use visits_page::{VisitMap, VisitsPage, visits_png, visits_svg};
pub use where_in_field::where_in_field;
pub use wording::{area_text, day, from_to};
