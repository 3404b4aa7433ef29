//! What the page brings along: script, style and fonts, for the local page too.

/// The map's script, an ES module; what it offers stands at its head.
pub const MAP_JS: &str = include_str!("../../assets/page/map.js");
/// Styles of text, controls and map that the report and the local page share.
pub const BASE_CSS: &str = include_str!("../../assets/page/base.css");
/// Inter Regular, Latin letters and the page's signs, as WOFF2.
pub const FONT_REGULAR_WOFF2: &[u8] =
    include_bytes!("../../assets/fonts/Inter-Regular-latin.woff2");
/// The same in its semi-bold weight.
pub const FONT_SEMI_BOLD_WOFF2: &[u8] =
    include_bytes!("../../assets/fonts/Inter-SemiBold-latin.woff2");

/// Styles of the report alone.
pub(crate) const REPORT_CSS: &str = include_str!("../../assets/page/report.css");
/// The report's script, which shows the map.
pub(crate) const REPORT_JS: &str = include_str!("../../assets/page/report.js");
