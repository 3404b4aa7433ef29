//! Growing degrees of corn, 86/50 °F, and their sum since planting.
//!
//! `(min(highest, 86) + max(lowest, 50)) / 2 − 50`, both temperatures kept within 50 to 86 °F, summed from
//! the day after planting (Ohio State University Extension, fact sheet AGF-101). A day without
//! temperatures is counted at the mean of the known days on either side of its gap: leaving it out would put
//! every stage too late, as if nothing grew that day. Across a gap of more than [`MOST_FILLED_DAYS`] days
//! nothing is summed. After the weather's last day each day counts as the mean of the last
//! [`DAYS_OF_MEAN`] known days. Every sum says on what it rests: [`DegreeSource`].

use survey::Date;

use crate::days::{days_after, days_between};
use crate::weather::Weather;

/// The longest run of days without temperatures that is counted at the mean of its neighbours: common
/// practice, no published limit is known to us.
pub const MOST_FILLED_DAYS: i32 = 5;

/// How many of the last known days give the mean that days after the weather's end are counted at: common
/// practice.
pub const DAYS_OF_MEAN: usize = 14;

/// How many days after planting are looked at; an annual crop takes fewer.
const MOST_DAYS: i32 = 366;

const LOWEST_F: f64 = 50.0;
const HIGHEST_F: f64 = 86.0;

/// The growing degrees of one day, from its highest and lowest temperature in degrees Fahrenheit; between 0
/// and 36.
pub fn growing_degrees(highest_f: f64, lowest_f: f64) -> f64 {
    let kept = |temperature_f: f64| temperature_f.clamp(LOWEST_F, HIGHEST_F);
    f64::midpoint(kept(highest_f), kept(lowest_f)) - LOWEST_F
}

/// Degrees Fahrenheit of degrees Celsius; 10 °C and 30 °C, the model's limits, become 50 and 86 exactly.
pub fn fahrenheit(celsius: f64) -> f64 {
    celsius * 9.0 / 5.0 + 32.0
}

/// On what a sum of growing degrees rests, from the surest to the least sure: a sum is as sure as the least
/// sure of its days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum DegreeSource {
    /// Temperatures of days up to today alone.
    Measured,
    /// Also days without temperatures, counted at the mean of their neighbours.
    Filled,
    /// Also days of the weather file that lie after today: a forecast, or known only in hindsight.
    Ahead,
    /// Also days that the file does not reach, at the mean of the last known days.
    Projected,
}

impl DegreeSource {
    /// The word for a table: `measured`, `gap filled`, `after today`, `projected`.
    pub fn word(self) -> &'static str {
        match self {
            DegreeSource::Measured => "measured",
            DegreeSource::Filled => "gap filled",
            DegreeSource::Ahead => "after today",
            DegreeSource::Projected => "projected",
        }
    }
}

/// The sum of growing degrees at the end of a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DegreeSum {
    /// Which day.
    pub date: Date,
    /// Growing degrees since planting, °F.
    pub sum_f: f64,
    /// On what it rests.
    pub source: DegreeSource,
}

/// A run of days without temperatures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Gap {
    /// Its first day.
    pub first: Date,
    /// Its last day.
    pub last: Date,
}

impl Gap {
    /// How many days it has.
    pub fn days(self) -> i32 {
        days_between(self.first, self.last) + 1
    }
}

/// Why there is no sum of growing degrees.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "each variant's text says what it is")]
pub enum NoDegrees {
    #[error("no weather is given")]
    NoWeather,
    #[error("the planting date is not given")]
    NotPlanted,
    #[error("no day of the weather has both temperatures")]
    NoTemperatures,
    #[error("the weather ends on {ends}, before the first day after planting on {planted}")]
    EndsBefore { ends: Date, planted: Date },
    #[error(
        "after planting on {planted} the temperatures begin on {begins}, and more than {MOST_FILLED_DAYS} \
         days up to then have none"
    )]
    BeginsLate { begins: Date, planted: Date },
}

/// Growing degrees of a crop, summed day by day.
#[derive(Debug, Clone, PartialEq)]
pub struct GrowingDegrees {
    sums: Vec<DegreeSum>,
    /// The planting date; the sum begins the day after.
    pub planted: Date,
    /// Days without temperatures that were counted at the mean of their neighbours.
    pub filled: Vec<Gap>,
    /// A gap too long to be filled, which ends the sum.
    pub broken: Option<Gap>,
    /// Mean growing degrees of the last known days up to today, at which days that the file does not
    /// reach are counted; `None` where no day is known.
    pub mean_f: Option<f64>,
    /// How many days that mean is of: 14, or fewer where fewer are known.
    pub days_of_mean: usize,
}

impl GrowingDegrees {
    /// Sums the degrees of the days after planting.
    ///
    /// # Errors
    /// When the weather has no temperatures, or none near enough to planting.
    pub fn since(planted: Date, weather: &Weather, today: Date) -> Result<Self, NoDegrees> {
        let first = days_after(planted, 1);
        let last = days_after(planted, MOST_DAYS);
        let known: Vec<(Date, f64)> = weather
            .days()
            .iter()
            .filter_map(|day| Some((day.date, day.growing_degrees()?)))
            .collect();
        let ends = known.last().ok_or(NoDegrees::NoTemperatures)?.0;
        if ends < first {
            return Err(NoDegrees::EndsBefore { ends, planted });
        }
        let from = known.partition_point(|(date, _)| *date < first);
        let begins = known[from].0;
        let before = from.checked_sub(1).map(|before| known[before]);
        // The gap that is filled may begin before planting.
        let gap_from = before.map_or(first, |(date, _)| days_after(date, 1));
        if begins > first && days_between(gap_from, begins) > MOST_FILLED_DAYS {
            return Err(NoDegrees::BeginsLate { begins, planted });
        }
        let of_mean = last_known(&known, today);
        let sum_up = of_mean.iter().fold(0.0, |sum, (_, degrees)| sum + degrees);
        let mut degrees = GrowingDegrees {
            sums: Vec::new(),
            planted,
            filled: Vec::new(),
            broken: None,
            mean_f: (!of_mean.is_empty()).then(|| sum_up / of_mean.len() as f64),
            days_of_mean: of_mean.len(),
        };
        let until = known.partition_point(|(date, _)| *date <= last);
        degrees.sum(&known[from..until], before.map(|(_, degrees)| degrees), today);
        Ok(degrees)
    }

    /// Sums the known days; `before` are the degrees of the last known day before them.
    fn sum(&mut self, known: &[(Date, f64)], before: Option<f64>, today: Date) {
        let mut neighbour = before;
        for &(date, degrees) in known {
            let expected = self.next_day();
            let missing = days_between(expected, date);
            if missing > 0 {
                let gap = Gap { first: expected, last: days_after(date, -1) };
                if missing > MOST_FILLED_DAYS {
                    self.broken = Some(gap);
                    return;
                }
                self.filled.push(gap);
                let mean = neighbour.map_or(degrees, |other| f64::midpoint(other, degrees));
                (0..missing).for_each(|_| self.add(mean, DegreeSource::Filled, today));
            }
            self.add(degrees, DegreeSource::Measured, today);
            neighbour = Some(degrees);
        }
    }

    /// The day that the next degrees are of.
    fn next_day(&self) -> Date {
        days_after(self.sums.last().map_or(self.planted, |sum| sum.date), 1)
    }

    fn add(&mut self, degrees: f64, source: DegreeSource, today: Date) {
        let date = self.next_day();
        let before = self.sums.last().map_or(0.0, |sum| sum.sum_f);
        let so_far = self.sums.last().map_or(DegreeSource::Measured, |sum| sum.source);
        let source = if date > today { DegreeSource::Ahead } else { source };
        self.sums.push(DegreeSum { date, sum_f: before + degrees, source: so_far.max(source) });
    }

    /// The sums of the days that the weather reaches, in order.
    pub fn sums(&self) -> &[DegreeSum] {
        &self.sums
    }

    /// The sum at the end of a day: 0 on the day of planting, projected after the weather's end; `None`
    /// before planting, behind a gap that is too long, and more than a year after planting.
    pub fn on(&self, date: Date) -> Option<DegreeSum> {
        if date == self.planted {
            return Some(DegreeSum { date, sum_f: 0.0, source: DegreeSource::Measured });
        }
        // Below 0, so no index, before planting.
        let index = usize::try_from(days_between(self.planted, date) - 1).ok()?;
        match self.sums.get(index) {
            Some(sum) => Some(*sum),
            None => self.projected(date),
        }
    }

    /// The sum on a day after the weather's end.
    fn projected(&self, date: Date) -> Option<DegreeSum> {
        let last = self.sums.last()?;
        let in_time = days_between(self.planted, date) <= MOST_DAYS && self.broken.is_none();
        let mean = self.mean_f.filter(|_| in_time)?;
        let sum_f = last.sum_f + mean * f64::from(days_between(last.date, date));
        Some(DegreeSum { date, sum_f, source: DegreeSource::Projected })
    }

    /// The first day whose sum is `sum_f` or more, at the earliest the day after planting; `None` where
    /// none within a year of planting is.
    pub fn reaches(&self, sum_f: f64) -> Option<DegreeSum> {
        self.reaches_from(self.planted, sum_f)
    }

    /// The first day after `from` with `degrees_f` or more since the end of day `from`; none within a year
    /// of planting, or behind a gap that is too long, is `None`.
    pub fn reaches_from(&self, from: Date, degrees_f: f64) -> Option<DegreeSum> {
        let start = self.on(from)?.sum_f;
        let left = MOST_DAYS - days_between(self.planted, from);
        (1..=left)
            .map_while(|days| self.on(days_after(from, days)))
            .find(|sum| sum.sum_f - start >= degrees_f)
    }
}

/// The last known days up to today, at most [`DAYS_OF_MEAN`].
fn last_known(known: &[(Date, f64)], today: Date) -> &[(Date, f64)] {
    let up_to_today = &known[..known.partition_point(|(date, _)| *date <= today)];
    &up_to_today[up_to_today.len().saturating_sub(DAYS_OF_MEAN)..]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weather::WeatherDay;
    use jiff::civil::date;
    use proptest::prelude::*;

    /// Days from 1 May 2025 on, each with so many degrees (at most 18); `None` has no temperatures.
    fn weather(degrees: &[Option<f64>]) -> Weather {
        let day = |(k, degrees): (usize, &Option<f64>)| WeatherDay {
            date: days_after(date(2025, 5, 1), k as i32),
            highest_f: degrees.map(|degrees| 50.0 + 2.0 * degrees),
            lowest_f: degrees.map(|_| 40.0),
            rain_mm: None,
        };
        Weather::new(degrees.iter().enumerate().map(day).collect()).unwrap()
    }

    fn since_april(degrees: &[Option<f64>], today: Date) -> GrowingDegrees {
        GrowingDegrees::since(date(2025, 4, 30), &weather(degrees), today).unwrap()
    }

    const LATER: Date = date(2025, 12, 31);

    /// Ohio State University Extension, fact sheet AGF-101: the four worked days.
    #[test]
    fn the_published_days_come_out() {
        for (highest_f, lowest_f, expected) in
            [(80.0, 60.0, 20.0), (60.0, 40.0, 5.0), (90.0, 70.0, 28.0), (87.0, 63.0, 24.5)]
        {
            assert_eq!(growing_degrees(highest_f, lowest_f), expected);
        }
    }

    #[test]
    fn a_day_that_never_reaches_50_has_none() {
        assert_eq!(growing_degrees(48.0, 30.0), 0.0);
        assert_eq!(growing_degrees(110.0, 95.0), 36.0);
    }

    #[test]
    fn celsius_becomes_the_limits_exactly() {
        let exact = [(10.0, 50.0), (30.0, 86.0), (0.0, 32.0), (100.0, 212.0), (-40.0, -40.0)];
        for (celsius, expected) in exact {
            assert_eq!(fahrenheit(celsius), expected);
        }
    }

    #[test]
    fn the_day_of_planting_does_not_count() {
        let weather = weather(&[Some(10.0), Some(11.0), Some(12.0)]);
        let degrees = GrowingDegrees::since(date(2025, 5, 1), &weather, LATER).unwrap();
        assert_eq!(degrees.on(date(2025, 4, 30)), None);
        assert_eq!(degrees.on(date(2025, 5, 1)).unwrap().sum_f, 0.0);
        assert_eq!(degrees.on(date(2025, 5, 3)).unwrap().sum_f, 23.0);
        let reached = degrees.reaches(23.0).unwrap();
        assert_eq!((reached.date, reached.source), (date(2025, 5, 3), DegreeSource::Measured));
    }

    #[test]
    fn a_short_gap_counts_at_the_mean_of_its_neighbours() {
        let degrees = since_april(&[Some(10.0), None, None, Some(16.0)], LATER);
        let sums: Vec<f64> = degrees.sums().iter().map(|sum| sum.sum_f).collect();
        assert_eq!(sums, [10.0, 23.0, 36.0, 52.0]);
        assert_eq!(degrees.filled, [Gap { first: date(2025, 5, 2), last: date(2025, 5, 3) }]);
        assert_eq!(degrees.filled[0].days(), 2);
        let sources: Vec<_> = degrees.sums().iter().map(|sum| sum.source).collect();
        assert_eq!(sources[0], DegreeSource::Measured);
        assert_eq!(sources[1..], [DegreeSource::Filled; 3]);
    }

    #[test]
    fn a_gap_at_the_beginning_has_one_neighbour() {
        let degrees = since_april(&[None, Some(12.0)], LATER);
        assert_eq!(degrees.on(date(2025, 5, 2)).unwrap().sum_f, 24.0);
        let missing = vec![None; MOST_FILLED_DAYS as usize + 1];
        let late: Vec<_> = missing.into_iter().chain([Some(1.0)]).collect();
        let error = GrowingDegrees::since(date(2025, 4, 30), &weather(&late), LATER).unwrap_err();
        assert!(error.to_string().contains("begin on 2025-05-07"), "{error}");
    }

    /// Days without temperatures before planting are of the gap too: six are too many, five are not.
    #[test]
    fn a_gap_that_reaches_over_planting_counts_as_a_whole() {
        let since = |missing: usize, planted: Date| {
            let mut days = vec![Some(10.0)];
            days.extend(vec![None; missing]);
            days.extend([Some(16.0); 2]);
            GrowingDegrees::since(planted, &weather(&days), LATER)
        };
        // Known on 1 May and from 8 May on; planted on 5 May two days after it are missing.
        let late = since(6, date(2025, 5, 5)).unwrap_err();
        let begins = date(2025, 5, 8);
        assert_eq!(late, NoDegrees::BeginsLate { begins, planted: date(2025, 5, 5) });
        assert_eq!(
            since(100, date(2025, 8, 8)).unwrap_err().to_string().matches("2025-08").count(),
            2
        );
        let filled = since(5, date(2025, 5, 5)).unwrap();
        assert_eq!(filled.on(date(2025, 5, 7)).unwrap().sum_f, 13.0 + 16.0);
        // Planted on the day before the temperatures begin again, nothing is to fill.
        let known = since(100, date(2025, 8, 9)).unwrap();
        assert_eq!(known.on(date(2025, 8, 10)).unwrap().sum_f, 16.0);
    }

    #[test]
    fn a_long_gap_ends_the_sum() {
        let mut days = vec![Some(10.0)];
        days.extend(vec![None; MOST_FILLED_DAYS as usize + 1]);
        days.push(Some(10.0));
        let degrees = since_april(&days, LATER);
        assert_eq!(degrees.broken.map(Gap::days), Some(6));
        assert_eq!(degrees.on(date(2025, 5, 1)).unwrap().sum_f, 10.0);
        assert_eq!(degrees.on(date(2025, 5, 2)), None);
        assert_eq!(degrees.reaches(11.0), None);
        days.remove(1);
        assert_eq!(since_april(&days, LATER).broken, None);
    }

    #[test]
    fn after_the_end_each_day_counts_as_the_mean_of_the_last_fourteen() {
        let days: Vec<_> = [Some(18.0); 6].into_iter().chain([Some(5.0); 14]).collect();
        let degrees = since_april(&days, LATER);
        assert_eq!((degrees.mean_f, degrees.days_of_mean), (Some(5.0), 14));
        let ahead = degrees.on(date(2025, 5, 22)).unwrap();
        assert_eq!(
            (ahead.sum_f, ahead.source),
            (6.0 * 18.0 + 70.0 + 10.0, DegreeSource::Projected)
        );
        assert_eq!(degrees.reaches(188.0).unwrap().date, date(2025, 5, 22));
        assert_eq!(degrees.reaches(188.5).unwrap().date, date(2025, 5, 23));
        assert_eq!(degrees.reaches(1e9), None);
    }

    #[test]
    fn days_after_today_are_no_knowledge() {
        let degrees = since_april(&[Some(10.0), Some(10.0), Some(16.0)], date(2025, 5, 2));
        assert_eq!(degrees.on(date(2025, 5, 2)).unwrap().source, DegreeSource::Measured);
        assert_eq!(degrees.on(date(2025, 5, 3)).unwrap().source, DegreeSource::Ahead);
        assert_eq!(degrees.mean_f, Some(10.0), "the mean is of days up to today");
        assert_eq!(degrees.on(date(2025, 5, 4)).unwrap().sum_f, 46.0);
    }

    #[test]
    fn weather_that_ends_before_planting_tells_nothing() {
        let weather = weather(&[Some(10.0); 4]);
        let planted = date(2025, 5, 4);
        let error = GrowingDegrees::since(planted, &weather, LATER).unwrap_err();
        assert_eq!(error, NoDegrees::EndsBefore { ends: planted, planted });
        let none = GrowingDegrees::since(planted, &Weather::default(), LATER).unwrap_err();
        assert_eq!(none, NoDegrees::NoTemperatures);
    }

    #[test]
    fn degrees_since_a_later_day_are_counted_from_its_end() {
        let degrees = since_april(&[Some(10.0); 8], LATER);
        assert_eq!(degrees.reaches_from(date(2025, 5, 3), 20.0).unwrap().date, date(2025, 5, 5));
        assert_eq!(degrees.reaches_from(date(2025, 5, 3), 0.0).unwrap().date, date(2025, 5, 4));
    }

    proptest! {
        #[test]
        fn a_day_has_0_to_36_degrees(a in -200.0..200.0_f64, b in -200.0..200.0_f64) {
            let degrees = growing_degrees(a.max(b), a.min(b));
            prop_assert!((0.0..=36.0).contains(&degrees));
        }

        #[test]
        fn sums_never_fall_and_sources_never_get_surer(
            days in prop::collection::vec(prop::option::weighted(0.8, 0.0..18.0_f64), 1..60),
            today in 0..70_i32,
        ) {
            let today = days_after(date(2025, 5, 1), today);
            let planted = date(2025, 4, 30);
            if let Ok(degrees) = GrowingDegrees::since(planted, &weather(&days), today) {
                let sums: Vec<DegreeSum> =
                    (0..90).map_while(|k| degrees.on(days_after(planted, k))).collect();
                for pair in sums.windows(2) {
                    prop_assert!(pair[0].sum_f <= pair[1].sum_f);
                    prop_assert!(pair[0].source <= pair[1].source);
                }
            }
        }
    }
}
