//! The pictures beside the map: chance, standard error, variogram.

use geostat::Raster;
use mapping::{DepthMap, FittedVariogram, Probability};
use report::{
    DirectionalVariogram, ErrorPage, MethodCheck, ProbabilityPage, ReliabilityClass, ReportError,
    ValueClasses, VariogramPage, error_png, probability_png, variogram_png,
};
use survey::CheckedSurvey;

use crate::words;

/// The picture of a chance.
pub fn chance(
    title: &str,
    survey: &CheckedSurvey,
    map: &DepthMap,
    probability: &Probability,
) -> Result<Vec<u8>, ReportError> {
    let units = map.classes.units();
    let reliability: Vec<ReliabilityClass> = probability
        .check
        .iter()
        .flat_map(|check| &check.reliability)
        .map(|class| ReliabilityClass {
            mean_probability: class.mean_probability,
            probes: class.spots,
            thinner: class.thinner,
        })
        .collect();
    probability_png(&ProbabilityPage {
        title,
        survey,
        units,
        limit: probability.limit,
        probability: &probability.raster,
        class_areas_m2: probability.class_areas_m2,
        unmapped_m2: probability.unmapped_m2,
        verdict: &words::chance_verdict(probability),
        checked: &words::chance_checked(probability),
        made: &words::chance_made(probability, units),
        reliability: &reliability,
    })
}

/// The picture of the standard error.
pub fn standard_error(
    title: &str,
    survey: &CheckedSurvey,
    map: &DepthMap,
    error_cm: &Raster,
) -> Result<Vec<u8>, ReportError> {
    let units = map.classes.units();
    let classes = ValueClasses::standard_error(error_cm, units);
    let class_of = |cm: f64| classes.class_of(cm).unwrap_or(0);
    let validation = &map.method.validation;
    let mut made = vec![format!(
        "{}Ordinary kriging; {} variogram, nugget {} of the sill.",
        main_ground(map),
        map.method.variogram().map_or("", FittedVariogram::shape_name),
        words::percent(map.method.variogram().map_or(f64::NAN, FittedVariogram::nugget_share)),
    )];
    made.push(
        "The nugget is in the error whole: it is that of what one probe would read there.".into(),
    );
    made.extend(map.method.options(units).iter().map(|option| sentence(option)));
    made.extend(words::below_and_negative(map).iter().map(|text| sentence(text)));
    let checked = match validation.pairs.is_empty() {
        true => vec!["No probe is within reach of another: not checked.".into()],
        false => vec![sentence(&words::coverage(validation))],
    };
    error_png(&ErrorPage {
        title,
        survey,
        units,
        error_cm,
        classes: &classes,
        class_areas_m2: &map.areas_m2(error_cm, classes.len(), class_of),
        unmapped_m2: map.unmapped.ground_area_m2,
        verdict: &error_verdict(map),
        checked: &checked,
        made: &made,
    })
}

/// How far the errors can be trusted: the shares of readings within the intervals, give or take twice
/// their own standard errors.
fn error_verdict(map: &DepthMap) -> String {
    let validation = &map.method.validation;
    let count = validation.pairs.len() as f64;
    let side = |coverage: f64, wanted: f64| {
        let room = 2.0 * (wanted * (1.0 - wanted) / count).sqrt();
        match coverage - wanted {
            off if off < -room => Some(Side::TooNarrow),
            off if off > room => Some(Side::TooWide),
            off if off.is_nan() => None,
            _ => Some(Side::Right),
        }
    };
    let sides = (side(validation.coverage_80(), 0.8), side(validation.coverage_95(), 0.95));
    match sides {
        (None, _) | (_, None) => "",
        (Some(Side::Right), Some(Side::Right)) => {
            "The errors hold: intervals of 80 % and 95 % had about as many readings in them."
        }
        (Some(Side::TooNarrow), Some(Side::TooWide))
        | (Some(Side::TooWide), Some(Side::TooNarrow)) => {
            "The intervals are wrong: the readings are not spread like a bell around the map."
        }
        (Some(Side::TooNarrow), _) | (_, Some(Side::TooNarrow)) => {
            "The errors are too small: intervals held fewer readings than they should."
        }
        (Some(Side::TooWide), Some(Side::TooWide)) => {
            "The errors are too large: intervals held more readings than they should."
        }
        (Some(Side::TooWide), _) => {
            "The 95 % interval holds, the 80 % interval is wider than it need be."
        }
        (_, Some(Side::TooWide)) => {
            "The 80 % interval holds, the 95 % interval is wider than it need be."
        }
    }
    .into()
}

/// How an interval compares with what it should hold.
enum Side {
    TooNarrow,
    Right,
    TooWide,
}

/// The picture of the variogram of a kriged map.
pub fn variogram(
    title: &str,
    survey: &CheckedSurvey,
    map: &DepthMap,
    fitted: &FittedVariogram,
) -> Result<Vec<u8>, ReportError> {
    with_variogram(title, survey, map, fitted, variogram_png)
}

/// Draws a variogram of a map's readings.
pub fn with_variogram<R>(
    title: &str,
    survey: &CheckedSurvey,
    map: &DepthMap,
    fitted: &FittedVariogram,
    draw: impl FnOnce(&VariogramPage) -> R,
) -> R {
    let units = map.classes.units();
    let mut made = vec![
        format!(
            "{}Semivariances by Matheron in {} classes up to {}, a third of the readings' extent.",
            main_ground(map),
            fitted.empirical.classes.len(),
            units.distance_text(fitted.empirical.cutoff_m),
        ),
        "Best of spherical, exponential and Gaussian by least squares, weighted by pairs over squared \
         distance."
            .into(),
    ];
    made.extend(map.method.options(units).iter().map(|option| sentence(option)));
    let best = map.method.best_of_kinds();
    let names: Vec<String> = best.iter().map(|tried| tried.name()).collect();
    let methods: Vec<MethodCheck> = best
        .iter()
        .zip(&names)
        .map(|(tried, name)| MethodCheck {
            name,
            rmse_cm: tried.errors.as_ref().map_or(f64::NAN, |errors| errors.rmse),
            chosen: tried.kind == map.method.estimator.kind(),
        })
        .collect();
    let directions: Vec<DirectionalVariogram> = fitted
        .directions
        .iter()
        .map(|(azimuth_deg, empirical)| DirectionalVariogram {
            azimuth_deg: *azimuth_deg,
            empirical,
        })
        .collect();
    draw(&VariogramPage {
        title,
        survey,
        units,
        empirical: &fitted.empirical,
        directions: &directions,
        model: &fitted.model,
        model_name: fitted.shape_name(),
        samples: fitted.samples,
        variance_cm2: fitted.variance,
        made: &made,
        methods: &methods,
    })
}

/// What a variogram and its errors are of, where strata are judged apart.
fn main_ground(map: &DepthMap) -> &'static str {
    if map.strata.is_empty() { "" } else { "Main ground, without strata. " }
}

/// A line as a sentence: a capital and a full stop.
fn sentence(line: &str) -> String {
    format!("{}.", plan::capitalised(line))
}
