//! The report as one file for a browser: a page that says first what a grower needs, with a map to
//! look into, and opens without a network.
//!
//! [`map_view`] turns maps of one field into what the page's own script (`assets/page/map.js`) draws;
//! [`report_html`] writes the whole page around it. Places on the page are metres from the north-west
//! corner of the map's frame, x to the east and y to the south.

mod assets;
mod chart_drawings;
mod charts;
mod grid_code;
mod map_view;
mod markup;
mod page;
pub(crate) mod policy;
mod report_map;
mod tables;
#[cfg(test)]
mod testing;
mod whole_steps;
mod zone_paths;

pub use assets::{BASE_CSS, FONT_REGULAR_WOFF2, FONT_SEMI_BOLD_WOFF2, MAP_JS};
pub use chart_drawings::{
    check_chart, profile_chart, readings_chart, season_chart, variogram_chart,
};
pub use map_view::{ChangeView, MapView, MapViewOptions, VisitView, map_view};
pub use page::{Chart, Column, GrowerSummary, ReportPage, Section, Table, report_html};
pub use zone_paths::{ClassView, ZonePath, ZonePaths, on_page, page_path, zone_paths};
