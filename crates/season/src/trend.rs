//! A field through the season: the figures of each visit, side by side.
//!
//! A reading that never reached the threshold counts for what it is, deeper than probed: medians and
//! quartiles are those of Kaplan and Meier ([`survey::KaplanMeier`]), and so are shares where a rod
//! stopped above the mark. All these are of probes, each spot once; areas are of the map.

use mapping::MethodKind;
use statistics::log_rank;
use survey::{
    CheckedSurvey, DateRange, Depth, KaplanMeier, Moisture, NoReading, Reading, Threshold,
};

use crate::falls::{Falls, SpotHistory};
use crate::moisture::{MoistureMatch, USUAL_MOISTURE_WITHIN_PCT};
use crate::paired::lifetimes;
use crate::reading_change::ReadingChange;
use crate::rhythm::Rhythm;
use crate::trend_median::{MedianInterval, median_interval};
use crate::trend_rank::{RankCorrelations, RankedVisit, rank_correlations};
use crate::trend_shares::ShareShallower;
use crate::visit::Visit;
use crate::visit_dates::{VisitGap, gaps, next_due};

/// How a season is summed up.
#[derive(Debug, Clone, PartialEq)]
pub struct TrendSettings {
    /// Depths that the share of shallower probes is told of.
    pub marks: Vec<Depth>,
    /// Confidence of the intervals of the medians, 0 to 1.
    pub confidence: f64,
    /// Moistures that differ by no more count as equal, percentage points.
    pub moisture_within_pct: f64,
    /// How often the field is visited: a visit that comes later is late.
    pub rhythm: Rhythm,
    /// The visit that falls are told from, an index before the last: 0 the first.
    pub falls_from: usize,
}

impl Default for TrendSettings {
    fn default() -> Self {
        TrendSettings {
            marks: Vec::new(),
            confidence: 0.95,
            moisture_within_pct: USUAL_MOISTURE_WITHIN_PCT,
            rhythm: Rhythm::default(),
            falls_from: 0,
        }
    }
}

/// The season of a field.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// The visits, as they were given.
    pub visits: Vec<VisitFigures>,
    /// The days between visits that follow each other; empty where one has no date.
    pub gaps: Vec<VisitGap>,
    /// The days on which the visit after the last one is due; `None` where that has no date.
    pub next_due: Option<DateRange>,
    /// Whether the median follows the day or the moisture; `None` of few visits.
    pub ranks: Option<RankCorrelations>,
    /// The spots with what was read at each.
    pub spots: SpotHistory,
    /// Where the loose layer fell from the visit of the settings to the last; `None` where that is the last.
    pub falls: Option<Falls>,
    /// The settings.
    pub settings: TrendSettings,
}

/// The figures of one visit.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitFigures {
    /// What it is called.
    pub name: String,
    /// Its days, where the file says them.
    pub days: Option<DateRange>,
    /// The threshold its depths were read at.
    pub threshold: Threshold,
    /// Spots with a reading.
    pub probes: usize,
    /// Spots where a stone or root stopped the rod.
    pub stopped_by_stone: usize,
    /// Spots passed over.
    pub skipped: usize,
    /// Spots that did not reach the threshold.
    pub not_reached: usize,
    /// The depth that half of the probes reached the threshold above.
    pub median: Reading,
    /// An interval of the median: see [`MedianInterval`].
    pub median_interval: MedianInterval,
    /// The depth that a quarter of the probes reached the threshold above.
    pub lower_quartile: Reading,
    /// The depth that three quarters of them did.
    pub upper_quartile: Reading,
    /// The share of probes shallower than each of the marks.
    pub shares: Vec<ShareShallower>,
    /// The ground of each class.
    pub classes: Vec<ClassGround>,
    /// Ground beyond reach of every probe, square metres.
    pub unmapped_m2: f64,
    /// The field, square metres.
    pub field_m2: f64,
    /// Soil moisture, where it was recorded.
    pub moisture: Option<Moisture>,
    /// How its map was made.
    pub method: MethodKind,
    /// Root mean square error of its map in leave-one-out cross-validation, centimetres; `None` where no
    /// probe is within reach of another.
    pub rmse_cm: Option<f64>,
    /// Whether its map errs less than the field mean everywhere.
    pub beats_field_mean: bool,
    /// The change of the median since the first visit; `None` of the first.
    pub since_first: Option<MedianChange>,
    /// The change of the median since the visit before; `None` of the first.
    pub since_before: Option<MedianChange>,
    /// The log-rank test against the first visit, which takes all readings as independent: a spot that is
    /// probed again is not. `None` of the first, and where neither reached the threshold anywhere.
    pub log_rank: Option<LogRankTest>,
}

/// The ground of one depth class.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassGround {
    /// Its name with its unit.
    pub name: String,
    /// Where it begins.
    pub from: Depth,
    /// Where it ends; `None` for the last.
    pub below: Option<Depth>,
    /// Its ground, square metres.
    pub area_m2: f64,
    /// Probes in its zones.
    pub probes: usize,
}

/// A change of the median, later minus earlier.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MedianChange {
    /// The change, as far as both medians were reached.
    pub change: ReadingChange,
    /// What the moistures of the two visits say of it.
    pub moisture: MoistureMatch,
}

/// A log-rank test of two visits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogRankTest {
    /// The statistic, with one degree of freedom.
    pub chi_squared: f64,
    /// How likely so great a statistic is if depths were alike on both.
    pub p: f64,
}

/// Sums up the visits of a season, given by date; at least one.
///
/// # Panics
/// When there is no visit.
pub fn trend(visits: &[Visit], settings: &TrendSettings) -> Trend {
    let figures: Vec<VisitFigures> =
        (0..visits.len()).map(|visit| figures(visits, visit, settings)).collect();
    let days: Option<Vec<DateRange>> = figures.iter().map(|visit| visit.days).collect();
    let last = figures.last().expect("a season has a visit").days;
    let spots = SpotHistory::of(visits);
    let ends = [settings.falls_from, visits.len() - 1];
    Trend {
        gaps: days.map_or(Vec::new(), |days| gaps(&days, settings.rhythm)),
        next_due: last.map(|days| next_due(days.last(), settings.rhythm)),
        ranks: ranks(&figures),
        falls: (ends[0] < ends[1]).then(|| spots.falls(visits, ends, settings.moisture_within_pct)),
        spots,
        visits: figures,
        settings: settings.clone(),
    }
}

fn figures(visits: &[Visit], number: usize, settings: &TrendSettings) -> VisitFigures {
    let Visit { name, survey, map } = &visits[number];
    let readings = readings(survey);
    let curve = curve(&readings);
    let since = |earlier: usize| median_change(&visits[earlier].survey, survey, settings);
    VisitFigures {
        name: name.clone(),
        days: survey.dates().and_then(|(first, last)| DateRange::new(first, last).ok()),
        threshold: survey.threshold().clone(),
        probes: readings.len(),
        stopped_by_stone: survey.count_without(NoReading::Refused),
        skipped: survey.count_without(NoReading::Skipped),
        not_reached: survey.not_reached(),
        median: curve.median(),
        median_interval: median_interval(&curve, settings.confidence),
        lower_quartile: curve.quantile(0.25),
        upper_quartile: curve.quantile(0.75),
        shares: settings
            .marks
            .iter()
            .map(|&mark| ShareShallower::of(&readings, &curve, mark))
            .collect(),
        classes: (0..map.classes.len()).map(|class| class_ground(map, class)).collect(),
        unmapped_m2: map.unmapped.ground_area_m2,
        field_m2: map.field_area_m2,
        moisture: survey.moisture(),
        method: map.method.estimator.kind(),
        rmse_cm: Some(map.method.validation.rmse)
            .filter(|_| !map.method.validation.pairs.is_empty()),
        beats_field_mean: map.method.beats_field_mean(),
        since_first: (number > 0).then(|| since(0)),
        since_before: (number > 0).then(|| since(number - 1)),
        log_rank: (number > 0).then(|| log_rank_of(&visits[0].survey, survey)).flatten(),
    }
}

fn readings(survey: &CheckedSurvey) -> Vec<Reading> {
    survey.spots().iter().map(|spot| spot.reading).collect()
}

fn curve(readings: &[Reading]) -> KaplanMeier {
    KaplanMeier::of(readings).expect("a checked survey has readings")
}

fn class_ground(map: &mapping::DepthMap, class: usize) -> ClassGround {
    ClassGround {
        name: map.classes.name(class),
        from: map.classes.from(class),
        below: map.classes.below(class),
        area_m2: map.class_area_m2(class),
        probes: map.zones.iter().filter(|zone| zone.class == class).map(|zone| zone.probes).sum(),
    }
}

fn median_change(
    earlier: &CheckedSurvey,
    later: &CheckedSurvey,
    settings: &TrendSettings,
) -> MedianChange {
    let median = |survey| curve(&readings(survey)).median();
    MedianChange {
        change: ReadingChange::between(median(earlier), median(later)),
        moisture: MoistureMatch::of(
            earlier.moisture(),
            later.moisture(),
            settings.moisture_within_pct,
        ),
    }
}

fn log_rank_of(first: &CheckedSurvey, later: &CheckedSurvey) -> Option<LogRankTest> {
    let found = log_rank(&[&lifetimes(&readings(first)), &lifetimes(&readings(later))])?;
    Some(LogRankTest { chi_squared: found.chi_squared, p: found.p })
}

fn ranks(visits: &[VisitFigures]) -> Option<RankCorrelations> {
    let ranked = |visit: &VisitFigures| {
        Some(RankedVisit {
            day: visit.days?.first(),
            median: visit.median,
            moisture_pct: visit.moisture.map(|moisture| moisture.mean_pct),
        })
    };
    rank_correlations(&visits.iter().filter_map(ranked).collect::<Vec<_>>())
}
