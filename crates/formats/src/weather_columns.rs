//! Which column of a table of weather is what.

use std::borrow::Cow;

use survey::units::tidy;

/// A column with a number.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct WeatherColumn {
    /// Its place in a line, the first is 0.
    pub index: usize,
    /// Its name as the file has it.
    pub name: String,
    /// Whether it is in degrees Celsius or millimetres; else degrees Fahrenheit or inches.
    pub is_metric: bool,
    kind: Kind,
}

impl WeatherColumn {
    /// Whether it holds rain.
    pub(crate) fn is_rain(&self) -> bool {
        self.kind == Kind::Rain
    }

    /// A temperature in degrees Fahrenheit as the column has it.
    pub(crate) fn shown(&self, temperature_f: f64) -> String {
        match self.is_metric {
            true => tidy((temperature_f - 32.0) / 1.8, 2),
            false => tidy(temperature_f, 2),
        }
    }
}

/// The columns of a table of weather.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct WeatherColumns {
    /// Where the date stands.
    pub date: usize,
    /// The day's highest temperature.
    pub highest: WeatherColumn,
    /// The day's lowest temperature.
    pub lowest: WeatherColumn,
    /// The day's rain.
    pub rain: Option<WeatherColumn>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Highest,
    Lowest,
    Rain,
}

impl Kind {
    /// The words that name it, the first is ours.
    fn words(self) -> &'static [&'static str] {
        match self {
            Kind::Highest => &["tmax", "t_max", "max_temp", "temp_max", "max", "high", "highest"],
            Kind::Lowest => &["tmin", "t_min", "min_temp", "temp_min", "min", "low", "lowest"],
            Kind::Rain => &["rain", "rainfall", "precip", "precipitation", "prcp"],
        }
    }

    /// The ends that say the unit, the customary one and the metric one.
    fn units(self) -> [&'static str; 2] {
        match self {
            Kind::Highest | Kind::Lowest => ["f", "c"],
            Kind::Rain => ["in", "mm"],
        }
    }

    /// Our two names for it: `tmax_f or tmax_c`.
    fn names(self) -> String {
        let [customary, metric] = self.units();
        let word = self.words()[0];
        format!("{word}_{customary} or {word}_{metric}")
    }

    fn what(self) -> &'static str {
        match self {
            Kind::Highest => "the day's highest temperature",
            Kind::Lowest => "the day's lowest temperature",
            Kind::Rain => "the day's rain",
        }
    }
}

impl WeatherColumns {
    /// The columns of a header; the problem where one is missing, comes twice or says no unit.
    pub(crate) fn of(header: &[Cow<str>]) -> Result<Self, String> {
        let names: Vec<String> = header.iter().map(|name| plain_name(name)).collect();
        let date = names.iter().position(|name| ["date", "day"].contains(&name.as_str()));
        let found = found(header);
        let date = date.ok_or_else(|| format!("no column `date`; it has {found}"))?;
        let needed = |kind: Kind| {
            let missing = || {
                let (names, what) = (kind.names(), kind.what());
                format!("no column {names}, {what}; it has {found}")
            };
            column(kind, header, &names)?.ok_or_else(missing)
        };
        Ok(WeatherColumns {
            date,
            highest: needed(Kind::Highest)?,
            lowest: needed(Kind::Lowest)?,
            rain: column(Kind::Rain, header, &names)?,
        })
    }
}

/// The header in words, at most twenty names.
fn found(header: &[Cow<str>]) -> String {
    let shown = header.iter().take(20).map(|name| name.trim()).collect::<Vec<_>>().join(", ");
    if header.len() > 20 { format!("{shown}, …") } else { shown }
}

/// Lower case, and one `_` for whatever is no letter or digit: `Tmax (°F)` is `tmax_f`.
fn plain_name(name: &str) -> String {
    let letters = name.split(|c: char| !c.is_ascii_alphanumeric()).filter(|part| !part.is_empty());
    letters.collect::<Vec<_>>().join("_").to_ascii_lowercase()
}

fn column(
    kind: Kind,
    header: &[Cow<str>],
    names: &[String],
) -> Result<Option<WeatherColumn>, String> {
    let unit_of = |name: &str| {
        let unit =
            kind.words().iter().find_map(|word| name.strip_prefix(word)?.strip_prefix('_'))?;
        kind.units().iter().position(|known| *known == unit)
    };
    let mut columns = names.iter().enumerate().filter_map(|(index, name)| {
        let is_metric = unit_of(name)? == 1;
        let name = header[index].trim().to_owned();
        Some(WeatherColumn { index, name, is_metric, kind })
    });
    match (columns.next(), columns.next()) {
        (Some(first), Some(second)) => Err(format!(
            "columns {} and {} both hold {}; leave one out",
            first.name,
            second.name,
            kind.what()
        )),
        (Some(column), None) => Ok(Some(column)),
        (None, _) => {
            let bare = |name: &String| kind.words().contains(&name.as_str());
            match names.iter().position(bare) {
                Some(index) => Err(format!(
                    "column `{}` does not say its unit; call it {}",
                    header[index].trim(),
                    kind.names()
                )),
                None => Ok(None),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_known_with_their_unit_only() {
        let of =
            |names: &str| WeatherColumns::of(&names.split('|').map(Cow::from).collect::<Vec<_>>());
        let columns = of("High (F)|Date|Low (F)|Precip in").unwrap();
        assert_eq!((columns.date, columns.highest.index, columns.lowest.index), (1, 0, 2));
        assert!(columns.rain.is_some_and(|rain| rain.is_rain() && !rain.is_metric));
        assert!(of("date|tmax_k|tmin_k").unwrap_err().contains("no column tmax_f or tmax_c"));
        assert!(of("date|tmax_f|tmin_f|rain").unwrap_err().contains("rain_in or rain_mm"));
        assert!(of("date|tmax_f|tmin_f|humidity").unwrap().rain.is_none());
    }
}
