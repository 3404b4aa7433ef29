//! Why a season cannot be worked out.

use survey::Date;

/// Why a season cannot be worked out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[expect(missing_docs, reason = "each variant's text says what it is")]
pub enum SeasonError {
    #[error("{crop} has no stage {text:?}; name one of {stages}")]
    NoSuchStage { text: String, crop: String, stages: &'static str },
    #[error("the weather of {date} is given twice")]
    WeatherTwice { date: Date },
    #[error("the highest temperature of {date} is below its lowest")]
    WeatherTurned { date: Date },
    #[error(
        "visits every {shortest} to {longest} days make no rhythm; give two numbers from 1 to 60, the smaller \
         first"
    )]
    NoRhythm { shortest: i32, longest: i32 },
    #[error("{date} is no day of a season of our time; is the year right?")]
    OddDate { date: Date },
    #[error("there is no day to begin with: give a visit, the planting date or a first day")]
    NoFirstDay,
    #[error("{until} is more than {most} days after {today}; plan in smaller steps")]
    TooFar { until: Date, today: Date, most: i32 },
    #[error("{later} was seen on {on}, but {earlier} on {after}: crops do not grow backwards")]
    Backwards { later: String, on: Date, earlier: String, after: Date },
}
