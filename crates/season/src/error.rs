//! Why a season cannot be worked out.

use survey::Date;

/// Why a season cannot be worked out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[expect(missing_docs, reason = "each variant's text says what it is")]
pub enum SeasonError {
    #[error(
        "{earlier} and {later} are maps of different ground or cells, so no change can be told cell by cell; map \
         both with one --boundary and one --cell"
    )]
    DifferentGround { earlier: String, later: String },
    #[error(
        "{earlier} was read at {earlier_psi:.0} psi and {later} at {later_psi:.0} psi: their depths are not the \
         same thing; give a --threshold that both were read at"
    )]
    DifferentThresholds { earlier: String, later: String, earlier_psi: f64, later_psi: f64 },
    #[error("{earlier} and {later} have different classes; give both the same --classes")]
    DifferentClasses { earlier: String, later: String },
    #[error(
        "the earlier visit, {earlier}, is after the later one, {later}; give them in the other order"
    )]
    WrongOrder { earlier: Date, later: Date },
    #[error("--confidence must be at least 0.5 and less than 1, not {confidence}")]
    Confidence { confidence: f64 },
    #[error(
        "spots of two visits can be the same within a distance above 0 m, not {within_m} m; see --pair-within"
    )]
    PairsWithin { within_m: f64 },
    #[error(
        "moistures match within 0 percentage points or more, not {within_pct}; see --moisture-within"
    )]
    MoistureWithin { within_pct: f64 },
    #[error(
        "a change can be adjusted for moisture from at least {least} visits with moisture that share spots, and \
         there are {visits}"
    )]
    FewVisitsForMoisture { visits: usize, least: usize },
    #[error(
        "the mean moistures of the visits lie within {range_pct:.1} percentage points of each other, and at least \
         {least_pct} are needed to tell what moisture does"
    )]
    LittleMoistureRange { range_pct: f64, least_pct: f64 },
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
