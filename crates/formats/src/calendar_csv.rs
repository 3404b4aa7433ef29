//! Visits made and planned as a table: RFC 4180 (IETF, October 2005), section 2, with line feeds. UTF-8,
//! comma, decimal point, a header; an empty field is not known.

use season::calendar_words::reason_text;
use season::{Crop, DegreeSum, MadeVisit, PlannedVisit, Stage, StageDate, VisitCalendar};
use survey::{Date, UnitSystem};

const HEADER: &str = "visit,status,date,earliest,latest,days_since_last,days_late,growing_degrees_f,\
                      degrees_are,why";

/// One line a visit, in order, then one for the stage where it can be told when it is reached. `status` is
/// `made`, `planned`, `stage seen` or `stage estimated`; of a made visit `earliest` and `latest` are empty.
/// `growing_degrees_f` are 86/50 °F since planting at the end of the day, and `degrees_are` says on
/// what they rest.
pub fn calendar_csv(
    calendar: &VisitCalendar,
    crop: Option<&Crop>,
    target: Stage,
    units: UnitSystem,
) -> String {
    let made = calendar.made.iter().map(made_line);
    let planned = calendar.planned.iter().map(|visit| planned_line(visit, units));
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

fn planned_line(visit: &PlannedVisit, units: UnitSystem) -> String {
    line(&[
        visit.number.to_string(),
        "planned".into(),
        visit.date.to_string(),
        visit.earliest.to_string(),
        visit.latest.to_string(),
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
