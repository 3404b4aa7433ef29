//! The pictures of a season: its course, and the maps of all visits beside one another.

use mapping::DepthClasses;
use report::{
    Between, Notice, ReportError, SeasonDepth, SeasonPage, SeasonVisit, SeasonWindow, SpotFall,
    VisitFacts, VisitMap, VisitsPage, season_png, visits_png,
};
use season::{Falls, MoistureMatch, SpotChange, Trend, VisitFigures, VisitGap};
use survey::{Reading, UnitSystem};

use super::season_stage::ReproductiveStage;
use crate::season_words;
use crate::visits::Loaded;

/// Spots in the table of those that fell furthest.
const SPOTS_SHOWN: usize = 8;
/// Shares that are drawn.
const SHARES_SHOWN: usize = 6;

/// What the first line of each page says.
struct FirstLine {
    words: String,
    is_warning: bool,
}

impl FirstLine {
    fn of(trend: &Trend) -> Self {
        let last = trend.visits.last().and_then(|visit| visit.since_first);
        match last.map(|since| since.moisture) {
            Some(moisture) => FirstLine {
                words: moisture.sentence(),
                is_warning: !matches!(moisture, MoistureMatch::Matched { .. }),
            },
            None => FirstLine { words: season_words::ONE_VISIT.into(), is_warning: false },
        }
    }

    fn notice(&self) -> Notice<'_> {
        Notice { words: &self.words, is_warning: self.is_warning }
    }
}

/// The course of the season.
///
/// # Errors
/// When there is no memory for a picture.
pub fn season_page(
    loaded: &Loaded,
    trend: &Trend,
    stage: Option<&ReproductiveStage>,
) -> Result<Vec<u8>, ReportError> {
    with_season_page(loaded, trend, stage, season_png)
}

/// Draws the course of the season.
pub fn with_season_page<R>(
    loaded: &Loaded,
    trend: &Trend,
    stage: Option<&ReproductiveStage>,
    draw: impl FnOnce(&SeasonPage) -> R,
) -> R {
    let classes = &loaded.visits[0].map.classes;
    let units = classes.units();
    let visits: Vec<SeasonVisit> =
        (0..trend.visits.len()).filter_map(|visit| season_visit(trend, visit)).collect();
    let window = stage.and_then(|stage| {
        let [first, last] = stage.days?;
        Some(SeasonWindow { first, last, words: &stage.name })
    });
    let falls = trend.falls.as_ref();
    let from = falls.map_or("", |falls| trend.visits[falls.from].name.as_str());
    let first_line = FirstLine::of(trend);
    draw(&SeasonPage {
        title: &loaded.field_name,
        field: loaded.visits[0].survey.field(),
        units,
        moisture: first_line.notice(),
        visits: &visits,
        class_names: &class_names(classes),
        share_names: &share_names(trend, units),
        shares_of: "probes",
        window,
        planted: loaded.config.planted,
        visit_within_days: trend.settings.rhythm.longest_days().unsigned_abs(),
        next_due: season_words::due(trend, stage).map(|days| (days.first(), days.last())),
        falls_title: &format!("Fell furthest since {from}"),
        falls: &falls.map_or(Vec::new(), |falls| spot_falls(trend, falls)),
        verdict: &trend.ranks.as_ref().map_or(String::new(), season::RankCorrelations::sentence),
        notes: &season_words::page_notes(trend, stage),
    })
}

/// The maps of all visits, on as many pages as they need.
///
/// # Errors
/// As [`season_page`].
pub fn visits_pages(loaded: &Loaded, trend: &Trend) -> Result<Vec<Vec<u8>>, ReportError> {
    let first_line = FirstLine::of(trend);
    let facts: Vec<VisitFacts> =
        loaded.visits.iter().map(|visit| VisitFacts::of(&visit.name, &visit.survey)).collect();
    let visits: Vec<VisitMap> = loaded
        .visits
        .iter()
        .zip(&facts)
        .zip(&trend.visits)
        .map(|((visit, facts), figures)| VisitMap {
            facts,
            survey: &visit.survey,
            map: &visit.map,
            median: Some(season_depth(figures.median)),
        })
        .collect();
    visits_png(&VisitsPage {
        title: &loaded.field_name,
        units: loaded.visits[0].map.classes.units(),
        moisture: first_line.notice(),
        visits: &visits,
    })
}

/// A visit as it is drawn; one without a day is not.
fn season_visit(trend: &Trend, number: usize) -> Option<SeasonVisit> {
    let visit: &VisitFigures = &trend.visits[number];
    let gap = number.checked_sub(1).and_then(|before| trend.gaps.get(before));
    Some(SeasonVisit {
        day: visit.days?.first(),
        probes: visit.probes,
        quartiles: [visit.lower_quartile, visit.median, visit.upper_quartile].map(season_depth),
        moisture: visit.moisture,
        shares: visit.shares.iter().take(SHARES_SHOWN).map(|share| share.share).collect(),
        class_areas_m2: visit.classes.iter().map(|class| class.area_m2).collect(),
        unmapped_m2: visit.unmapped_m2,
        late_gap_days: gap.filter(|gap| VisitGap::is_late(gap)).map(|gap| gap.days.unsigned_abs()),
    })
}

fn season_depth(reading: Reading) -> SeasonDepth {
    SeasonDepth { depth_cm: reading.at_least().cm(), is_at_least: reading.is_not_reached() }
}

fn class_names(classes: &DepthClasses) -> Vec<String> {
    (0..classes.len()).map(|class| classes.name(class)).collect()
}

fn share_names(trend: &Trend, units: UnitSystem) -> Vec<String> {
    let marks = trend.settings.marks.iter().take(SHARES_SHOWN);
    marks.map(|&mark| format!("shallower than {}", units.depth_text(mark))).collect()
}

fn spot_falls(trend: &Trend, falls: &Falls) -> Vec<SpotFall> {
    let fall = |change: &SpotChange| SpotFall {
        id: trend.spots.spots[change.spot].id.clone(),
        first: season_depth(change.earlier),
        last: season_depth(change.later),
        change: Between {
            low_cm: change.change.least_cm().unwrap_or(f64::NEG_INFINITY),
            high_cm: change.change.most_cm().unwrap_or(f64::INFINITY),
        },
    };
    falls.fell.iter().take(SPOTS_SHOWN).map(fall).collect()
}
