//! When a field was visited, and when it is to be visited next.
//!
//! A field is visited every 10 to 14 days from spring to the crop's reproductive stage (common practice).
//! A planned visit has a window, so many days after the visit before it, and one day in it: a day or two
//! after a soaking rain, when the soil is near field capacity and readings of different dates compare best, where the
//! weather file has such a rain; else the middle. Each later window counts from the day of the planned visit
//! before it. Visits are planned as long as their day comes no later than the stage is reached, or the last
//! day asked for; once that is over none is.
//!
//! Nothing here reads a clock: what is done and what lies ahead is told by `today`.

use survey::{Date, DateRange};

use crate::crop_stage::{Crop, ObservedStage, Stage};
use crate::days::{days_after, days_between};
use crate::error::SeasonError;
use crate::growing_degrees::{DegreeSum, GrowingDegrees, NoDegrees};
use crate::rhythm::Rhythm;
use crate::stage_date::{StageDate, stage_date};
use crate::visit_dates::{VisitGap, gaps};
use crate::weather::Weather;

/// How far ahead is planned where it cannot be told when the stage is reached: about as long as from
/// planting to silking, six to eight visits.
pub const DAYS_WITHOUT_STAGE: i32 = 70;

/// The farthest day that may be planned to.
pub const MOST_DAYS_AHEAD: i32 = 400;

/// Rain of a day that soaks the soil, 0.5 in: common practice, it depends on soil and season.
pub const USUAL_SOAKING_RAIN_MM: f64 = 12.7;

/// What is known of a season.
#[derive(Debug, Clone)]
pub struct SeasonSoFar {
    /// The days of each visit made, in any order; one that comes twice counts once.
    pub visits: Vec<DateRange>,
    /// The first day on which to go where no visit is made; `None` is the planting date.
    pub first_day: Option<Date>,
    /// When the crop was planted.
    pub planted: Option<Date>,
    /// Which crop.
    pub crop: Option<Crop>,
    /// Stages that were seen, in any order.
    pub observed: Vec<ObservedStage>,
    /// The weather.
    pub weather: Option<Weather>,
}

/// How visits are planned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CalendarSettings {
    /// How often.
    pub rhythm: Rhythm,
    /// To which stage.
    pub target: Stage,
    /// To which day at most; `None` is to the stage, or [`DAYS_WITHOUT_STAGE`] days where that is unknown.
    pub until: Option<Date>,
    /// Rain of one day that soaks the soil, millimetres.
    pub soaking_rain_mm: f64,
}

impl Default for CalendarSettings {
    /// Every 10 to 14 days to flowering (silking).
    fn default() -> Self {
        CalendarSettings {
            rhythm: Rhythm::default(),
            target: Stage::FLOWERING,
            until: None,
            soaking_rain_mm: USUAL_SOAKING_RAIN_MM,
        }
    }
}

/// Visits made and planned.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitCalendar {
    /// The day that divides done from planned.
    pub today: Date,
    /// Visits up to today, in order.
    pub made: Vec<MadeVisit>,
    /// Visits to make, in order; the first is due next.
    pub planned: Vec<PlannedVisit>,
    /// When the stage is reached.
    pub stage: StageDate,
    /// Why the plan ends where it does.
    pub ends: PlanEnd,
    /// Growing degrees since planting, or why there are none.
    pub degrees: Result<GrowingDegrees, NoDegrees>,
    /// Visits and observations that lie after today and were left out.
    pub left_out: Vec<Date>,
}

/// A visit that was made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MadeVisit {
    /// Its number in the season, the first is 1.
    pub number: usize,
    /// Its first day.
    pub date: Date,
    /// Its last day; a large field may take more than one.
    pub last_day: Date,
    /// How many days after the last day of the one before; `None` for the first.
    pub days_since: Option<i32>,
    /// How many days later than the rhythm allows; 0 in time.
    pub days_late: i32,
    /// Growing degrees at the end of the day, where they are known.
    pub degrees: Option<DegreeSum>,
}

/// A visit to make.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlannedVisit {
    /// Its number in the season, counted on from the visits made.
    pub number: usize,
    /// The first day of its window.
    pub earliest: Date,
    /// The last day of its window.
    pub latest: Date,
    /// The day to go: in the window, or today where that is over.
    pub date: Date,
    /// Why that day.
    pub reason: DayReason,
    /// Growing degrees at the end of that day, where they can be told.
    pub degrees: Option<DegreeSum>,
}

impl PlannedVisit {
    /// The first and the last day of its window that are still to come, today among them; `None` where the
    /// window is over.
    pub fn days_left(&self, today: Date) -> Option<[Date; 2]> {
        (self.latest >= today).then(|| [self.earliest.max(today), self.latest])
    }
}

/// Why a visit is planned for a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DayReason {
    /// It is the first of the season.
    First,
    /// It lies in the middle of the window, or as near to it as today and the end of the plan allow.
    Middle,
    /// A day or two after a soaking rain.
    AfterRain {
        /// The day of the rain.
        rained: Date,
        /// How much fell, millimetres.
        rain_mm: f64,
        /// Whether that day lies after today: a forecast, or known only in hindsight.
        is_ahead: bool,
    },
    /// The window is over: go at once.
    Overdue {
        /// How many days ago it ended.
        days: i32,
    },
}

/// Why a plan ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlanEnd {
    /// At the stage.
    Stage,
    /// On the day that was asked for, which comes before the stage or without one.
    Until(Date),
    /// Some weeks ahead, on this day, since it cannot be told when the stage is reached.
    Ahead(Date),
}

/// Plans the visits of a season.
///
/// # Errors
/// When nothing says on which day to begin, a day is not of the years 1900 to 2199, stages were seen in
/// an impossible order, or the plan would reach more than [`MOST_DAYS_AHEAD`] days ahead.
pub fn plan_visits(
    season: &SeasonSoFar,
    today: Date,
    settings: &CalendarSettings,
) -> Result<VisitCalendar, SeasonError> {
    let first_day = season.first_day.or(season.planted);
    let start = season.visits.iter().map(|visit| visit.first()).min().or(first_day);
    let start = start.ok_or(SeasonError::NoFirstDay)?;
    refuse_odd_dates(season, today)?;
    if let Some(until) = settings.until.filter(|day| days_between(today, *day) > MOST_DAYS_AHEAD) {
        return Err(SeasonError::TooFar { until, today, most: MOST_DAYS_AHEAD });
    }
    let days = season.visits.iter().map(|visit| (visit.first(), visit.last()));
    let (visits, left_out_visits) = up_to(days, today, |(first, _)| *first);
    let (observed, left_out_stages) =
        up_to(season.observed.iter().copied(), today, |seen| seen.date);
    refuse_before_planting(&observed, season.planted)?;
    refuse_backwards(&observed)?;
    let degrees = growing_degrees_of(season, today);
    let stage = stage_date(season.crop.as_ref(), settings.target, &observed, degrees.as_ref());
    let last_visit = visits.last().map(|(_, last)| *last);
    let begin = last_visit.unwrap_or(first_day.unwrap_or(start));
    let (last_day, ends) = plan_end(&stage, settings.until, begin.max(today));
    let on = |date| degrees.as_ref().ok().and_then(|degrees| degrees.on(date));
    let planner = Planner { season, settings, today, last_day };
    let mut planned = planner.windows(visits.len(), last_visit, begin);
    planned.iter_mut().for_each(|visit| visit.degrees = on(visit.date));
    let mut made = made_visits(&visits, settings.rhythm);
    made.iter_mut().for_each(|visit| visit.degrees = on(visit.date));
    let left_out = left_out_visits.into_iter().map(|(first, _)| first);
    let left_out = left_out.chain(left_out_stages.iter().map(|seen| seen.date));
    let left_out = left_out.collect();
    Ok(VisitCalendar { today, made, planned, stage, ends, degrees, left_out })
}

/// What lies up to today and what after, each in order and once.
fn up_to<T: Copy + Ord>(
    all: impl Iterator<Item = T>,
    today: Date,
    day: impl Fn(&T) -> Date,
) -> (Vec<T>, Vec<T>) {
    let mut all: Vec<T> = all.collect();
    all.sort_unstable();
    all.dedup();
    all.into_iter().partition(|one| day(one) <= today)
}

/// A year with too few or too many digits is a typing error, and no calendar file can hold it.
fn refuse_odd_dates(season: &SeasonSoFar, today: Date) -> Result<(), SeasonError> {
    let single = [Some(today), season.first_day, season.planted];
    let visits = season.visits.iter().flat_map(|visit| [visit.first(), visit.last()]);
    let seen = season.observed.iter().map(|seen| seen.date);
    let mut dates = single.into_iter().flatten().chain(visits).chain(seen);
    match dates.find(|date| !(1900..2200).contains(&date.year())) {
        Some(date) => Err(SeasonError::OddDate { date }),
        None => Ok(()),
    }
}

fn refuse_before_planting(
    observed: &[ObservedStage],
    planted: Option<Date>,
) -> Result<(), SeasonError> {
    let Some(planted) = planted else { return Ok(()) };
    match observed.iter().find(|seen| seen.date <= planted) {
        Some(seen) => Err(SeasonError::SeenBeforePlanting {
            stage: seen.stage.to_string(),
            on: seen.date,
            planted,
        }),
        None => Ok(()),
    }
}

fn refuse_backwards(observed: &[ObservedStage]) -> Result<(), SeasonError> {
    match observed.windows(2).find(|pair| pair[1].stage < pair[0].stage) {
        Some([first, second]) => Err(SeasonError::Backwards {
            later: first.stage.to_string(),
            on: first.date,
            earlier: second.stage.to_string(),
            after: second.date,
        }),
        _ => Ok(()),
    }
}

fn growing_degrees_of(season: &SeasonSoFar, today: Date) -> Result<GrowingDegrees, NoDegrees> {
    let weather = season.weather.as_ref().ok_or(NoDegrees::NoWeather)?;
    GrowingDegrees::since(season.planted.ok_or(NoDegrees::NotPlanted)?, weather, today)
}

/// The last day on which to go, and why.
fn plan_end(stage: &StageDate, until: Option<Date>, from: Date) -> (Date, PlanEnd) {
    let reached = match stage {
        StageDate::Seen(seen) => Some(seen.date),
        StageDate::Estimated { last, .. } => Some(last.date),
        StageDate::Unknown(_) => None,
    };
    match (reached, until) {
        (Some(reached), Some(until)) if until < reached => (until, PlanEnd::Until(until)),
        (Some(reached), _) => (reached, PlanEnd::Stage),
        (None, Some(until)) => (until, PlanEnd::Until(until)),
        (None, None) => {
            let ahead = days_after(from, DAYS_WITHOUT_STAGE);
            (ahead, PlanEnd::Ahead(ahead))
        }
    }
}

fn made_visits(visits: &[(Date, Date)], rhythm: Rhythm) -> Vec<MadeVisit> {
    let ranges: Vec<DateRange> = visits
        .iter()
        .map(|(first, last)| DateRange::new(*first, *last).expect("they came from a range"))
        .collect();
    let gaps = gaps(&ranges, rhythm);
    let before = std::iter::once(None).chain(gaps.into_iter().map(Some));
    let visit = |(k, (days, gap)): (usize, (&DateRange, Option<VisitGap>))| MadeVisit {
        number: k + 1,
        date: days.first(),
        last_day: days.last(),
        days_since: gap.map(|gap| gap.days),
        days_late: gap.map_or(0, |gap| gap.late_by),
        degrees: None,
    };
    ranges.iter().zip(before).enumerate().map(visit).collect()
}

/// Plans one window after the other.
struct Planner<'a> {
    season: &'a SeasonSoFar,
    settings: &'a CalendarSettings,
    today: Date,
    /// The last day on which to go.
    last_day: Date,
}

impl Planner<'_> {
    /// The visits after so many made, the last of them on `last`; the first of all from `begin` on.
    fn windows(&self, made: usize, last: Option<Date>, begin: Date) -> Vec<PlannedVisit> {
        let rhythm = self.settings.rhythm;
        let mut planned: Vec<PlannedVisit> = Vec::new();
        let mut before = last;
        loop {
            let earliest = before.map_or(begin, |day| days_after(day, rhythm.shortest_days()));
            let span = rhythm.longest_days() - rhythm.shortest_days();
            let latest = days_after(earliest, span);
            if earliest.max(self.today) > self.last_day {
                return planned;
            }
            let (date, reason) = self.day(before, earliest, latest);
            let number = made + planned.len() + 1;
            planned.push(PlannedVisit { number, earliest, latest, date, reason, degrees: None });
            before = Some(date);
        }
    }

    /// The day to go within a window, and why.
    fn day(&self, before: Option<Date>, earliest: Date, latest: Date) -> (Date, DayReason) {
        if latest < self.today {
            let days = days_between(latest, self.today);
            return (self.today, DayReason::Overdue { days });
        }
        let from = earliest.max(self.today);
        if let Some((day, reason)) = self.after_rain(from, latest.min(self.last_day)) {
            return (day, reason);
        }
        match before {
            None => (from, DayReason::First),
            Some(before) => {
                let middle = days_after(before, self.settings.rhythm.middle_days());
                (middle.min(self.last_day).max(from), DayReason::Middle)
            }
        }
    }

    /// The first day of a window that is a day or two after a soaking rain, without one itself.
    fn after_rain(&self, from: Date, latest: Date) -> Option<(Date, DayReason)> {
        let soaking = |day: Date| {
            let rain_mm = self.season.weather.as_ref()?.on(day)?.rain_mm?;
            (rain_mm >= self.settings.soaking_rain_mm).then_some(rain_mm)
        };
        (0..=days_between(from, latest)).map(|days| days_after(from, days)).find_map(|day| {
            let rained = [1, 2].map(|days| days_after(day, -days)).into_iter();
            let (rained, rain_mm) = rained.filter_map(|day| Some((day, soaking(day)?))).next()?;
            let is_ahead = rained > self.today;
            let reason = DayReason::AfterRain { rained, rain_mm, is_ahead };
            soaking(day).is_none().then_some((day, reason))
        })
    }
}

#[cfg(test)]
#[path = "calendar_tests.rs"]
mod tests;
