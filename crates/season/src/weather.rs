//! The weather of a field, day by day.

use survey::Date;

use crate::days::{days_after, days_between};
use crate::error::SeasonError;
use crate::growing_degrees::{Gap, growing_degrees};

/// The weather of one day; what was not measured is `None`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeatherDay {
    /// Which day.
    pub date: Date,
    /// The highest temperature, degrees Fahrenheit.
    pub highest_f: Option<f64>,
    /// The lowest temperature, degrees Fahrenheit.
    pub lowest_f: Option<f64>,
    /// The rain, millimetres.
    pub rain_mm: Option<f64>,
}

impl WeatherDay {
    /// Its growing degrees, where both temperatures are known.
    pub fn growing_degrees(&self) -> Option<f64> {
        Some(growing_degrees(self.highest_f?, self.lowest_f?))
    }
}

/// Days of weather: in order, none twice, the highest temperature of a day never below its lowest.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Weather {
    days: Vec<WeatherDay>,
}

impl Weather {
    /// Days in any order.
    ///
    /// # Errors
    /// When a day comes twice, or its highest temperature is below its lowest.
    pub fn new(mut days: Vec<WeatherDay>) -> Result<Self, SeasonError> {
        days.sort_by_key(|day| day.date);
        if let Some(pair) = days.windows(2).find(|pair| pair[0].date == pair[1].date) {
            return Err(SeasonError::WeatherTwice { date: pair[0].date });
        }
        let turned =
            |day: &&WeatherDay| day.highest_f.zip(day.lowest_f).is_some_and(|(h, l)| h < l);
        match days.iter().find(turned) {
            Some(day) => Err(SeasonError::WeatherTurned { date: day.date }),
            None => Ok(Weather { days }),
        }
    }

    /// The days in order.
    pub fn days(&self) -> &[WeatherDay] {
        &self.days
    }

    /// The weather of a day.
    pub fn on(&self, date: Date) -> Option<&WeatherDay> {
        let at = self.days.binary_search_by_key(&date, |day| day.date).ok()?;
        Some(&self.days[at])
    }

    /// The first and the last day.
    pub fn span(&self) -> Option<(Date, Date)> {
        Some((self.days.first()?.date, self.days.last()?.date))
    }

    /// The runs of days within the weather that lack a temperature.
    pub fn gaps(&self) -> Vec<Gap> {
        let known = self.days.iter().filter(|day| day.growing_degrees().is_some());
        let known: Vec<Date> = known.map(|day| day.date).collect();
        let apart = known.windows(2).filter(|pair| days_between(pair[0], pair[1]) > 1);
        apart
            .map(|pair| Gap { first: days_after(pair[0], 1), last: days_after(pair[1], -1) })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn day(number: i8, highest_f: f64, lowest_f: f64) -> WeatherDay {
        WeatherDay {
            date: date(2025, 5, number),
            highest_f: Some(highest_f),
            lowest_f: Some(lowest_f),
            rain_mm: None,
        }
    }

    #[test]
    fn days_stand_in_order_whatever_the_order_given() {
        let days = vec![day(3, 70.0, 50.0), day(1, 71.0, 50.0), day(9, 72.0, 50.0)];
        let weather = Weather::new(days).unwrap();
        assert_eq!(weather.span(), Some((date(2025, 5, 1), date(2025, 5, 9))));
        assert_eq!(weather.on(date(2025, 5, 3)).unwrap().highest_f, Some(70.0));
        assert_eq!(weather.on(date(2025, 5, 2)), None);
        let gap = |first, last| Gap { first: date(2025, 5, first), last: date(2025, 5, last) };
        assert_eq!(weather.gaps(), [gap(2, 2), gap(4, 8)]);
    }

    #[test]
    fn a_day_twice_or_turned_around_is_refused() {
        let twice = Weather::new(vec![day(3, 70.0, 50.0), day(3, 70.0, 50.0)]).unwrap_err();
        assert_eq!(twice, SeasonError::WeatherTwice { date: date(2025, 5, 3) });
        let turned = Weather::new(vec![day(4, 50.0, 50.1)]).unwrap_err();
        assert_eq!(turned, SeasonError::WeatherTurned { date: date(2025, 5, 4) });
        assert!(Weather::new(vec![day(4, 50.0, 50.0)]).is_ok());
    }
}
