//! The built command plans visits: what it says, what it writes, and what it asks for.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

#[path = "support/mod.rs"]
mod support;

use std::fs;
use std::path::Path;

use support::{Run, assert_as_kept, demo, loosedepth, root};

fn calendar(folder: &Path, args: &[&str]) -> Run {
    loosedepth(folder, &[&["calendar"], args].concat())
}

/// Runs where all must go well, and gives the table.
fn table(args: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let run = calendar(folder.path(), args);
    assert_eq!((run.exit, run.stderr.as_str()), (0, ""), "{args:?}\n{}", run.stdout);
    run.stdout
}

fn line<'t>(text: &'t str, start: &str) -> &'t str {
    text.lines().find(|line| line.starts_with(start)).unwrap_or_else(|| panic!("{start}\n{text}"))
}

/// A weather file of so many days from a day on, all alike.
fn weather(folder: &Path, first: &str, days: i32) -> String {
    let first: survey::Date = first.parse().unwrap();
    let mut day = first;
    let mut text = String::from("date,tmax_f,tmin_f,rain_in\n");
    for _ in 0..days {
        text += &format!("{day},80,60,0\n");
        day = day.tomorrow().unwrap();
    }
    let path = folder.join("weather.csv");
    fs::write(&path, text).unwrap();
    path.display().to_string()
}

#[test]
fn the_demo_season_in_june_is_told_whole() {
    let field = root().join("demo-data/north-bench").display().to_string();
    assert_as_kept(&table(&[&field, "--today", "2025-06-15"]), "calendar_demo.txt");
}

#[test]
fn the_demo_season_ends_in_mid_july() {
    let field = root().join("demo-data/north-bench").display().to_string();
    let text = table(&[&field]);
    assert!(text.contains("today is taken as 2025-08-24, the day of the last visit"), "{text}");
    assert!(text.contains("estimated between 2025-07-07 and 2025-07-17"), "{text}");
    assert!(text.contains("temperatures measured up to then"), "{text}");
    assert!(line(&text, "next visit:").contains("none is due"), "{text}");
    assert_eq!(text.lines().filter(|line| line.contains("  2025-")).count(), 12);
    assert!(!text.contains("late"), "every gap of the demo season is in the rhythm");
    let seen = table(&[&field, "--observed", "2025-07-14:R1"]);
    assert!(seen.contains("Silking (R1) of corn was seen on 2025-07-14."), "{seen}");
}

#[test]
fn an_overdue_visit_is_to_be_made_at_once_and_none_behind_the_end() {
    let made = ["--visit", "2025-05-20", "--today", "2025-06-30"];
    let late = table(&[&made[..], &["--until", "2025-07-30"]].concat());
    let next = "next visit: 2025-06-30 (overdue by 27 days: go now; it was due by 2025-06-03)";
    assert_eq!(line(&late, "next visit:"), next);
    assert!(!late.contains("2025-05-30"), "no day of its window is left\n{late}");
    let over = table(&[&made[..], &["--until", "2025-06-03"]].concat());
    assert_eq!(line(&over, "next visit:"), "next visit: none is due up to 2025-06-03");
}

#[test]
fn the_same_plan_gives_the_same_files_and_nothing_is_replaced_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let field = root().join("demo-data/north-bench").display().to_string();
    let args = [&field, "--today", "2025-06-15", "--out", "out"];
    let run = calendar(folder.path(), &args);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(run.stdout.ends_with("wrote calendar.ics, calendar.csv into out\n"), "{}", run.stdout);
    let read = |name: &str| fs::read_to_string(folder.path().join("out").join(name)).unwrap();
    let (ics, csv) = (read("calendar.ics"), read("calendar.csv"));
    let again = calendar(folder.path(), &args);
    assert_eq!(again.exit, 1);
    assert!(again.stderr.contains("give --replace"), "{}", again.stderr);
    assert_eq!(calendar(folder.path(), &[&args[..], &["--replace"]].concat()).exit, 0);
    assert_eq!((read("calendar.ics"), read("calendar.csv")), (ics.clone(), csv.clone()));
    let visits = csv.lines().filter(|line| !line.starts_with(',')).count() - 1;
    assert_eq!(ics.matches("BEGIN:VEVENT").count(), visits + 1, "the stage is an event too");
    assert!(ics.contains("DTSTAMP:20250615T000000Z\r\n") && !ics.contains("VALARM"));
}

#[test]
fn without_weather_the_rhythm_alone_is_planned_and_said() {
    let text = table(&["--planted", "2025-05-06", "--crop", "corn", "--visit", "2025-05-20"]);
    assert!(
        text.contains("cannot be told: no weather is given. Give --weather FILE.csv"),
        "{text}"
    );
    assert!(text.contains("planned 70 days ahead, to 2025-07-29, by the rhythm alone"), "{text}");
    assert!(text.contains("no rain is known"), "{text}");
    let next = "next visit: 2025-06-01, any day from 2025-05-30 to 2025-06-03 (within the rhythm)";
    assert_eq!(line(&text, "next visit:"), next);
}

#[test]
fn soybean_needs_the_stage_that_was_seen() {
    let folder = tempfile::tempdir().unwrap();
    let weather = weather(folder.path(), "2025-05-01", 150);
    let args = ["--planted", "2025-05-10", "--crop", "soybean", "--weather", &weather];
    let text = table(&[&args[..], &["--today", "2025-06-20"]].concat());
    assert!(
        text.contains(
            "When flowering (R1) of soybean is reached cannot be told: soybean flowers by day \
             length, so no sum of degrees tells when. Look for the first flower and give the day \
             you see it: --observed DATE:R1."
        ),
        "{text}"
    );
    let seen = [&args[..], &["--observed", "2025-07-02:R1", "--visit", "2025-06-28"]].concat();
    let text = table(&seen);
    assert!(
        text.contains("today is taken as 2025-07-02, the day of the last stage seen"),
        "{text}"
    );
    assert!(text.contains("none is due, the stage was reached\n"), "{text}");
}

#[test]
fn weather_that_ends_early_is_projected_and_said() {
    let folder = tempfile::tempdir().unwrap();
    let weather = weather(folder.path(), "2025-05-01", 31);
    let args = ["--planted", "2025-05-06", "--crop", "corn", "--weather", &weather];
    let text = table(&[&args[..], &["--today", "2025-05-31"]].concat());
    // 20 a day: 1400 after 70 days, on 15 July; 1135 on the 57th day, 2 July.
    assert!(text.contains("estimated between 2025-07-02 and 2025-07-15"), "{text}");
    assert!(
        text.contains("from 2025-06-01 on each day counts 20.0, the mean of the last 14"),
        "{text}"
    );
    assert!(text.contains("projected: each day counts the mean"), "{text}");
    let late = ["--planted", "2025-06-05", "--crop", "corn", "--weather", &weather];
    let text = table(&late);
    assert!(text.contains("the weather ends on 2025-05-31, before the first day after"), "{text}");
}

#[test]
fn what_is_no_weather_is_told_in_one_line() {
    let folder = tempfile::tempdir().unwrap();
    let survey = demo("visits/2025-04-14.geojson");
    for (bytes, part) in [
        (&b""[..], "w.csv: the file is empty"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\0", "w.csv: not text"),
        (b"date,rain_in\n2025-05-01,0\n", "w.csv: no column tmax_f or tmax_c"),
        (b"date,tmax_f,tmin_f\n1/2/2025,60,40\n", "w.csv: none of its 1 lines"),
        (b"date,tmax_f,tmin_f\n", "w.csv: there is no line below the header"),
    ] {
        fs::write(folder.path().join("w.csv"), bytes).unwrap();
        let run = calendar(folder.path(), &["--planted", "2025-05-06", "--weather", "w.csv"]);
        assert_eq!((run.exit, run.stdout.as_str()), (1, ""), "{part}");
        assert!(
            run.stderr.starts_with("error: w.csv") && run.stderr.contains(part),
            "{}",
            run.stderr
        );
        assert_eq!(run.stderr.lines().count(), 1, "{}", run.stderr);
    }
    let run = calendar(folder.path(), &["--planted", "2025-05-06", "--weather", &survey]);
    assert!(run.exit == 1 && run.stderr.contains("daily weather comes as CSV"), "{}", run.stderr);
}

#[test]
fn faults_of_single_days_and_gaps_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = weather(folder.path(), "2025-05-01", 120);
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replace("2025-06-03,80,60", "2025-06-03,60,80")).unwrap();
    let args = ["--planted", "2025-05-06", "--crop", "corn", "--weather", "weather.csv"];
    let run = calendar(folder.path(), &[&args[..], &["--today", "2025-08-01"]].concat());
    assert_eq!(run.exit, 3);
    assert_eq!(
        run.stderr,
        "fault: line 35: tmax_f 60 is below tmin_f 80; left out\n\
         note: the weather lacks temperatures on 1 day between 2025-06-03 and 2025-06-03\n"
    );
    assert!(
        run.stdout.contains("1 day without temperatures, from 2025-06-03 on"),
        "{}",
        run.stdout
    );
    assert!(run.stdout.contains("gaps filled"), "{}", run.stdout);
}

#[test]
fn visits_go_over_leap_days_and_new_year() {
    let text = table(&["--visit", "2023-12-25", "--visit", "2024-02-20", "--until", "2024-03-10"]);
    assert!(line(&text, "  2 ").contains(" 57 "), "{text}");
    assert!(line(&text, "  2 ").ends_with("43 days late"), "{text}");
    let next = "next visit: 2024-03-03, any day from 2024-03-01 to 2024-03-05 (within the rhythm)";
    assert_eq!(line(&text, "next visit:"), next);
}

#[test]
fn a_field_without_visits_begins_at_planting() {
    let folder = tempfile::tempdir().unwrap();
    let settings = "name = \"Home\"\ncrop = \"corn\"\nplanted = 2025-05-06\n";
    fs::write(folder.path().join("loosedepth.toml"), settings).unwrap();
    let run = calendar(folder.path(), &["."]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    assert!(run.stdout.starts_with("Home: a visit every 10 to 14 days to silking (R1) of corn\n"));
    let next = line(&run.stdout, "next visit:");
    assert_eq!(next, "next visit: 2025-05-06, any day from 2025-05-06 to 2025-05-10 (first visit)");
    fs::create_dir(folder.path().join("visits")).unwrap();
    assert_eq!(calendar(folder.path(), &["."]).exit, 0);
}

#[test]
fn rain_moves_a_visit() {
    let folder = tempfile::tempdir().unwrap();
    let path = weather(folder.path(), "2025-05-01", 60);
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replace("2025-05-31,80,60,0", "2025-05-31,80,60,0.8")).unwrap();
    let args = [
        "--planted",
        "2025-05-06",
        "--visit",
        "2025-05-20",
        "--weather",
        "weather.csv",
        "--today",
        "2025-05-31",
    ];
    let run = calendar(folder.path(), &args);
    let next = "next visit: 2025-06-01, any day from 2025-05-31 to 2025-06-03 (1 day after 0.8 in of rain)";
    assert_eq!(line(&run.stdout, "next visit:"), next);
    let dry = calendar(folder.path(), &[&args[..], &["--soaking-rain", "1in"]].concat());
    assert!(line(&dry.stdout, "next visit:").ends_with("(within the rhythm)"), "{}", dry.stdout);
}

#[test]
fn arguments_that_do_not_fit_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("a.geojson"), "{}").unwrap();
    for (args, exit, part) in [
        (&[][..], 2, "nothing says when the season begins"),
        (&["a.geojson"], 2, "takes the folder of a field"),
        (&["--planted", "2025-05-06", "--observed", "2025-07-01:R1"], 2, "give --crop"),
        (&["--planted", "2025-05-06", "--to-stage", "VT"], 2, "give --crop"),
        (
            &["--planted", "2025-05-06", "--crop", "corn", "--to-stage", "R9"],
            1,
            "corn has no stage",
        ),
        (&["--planted", "2025-05-06", "--visits-every", "14..10"], 2, "make no rhythm"),
        (&["--planted", "2025-05-06", "--observed", "yesterday"], 2, "DATE:STAGE"),
        (&["--planted", "0225-05-06"], 1, "is the year right?"),
        (&["--planted", "2025-05-06", "--until", "2027-05-06"], 1, "plan in smaller steps"),
        (&["--planted", "2025-05-06", "--soaking-rain", "0in"], 2, "above zero"),
        (&["--planted", "2025-05-06", "--replace"], 2, "--out"),
    ] {
        let run = calendar(folder.path(), args);
        assert_eq!((run.exit, run.stdout.as_str()), (exit, ""), "{args:?}: {}", run.stderr);
        assert!(run.stderr.contains(part), "{args:?}: {}", run.stderr);
    }
}

#[test]
fn a_stage_of_another_year_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let args = ["calendar", "--planted", "2025-05-06", "--crop", "corn", "--observed"];
    let run = loosedepth(folder.path(), &[&args[..], &["2024-07-12:R1"]].concat());
    assert_eq!(run.exit, 1, "{}", run.stdout);
    for word in ["R1", "2024-07-12", "planted on 2025-05-06", "is the year right?"] {
        assert!(run.stderr.contains(word), "{word} is not in {}", run.stderr);
    }
}
