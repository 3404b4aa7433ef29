//! The page of profiles: cone index by depth, with what the lines mean beside it.

use survey::{
    Depth, DepthSummary, Profile, Threshold, TightLayers, UnitSystem, depth_marks, summary_by_depth,
};

use crate::error::ReportError;
use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::page::{DPI, PAGE_HEIGHT_PX, PAGE_WIDTH_PX};
use crate::palette::{HAIRLINE, PAPER, SOFT_INK};
use crate::png_file::picture;
use crate::profile_chart;
use crate::profile_panel::{Panel, layer_text};
use crate::svg::{Anchor, Paint, Svg, Type};

const MARGIN: f64 = 88.0;
const PANEL: f64 = 600.0;
const GAP: f64 = 48.0;
const TITLE: f64 = 56.0;
const SUBTITLE: f64 = 27.0;

/// The most lines below the title.
const MOST_SUBTITLES: usize = 3;

/// Depths of the summary lie this far apart: what a log of one reading an inch holds.
const STEP_US: f64 = 1.0;
/// In centimetres: the round step nearest to an inch.
const STEP_SI: f64 = 2.5;

const CAUTIONS: &str = "Dry soil reads harder: compare dates only at like moisture. The top of the \
     tight layer is not a tillage depth; a shank depth needs its bottom. Dig and look before treating. \
     Call before you dig (811 in the US). Follow local rules and a licensed or certified adviser.";

/// What a page of profiles shows.
#[derive(Debug, Clone, Copy)]
pub struct ProfilePage<'a> {
    /// Headline, the field's name for instance. Shortened where it does not fit.
    pub title: &'a str,
    /// Lines below it; no more than three are drawn.
    pub subtitle: &'a [String],
    /// Units of everything on the page but the thresholds, which stand as they were typed.
    pub units: UnitSystem,
    /// Thresholds to draw. The first is that of the tight layers.
    pub thresholds: &'a [Threshold],
    /// Groups of profiles, each with its line; no more than six are drawn, and the page says so.
    pub groups: &'a [ProfileGroup],
    /// What else is to be said, in the panel beside the chart.
    pub notes: &'a [String],
}

/// Profiles that share a line: a treatment, a soil, all of them.
#[derive(Debug, Clone, PartialEq)]
pub struct ProfileGroup {
    /// What they have in common.
    pub name: String,
    /// How many they are.
    pub profiles: usize,
    /// Median and quartiles by depth.
    pub summary: Vec<DepthSummary>,
    /// Their tight layers at the first threshold.
    pub tight: Option<TightLayers>,
}

impl ProfileGroup {
    /// Sums up profiles at every inch or every 2.5 cm, with their tight layers at a threshold.
    pub fn of(
        name: impl Into<String>,
        profiles: &[&Profile],
        units: UnitSystem,
        threshold: Option<&Threshold>,
        sustained: Depth,
    ) -> Self {
        let step = match units {
            UnitSystem::Us => Depth::from_in(STEP_US),
            UnitSystem::Si => Depth::from_cm(STEP_SI),
        };
        ProfileGroup {
            name: name.into(),
            profiles: profiles.len(),
            summary: summary_by_depth(profiles, &depth_marks(profiles, step)),
            tight: threshold
                .and_then(|threshold| TightLayers::of(profiles, threshold.pressure(), sustained)),
        }
    }

    /// Whether the count falls with depth.
    pub fn count_falls(&self) -> bool {
        self.summary.iter().any(|row| row.count < self.profiles)
            && self.summary.last().is_some_and(|last| last.count < self.profiles)
    }
}

/// The page as one SVG document of the map page's size, fonts by name ("Inter").
pub fn profile_svg(page: &ProfilePage) -> String {
    let mut svg = Svg::default();
    let (width, height) = (f64::from(PAGE_WIDTH_PX), f64::from(PAGE_HEIGHT_PX));
    let sheet = Rect::new(0.0, 0.0, width, height);
    svg.rect(sheet, Paint::fill(PAPER));
    let inner = sheet.trim(MARGIN, 64.0, MARGIN, 56.0);
    let lines = page.subtitle.len().min(MOST_SUBTITLES) as f64;
    let (head, rest) = inner.split_top(86.0 + 38.0 * lines, 26.0);
    let (body, foot) = rest.split_top(rest.height - 84.0, 20.0);
    let (chart, panel) = body.split_left(body.width - PANEL - GAP, GAP);
    draw_head(&mut svg, page, head);
    profile_chart::draw(&mut svg, page, chart);
    Panel::new(&mut svg, panel).draw(page);
    draw_foot(&mut svg, foot);
    let summary: Vec<String> = page.groups.iter().map(|g| layer_text(page, g)).collect();
    let title = format!("{}: cone index by depth", page.title);
    svg.document(PAGE_WIDTH_PX, PAGE_HEIGHT_PX, DPI, &title, &summary.join("; "))
}

/// The page as a PNG picture that says its resolution.
///
/// # Errors
/// When there is no memory for the picture.
pub fn profile_png(page: &ProfilePage) -> Result<Vec<u8>, ReportError> {
    picture(&profile_svg(page))
}

fn draw_head(svg: &mut Svg, page: &ProfilePage, place: Rect) {
    let title = fonts::shorten(page.title, TITLE, Weight::SemiBold, place.width);
    svg.text(&title, (place.left, place.top + 50.0), Type::semi_bold(TITLE));
    for (k, line) in page.subtitle.iter().take(MOST_SUBTITLES).enumerate() {
        let line = fonts::shorten(line, SUBTITLE, Weight::Regular, place.width);
        let at = (place.left, place.top + 98.0 + 38.0 * k as f64);
        svg.text(&line, at, Type::regular(SUBTITLE).colour(SOFT_INK));
    }
    rule(svg, place.left, place.right(), place.bottom());
}

fn draw_foot(svg: &mut Svg, place: Rect) {
    const SMALL: f64 = 20.0;
    rule(svg, place.left, place.right(), place.top);
    let program = format!("loosedepth {}", env!("CARGO_PKG_VERSION"));
    let corner = (place.right(), place.top + 34.0);
    let style = Type::regular(SMALL).colour(SOFT_INK);
    svg.text(&program, corner, style.anchor(Anchor::End));
    let room = place.width - fonts::width(&program, SMALL, Weight::Regular) - 60.0;
    for (k, line) in fonts::wrap(CAUTIONS, SMALL, Weight::Regular, room).iter().enumerate() {
        let at = (place.left, place.top + 34.0 + 28.0 * k as f64);
        svg.text(line, at, Type::regular(SMALL));
    }
}

fn rule(svg: &mut Svg, left: f64, right: f64, y: f64) {
    svg.line((left, y), (right, y), Paint::stroke(HAIRLINE, 2.0));
}

#[cfg(test)]
mod tests {
    use super::*;
    use resvg::usvg;
    use survey::{ConeIndex, Pressure};

    /// Profiles with a pan at 6 to 10 in, harder by so many psi, some of which stop in it.
    fn profiles(count: usize, harder_psi: f64) -> Vec<Profile> {
        let of = |k: usize| {
            let noise = (k * 37 % 11) as f64 * 6.0 + harder_psi;
            let last = if k.is_multiple_of(5) { 8 } else { 24 };
            let reading = |inch: u32| ConeIndex {
                depth: Depth::from_in(f64::from(inch)),
                pressure: Pressure::from_psi(match inch {
                    0..6 => 60.0 + noise,
                    6..11 => 240.0 + noise,
                    _ => 130.0 + noise,
                }),
            };
            Profile::new((1..=last).map(reading).collect()).unwrap()
        };
        (0..count).map(of).collect()
    }

    fn group(name: &str, count: usize, harder_psi: f64, units: UnitSystem) -> ProfileGroup {
        let profiles = profiles(count, harder_psi);
        let profiles: Vec<&Profile> = profiles.iter().collect();
        let threshold: Threshold = "200psi".parse().unwrap();
        ProfileGroup::of(name, &profiles, units, Some(&threshold), Depth::from_m(0.0))
    }

    fn svg(groups: &[ProfileGroup], units: UnitSystem) -> String {
        let thresholds = ["200psi", "300psi", "2MPa"].map(|t| t.parse().unwrap());
        profile_svg(&ProfilePage {
            title: "Slough <Piece>",
            subtitle: &["Cone index by depth".into()],
            units,
            thresholds: &thresholds,
            groups,
            notes: &["a note".into()],
        })
    }

    fn tree(svg: &str) -> usvg::Tree {
        let options = usvg::Options { fontdb: fonts::database(), dpi: 200.0, ..Default::default() };
        usvg::Tree::from_str(svg, &options).unwrap()
    }

    #[test]
    fn one_and_many_groups_stay_on_the_page() {
        for count in [1, 2, 3, 4, 6, 9_u32] {
            let groups: Vec<ProfileGroup> = (0..count)
                .map(|k| {
                    let name =
                        format!("group {k} of a very long treatment name {}", "w".repeat(60));
                    group(&name, 20, 20.0 * f64::from(k), UnitSystem::Us)
                })
                .collect();
            let svg = svg(&groups, UnitSystem::Us);
            let drawn = tree(&svg).root().abs_bounding_box();
            assert!(drawn.left() >= 0.0 && drawn.right() <= 2200.0, "{drawn:?}");
            assert!(drawn.top() >= 0.0 && drawn.bottom() <= 1700.0, "{drawn:?}");
            assert_eq!(svg.contains("more group"), count > 6);
        }
    }

    #[test]
    fn the_page_says_what_the_lines_are() {
        let svg = svg(&[group("all", 20, 0.0, UnitSystem::Us)], UnitSystem::Us);
        for words in [
            "Cone index, psi",
            "Depth, in",
            "200 psi",
            "300 psi",
            "2 MPa",
            "Where the count falls",
            "in 20 of 20 probes",
            "median of 20 profiles",
            "Slough &lt;Piece&gt;",
        ] {
            assert!(svg.contains(words), "{words}");
        }
    }

    #[test]
    fn si_pages_have_si_axes_and_the_threshold_as_typed() {
        let svg = svg(&[group("all", 20, 0.0, UnitSystem::Si)], UnitSystem::Si);
        for words in ["Cone index, kPa", "Depth, cm", "200 psi", " cm, "] {
            assert!(svg.contains(words), "{words}");
        }
        assert!(!svg.contains(" in, "));
    }

    #[test]
    fn a_bottom_that_was_not_reached_is_never_a_depth() {
        let stopped = Profile::new(vec![
            ConeIndex { depth: Depth::from_in(6.0), pressure: Pressure::from_psi(100.0) },
            ConeIndex { depth: Depth::from_in(8.0), pressure: Pressure::from_psi(600.0) },
        ])
        .unwrap();
        let threshold: Threshold = "200psi".parse().unwrap();
        let group = ProfileGroup::of(
            "all",
            &[&stopped],
            UnitSystem::Us,
            Some(&threshold),
            Depth::from_m(0.0),
        );
        let svg = svg(&[group], UnitSystem::Us);
        assert!(svg.contains("bottom not measured"));
        assert!(!svg.contains("bottom 8 in"));
    }

    #[test]
    fn nothing_to_draw_is_no_crash_and_the_same_page_is_the_same_bytes() {
        tree(&svg(&[], UnitSystem::Us));
        let groups = [group("all", 9, 0.0, UnitSystem::Us)];
        assert_eq!(svg(&groups, UnitSystem::Us), svg(&groups, UnitSystem::Us));
    }
}
