//! The page of a season: how deep the loose layer was at each visit, how moist, and when to go again.

use survey::units::tidy;
use survey::{Date, Depth, Field, Moisture, UnitSystem};

use crate::base_map::hatch_pattern;
use crate::error::ReportError;
use crate::estimate::Between;
use crate::falls_table;
use crate::frame::Rect;
use crate::header::PageHead;
use crate::notice::Notice;
use crate::page::sheet;
use crate::png_file::picture;
use crate::svg::{Svg, Type};
use crate::text_block::{self, SIZES, words};
use crate::wording::{area_text, count_text, day, from_to, moisture_range};
use crate::{season_chart, season_panel};

/// What a page of a season shows.
#[derive(Debug, Clone, Copy)]
pub struct SeasonPage<'a> {
    /// Headline, the field's name for instance. Shortened where it does not fit.
    pub title: &'a str,
    /// The field.
    pub field: &'a Field,
    /// Units of the page.
    pub units: UnitSystem,
    /// Whether the soil was equally moist over the season: the first line.
    pub moisture: Notice<'a>,
    /// The visits by day. None may be without a day.
    pub visits: &'a [SeasonVisit],
    /// Depth classes with their units, the shallowest first: `3–6 in`.
    pub class_names: &'a [String],
    /// What the shares of each visit are, with their units: `below 6 in`. No more than six are drawn.
    pub share_names: &'a [String],
    /// What the shares are of: `ground`, `probes`.
    pub shares_of: &'a str,
    /// Days that matter, shaded, with their words: the reproductive stage.
    pub window: Option<SeasonWindow<'a>>,
    /// When the crop was planted.
    pub planted: Option<Date>,
    /// A visit that is more days after the one before is late: 14.
    pub visit_within_days: u32,
    /// First and last day on which the next visit is due.
    pub next_due: Option<(Date, Date)>,
    /// What the table of spots is headed with: `Fell furthest since Apr 14, 2025`.
    pub falls_title: &'a str,
    /// Spots that fell furthest, the furthest first.
    pub falls: &'a [SpotFall],
    /// What it comes to, one sentence; may be empty.
    pub verdict: &'a str,
    /// Further sentences. The most important first.
    pub notes: &'a [String],
}

/// One visit of a season.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonVisit {
    /// Its first day.
    pub day: Date,
    /// How many spots have a reading.
    pub probes: usize,
    /// Lower quartile, median and upper quartile of the depths.
    pub quartiles: [SeasonDepth; 3],
    /// Soil moisture, `None` where it was not recorded.
    pub moisture: Option<Moisture>,
    /// A share from 0 to 1 for each of [`SeasonPage::share_names`]; NaN where it is not known.
    pub shares: Vec<f64>,
    /// True area on the ground of each depth class, square metres.
    pub class_areas_m2: Vec<f64>,
    /// True area on the ground without a value, square metres.
    pub unmapped_m2: f64,
    /// Days since the visit before, where they are more than [`SeasonPage::visit_within_days`].
    pub late_gap_days: Option<u32>,
}

/// A depth, or that it is deeper than so much.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeasonDepth {
    /// The depth, centimetres.
    pub depth_cm: f64,
    /// Whether it is no more than a lower bound: the threshold was not reached.
    pub is_at_least: bool,
}

/// Some days of a season.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SeasonWindow<'a> {
    /// First day.
    pub first: Date,
    /// Last day.
    pub last: Date,
    /// What they are.
    pub words: &'a str,
}

/// A spot whose loose layer became thinner.
#[derive(Debug, Clone, PartialEq)]
pub struct SpotFall {
    /// Its id.
    pub id: String,
    /// Its depth at the first visit that read it.
    pub first: SeasonDepth,
    /// Its depth at the last.
    pub last: SeasonDepth,
    /// Last minus first.
    pub change: Between,
}

/// Width of the panel beside the chart.
const PANEL: f64 = 560.0;
const GAP: f64 = 44.0;
/// The least height of the words below the panel's tables.
const WORDS: f64 = 220.0;

const FOOT: (&str, &str) = (
    "Before you act on it",
    "Readings of different days differ by moisture first. A thinner loose layer in drier soil is no \
     evidence of compaction. Dig and look before treating. Call before you dig (811 in the US). Follow \
     local rules and a licensed or certified adviser.",
);

/// The page as one SVG document of the map page's size, fonts by name ("Inter").
pub fn season_svg(page: &SeasonPage) -> String {
    let head = PageHead {
        title: page.title,
        subtitle: "The season: loose-layer depth and soil moisture, visit by visit",
        facts: facts(page),
        utm: page.field.utm(),
    };
    sheet(&head, FOOT, &summary(page), |svg, body| {
        svg.raw(&hatch_pattern());
        let body = page.moisture.draw(svg, body, 26.0);
        let (chart, panel) = body.split_left(body.width - PANEL - GAP, GAP);
        if page.visits.is_empty() {
            let at = (chart.left, chart.top + 30.0);
            svg.text("No visit with a day was found.", at, Type::regular(25.0));
        } else {
            season_chart::draw(svg, page, chart);
        }
        draw_panel(svg, page, panel);
    })
}

/// The page as a PNG picture that says its resolution.
///
/// # Errors
/// When there is no memory for the picture.
pub fn season_png(page: &SeasonPage) -> Result<Vec<u8>, ReportError> {
    picture(&season_svg(page))
}

fn draw_panel(svg: &mut Svg, page: &SeasonPage, place: Rect) {
    let (legend, rest) = place.split_top(season_panel::height(page), 30.0);
    season_panel::draw(svg, page, legend);
    let words = words(page.verdict, page.notes);
    let mut rest = rest;
    if !page.falls_title.trim().is_empty() {
        let least = if words.is_empty() { 0.0 } else { WORDS };
        let height = falls_table::height(page.falls.len()).min(rest.height - least);
        let (table, below) = rest.split_top(height, 30.0);
        falls_table::draw(svg, page.falls_title, page.falls, page.units, table);
        rest = below;
    }
    if !words.is_empty() {
        text_block::draw(svg, "What it says", &words, &SIZES, rest);
    }
}

fn facts(page: &SeasonPage) -> Vec<(&'static str, String)> {
    let mut facts = Vec::new();
    if let (Some(first), Some(last)) = (page.visits.first(), page.visits.last()) {
        facts.push(("From, to", from_to(first.day, last.day, page.units)));
    }
    facts.push(("Visits", page.visits.len().to_string()));
    let known = || page.visits.iter().filter_map(|visit| visit.moisture);
    let least = known().map(|moisture| moisture.mean_pct).fold(f64::INFINITY, f64::min);
    let most = known().map(|moisture| moisture.mean_pct).fold(0.0, f64::max);
    let moisture = match [least, most].map(|pct| tidy(pct, 0)) {
        _ if known().next().is_none() => "not recorded".into(),
        [least, most] if least == most => format!("{least} %"),
        [least, most] => format!("{least}–{most} %"),
    };
    facts.push(("Soil moisture, means", moisture));
    facts.push(("Field", area_text(page.field.ground_area_m2(), page.field, page.units)));
    facts
}

/// The page in a few words, for those who cannot see it.
fn summary(page: &SeasonPage) -> String {
    let mut parts = vec![page.moisture.words.to_owned()];
    parts.extend(page.visits.iter().map(|visit| {
        let median = visit.quartiles[1];
        let sign = if median.is_at_least { "at least " } else { "" };
        let depth = page.units.depth_text(Depth::from_cm(median.depth_cm));
        let moisture = visit.moisture.map_or_else(|| "not recorded".into(), moisture_range);
        format!(
            "{}: median {sign}{depth}, {}, soil moisture {moisture}",
            day(visit.day, page.units),
            count_text(visit.probes, "probe")
        )
    }));
    parts.extend(words(page.verdict, page.notes).into_iter().map(|(text, _)| text));
    parts.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{self, assert_on_page, assert_text_is_apart, joined, texts};
    use crate::testing_season::Season;

    const LONG: &str =
        "A field with a name that is far too long for a page & has <odd> signs in it";

    #[test]
    fn text_never_covers_text_with_any_number_of_visits() {
        for count in [0, 1, 2, 6, 12, 16, 17, 40] {
            let season = Season::new(testing::wide(), count);
            let svg = season_svg(&season.page(LONG));
            assert_text_is_apart(&svg);
            assert_on_page(&svg);
        }
    }

    #[test]
    fn long_words_stay_in_their_place() {
        let mut season = Season::new(testing::wide(), 5);
        for fall in &mut season.falls {
            fall.id = "a very long name of a spot ".repeat(3);
        }
        season.share_names = vec!["a share with a name that does not end ".repeat(3); 9];
        let page = SeasonPage {
            shares_of: "ground that was looked at in a particular way",
            window: season.page("").window.map(|window| SeasonWindow {
                words: "days that matter for reasons that take long to explain, and then some more                         words that nobody needs but a caller may give all the same, to see what comes                         of it on this page",
                ..window
            }),
            falls_title: "Spots whose loose layer became thinner by more than any others did",
            ..season.page(LONG)
        };
        let svg = season_svg(&page);
        assert_text_is_apart(&svg);
        assert_on_page(&svg);
    }

    #[test]
    fn a_median_that_was_not_reached_is_a_bound() {
        let season = Season::new(testing::wide(), 12);
        let words = joined(&season_svg(&season.page("Home")));
        assert_eq!(words.matches("≥ 18 ").count(), 2 + 1, "two medians and a class: {words}");
        assert!(words.contains("not reached: deeper than shown"));
    }

    #[test]
    fn late_visits_are_told_with_their_gap_and_the_next_is_due() {
        let season = Season::new(testing::wide(), 12);
        let words = joined(&season_svg(&season.page("Home")));
        for part in ["late: 21 days", "late: more than 14 days apart", "next visit: Sep 3 to Sep 7"]
        {
            assert!(words.contains(part), "{part}: {words}");
        }
        let season = Season::new(testing::wide(), 3);
        assert!(!joined(&season_svg(&season.page("Home"))).contains("late:"));
    }

    #[test]
    fn days_of_two_years_have_their_year() {
        let season = Season::new(testing::wide(), 40);
        let words: Vec<String> =
            texts(&season_svg(&season.page("Home"))).into_iter().map(|text| text.0).collect();
        assert!(words.iter().any(|text| text == "Apr 14, 2025"), "{words:?}");
    }

    #[test]
    fn what_is_not_known_is_left_out_and_the_page_stands() {
        let mut season = Season::new(testing::tall(), 4);
        season.share_names.clear();
        for visit in &mut season.visits {
            visit.moisture = None;
            visit.shares.clear();
            visit.quartiles =
                visit.quartiles.map(|depth| SeasonDepth { depth_cm: f64::NAN, ..depth });
            visit.class_areas_m2.clear();
        }
        let page = SeasonPage {
            window: None,
            planted: None,
            next_due: None,
            falls_title: "",
            falls: &[],
            verdict: "",
            notes: &[],
            ..season.page("Home")
        };
        let svg = season_svg(&page);
        assert_text_is_apart(&svg);
        let words = joined(&svg);
        assert!(words.contains("not recorded"), "{words}");
        assert_eq!(words.matches('?').count(), 4, "{words}");
        assert!(!words.contains("What it says") && !words.contains("NaN"), "{words}");
    }

    #[test]
    fn si_pages_speak_of_centimetres_and_hectares() {
        let season = Season::new(testing::si(), 6);
        let words = joined(&season_svg(&season.page("Feld")));
        for part in ["Depth, cm", "Ground, ha", "change, cm", "14 Apr"] {
            assert!(words.contains(part), "{part}: {words}");
        }
    }

    #[test]
    fn the_same_season_gives_the_same_picture() {
        let draw = || season_png(&Season::new(testing::tiny(), 7).page("Home")).unwrap();
        assert!(draw() == draw());
    }
}
