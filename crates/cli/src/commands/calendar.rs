//! `loosedepth calendar`: when the field was visited and when to go again.

use std::error::Error;
use std::fs;
use std::path::Path;

use formats::{
    CalendarFile, Output, WeatherFile, calendar_csv, calendar_ics, read_weather, refuse_existing,
};
use season::{
    CalendarSettings, Crop, ObservedStage, SeasonSoFar, Stage, VisitCalendar, plan_visits,
};
use survey::{Date, DateRange, UnitSystem};

use crate::args::{CalendarArgs, ReadOptions};
use crate::calendar_table::{self, CalendarTable, TodayIs};
use crate::config::{Config, Visits};
use crate::exit::{Exit, WrongArguments};
use crate::writing::write_files;
use crate::{field_folder, settings, terminal};

const ICS: &str = "calendar.ics";
const CSV: &str = "calendar.csv";
const FILES: [&str; 2] = [ICS, CSV];

/// Millimetres in one metre.
const MM_PER_M: f64 = 1_000.0;

/// Prints the visits made and planned, and writes them where a folder is given.
pub fn run(args: &CalendarArgs) -> Result<Exit, Box<dyn Error>> {
    if let Some(folder) = &args.out {
        refuse_existing(folder, &FILES, args.replace)?;
    }
    let config = match &args.field {
        Some(folder) => config_of(folder)?,
        None => Config::default(),
    };
    let units = args.units.or(config.units).map_or(UnitSystem::Us, settings::unit_system);
    let weather = args.weather.as_ref().or(config.weather.as_ref());
    let weather = weather.map(|path| read_weather(path)).transpose()?.map(|(_, weather)| weather);
    let season = season_so_far(args, &config, weather.as_ref())?;
    let settings = calendar_settings(args, season.crop.as_ref())?;
    let (today, today_is) = today(args, &season)?;
    let calendar = plan_visits(&season, today, &settings)?;
    let name = field_name(args, &config);
    if let Some(folder) = &args.out {
        let files = files(args, &name, &season, &calendar, &settings, units);
        write_files(folder, &files, args.replace)?;
    }
    let weather_findings = weather.as_ref().map_or(&[][..], |weather| &weather.findings);
    terminal::print_findings(weather_findings);
    terminal::print_notes(&notes(weather.as_ref()));
    terminal::print(&calendar_table::calendar(&CalendarTable {
        field_name: &name,
        season: &season,
        calendar: &calendar,
        settings: &settings,
        today_is,
        has_rain: weather.as_ref().is_some_and(|weather| weather.has_rain),
        units,
    }))?;
    if let Some(folder) = &args.out {
        terminal::print(&format!("wrote {} into {}", FILES.join(", "), folder.display()))?;
    }
    Ok(if weather_findings.is_empty() { Exit::Done } else { Exit::Findings })
}

fn config_of(folder: &Path) -> Result<Config, Box<dyn Error>> {
    if folder.is_file() {
        let problem =
            "calendar takes the folder of a field; the days of single visits go with --visit";
        return Err(WrongArguments(format!("{}: {problem}", folder.display())).into());
    }
    field_folder::config_of(folder, None)
}

/// Puts together what flags and the field's settings tell.
fn season_so_far(
    args: &CalendarArgs,
    config: &Config,
    weather: Option<&WeatherFile>,
) -> Result<SeasonSoFar, Box<dyn Error>> {
    let crop = args.crop.as_ref().or(config.crop.as_ref()).map(|name| Crop::from_name(name));
    let mut visits = args.visit.clone();
    if let Some(folder) = &args.field {
        visits.extend(visits_of(folder, config)?);
    }
    Ok(SeasonSoFar {
        visits,
        first_day: args.from,
        planted: args.planted.or(config.planted),
        observed: observed(args, config, crop.as_ref())?,
        crop,
        weather: weather.map(|file| file.weather.clone()),
    })
}

/// The days of a field's visits; early in the year there may be none.
fn visits_of(folder: &Path, config: &Config) -> Result<Vec<DateRange>, Box<dyn Error>> {
    let is_empty = |within: &Path| {
        fs::read_dir(within).map_or(!within.exists(), |mut entries| entries.next().is_none())
    };
    let none_yet = match &config.visits {
        Some(Visits::Files(files)) => files.is_empty(),
        Some(Visits::Folder(within)) => is_empty(within),
        None => is_empty(&folder.join(field_folder::VISITS)),
    };
    if none_yet {
        return Ok(Vec::new());
    }
    let visits = field_folder::visits(folder, config, &ReadOptions::default())?;
    Ok(visits.iter().map(|visit| visit.days).collect())
}

/// Stages that were seen: those of the settings file, then those of the flags.
fn observed(
    args: &CalendarArgs,
    config: &Config,
    crop: Option<&Crop>,
) -> Result<Vec<ObservedStage>, Box<dyn Error>> {
    let kept = config.stages.iter().map(|seen| (seen.date, &seen.stage));
    let given = args.observed.iter().map(|seen| (seen.date, &seen.stage));
    let seen = |(date, stage): (Date, &String)| {
        let crop = crop.ok_or_else(|| WrongArguments(NO_CROP.into()))?;
        Ok(ObservedStage { date, stage: crop.stage(stage)? })
    };
    kept.chain(given).map(seen).collect()
}

const NO_CROP: &str = "a stage is one of a crop: give --crop corn, soybean or another";

fn calendar_settings(
    args: &CalendarArgs,
    crop: Option<&Crop>,
) -> Result<CalendarSettings, Box<dyn Error>> {
    let target = match (&args.to_stage, crop) {
        (None, _) => Stage::FLOWERING,
        (Some(stage), Some(crop)) => crop.stage(stage)?,
        (Some(_), None) => return Err(WrongArguments(NO_CROP.into()).into()),
    };
    let soaking_rain_mm = args.soaking_rain.m() * MM_PER_M;
    if soaking_rain_mm <= 0.0 {
        return Err(WrongArguments("--soaking-rain must be above zero".into()).into());
    }
    let (rhythm, until) = (args.visits_every, args.until);
    Ok(CalendarSettings { rhythm, target, until, soaking_rain_mm })
}

/// The day that parts done from planned, and where it comes from.
fn today(args: &CalendarArgs, season: &SeasonSoFar) -> Result<(Date, TodayIs), WrongArguments> {
    if let Some(today) = args.today {
        return Ok((today, TodayIs::Given));
    }
    let seen = season.observed.iter().map(|seen| seen.date);
    if let Some(last) = season.visits.iter().map(|visit| visit.last()).chain(seen).max() {
        let is_visit = season.visits.iter().any(|visit| visit.contains(last));
        return Ok((last, if is_visit { TodayIs::LastVisit } else { TodayIs::LastStage }));
    }
    match (season.first_day, season.planted) {
        (Some(day), _) => Ok((day, TodayIs::FirstDay)),
        (None, Some(day)) => Ok((day, TodayIs::Planting)),
        (None, None) => Err(WrongArguments(
            "nothing says when the season begins: give the folder of a field, --planted DATE, --from DATE \
             or --visit DATE"
                .into(),
        )),
    }
}

fn field_name(args: &CalendarArgs, config: &Config) -> String {
    let of_folder = || {
        let folder = args.field.as_ref()?.canonicalize().ok()?;
        Some(folder.file_name()?.to_string_lossy().into_owned())
    };
    config.name.clone().or_else(of_folder).unwrap_or_else(|| "field".into())
}

fn files(
    args: &CalendarArgs,
    field_name: &str,
    season: &SeasonSoFar,
    calendar: &VisitCalendar,
    settings: &CalendarSettings,
    units: UnitSystem,
) -> [Output; 2] {
    let (crop, target) = (season.crop.as_ref(), settings.target);
    let ics = calendar_ics(&CalendarFile {
        version: env!("CARGO_PKG_VERSION"),
        field_name,
        planted: season.planted,
        crop,
        target,
        calendar,
        units,
        remind_days: args.remind_days,
    });
    let csv = calendar_csv(calendar, crop, target, units);
    [Output { name: ICS.into(), bytes: ics.into() }, Output { name: CSV.into(), bytes: csv.into() }]
}

/// What the weather file has to say of itself.
fn notes(weather: Option<&WeatherFile>) -> Vec<String> {
    let Some(weather) = weather else { return Vec::new() };
    let gaps = weather.weather.gaps();
    let days: i32 = gaps.iter().map(|gap| gap.days()).sum();
    let lacks = gaps.first().zip(gaps.last()).map(|(first, last)| {
        format!(
            "the weather lacks temperatures on {} between {} and {}",
            season::calendar_words::days_text(days),
            first.first,
            last.last
        )
    });
    let unlisted = (weather.unlisted > 0)
        .then(|| format!("{} more lines of the weather were left out", weather.unlisted));
    lacks.into_iter().chain(unlisted).collect()
}
