use super::*;
use crate::stage_date::NoStageDate;
use crate::weather::WeatherDay;
use jiff::civil::date;
use proptest::prelude::*;

const PLANTED: Date = date(2025, 5, 1);

/// Twenty degrees a day for so many days after planting, rain on those listed.
fn weather(days: i32, rain: &[(i32, f64)]) -> Weather {
    let day = |k| WeatherDay {
        date: days_after(PLANTED, k),
        highest_f: Some(80.0),
        lowest_f: Some(60.0),
        rain_mm: Some(rain.iter().find(|(day, _)| *day == k).map_or(0.0, |(_, mm)| *mm)),
    };
    Weather::new((1..=days).map(day).collect()).unwrap()
}

fn corn(visits: &[i32], weather: Option<Weather>) -> SeasonSoFar {
    SeasonSoFar {
        visits: visits.iter().map(|days| day(days_after(PLANTED, *days))).collect(),
        first_day: None,
        planted: Some(PLANTED),
        crop: Some(Crop::Corn),
        observed: Vec::new(),
        weather,
    }
}

fn day(date: Date) -> DateRange {
    DateRange::new(date, date).unwrap()
}

fn plan(season: &SeasonSoFar, today: i32) -> VisitCalendar {
    plan_visits(season, days_after(PLANTED, today), &CalendarSettings::default()).unwrap()
}

fn days(date: Date) -> i32 {
    days_between(PLANTED, date)
}

#[test]
fn gaps_between_visits_are_told_and_late_ones_marked() {
    let calendar = plan(&corn(&[24, -8, 10, 24], None), 30);
    let made: Vec<_> = calendar
        .made
        .iter()
        .map(|visit| (visit.number, visit.days_since, visit.days_late))
        .collect();
    assert_eq!(made, [(1, None, 0), (2, Some(18), 4), (3, Some(14), 0)]);
}

#[test]
fn the_next_visit_is_due_ten_to_fourteen_days_after_the_last() {
    let calendar = plan(&corn(&[10], Some(weather(200, &[]))), 12);
    let next = calendar.planned[0];
    assert_eq!([next.earliest, next.latest, next.date].map(days), [20, 24, 22]);
    assert_eq!((next.number, next.reason), (2, DayReason::Middle));
    assert_eq!(next.degrees.unwrap().sum_f, 440.0);
}

/// 1400 degrees at 20 a day are reached on day 70.
#[test]
fn a_visit_of_several_days_counts_from_its_last() {
    let mut season = corn(&[22], None);
    season.visits.push(DateRange::new(days_after(PLANTED, 8), days_after(PLANTED, 10)).unwrap());
    let calendar = plan(&season, 22);
    assert_eq!(days(calendar.made[0].last_day), 10);
    assert_eq!(calendar.made[1].days_since, Some(12));
    season.visits.pop();
    season.visits[0] = DateRange::new(days_after(PLANTED, 22), days_after(PLANTED, 24)).unwrap();
    assert_eq!(days(plan(&season, 24).planned[0].earliest), 34);
}

#[test]
fn visits_are_planned_to_the_stage() {
    let calendar = plan(&corn(&[0], Some(weather(200, &[]))), 0);
    assert_eq!(calendar.ends, PlanEnd::Stage);
    let windows: Vec<_> = calendar
        .planned
        .iter()
        .map(|visit| [visit.earliest, visit.latest, visit.date].map(days))
        .collect();
    let expected =
        [[10, 14, 12], [22, 26, 24], [34, 38, 36], [46, 50, 48], [58, 62, 60], [70, 74, 70]];
    assert_eq!(windows, expected);
}

#[test]
fn nothing_is_planned_once_the_stage_was_seen() {
    let mut season = corn(&[58, 70], Some(weather(200, &[])));
    season.observed =
        vec![ObservedStage { date: days_after(PLANTED, 66), stage: Stage::FLOWERING }];
    let calendar = plan(&season, 75);
    assert_eq!((calendar.planned.len(), calendar.ends), (0, PlanEnd::Stage));
    assert_eq!(calendar.made.len(), 2);
}

#[test]
fn a_window_that_is_over_is_due_today() {
    let calendar = plan(&corn(&[10], Some(weather(200, &[]))), 27);
    let next = calendar.planned[0];
    assert_eq!((days(next.date), next.reason), (27, DayReason::Overdue { days: 3 }));
    assert_eq!(days(calendar.planned[1].earliest), 37);
    let still_open = plan(&corn(&[10], Some(weather(200, &[]))), 24).planned[0];
    assert_eq!((days(still_open.date), still_open.reason), (24, DayReason::Middle));
}

#[test]
fn a_visit_goes_a_day_after_soaking_rain() {
    let rained =
        |rain: &[(i32, f64)], today| plan(&corn(&[10], Some(weather(200, rain))), today).planned[0];
    let after = rained(&[(22, 12.7)], 12);
    assert_eq!(days(after.date), 23);
    let day = days_after(PLANTED, 22);
    let reason = DayReason::AfterRain { rained: day, rain_mm: 12.7, is_ahead: true };
    assert_eq!(after.reason, reason);
    assert_eq!(rained(&[(22, 12.6)], 12).reason, DayReason::Middle, "too little");
    assert_eq!(days(rained(&[(18, 20.0)], 19).date), 20, "two days before");
    assert_eq!(rained(&[(17, 20.0)], 19).reason, DayReason::Middle, "three days before");
    assert_eq!(days(rained(&[(20, 20.0), (21, 20.0)], 12).date), 22, "not in the rain itself");
    assert_eq!(rained(&[(24, 20.0)], 12).reason, DayReason::Middle, "after the window");
    let known = rained(&[(20, 20.0)], 20).reason;
    assert!(matches!(known, DayReason::AfterRain { is_ahead: false, .. }), "{known:?}");
}

#[test]
fn without_weather_the_rhythm_alone_goes_seventy_days_ahead() {
    let calendar = plan(&corn(&[10], None), 12);
    let StageDate::Unknown(why) = &calendar.stage else { panic!("{:?}", calendar.stage) };
    assert_eq!(*why, NoStageDate::NoDegrees(NoDegrees::NoWeather));
    let end = days_after(PLANTED, 82);
    assert_eq!(calendar.ends, PlanEnd::Ahead(end));
    let dates: Vec<_> = calendar.planned.iter().map(|visit| days(visit.date)).collect();
    assert_eq!(dates, [22, 34, 46, 58, 70, 82]);
    assert!(calendar.planned.iter().all(|visit| visit.degrees.is_none()));
}

#[test]
fn the_first_visit_is_due_from_the_first_day_on() {
    let mut season = corn(&[], None);
    let first = plan(&season, 0).planned[0];
    assert_eq!((days(first.date), first.reason, first.number), (0, DayReason::First, 1));
    season.first_day = Some(days_after(PLANTED, -20));
    assert_eq!(days(plan(&season, -25).planned[0].date), -20);
    season.planted = None;
    season.first_day = None;
    let error =
        plan_visits(&season, PLANTED, &CalendarSettings::default()).unwrap_err().to_string();
    assert!(error.contains("planting date"), "{error}");
}

#[test]
fn what_lies_after_today_is_left_out() {
    let mut season = corn(&[10, 22, 40], Some(weather(200, &[])));
    let seen = ObservedStage { date: days_after(PLANTED, 68), stage: Stage::FLOWERING };
    season.observed = vec![seen];
    let calendar = plan(&season, 25);
    assert_eq!(calendar.made.len(), 2);
    assert_eq!(calendar.left_out, [days_after(PLANTED, 40), seen.date]);
    assert!(matches!(calendar.stage, StageDate::Estimated { .. }));
}

#[test]
fn a_plan_ends_on_the_day_asked_for() {
    let season = corn(&[10], Some(weather(200, &[])));
    let until = |day| CalendarSettings {
        until: Some(days_after(PLANTED, day)),
        ..CalendarSettings::default()
    };
    let today = days_after(PLANTED, 10);
    let short = plan_visits(&season, today, &until(33)).unwrap();
    assert_eq!((short.planned.len(), short.ends), (2, PlanEnd::Until(days_after(PLANTED, 33))));
    assert_eq!(days(short.planned[1].date), 33, "not behind the end");
    assert_eq!(plan_visits(&season, today, &until(90)).unwrap().ends, PlanEnd::Stage);
    assert_eq!(
        plan_visits(&season, today, &until(70)).unwrap().ends,
        PlanEnd::Stage,
        "the same day"
    );
    let error = plan_visits(&season, today, &until(411)).unwrap_err();
    assert!(error.to_string().contains("400 days"), "{error}");
}

/// Nothing is planned for a day after the last one, however late the visit is or well it rained.
#[test]
fn no_visit_is_planned_behind_the_end() {
    let until = |day| CalendarSettings {
        until: Some(days_after(PLANTED, day)),
        ..CalendarSettings::default()
    };
    let planned = |season: &SeasonSoFar, today, settings: &CalendarSettings| {
        let calendar = plan_visits(season, days_after(PLANTED, today), settings).unwrap();
        calendar.planned.iter().map(|visit| days(visit.date)).collect::<Vec<_>>()
    };
    // Until day 33, today day 60.
    assert_eq!(planned(&corn(&[10], None), 60, &until(33)), [0; 0]);
    // Until day 33, rain on day 34 and on day 33.
    for rain in [[(34, 20.0)], [(33, 20.0)]] {
        let season = corn(&[22], Some(weather(200, &rain)));
        assert_eq!(planned(&season, 22, &until(33)), [33]);
    }
    // Silking was seen on day 30, today is day 100.
    let mut season = corn(&[10], Some(weather(200, &[])));
    season.observed =
        vec![ObservedStage { date: days_after(PLANTED, 30), stage: Stage::FLOWERING }];
    assert_eq!(planned(&season, 100, &CalendarSettings::default()), [0; 0]);
    // The stage is estimated for day 70, rain on day 71.
    let season = corn(&[58], Some(weather(200, &[(71, 20.0)])));
    assert_eq!(planned(&season, 60, &CalendarSettings::default()), [70]);
}

#[test]
fn days_that_are_over_are_none_to_go() {
    let next = |today| {
        let next = plan(&corn(&[10], Some(weather(200, &[]))), today).planned[0];
        next.days_left(days_after(PLANTED, today)).map(|left| left.map(days))
    };
    assert_eq!([next(12), next(22), next(24)], [Some([20, 24]), Some([22, 24]), Some([24, 24])]);
    assert_eq!(next(25), None);
}

#[test]
fn stages_seen_backwards_are_refused() {
    let mut season = corn(&[10], None);
    season.observed = vec![
        ObservedStage { date: days_after(PLANTED, 50), stage: Stage::Leaves(8) },
        ObservedStage { date: days_after(PLANTED, 40), stage: Stage::Tassel },
    ];
    let today = days_after(PLANTED, 60);
    let error = plan_visits(&season, today, &CalendarSettings::default()).unwrap_err();
    assert!(error.to_string().contains("do not grow backwards"), "{error}");
}

#[test]
fn visits_go_over_leap_days_and_new_year() {
    let season = SeasonSoFar {
        visits: [date(2023, 12, 26), date(2024, 2, 20)].map(day).into(),
        planted: None,
        ..corn(&[], None)
    };
    let calendar = plan_visits(&season, date(2024, 2, 20), &CalendarSettings::default()).unwrap();
    assert_eq!(calendar.made[1].days_since, Some(56));
    assert_eq!(calendar.planned[0].date, date(2024, 3, 3));
}

#[test]
fn a_year_of_another_time_is_a_typing_error() {
    let mut season = corn(&[10], None);
    season.planted = Some(date(225, 5, 1));
    let error = plan_visits(&season, PLANTED, &CalendarSettings::default()).unwrap_err();
    assert_eq!(error, SeasonError::OddDate { date: date(225, 5, 1) });
}

proptest! {
    #[test]
    fn windows_follow_each_other_in_the_rhythm(
        visits in prop::collection::vec(-40..120_i32, 0..9),
        today in -40..150_i32,
        reach in 0..200_i32,
        rain in prop::collection::vec((0..200_i32, 0.0..40.0_f64), 0..20),
        (shortest, more) in (1..20_i32, 0..10_i32),
        until in prop::option::of(-40..200_i32),
    ) {
        let season = corn(&visits, (reach > 0).then(|| weather(reach, &rain)));
        let rhythm = Rhythm::new(shortest, shortest + more).unwrap();
        let until = until.map(|day| days_after(PLANTED, day));
        let settings = CalendarSettings { rhythm, until, ..CalendarSettings::default() };
        let today = days_after(PLANTED, today);
        let last_day = |calendar: &VisitCalendar| match (&calendar.stage, calendar.ends) {
            (_, PlanEnd::Until(day) | PlanEnd::Ahead(day)) => day,
            (StageDate::Seen(seen), PlanEnd::Stage) => seen.date,
            (StageDate::Estimated { last, .. }, PlanEnd::Stage) => last.date,
            (StageDate::Unknown(_), PlanEnd::Stage) => unreachable!("it ends at a stage"),
        };
        let calendar = plan_visits(&season, today, &settings).unwrap();
        for (k, visit) in calendar.planned.iter().enumerate() {
            prop_assert!(visit.date >= today && visit.date >= visit.earliest);
            prop_assert!(visit.date <= last_day(&calendar), "{} {:?}", visit.date, calendar.ends);
            prop_assert!(visit.date <= visit.latest || visit.date == today);
            prop_assert_eq!(visit.number, calendar.made.len() + k + 1);
        }
        for pair in calendar.planned.windows(2) {
            let days = days_between(pair[0].date, pair[1].date);
            prop_assert!((shortest..=shortest + more).contains(&days), "{}", days);
        }
        prop_assert!(!calendar.made.is_empty() || !calendar.planned.is_empty()
            || matches!(calendar.ends, PlanEnd::Stage | PlanEnd::Until(_)));
        prop_assert!(calendar.planned.len() < 500);
    }
}
