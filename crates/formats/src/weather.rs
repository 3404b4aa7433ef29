//! Daily weather as a table of text: one line a day, a header with the unit in each name.
//!
//! `date` (ISO 8601), the day's highest and lowest temperature (`tmax_f`, `tmin_f` or `tmax_c`, `tmin_c`)
//! and, if it is there, its rain (`rain_in` or `rain_mm`); other common words for them are known too. Days
//! may stand in any order and may be missing. A line that cannot be read costs one day.

use std::borrow::Cow;
use std::path::Path;

use season::{Weather, WeatherDay, fahrenheit};
use survey::{Date, Finding, RecordKind};

use crate::collector::{MOST_FINDINGS, MOST_RECORDS};
use crate::delimited::Lines;
use crate::error::FormatError;
use crate::input::{InputFile, read_bytes, text};
use crate::recognise::{Format, recognise};
use crate::record::{Comma, Numbers};
use crate::table::{fitting, separator};
use crate::values::{day, number_in, shown, time};
use crate::weather_columns::{WeatherColumn, WeatherColumns};

/// The weather of a file, and what is wrong with single lines of it.
#[derive(Debug, Clone, Default)]
pub struct WeatherFile {
    /// The days that could be read.
    pub weather: Weather,
    /// Lines that were left out, the first ten thousand.
    pub findings: Vec<Finding>,
    /// How many more lines were left out.
    pub unlisted: usize,
    /// Whether a column holds rain.
    pub has_rain: bool,
}

/// The highest and the lowest temperature ever measured on the ground, °F, each with a degree to spare:
/// 134 in Death Valley, 1913, and −128.6 at Vostok, 1983 (World Meteorological Organization, archive of
/// extremes).
const TEMPERATURES_F: std::ops::RangeInclusive<f64> = -130.0..=135.0;

/// More than the most rain of a day ever measured: 1825 mm on Réunion, 1966 (World Meteorological
/// Organization, archive of extremes).
const MOST_RAIN_MM: f64 = 1830.0;

/// Reads daily weather.
///
/// # Errors
/// When the file cannot be read, is no table of text, lacks a column or says one thing in two, or no line
/// of it is usable.
pub fn read_weather(path: &Path) -> Result<(InputFile, WeatherFile), FormatError> {
    let (input, bytes) = read_bytes(path)?;
    if recognise(path, &bytes)? != Format::Table {
        return Err(FormatError::OtherFormat {
            file: path.to_path_buf(),
            what: "not a table of text",
            next: "daily weather comes as CSV with date, tmax_f and tmin_f",
        });
    }
    Ok((input, read(path, text(path, &bytes)?)?))
}

fn read(path: &Path, text: &str) -> Result<WeatherFile, FormatError> {
    let wrong = |problem: String| FormatError::Weather { file: path.to_path_buf(), problem };
    let (skipped, separator) = separator(text);
    let mut lines = Lines::new(text, separator).skip(skipped);
    let (_, header) =
        lines.next().ok_or_else(|| FormatError::Empty { file: path.to_path_buf() })?;
    let header = header.map_err(&wrong)?;
    let columns = WeatherColumns::of(&header).map_err(&wrong)?;
    let comma = if separator == ',' { Comma::Separator } else { Comma::Decimal };
    let numbers = Numbers::Text { comma };
    let mut reader = Reader::default();
    for (line, fields) in lines {
        if reader.lines == MOST_RECORDS {
            let most = MOST_RECORDS / 1_000_000;
            return Err(FormatError::TooManyRecords { file: path.to_path_buf(), most });
        }
        reader.lines += 1;
        let fields = fields.and_then(|fields| fitting(fields, header.len()));
        match fields.and_then(|fields| day_of(&fields, &columns, numbers)) {
            Ok(day) => reader.days.push((day, line)),
            Err(problem) => reader.leave_out(line, problem),
        }
    }
    reader.finish(path, columns.rain.is_some())
}

/// The lines read so far.
#[derive(Default)]
struct Reader {
    lines: usize,
    /// The days, each with the number of its line.
    days: Vec<(WeatherDay, usize)>,
    findings: Vec<Finding>,
    unlisted: usize,
}

impl Reader {
    fn leave_out(&mut self, line: usize, problem: String) {
        match self.findings.len() < MOST_FINDINGS {
            true => {
                let record = (RecordKind::Line, line);
                self.findings.push(Finding::fault(record, None, problem, "left out"));
            }
            false => self.unlisted += 1,
        }
    }

    fn finish(mut self, path: &Path, has_rain: bool) -> Result<WeatherFile, FormatError> {
        let file = || path.to_path_buf();
        if self.lines == 0 {
            let problem = "there is no line below the header".into();
            return Err(FormatError::Weather { file: file(), problem });
        }
        // Stable: of two lines with one day the first stays first.
        self.days.sort_by_key(|(day, _)| day.date);
        let mut days: Vec<(WeatherDay, usize)> = Vec::with_capacity(self.days.len());
        for (day, line) in std::mem::take(&mut self.days) {
            match days.last() {
                Some((known, first)) if known.date == day.date => {
                    let problem = format!("{} stands in line {first} already", day.date);
                    self.leave_out(line, problem);
                }
                _ => days.push((day, line)),
            }
        }
        if days.is_empty() {
            let first = self.findings.first().map_or(String::new(), ToString::to_string);
            return Err(FormatError::NoWeather { file: file(), lines: self.lines, first });
        }
        let weather = Weather::new(days.into_iter().map(|(day, _)| day).collect());
        let weather = weather
            .map_err(|error| FormatError::Weather { file: file(), problem: error.to_string() })?;
        self.findings.sort_by(|a, b| a.subject.cmp(&b.subject));
        let (findings, unlisted) = (self.findings, self.unlisted);
        Ok(WeatherFile { weather, findings, unlisted, has_rain })
    }
}

/// The day that a line tells.
fn day_of(
    fields: &[Cow<str>],
    columns: &WeatherColumns,
    numbers: Numbers,
) -> Result<WeatherDay, String> {
    let date = date_of(&fields[columns.date])?;
    let value = |column: &WeatherColumn| value_of(fields, column, numbers);
    let highest_f = temperature_f(&columns.highest, value(&columns.highest)?)?;
    let lowest_f = temperature_f(&columns.lowest, value(&columns.lowest)?)?;
    if let Some((highest, lowest)) = highest_f.zip(lowest_f).filter(|(high, low)| high < low) {
        let (high, low) = (&columns.highest, &columns.lowest);
        return Err(format!(
            "{} {} is below {} {}",
            high.name,
            high.shown(highest),
            low.name,
            low.shown(lowest)
        ));
    }
    let rain = columns.rain.as_ref();
    let rain_mm = rain.map(|rain| rain_mm(rain, value(rain)?)).transpose()?.flatten();
    Ok(WeatherDay { date, highest_f, lowest_f, rain_mm })
}

fn date_of(field: &str) -> Result<Date, String> {
    let wrong = || format!("{} is not a date like 2025-04-14", shown(field.trim()));
    let (date, rest) = day(field).ok_or_else(wrong)?;
    let is_whole = rest.trim().is_empty() || time(rest).is_some();
    if is_whole { Ok(date) } else { Err(wrong()) }
}

/// A column's number as the file has it; `None` where it is missing. A trace of rain, `T` in US records, is
/// 0.
fn value_of(
    fields: &[Cow<str>],
    column: &WeatherColumn,
    numbers: Numbers,
) -> Result<Option<f64>, String> {
    const MARKS: [&str; 8] = ["", "na", "n/a", "nan", "null", "-", "--", "m"];
    let field = fields[column.index].trim();
    if field.len() <= 4 && MARKS.contains(&field.to_ascii_lowercase().as_str()) {
        return Ok(None);
    }
    if column.is_rain() && field.eq_ignore_ascii_case("t") {
        return Ok(Some(0.0));
    }
    let number = number_in(field, numbers);
    number.map(Some).ok_or_else(|| format!("{} is {}, not a number", column.name, shown(field)))
}

fn temperature_f(column: &WeatherColumn, number: Option<f64>) -> Result<Option<f64>, String> {
    let Some(number) = number else { return Ok(None) };
    let temperature_f = if column.is_metric { fahrenheit(number) } else { number };
    match TEMPERATURES_F.contains(&temperature_f) {
        true => Ok(Some(temperature_f)),
        false => {
            Err(format!("{} {number} is no temperature on Earth; is its unit right?", column.name))
        }
    }
}

fn rain_mm(column: &WeatherColumn, number: Option<f64>) -> Result<Option<f64>, String> {
    /// Millimetres in one inch, exact.
    const MM_PER_IN: f64 = 25.4;
    let Some(number) = number else { return Ok(None) };
    let rain_mm = if column.is_metric { number } else { number * MM_PER_IN };
    match (0.0..=MOST_RAIN_MM).contains(&rain_mm) {
        true => Ok(Some(rain_mm)),
        false => Err(format!("{} {number} is no rain of a day; is its unit right?", column.name)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> Result<WeatherFile, String> {
        read(Path::new("w.csv"), text).map_err(|error| error.to_string())
    }

    fn faults(text: &str) -> Vec<String> {
        of(text).unwrap().findings.iter().map(ToString::to_string).collect()
    }

    fn first(text: &str) -> (Option<f64>, Option<f64>, Option<f64>) {
        let day = of(text).unwrap().weather.days()[0];
        (day.highest_f, day.lowest_f, day.rain_mm)
    }

    #[test]
    fn units_are_in_the_names() {
        let us = first("date,tmax_f,tmin_f,rain_in\n2025-05-01,86,50,0.5\n");
        let si = first("Date;Tmax (°C);Tmin [C];Rain mm\n20250501;30,0;10;12,7\n");
        assert_eq!(us, (Some(86.0), Some(50.0), Some(12.7)));
        assert_eq!(si, us);
        let other = first("DAY\tlow_f\thigh_f\twind\n2025-05-01T00:00\t50\t86\tNE\n");
        assert_eq!(other, (Some(86.0), Some(50.0), None));
    }

    #[test]
    fn what_is_missing_stays_missing() {
        let day = first("date,tmax_f,tmin_f,rain_in\n2025-05-01,,M,T\n");
        assert_eq!(day, (None, None, Some(0.0)));
        let dash = first("date,tmax_f,tmin_f,rain_in\n2025-05-01,70,-,\n");
        assert_eq!(dash, (Some(70.0), None, None));
    }

    #[test]
    fn a_line_that_cannot_be_read_costs_one_day() {
        let text = "date,tmax_f,tmin_f,rain_in\n2025-05-02,70,50,0\n5/3/2025,70,50,0\n\
                    2025-05-04,hot,50,0\n2025-05-05,50,70,0\n2025-05-02,71,50,0\n2025-05-07,170,50,0\n\
                    2025-05-08,70,50,-0.1\n2025-05-09,70,50\n2025-05-01,70,50,0\n2025-02-30,70,50,0\n2025-05-10,T,50,0\n";
        assert_eq!(
            faults(text),
            [
                "line 3: \"5/3/2025\" is not a date like 2025-04-14; left out",
                "line 4: tmax_f is \"hot\", not a number; left out",
                "line 5: tmax_f 50 is below tmin_f 70; left out",
                "line 6: 2025-05-02 stands in line 2 already; left out",
                "line 7: tmax_f 170 is no temperature on Earth; is its unit right?; left out",
                "line 8: rain_in -0.1 is no rain of a day; is its unit right?; left out",
                "line 9: has 3 fields, the header 4; left out",
                "line 11: \"2025-02-30\" is not a date like 2025-04-14; left out",
                "line 12: tmax_f is \"T\", not a number; left out",
            ]
        );
        assert_eq!(of(text).unwrap().weather.days().len(), 2);
    }

    #[test]
    fn celsius_in_a_fault_is_told_as_it_stands() {
        let text = "date,tmax_c,tmin_c\n2025-05-01,10.1,20.3\n2025-05-02,20,10\n";
        assert_eq!(faults(text), ["line 2: tmax_c 10.1 is below tmin_c 20.3; left out"]);
    }

    #[test]
    fn a_column_that_is_missing_is_named_with_those_there_are() {
        for (text, parts) in [
            (
                "date,tmax_f,rain_mm\n2025-05-01,1,2\n",
                ["tmin_f or tmin_c", "date, tmax_f, rain_mm"],
            ),
            ("tmax_f,tmin_f\n1,2\n", ["no column `date`", "it has tmax_f, tmin_f"]),
            (
                "date,tmax,tmin_f\n2025-05-01,1,2\n",
                ["`tmax` does not say its unit", "tmax_f or tmax_c"],
            ),
            ("date,tmax_f,tmax_c,tmin_f\n2025-05-01,1,2,3\n", ["tmax_f", "tmax_c both"]),
            ("date,tmax_f,tmin_f\n", ["w.csv", "no line below the header"]),
            ("date,tmax_f,tmin_f\nx,1,2\n", ["none of its 1 lines", "line 2: \"x\" is not a date"]),
        ] {
            let error = of(text).unwrap_err();
            assert!(parts.iter().all(|part| error.contains(part)), "{error}");
        }
    }

    #[test]
    fn a_hundred_thousand_lines_are_read_and_their_faults_counted() {
        let mut text = String::from("date,tmax_f,tmin_f\n");
        for year in 1900..2174 {
            for day in 1..=366 {
                let date =
                    Date::constant(year, 1, 1).saturating_add(jiff::Span::new().days(day - 1));
                text += &format!("{date},{},{}\n", 40 + day % 50, 40 - day % 7);
            }
        }
        let file = of(&text).unwrap();
        // A year of 365 days has its 366th line on the first day of the next, which is there already.
        assert!(file.findings.len() + file.unlisted > 200, "{}", file.findings.len());
        assert_eq!(file.weather.gaps().len(), 0);
        assert!(file.weather.days().len() > 100_000);
        let broken = text.replace("-", "/");
        assert!(of(&broken).unwrap_err().contains("none of its 100284 lines"));
    }
}
