//! Visits as iCalendar: RFC 5545 (IETF, September 2009).
//!
//! Section 3.1: lines end in CR LF and take at most 75 octets, longer ones are folded between characters;
//! 3.3.11: backslash, semicolon, comma and line end are escaped in a text; 3.6.1: an event of whole days has
//! `DTSTART;VALUE=DATE`, and `DTEND` is the day after its last. `DTSTAMP` (3.8.7.2) is the beginning of
//! `today` in UTC, so that the same plan gives the same bytes. A `UID` (3.8.4.7) depends on the field, the season
//! and the number of the visit alone: a file that is read into a calendar again moves the visits instead
//! of doubling them. It is a UUID of version 8 (RFC 9562, section 5.8). `NAME` is of RFC 7986, section 5.1.

use season::calendar_words::{CAUTIONS, WHAT_TO_DO, reason_text, stage_sentence, target_text};
use season::{Crop, MadeVisit, PlannedVisit, Stage, StageDate, VisitCalendar};
use sha2::{Digest, Sha256};
use survey::{Date, UnitSystem};

use crate::plain_text::plain;

/// The longest line, without its end.
const MOST_OCTETS: usize = 75;

/// What a calendar file is made from.
#[derive(Debug, Clone, Copy)]
pub struct CalendarFile<'a> {
    /// The program's version.
    pub version: &'a str,
    /// The field's name.
    pub field_name: &'a str,
    /// When the crop was planted; with the field's name it tells seasons apart.
    pub planted: Option<Date>,
    /// The crop.
    pub crop: Option<&'a Crop>,
    /// To which stage is planned.
    pub target: Stage,
    /// The visits.
    pub calendar: &'a VisitCalendar,
    /// Units of what is written in words.
    pub units: UnitSystem,
    /// Planned visits ring so many days before, at midnight of the reader's zone; `None` rings never.
    pub remind_days: Option<u32>,
}

/// One event a visit, made ones confirmed and planned ones tentative, then one for the stage where it can
/// be told when it is reached; all of whole days, none makes anybody busy.
pub fn calendar_ics(file: &CalendarFile) -> String {
    let mut lines = Lines::default();
    lines.add("BEGIN", "VCALENDAR");
    lines.add("VERSION", "2.0");
    lines.add("PRODID", &format!("-//loosedepth//loosedepth {}//EN", text(file.version)));
    lines.add("CALSCALE", "GREGORIAN");
    lines.add("NAME", &text(&format!("{}: visits", file.field_name)));
    for visit in &file.calendar.made {
        add_made(&mut lines, file, visit);
    }
    for visit in &file.calendar.planned {
        add_planned(&mut lines, file, visit);
    }
    add_stage(&mut lines, file);
    lines.add("END", "VCALENDAR");
    lines.text
}

fn add_made(lines: &mut Lines, file: &CalendarFile, visit: &MadeVisit) {
    let since = visit.days_since.map(|days| match visit.days_late {
        0 => format!("Made {days} days after the visit before."),
        late => format!("Made {days} days after the visit before, {late} later than planned for."),
    });
    begin(lines, file, &format!("visit {}", visit.number), [visit.date, visit.last_day]);
    let summary = format!("{}: visit {} (made)", file.field_name, visit.number);
    lines.add("SUMMARY", &text(&summary));
    lines.add("DESCRIPTION", &text(&since.unwrap_or("The first visit of the season.".into())));
    end(lines, "CONFIRMED");
}

fn add_planned(lines: &mut Lines, file: &CalendarFile, visit: &PlannedVisit) {
    begin(lines, file, &format!("visit {}", visit.number), [visit.date; 2]);
    let summary = format!("{}: visit {}, probe the loose layer", file.field_name, visit.number);
    lines.add("SUMMARY", &text(&summary));
    lines.add("DESCRIPTION", &paragraphs(&what_to_do(file, visit)));
    if let Some(days) = file.remind_days {
        lines.add("BEGIN", "VALARM");
        lines.add("ACTION", "DISPLAY");
        lines.add("TRIGGER", &format!("-P{days}D"));
        lines.add("DESCRIPTION", &text(&summary));
        lines.add("END", "VALARM");
    }
    end(lines, "TENTATIVE");
}

/// When and why, what to do, what to mind.
fn what_to_do(file: &CalendarFile, visit: &PlannedVisit) -> Vec<String> {
    let reason = reason_text(visit.reason, visit.date, file.units);
    let window = match visit.days_left(file.calendar.today) {
        Some([first, last]) => format!("Any day from {first} to {last}; {reason}."),
        None => format!("It was due by {}; {reason}.", visit.latest),
    };
    let degrees = visit.degrees.map(|sum| {
        let (degrees, source) = (sum.sum_f, sum.source.word());
        format!("Growing degrees since planting by then: {degrees:.0} °F ({source}).")
    });
    let steps = WHAT_TO_DO.iter().map(|step| format!("- {step}"));
    let cautions = CAUTIONS.iter().map(|caution| format!("- {caution}"));
    [window]
        .into_iter()
        .chain(degrees)
        .chain(["What to do:".into()])
        .chain(steps)
        .chain(["Cautions:".into()])
        .chain(cautions)
        .collect()
}

fn add_stage(lines: &mut Lines, file: &CalendarFile) {
    let (days, word, status) = match &file.calendar.stage {
        StageDate::Unknown(_) => return,
        StageDate::Seen(seen) => ([seen.date; 2], "seen", "CONFIRMED"),
        StageDate::Estimated { first, last, .. } => {
            ([first.date, last.date], "estimated", "TENTATIVE")
        }
    };
    let name = target_text(file.crop, file.target);
    let degrees = file.calendar.degrees.as_ref().ok();
    let sentence = stage_sentence(file.crop, file.target, &file.calendar.stage, degrees);
    begin(lines, file, &format!("stage {}", file.target), days);
    lines.add("SUMMARY", &text(&format!("{}: {name} ({word})", file.field_name)));
    lines.add("DESCRIPTION", &text(&sentence));
    end(lines, status);
}

/// The beginning of an event from one day to another, both included.
fn begin(lines: &mut Lines, file: &CalendarFile, what: &str, [first, last]: [Date; 2]) {
    lines.add("BEGIN", "VEVENT");
    lines.add("UID", &uid(file, what));
    lines.add("DTSTAMP", &format!("{}T000000Z", date(file.calendar.today)));
    lines.add("DTSTART;VALUE=DATE", &date(first));
    let after = last.tomorrow().expect("plan_visits takes no day near the calendar's end");
    lines.add("DTEND;VALUE=DATE", &date(after));
}

fn end(lines: &mut Lines, status: &str) {
    lines.add("STATUS", status);
    lines.add("TRANSP", "TRANSPARENT");
    lines.add("END", "VEVENT");
}

/// A UUID of version 8 out of the field's name, the year of the season and what it is.
fn uid(file: &CalendarFile, what: &str) -> String {
    let first = file.calendar.made.first().map(|visit| visit.date);
    let first = first.or(file.calendar.planned.first().map(|visit| visit.date));
    let year = file.planted.or(first).unwrap_or(file.calendar.today).year();
    let name = plain(file.field_name);
    let mut bytes = Sha256::digest(format!("loosedepth\n{name}\n{year}\n{what}"));
    bytes[6] = (bytes[6] & 0x0f) | 0x80;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    let digits: String = bytes[..16].iter().map(|byte| format!("{byte:02x}")).collect();
    let parts = [&digits[..8], &digits[8..12], &digits[12..16], &digits[16..20], &digits[20..]];
    parts.join("-")
}

fn date(date: Date) -> String {
    format!("{:04}{:02}{:02}", date.year(), date.month(), date.day())
}

/// A text of one line, escaped.
fn text(text: &str) -> String {
    let plain = plain(text);
    plain.replace('\\', "\\\\").replace(';', "\\;").replace(',', "\\,")
}

fn paragraphs(texts: &[String]) -> String {
    texts.iter().map(|one| text(one)).collect::<Vec<_>>().join("\\n")
}

/// Content lines, folded and ended.
#[derive(Default)]
struct Lines {
    text: String,
}

impl Lines {
    fn add(&mut self, name: &str, value: &str) {
        let mut octets = 0;
        for c in format!("{name}:{value}").chars() {
            if octets + c.len_utf8() > MOST_OCTETS {
                self.text.push_str("\r\n ");
                octets = 1;
            }
            self.text.push(c);
            octets += c.len_utf8();
        }
        self.text.push_str("\r\n");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use season::{CalendarSettings, Rhythm, SeasonSoFar, plan_visits};

    fn visits(made: &[&str], today: &str) -> VisitCalendar {
        let season = SeasonSoFar {
            visits: made.iter().map(|days| days.parse().unwrap()).collect(),
            first_day: None,
            planted: None,
            crop: None,
            observed: Vec::new(),
            weather: None,
        };
        let settings = CalendarSettings {
            rhythm: Rhythm::new(12, 12).unwrap(),
            until: Some("2025-03-01".parse().unwrap()),
            ..CalendarSettings::default()
        };
        plan_visits(&season, today.parse().unwrap(), &settings).unwrap()
    }

    fn file<'a>(field_name: &'a str, calendar: &'a VisitCalendar) -> CalendarFile<'a> {
        CalendarFile {
            version: "1.2.3",
            field_name,
            planted: None,
            crop: None,
            target: Stage::FLOWERING,
            calendar,
            units: UnitSystem::Us,
            remind_days: None,
        }
    }

    fn unfolded(text: &str) -> Vec<String> {
        text.replace("\r\n ", "").split("\r\n").map(str::to_owned).collect()
    }

    #[test]
    fn a_made_visit_is_one_day_and_confirmed() {
        let calendar = visits(&["2024-12-20", "2025-02-28"], "2025-03-05");
        let text = calendar_ics(&file("Åsa; Höhe, 2\\3", &calendar));
        let lines = unfolded(&text);
        let expected = [
            "BEGIN:VCALENDAR",
            "VERSION:2.0",
            "PRODID:-//loosedepth//loosedepth 1.2.3//EN",
            "CALSCALE:GREGORIAN",
            "NAME:Åsa\\; Höhe\\, 2\\\\3: visits",
            "BEGIN:VEVENT",
        ];
        assert_eq!(lines[..6], expected);
        assert_eq!(lines[7], "DTSTAMP:20250305T000000Z");
        assert!(text.contains("DTSTART;VALUE=DATE:20250228\r\nDTEND;VALUE=DATE:20250301\r\n"));
        assert!(text.contains("SUMMARY:Åsa\\; Höhe\\, 2\\\\3: visit 2 (made)\r\n"));
        assert!(text.contains("Made 70 days after the visit before\\, 58 later"), "{text}");
        assert_eq!(text.matches("STATUS:CONFIRMED").count(), 2);
        assert!(!text.contains("TENTATIVE"), "the plan ends on 1 March");
    }

    #[test]
    fn a_visit_keeps_its_uid_when_it_moves() {
        let uids = |calendar: &VisitCalendar, name: &str| {
            let lines = unfolded(&calendar_ics(&file(name, calendar)));
            lines.into_iter().filter(|line| line.starts_with("UID:")).collect::<Vec<_>>()
        };
        let before = uids(&visits(&["2025-01-06"], "2025-01-06"), "A");
        let after = uids(&visits(&["2025-01-06", "2025-01-21"], "2025-01-22"), "A");
        assert_eq!(before[..4], after[..4]);
        let all: std::collections::BTreeSet<_> = before.iter().collect();
        assert_eq!(all.len(), before.len());
        assert_ne!(before[0], uids(&visits(&["2025-01-06"], "2025-01-06"), "B")[0]);
        assert_ne!(before[0], uids(&visits(&["2024-01-06"], "2025-01-06"), "A")[0]);
        let is_hyphen = |k: usize| [8, 13, 18, 23].contains(&k);
        let uid = before[0].strip_prefix("UID:").unwrap();
        assert!(uid.chars().enumerate().all(|(k, c)| (c == '-') == is_hyphen(k)), "{uid}");
        assert_eq!((uid.len(), &uid[14..15]), (36, "8"));
    }

    #[test]
    fn a_planned_visit_says_what_to_do_and_rings_only_when_asked() {
        let calendar = visits(&["2025-01-06"], "2025-01-06");
        let mut asked = file("A", &calendar);
        let text = calendar_ics(&asked);
        assert!(!text.contains("VALARM"));
        let described = unfolded(&text).into_iter().filter(|line| line.contains("Cautions:"));
        let described: Vec<String> = described.collect();
        assert_eq!(described.len(), calendar.planned.len());
        assert!(described[0].starts_with("DESCRIPTION:Any day from 2025-01-18 to 2025-01-18\\; "));
        asked.remind_days = Some(2);
        let ringing = calendar_ics(&asked);
        assert!(ringing.contains("BEGIN:VALARM\r\nACTION:DISPLAY\r\nTRIGGER:-P2D\r\n"));
        assert_eq!(ringing.matches("END:VALARM").count(), calendar.planned.len());
    }

    #[test]
    fn an_overdue_visit_names_no_past_days_to_go() {
        let text = calendar_ics(&file("A", &visits(&["2025-01-06"], "2025-01-28")));
        let lines = unfolded(&text);
        let described: Vec<&String> =
            lines.iter().filter(|line| line.contains("Cautions:")).collect();
        let start = "DESCRIPTION:It was due by 2025-01-18\\; overdue by 10 days: go now.";
        assert!(described[0].starts_with(start), "{}", described[0]);
        assert!(
            described[1].starts_with("DESCRIPTION:Any day from 2025-02-09"),
            "{}",
            described[1]
        );
    }

    proptest! {
        #[test]
        fn lines_are_short_and_hold_what_was_put_in(name in any::<String>()) {
            let calendar = visits(&["2025-01-06"], "2025-02-20");
            let text = calendar_ics(&file(&name, &calendar));
            prop_assert!(text.ends_with("END:VCALENDAR\r\n"));
            for line in text.split("\r\n") {
                prop_assert!(line.len() <= MOST_OCTETS && !line.contains(['\r', '\n']), "{}", line);
            }
            let lines = unfolded(&text);
            let escaped = super::text(&format!("{name}: visits"));
            let expected = format!("NAME:{escaped}");
            prop_assert_eq!(&lines[4], &expected);
            prop_assert!(lines.iter().filter(|line| !line.is_empty()).all(|line| line.contains(':')));
        }
    }
}
