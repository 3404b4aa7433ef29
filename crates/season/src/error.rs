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
    #[error("{stage} was seen on {on}, and the crop was planted on {planted}; is the year right?")]
    SeenBeforePlanting { stage: String, on: Date, planted: Date },
    #[error("{later} was seen on {on}, but {earlier} on {after}: crops do not grow backwards")]
    Backwards { later: String, on: Date, earlier: String, after: Date },
    #[error("a difference that matters must be above 0, not {matters_cm} cm; see --matters")]
    Matters { matters_cm: f64 },
    #[error("both visits are the same readings, so nothing can have changed; give two visits")]
    SameVisit,
    #[error(
        "none of the trial's areas lies in the field; are they of another field, or longitude and latitude swapped?"
    )]
    AreasElsewhere,
    #[error("area {strip:?} of the trial {problem}")]
    TrialArea { strip: String, problem: String },
    #[error(
        "strip {strip:?} has two treatments or blocks in the file; give each strip a name of its own"
    )]
    StripTwice { strip: String },
    #[error(
        "probe {probe} stands in {one:?} and in {other:?}; mend the areas so that they do not overlap"
    )]
    ProbeInTwoAreas { probe: String, one: String, other: String },
    #[error(
        "all ground of the trial is {only}: without {missing} ground beside it the season's own change cannot be \
         told from the treatment's"
    )]
    OneSide { missing: &'static str, only: &'static str },
    #[error(
        "no probe that both visits have stands in a {side} strip; probe there, or see --pair-within"
    )]
    NoProbeInStrips { side: &'static str },
    #[error("no probe of both visits is of the group {wanted:?}; the groups there are {known}")]
    NoProbeOfGroup { wanted: String, known: String },
    #[error("strip {strip:?} has no block and others have one; give all strips a block, or none")]
    StripWithoutBlock { strip: String },
    #[error(
        "no block has both a treated and a check strip with probes, so nothing can be compared within blocks"
    )]
    NoCompleteBlock,
}

impl SeasonError {
    /// Whether the file of a trial's areas is at fault.
    pub fn is_of_areas(&self) -> bool {
        matches!(
            self,
            SeasonError::AreasElsewhere
                | SeasonError::TrialArea { .. }
                | SeasonError::StripTwice { .. }
                | SeasonError::ProbeInTwoAreas { .. }
                | SeasonError::OneSide { .. }
                | SeasonError::NoProbeInStrips { .. }
                | SeasonError::StripWithoutBlock { .. }
                | SeasonError::NoCompleteBlock
        )
    }
}
