//! The calendar of a field as text for the terminal: visits made, visits planned, when the stage is reached,
//! and on what all that rests.

use season::calendar_words::{
    CAUTIONS, WHAT_TO_DO, days_text, rain_text, reason_text, stage_sentence, target_text,
};
use season::{
    CalendarSettings, DegreeSource, DegreeSum, GrowingDegrees, MadeVisit, NoDegrees, NoStageDate,
    PlanEnd, PlannedVisit, SeasonSoFar, StageDate, VisitCalendar,
};
use survey::UnitSystem;

use crate::plan_table::table;
use crate::words::listed;

/// What the text is made from.
#[derive(Debug, Clone, Copy)]
pub struct CalendarTable<'a> {
    pub field_name: &'a str,
    pub season: &'a SeasonSoFar,
    pub calendar: &'a VisitCalendar,
    pub settings: &'a CalendarSettings,
    pub today_is: TodayIs,
    /// Whether the weather file has rain.
    pub has_rain: bool,
    pub units: UnitSystem,
}

/// Where today comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TodayIs {
    /// The user said it.
    Given,
    LastVisit,
    LastStage,
    FirstDay,
    Planting,
}

/// The text, block by block.
pub fn calendar(of: &CalendarTable) -> String {
    let calendar = of.calendar;
    let blocks = [
        Some(head(of)),
        (!calendar.made.is_empty()).then(|| made(&calendar.made)),
        Some(next(of)),
        (!calendar.planned.is_empty()).then(|| planned(of)),
        Some(stage(of)),
        listed("what these figures rest on", &basis(of)),
        (!calendar.planned.is_empty()).then(|| listed("what to do there", &WHAT_TO_DO)).flatten(),
        (!calendar.planned.is_empty()).then(|| listed("cautions", &CAUTIONS)).flatten(),
    ];
    blocks.into_iter().flatten().collect::<Vec<_>>().join("\n\n") + "\n"
}

fn head(of: &CalendarTable) -> String {
    let target = target_text(of.season.crop.as_ref(), of.settings.target);
    let planted = match of.season.planted {
        Some(day) => format!("planted {day}"),
        None => "day of planting not known".into(),
    };
    let today = of.calendar.today;
    let today = match of.today_is {
        TodayIs::Given => format!("today {today}"),
        TodayIs::LastVisit => taken(today, "the last visit"),
        TodayIs::LastStage => taken(today, "the last stage seen"),
        TodayIs::FirstDay => taken(today, "the first visit"),
        TodayIs::Planting => taken(today, "planting"),
    };
    let rhythm = of.settings.rhythm;
    format!("{}: a visit every {rhythm} to {target}\n{planted}; {today}", of.field_name)
}

fn taken(today: survey::Date, what: &str) -> String {
    format!("today is taken as {today}, the day of {what} (another: --today DATE)")
}

fn made(visits: &[MadeVisit]) -> String {
    let header = ["visit", "made on", "days since", "growing degrees", "which are", ""];
    let rows = visits.iter().map(|visit| {
        let remark = match visit.days_late {
            0 => String::new(),
            days => format!("{} late", days_text(days)),
        };
        let since = visit.days_since.map_or_else(none, |days| days.to_string());
        let [degrees, source] = degrees(visit.degrees);
        vec![visit.number.to_string(), visit.date.to_string(), since, degrees, source, remark]
    });
    rows_of(&header, rows)
}

fn planned(of: &CalendarTable) -> String {
    let header =
        ["visit", "go on", "any day from", "to", "growing degrees", "which are", "why that day"];
    let row = |visit: &PlannedVisit| {
        let [degrees, source] = degrees(visit.degrees);
        let left = visit.days_left(of.calendar.today);
        let [first, last] =
            left.map_or_else(|| [none(), none()], |days| days.map(|d| d.to_string()));
        vec![
            visit.number.to_string(),
            visit.date.to_string(),
            first,
            last,
            degrees,
            source,
            reason_text(visit.reason, visit.date, of.units),
        ]
    };
    rows_of(&header, of.calendar.planned.iter().map(row))
}

fn rows_of(header: &[&str], rows: impl Iterator<Item = Vec<String>>) -> String {
    let header = header.iter().map(|&name| name.to_owned()).collect();
    table(&[header].into_iter().chain(rows).collect::<Vec<_>>())
}

fn none() -> String {
    "-".into()
}

fn degrees(sum: Option<DegreeSum>) -> [String; 2] {
    match sum {
        Some(sum) => [format!("{:.0}", sum.sum_f), sum.source.word().into()],
        None => [none(), none()],
    }
}

/// Which visit is due next, and when.
fn next(of: &CalendarTable) -> String {
    match (of.calendar.planned.first(), of.calendar.ends) {
        (Some(next), _) => {
            let reason = reason_text(next.reason, next.date, of.units);
            match next.days_left(of.calendar.today) {
                Some([first, last]) => {
                    format!("next visit: {}, any day from {first} to {last} ({reason})", next.date)
                }
                None => {
                    format!("next visit: {} ({reason}; it was due by {})", next.date, next.latest)
                }
            }
        }
        (None, PlanEnd::Stage) => match &of.calendar.stage {
            StageDate::Seen(_) => "next visit: none is due, the stage was reached".into(),
            _ => {
                "next visit: none is due, the stage was reached by the estimate; look at the plants"
                    .into()
            }
        },
        (None, PlanEnd::Until(day) | PlanEnd::Ahead(day)) => {
            format!("next visit: none is due up to {day}")
        }
    }
}

fn stage(of: &CalendarTable) -> String {
    let degrees = of.calendar.degrees.as_ref().ok();
    let (crop, target) = (of.season.crop.as_ref(), of.settings.target);
    let sentence = stage_sentence(crop, target, &of.calendar.stage, degrees);
    let sentence = plan::capitalised(&sentence);
    match &of.calendar.stage {
        StageDate::Unknown(why) => format!("{sentence} {}", what_to_give(why)),
        _ => sentence,
    }
}

/// What helps where it cannot be told when the stage is reached.
fn what_to_give(why: &NoStageDate) -> &'static str {
    match why {
        NoStageDate::NoCrop => "Give --crop corn, or another.",
        NoStageDate::ByDayLength => {
            "Look for the first flower and give the day you see it: --observed DATE:R1."
        }
        NoStageDate::NoFigure | NoStageDate::SeenBehind { .. } => {
            "Give the day you see it, --observed DATE:STAGE, or the last day to plan to, --until DATE."
        }
        NoStageDate::NoDegrees(NoDegrees::NoWeather) => {
            "Give --weather FILE.csv, or the day you see it, --observed DATE:STAGE."
        }
        NoStageDate::NoDegrees(NoDegrees::NotPlanted) => "Give --planted DATE.",
        NoStageDate::NoDegrees(_) | NoStageDate::Broken { .. } | NoStageDate::NotWithinYear => {
            "Give weather of every day since planting, or the day you see it, --observed DATE:STAGE."
        }
    }
}

/// On what the figures rest, and what was left out.
fn basis(of: &CalendarTable) -> Vec<String> {
    let calendar = of.calendar;
    let mut all = Vec::new();
    if let Ok(degrees) = &calendar.degrees {
        all.push(format!(
            "growing degrees are 86/50 °F since the day after planting, at the end of each day{}",
            words_used(calendar)
        ));
        all.extend(gaps(degrees));
    }
    if let PlanEnd::Ahead(day) = calendar.ends {
        let days = season::DAYS_WITHOUT_STAGE;
        all.push(format!("planned {days} days ahead, to {day}, by the rhythm alone; --until DATE sets another end"));
    }
    all.push(match of.has_rain {
        true => format!(
            "a soaking rain is {} or more in a day (common practice, --soaking-rain); only rain of the \
             weather file counts",
            rain_text(of.settings.soaking_rain_mm, of.units)
        ),
        false => "no rain is known: choose a day in the window a day or two after a soaking rain".into(),
    });
    if !calendar.left_out.is_empty() {
        let days: Vec<String> = calendar.left_out.iter().map(ToString::to_string).collect();
        all.push(format!("after today, so left out: visits or stages of {}", days.join(", ")));
    }
    all
}

/// What the words beside the sums mean, those that stand there.
fn words_used(calendar: &VisitCalendar) -> String {
    let made = calendar.made.iter().filter_map(|visit| visit.degrees);
    let planned = calendar.planned.iter().filter_map(|visit| visit.degrees);
    let mut sources: Vec<DegreeSource> = made.chain(planned).map(|sum| sum.source).collect();
    sources.sort_unstable();
    sources.dedup();
    let meaning = |source: &DegreeSource| match source {
        DegreeSource::Measured => "measured: temperatures of the weather file",
        DegreeSource::Filled => {
            "gap filled: days without temperatures count the mean of their neighbours"
        }
        DegreeSource::Ahead => "after today: the file's figures for days to come, no measurement",
        DegreeSource::Projected => {
            "projected: each day counts the mean of the last known days, a guess"
        }
    };
    sources.iter().map(|source| format!("; {}", meaning(source))).collect()
}

fn gaps(degrees: &GrowingDegrees) -> Vec<String> {
    let days: i32 = degrees.filled.iter().map(|gap| gap.days()).sum();
    let filled = degrees.filled.first().map(|first| {
        format!(
            "{} without temperatures, from {} on, count the mean of their neighbours: left out they would put \
             every stage too late",
            days_text(days),
            first.first
        )
    });
    let broken = degrees.broken.map(|gap| {
        let days = days_text(gap.days());
        format!("{days} without temperatures, {} to {}, end the sum", gap.first, gap.last)
    });
    filled.into_iter().chain(broken).collect()
}
