//! When a crop reaches a stage: seen, or estimated from growing degrees.
//!
//! What was seen wins. A stage at or behind the one asked for, once seen, ends the question. An earlier one
//! for which degrees are published moves the estimate: what is left of the degrees is counted from the day
//! it was seen. Without any, degrees count from planting. The estimate is a window. For silking of corn it
//! opens when the first tassels may show and closes at the figure of silking, since tassel and silk follow
//! each other within days and in cool years may come in either order.

use survey::Date;

use crate::crop_stage::{Crop, ObservedStage, Stage};
use crate::days::days_after;
use crate::growing_degrees::{DegreeSum, Gap, GrowingDegrees, NoDegrees};

/// When a stage is reached.
#[derive(Debug, Clone, PartialEq)]
pub enum StageDate {
    /// Somebody saw it, or one behind it: it was reached on this day or before.
    Seen(ObservedStage),
    /// Growing degrees say between these two days; each day's sum says on what it rests.
    Estimated {
        /// The first day of the window.
        first: DegreeSum,
        /// The last day of the window, the figure of the stage itself.
        last: DegreeSum,
        /// The stage that was seen, from which degrees were counted; `None` from planting.
        counted_from: Option<ObservedStage>,
    },
    /// It cannot be told.
    Unknown(NoStageDate),
}

/// Why it cannot be told when a stage is reached.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "each variant's text says what it is")]
pub enum NoStageDate {
    #[error("the crop is not given")]
    NoCrop,
    #[error("soybean flowers by day length, so no sum of degrees tells when")]
    ByDayLength,
    #[error("no figure in growing degrees is known for this crop and stage")]
    NoFigure,
    #[error(transparent)]
    NoDegrees(#[from] NoDegrees),
    #[error(
        "{} days without temperatures, {} to {}, are too many to count across", gap.days(), gap.first, gap.last
    )]
    Broken { gap: Gap },
    #[error(
        "the weather does not reach it, and at the mean of its last known days no day within a year of planting \
         does"
    )]
    NotWithinYear,
    #[error(
        "the degrees say it was reached by {modelled}, but {stage} was seen on {seen}: the plants are \
         right"
    )]
    SeenBehind { modelled: Date, stage: Stage, seen: Date },
}

/// When a crop reaches a stage, from what was seen (in any order) and from growing degrees.
pub fn stage_date(
    crop: Option<&Crop>,
    target: Stage,
    observed: &[ObservedStage],
    degrees: Result<&GrowingDegrees, &NoDegrees>,
) -> StageDate {
    let mut observed = observed.to_vec();
    observed.sort_unstable();
    if let Some(seen) = observed.iter().find(|seen| seen.stage >= target) {
        return StageDate::Seen(*seen);
    }
    match estimate(crop, target, &observed, degrees) {
        Ok(estimated) => estimated,
        Err(why) => StageDate::Unknown(why),
    }
}

fn estimate(
    crop: Option<&Crop>,
    target: Stage,
    observed: &[ObservedStage],
    degrees: Result<&GrowingDegrees, &NoDegrees>,
) -> Result<StageDate, NoStageDate> {
    let crop = crop.ok_or(NoStageDate::NoCrop)?;
    if *crop == Crop::Soybean {
        return Err(NoStageDate::ByDayLength);
    }
    let figures = crop.degrees_to(target).ok_or(NoStageDate::NoFigure)?;
    let degrees = degrees.map_err(|why| *why)?;
    let known = |seen: &&ObservedStage| {
        seen.date >= degrees.planted && crop.degrees_to(seen.stage).is_some()
    };
    let counted_from = observed.iter().rev().find(known).copied();
    let [least_f, most_f] = left(crop, target, figures, counted_from);
    let from = counted_from.map_or(degrees.planted, |seen| seen.date);
    let unreached = || match degrees.broken {
        Some(gap) => NoStageDate::Broken { gap },
        None => NoStageDate::NotWithinYear,
    };
    let last = degrees.reaches_from(from, most_f).ok_or_else(unreached)?;
    let first = degrees.reaches_from(from, least_f).unwrap_or(last);
    let after_seen = match observed.last() {
        Some(seen) if seen.date >= last.date => {
            let (modelled, stage, seen) = (last.date, seen.stage, seen.date);
            return Err(NoStageDate::SeenBehind { modelled, stage, seen });
        }
        // It was not reached when the plants were looked at.
        Some(seen) if seen.date >= first.date => degrees.on(days_after(seen.date, 1)),
        _ => None,
    };
    Ok(StageDate::Estimated { first: after_seen.unwrap_or(first), last, counted_from })
}

/// The degrees left to a stage, the least and the most, from planting or from a stage that was seen.
fn left(
    crop: &Crop,
    target: Stage,
    figures: [f64; 2],
    counted_from: Option<ObservedStage>,
) -> [f64; 2] {
    let done = counted_from.and_then(|seen| crop.degrees_to(seen.stage)).unwrap_or([0.0, 0.0]);
    let has_tassel = counted_from.is_some_and(|seen| seen.stage >= Stage::Tassel);
    let tassel = crop.degrees_to(Stage::Tassel).filter(|_| !has_tassel);
    let opens = match (target, tassel) {
        (Stage::FLOWERING, Some([least_f, _])) => least_f,
        _ => figures[0],
    };
    [(opens - done[1]).max(0.0), (figures[1] - done[0]).max(0.0)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::growing_degrees::DegreeSource;
    use crate::weather::{Weather, WeatherDay};
    use jiff::civil::date;

    const PLANTED: Date = date(2025, 5, 1);

    /// So many days with 20 degrees each from the day after planting on.
    fn degrees(days: i32, today: Date) -> GrowingDegrees {
        let day = |k| WeatherDay {
            date: days_after(PLANTED, k),
            highest_f: Some(80.0),
            lowest_f: Some(60.0),
            rain_mm: None,
        };
        let weather = Weather::new((1..=days).map(day).collect()).unwrap();
        GrowingDegrees::since(PLANTED, &weather, today).unwrap()
    }

    fn of_corn(target: Stage, observed: &[ObservedStage], degrees: &GrowingDegrees) -> StageDate {
        stage_date(Some(&Crop::Corn), target, observed, Ok(degrees))
    }

    fn window(date: &StageDate) -> [Date; 2] {
        match date {
            StageDate::Estimated { first, last, .. } => [first.date, last.date],
            other => panic!("no window: {other:?}"),
        }
    }

    fn seen(days: i32, stage: Stage) -> ObservedStage {
        ObservedStage { date: days_after(PLANTED, days), stage }
    }

    /// 1135 / 20 = 56.75, 1200 / 20 = 60, 1400 / 20 = 70, 2400 / 20 = 120, 2600 / 20 = 130.
    #[test]
    fn corn_reaches_its_stages_by_its_figures() {
        let degrees = degrees(200, date(2025, 12, 1));
        for (stage, days) in [
            (Stage::Tassel, [57, 60]),
            (Stage::FLOWERING, [57, 70]),
            (Stage::Reproductive(6), [120, 130]),
        ] {
            let expected = days.map(|days| days_after(PLANTED, days));
            assert_eq!(window(&of_corn(stage, &[], &degrees)), expected, "{stage}");
        }
    }

    #[test]
    fn a_projected_day_says_so() {
        let degrees = degrees(30, days_after(PLANTED, 30));
        let StageDate::Estimated { last, .. } = of_corn(Stage::FLOWERING, &[], &degrees) else {
            panic!("no estimate");
        };
        assert_eq!((last.date, last.source), (days_after(PLANTED, 70), DegreeSource::Projected));
    }

    #[test]
    fn what_was_seen_wins() {
        let degrees = degrees(200, date(2025, 12, 1));
        let silks = seen(63, Stage::FLOWERING);
        let milk = seen(80, Stage::Reproductive(3));
        let found = of_corn(Stage::FLOWERING, &[milk, silks], &degrees);
        assert_eq!(found, StageDate::Seen(silks));
        assert_eq!(of_corn(Stage::Tassel, &[milk], &degrees), StageDate::Seen(milk));
    }

    /// V8 (600) seen on day 40: 1135 − 600 = 535 and 1400 − 600 = 800 degrees are 27 and 40 days.
    /// Tassel (1135 to 1200) seen on day 62: 200 to 265 degrees are 10 to 14 days.
    #[test]
    fn degrees_are_counted_from_the_last_stage_seen_that_has_a_figure() {
        let degrees = degrees(200, date(2025, 12, 1));
        let leaves = seen(40, Stage::Leaves(8));
        let found = of_corn(Stage::FLOWERING, &[leaves], &degrees);
        assert_eq!(window(&found), [67, 80].map(|days| days_after(PLANTED, days)));
        let tassel = seen(62, Stage::Tassel);
        let found = of_corn(Stage::FLOWERING, &[tassel, leaves], &degrees);
        assert_eq!(window(&found), [72, 76].map(|days| days_after(PLANTED, days)));
    }

    #[test]
    fn a_stage_seen_late_moves_the_window_or_ends_it() {
        let degrees = degrees(200, date(2025, 12, 1));
        let moved = of_corn(Stage::FLOWERING, &[seen(60, Stage::Leaves(16))], &degrees);
        assert_eq!(window(&moved), [61, 70].map(|days| days_after(PLANTED, days)));
        let behind = of_corn(Stage::FLOWERING, &[seen(70, Stage::Leaves(16))], &degrees);
        let StageDate::Unknown(why) = behind else { panic!("{behind:?}") };
        assert!(why.to_string().contains("V16 was seen on 2025-07-10"), "{why}");
    }

    #[test]
    fn what_cannot_be_told_says_why() {
        let degrees = degrees(200, date(2025, 12, 1));
        let soybean = stage_date(Some(&Crop::Soybean), Stage::FLOWERING, &[], Ok(&degrees));
        assert_eq!(soybean, StageDate::Unknown(NoStageDate::ByDayLength));
        let none = stage_date(None, Stage::FLOWERING, &[], Ok(&degrees));
        assert_eq!(none, StageDate::Unknown(NoStageDate::NoCrop));
        let dry = stage_date(Some(&Crop::Corn), Stage::FLOWERING, &[], Err(&NoDegrees::NoWeather));
        let expected = NoStageDate::NoDegrees(NoDegrees::NoWeather);
        assert_eq!(dry, StageDate::Unknown(expected));
        let dent = of_corn(Stage::Reproductive(5), &[], &degrees);
        assert_eq!(dent, StageDate::Unknown(NoStageDate::NoFigure));
    }
}
