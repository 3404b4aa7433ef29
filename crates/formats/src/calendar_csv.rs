//! Visits made and planned as a table: RFC 4180 (IETF, October 2005), section 2, with line feeds. UTF-8,
//! comma, decimal point, a header; an empty field is not known.

use season::calendar_words::reason_text;
use season::{Crop, DegreeSum, MadeVisit, PlannedVisit, Stage, StageDate, VisitCalendar};
use survey::{Date, UnitSystem};

const HEADER: &str = "visit,status,date,earliest,latest,days_since_last,days_late,growing_degrees_f,\
                      degrees_are,why";

/// One line a visit, in order, then one for the stage where it can be told when it is reached. `status` is
/// `made`, `planned`, `stage seen` or `stage estimated`; of a made visit `earliest` and `latest` are empty,
/// of a planned one the days of its window that are left, none where it is overdue.
/// `growing_degrees_f` are 86/50 °F since planting at the end of the day, and `degrees_are` says on
/// what they rest.
pub fn calendar_csv(
    calendar: &VisitCalendar,
    crop: Option<&Crop>,
    target: Stage,
    units: UnitSystem,
) -> String {
    let made = calendar.made.iter().map(made_line);
    let planned = calendar.planned.iter().map(|visit| planned_line(visit, calendar.today, units));
    let stage = stage_line(&calendar.stage, crop, target);
    let lines = [HEADER.to_owned()].into_iter().chain(made).chain(planned).chain(stage);
    lines.map(|line| line + "\n").collect()
}

fn made_line(visit: &MadeVisit) -> String {
    line(&[
        visit.number.to_string(),
        "made".into(),
        visit.date.to_string(),
        String::new(),
        String::new(),
        visit.days_since.map_or(String::new(), |days| days.to_string()),
        visit.days_late.to_string(),
        degrees(visit.degrees),
        source(visit.degrees),
        String::new(),
    ])
}

fn planned_line(visit: &PlannedVisit, today: Date, units: UnitSystem) -> String {
    let left = visit.days_left(today).map(|days| days.map(|day| day.to_string()));
    let [earliest, latest] = left.unwrap_or_default();
    line(&[
        visit.number.to_string(),
        "planned".into(),
        visit.date.to_string(),
        earliest,
        latest,
        String::new(),
        String::new(),
        degrees(visit.degrees),
        source(visit.degrees),
        reason_text(visit.reason, visit.date, units),
    ])
}

fn stage_line(stage: &StageDate, crop: Option<&Crop>, target: Stage) -> Option<String> {
    let name = crop.map_or_else(|| target.to_string(), |crop| crop.stage_name(target));
    let line_of = |status: &str, date: String, window: [Date; 2], last: Option<DegreeSum>, why| {
        let [earliest, latest] = window.map(|date| date.to_string());
        let empty = String::new;
        let status = status.to_owned();
        let (degrees, source) = (degrees(last), source(last));
        line(&[empty(), status, date, earliest, latest, empty(), empty(), degrees, source, why])
    };
    match stage {
        StageDate::Unknown(_) => None,
        StageDate::Seen(seen) => {
            let why = format!("{name}: {} was seen", seen.stage);
            Some(line_of("stage seen", seen.date.to_string(), [seen.date; 2], None, why))
        }
        StageDate::Estimated { first, last, .. } => {
            let why = format!("{name}: an estimate, look at the plants");
            let window = [first.date, last.date];
            Some(line_of("stage estimated", String::new(), window, Some(*last), why))
        }
    }
}

fn degrees(sum: Option<DegreeSum>) -> String {
    sum.map_or(String::new(), |sum| format!("{:.1}", sum.sum_f))
}

fn source(sum: Option<DegreeSum>) -> String {
    sum.map_or(String::new(), |sum| sum.source.word().to_owned())
}

fn line(fields: &[String]) -> String {
    let quoted = |field: &String| match field.contains([',', '"']) {
        true => format!("\"{}\"", field.replace('"', "\"\"")),
        false => field.clone(),
    };
    fields.iter().map(quoted).collect::<Vec<_>>().join(",")
}

#[cfg(test)]
mod tests {
    use super::*;
    use season::{CalendarSettings, ObservedStage, SeasonSoFar, Weather, WeatherDay, plan_visits};

    /// Twenty degrees a day in May 2025, planted on the first; on the 20th 0.6 in of rain.
    fn season() -> SeasonSoFar {
        let day = |number: i8| WeatherDay {
            date: Date::constant(2025, 5, number),
            highest_f: Some(80.0),
            lowest_f: Some(60.0),
            rain_mm: Some(if number == 20 { 15.24 } else { 0.0 }),
        };
        SeasonSoFar {
            visits: ["2025-04-20", "2025-05-08..2025-05-09"].map(|day| day.parse().unwrap()).into(),
            first_day: None,
            planted: Some(Date::constant(2025, 5, 1)),
            crop: Some(Crop::Corn),
            observed: Vec::new(),
            weather: Some(Weather::new((1..=31).map(day).collect()).unwrap()),
        }
    }

    fn csv(season: &SeasonSoFar) -> String {
        let settings = CalendarSettings {
            until: Some(Date::constant(2025, 6, 3)),
            ..CalendarSettings::default()
        };
        let today = Date::constant(2025, 5, 20);
        let calendar = plan_visits(season, today, &settings).unwrap();
        calendar_csv(&calendar, season.crop.as_ref(), Stage::FLOWERING, UnitSystem::Us)
    }

    #[test]
    fn one_line_a_visit_and_one_for_the_stage() {
        let expected = "\
visit,status,date,earliest,latest,days_since_last,days_late,growing_degrees_f,degrees_are,why
1,made,2025-04-20,,,,0,,,
2,made,2025-05-08,,,18,4,140.0,measured,
3,planned,2025-05-21,2025-05-20,2025-05-23,,,400.0,after today,1 day after 0.6 in of rain
4,planned,2025-06-02,2025-05-31,2025-06-04,,,640.0,projected,within the rhythm
,stage estimated,,2025-06-27,2025-07-10,,,1400.0,projected,\"silking (R1): an estimate, look at the plants\"
";
        assert_eq!(csv(&season()), expected);
    }

    #[test]
    fn a_stage_that_was_seen_is_one_day() {
        let mut season = season();
        let date = Date::constant(2025, 5, 20);
        season.observed = vec![ObservedStage { date, stage: Stage::Reproductive(2) }];
        let last = csv(&season).lines().last().unwrap().to_owned();
        let expected = ",stage seen,2025-05-20,2025-05-20,2025-05-20,,,,,silking (R1): R2 was seen";
        assert_eq!(last, expected);
        season.observed.clear();
        season.crop = Some(Crop::Soybean);
        assert!(!csv(&season).contains("stage"), "nothing is told that is not known");
    }
}
