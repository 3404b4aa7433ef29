//! How likely the loose layer is thinner than a depth.
//!
//! A reading shallower than the limit is 1; one at the limit or deeper is 0, and so is one that did not
//! reach the threshold down to the limit. A rod that stopped above the limit without reaching it tells
//! nothing and is left out: so "not reached" is never taken for a depth here.

use std::collections::BTreeSet;

use geostat::{
    CrossValidation, Indicators, Kriged, NeighbourIndex, Observation, Probabilities, Raster,
    Samples, leave_one_out_idw, leave_one_out_smoothed_idw, probability_below,
};
use survey::{CheckedSurvey, Depth, Reading};

use crate::areas::areas_m2;
use crate::choose::kriging_neighbourhood;
use crate::cut::CutField;
use crate::error::MappingError;
use crate::fitted_variogram::FittedVariogram;
use crate::interpolator::Interpolator;
use crate::method::{Estimator, Method, Neighbourhood};
use crate::settings::{LEAST_SPOTS_OF_KRIGING, MapSettings, ProbabilityChoice, USUAL_POWER};

/// Limits between the classes of probability, shares of 1. They are finer at the ends, where a
/// decision is safe.
pub const PROBABILITY_LIMITS: [f64; 5] = [0.1, 0.25, 0.5, 0.75, 0.9];

/// A variogram of indicators of which fewer differ from the rest is that of a few places alone (ours).
const LEAST_OF_A_KIND: usize = 5;

/// The class of a probability among six, 0 the lowest; a limit belongs to the class above it.
pub fn probability_class(probability: f64) -> usize {
    PROBABILITY_LIMITS.partition_point(|&limit| limit <= probability)
}

/// Probability that the loose layer is thinner than a depth.
#[derive(Debug, Clone)]
pub struct Probability {
    /// The depth.
    pub limit: Depth,
    /// From 0 to 1 in each cell that lies in the field at least in part and within reach of a spot of
    /// which it is known; NaN in the others.
    pub raster: Raster,
    /// How it was estimated.
    pub method: ProbabilityMethod,
    /// Spots thinner than the limit.
    pub thinner: usize,
    /// Spots not thinner.
    pub not_thinner: usize,
    /// Spots of which it is not known.
    pub unknown: usize,
    /// Estimates in cells that lay outside 0..1 and were set to the nearer of them.
    pub clamped: usize,
    /// How well it did when each spot in turn was left out; `None` where every one is alone within its
    /// reach.
    pub check: Option<ProbabilityCheck>,
    /// True area on the ground of each of the six classes of [`PROBABILITY_LIMITS`], square metres.
    pub class_areas_m2: [f64; 6],
    /// True area without a probability.
    pub unmapped_m2: f64,
}

/// How a probability was estimated.
#[derive(Debug, Clone, PartialEq)]
pub enum ProbabilityMethod {
    /// Ordinary kriging of the indicators with a variogram of their own.
    IndicatorKriging {
        /// The variogram of the indicators.
        variogram: Box<FittedVariogram>,
        /// Nearest spots used; `None` is all.
        neighbours: Option<usize>,
    },
    /// Inverse distance of the indicators, which needs no variogram.
    InverseDistance {
        /// The map's power, or the usual one where the map has none.
        power: f64,
        /// Nearest spots used; `None` is all.
        neighbours: Option<usize>,
        /// Why it was not kriged.
        why: String,
    },
    /// From the map's kriged depth and variance, taken for normally distributed. "Not reached" is its
    /// lower bound there.
    Normal,
}

/// How well probabilities did against what was read.
#[derive(Debug, Clone, PartialEq)]
pub struct ProbabilityCheck {
    /// Spots left out in turn.
    pub spots: usize,
    /// Mean square of the probability less what was read, 1 or 0: Brier (1950), Monthly Weather Review
    /// 78:1–3 (from memory). 0 is perfect.
    pub brier: f64,
    /// The same of the share of thin spots among all others, everywhere.
    pub plain_brier: f64,
    /// 1 − brier / plain: 0 or less is no better than one share for the whole field.
    pub skill: f64,
    /// Spots by the class of their probability, classes without one left out.
    pub reliability: Vec<Reliability>,
}

/// Spots that were given like probabilities.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reliability {
    /// The class: see [`probability_class`].
    pub class: usize,
    /// Mean of the probabilities.
    pub mean_probability: f64,
    /// How many spots.
    pub spots: usize,
    /// How many of them read thinner.
    pub thinner: usize,
}

/// What is already there when a probability is mapped.
pub(crate) struct Surroundings<'a> {
    pub survey: &'a CheckedSurvey,
    pub settings: &'a MapSettings,
    pub method: &'a Method,
    pub cut: &'a CutField,
    /// Kriged depth and variance, centimetres.
    pub kriged: Option<(&'a Raster, &'a Raster)>,
}

/// What is known of each spot, depths in centimetres.
pub(crate) fn observations(survey: &CheckedSurvey) -> Vec<Observation> {
    let of_spot = |spot: &survey::Spot| Observation {
        easting_m: spot.position.easting_m,
        northing_m: spot.position.northing_m,
        reading: match spot.reading {
            Reading::Reached(depth) => geostat::Reading::Observed(depth.cm()),
            Reading::NotReached { probed_to } => geostat::Reading::AtLeast(probed_to.cm()),
        },
    };
    survey.spots().iter().map(of_spot).collect()
}

/// Maps the probability.
pub(crate) fn map(limit: Depth, of: &Surroundings) -> Result<Probability, MappingError> {
    if limit.m() <= 0.0 {
        return Err(MappingError::NoLimit);
    }
    let indicators = match Indicators::new(&observations(of.survey), limit.cm()) {
        Err(geostat::GeostatError::NoSamples) => return Err(nothing_known(of, limit)),
        other => other?,
    };
    let known = &indicators.samples;
    let thinner = known.as_slice().iter().filter(|sample| sample.value == 1.0).count();
    let not_thinner = known.len() - thinner;
    if thinner == 0 || not_thinner == 0 {
        return Err(one_kind(of, limit, thinner));
    }
    let near = near_another(known, of.method.reach_m)?;
    let Estimate { method, probabilities, of_spots } = match of.settings.probability {
        ProbabilityChoice::Normal => normal(limit, known, of)?,
        choice => by_indicators(known, choice, of)?,
    };
    let of_spots: Vec<(f64, bool)> = of_spots
        .into_iter()
        .filter(|(index, _)| near.contains(index))
        .map(|(index, p)| (p.clamp(0.0, 1.0), known.as_slice()[index].value == 1.0))
        .collect();
    let Probabilities { raster, clamped } = probabilities;
    let areas = areas_m2(of.cut, of.survey.field(), &raster, 6, probability_class);
    let class_areas_m2: [f64; 6] = areas.try_into().expect("six classes");
    let mapped_m2: f64 = class_areas_m2.iter().sum();
    let unmapped_m2 = (of.survey.field().ground_area_m2() - mapped_m2).max(0.0);
    let has_gap = |cell: usize| raster.values[cell].is_nan() && of.cut.is_in_field(cell);
    let unmapped_m2 = if (0..raster.values.len()).any(has_gap) { unmapped_m2 } else { 0.0 };
    Ok(Probability {
        limit,
        method,
        thinner,
        not_thinner,
        unknown: indicators.unknown,
        clamped,
        check: check(&of_spots),
        class_areas_m2,
        unmapped_m2,
        raster,
    })
}

/// A way's results: over the grid, and for spots left out, by their number among the known.
struct Estimate {
    method: ProbabilityMethod,
    probabilities: Probabilities,
    of_spots: Vec<(usize, f64)>,
}

fn of_pairs(validation: &CrossValidation) -> Vec<(usize, f64)> {
    validation.pairs.iter().map(|pair| (pair.index, pair.estimated)).collect()
}

/// Numbers of the samples within reach of another.
fn near_another(samples: &Samples, reach_m: f64) -> Result<BTreeSet<usize>, MappingError> {
    let index = NeighbourIndex::new(samples);
    let nearest = geostat::Search::nearest(1);
    let found = leave_one_out_idw(samples, &index, nearest, Some(reach_m), &[USUAL_POWER])?;
    Ok(found[0].pairs.iter().map(|pair| pair.index).collect())
}

fn by_indicators(
    known: &Samples,
    choice: ProbabilityChoice,
    of: &Surroundings,
) -> Result<Estimate, MappingError> {
    let must_krige = choice == ProbabilityChoice::Indicator;
    let count = known.len();
    if count < LEAST_SPOTS_OF_KRIGING {
        return match must_krige {
            true => {
                Err(MappingError::FewForIndicators { known: count, least: LEAST_SPOTS_OF_KRIGING })
            }
            false => inverse_distance(known, format!("{count} readings are too few"), of),
        };
    }
    let thinner = known.as_slice().iter().filter(|sample| sample.value == 1.0).count();
    let fewer = thinner.min(count - thinner);
    if fewer < LEAST_OF_A_KIND {
        return match must_krige {
            true => Err(MappingError::FewOfAKind { fewer, least: LEAST_OF_A_KIND }),
            false => {
                let kind = if thinner == fewer { "thinner" } else { "not thinner" };
                let readings = if fewer == 1 { "reading is" } else { "readings are" };
                inverse_distance(known, format!("only {fewer} {readings} {kind}"), of)
            }
        };
    }
    let around = kriging_neighbourhood(of.settings, count);
    let kriged = FittedVariogram::new(known, of.settings.anisotropy).and_then(|variogram| {
        let interpolator = Interpolator::kriging(known, variogram.model, &around)?;
        let validation = interpolator.leave_one_out_kriging().expect("it is kriging")?;
        Ok((variogram, interpolator, validation))
    });
    match kriged {
        // Such a model is nearly a straight line: it would draw a trend that the readings do not show.
        Ok((variogram, ..)) if variogram.fit.range_at_bound && !must_krige => {
            inverse_distance(known, "the variogram found no range".into(), of)
        }
        Ok((variogram, interpolator, validation)) => Ok(Estimate {
            method: ProbabilityMethod::IndicatorKriging {
                variogram: Box::new(variogram),
                neighbours: around.neighbours,
            },
            probabilities: fill(&interpolator, of)?,
            of_spots: of_pairs(&validation),
        }),
        Err(source) if must_krige => Err(MappingError::NoIndicatorKriging { source }),
        Err(source) => inverse_distance(known, source.to_string(), of),
    }
}

fn inverse_distance(
    known: &Samples,
    why: String,
    of: &Surroundings,
) -> Result<Estimate, MappingError> {
    let power = match of.method.estimator {
        Estimator::InverseDistance { power, .. } => power,
        _ => USUAL_POWER,
    };
    let whole = of.method.neighbourhood;
    let neighbours = whole.neighbours.filter(|&neighbours| neighbours < known.len());
    let around = Neighbourhood { neighbours, ..whole };
    let index = NeighbourIndex::stretched(known, around.anisotropy);
    let reach = Some(of.method.reach_m);
    let smoothing_m = around.smoothing_m;
    let search = around.search();
    let found = leave_one_out_smoothed_idw(known, &index, search, reach, smoothing_m, &[power])?;
    let interpolator = Interpolator::inverse_distance(known, power, &around)?;
    Ok(Estimate {
        method: ProbabilityMethod::InverseDistance { power, neighbours, why },
        probabilities: fill(&interpolator, of)?,
        of_spots: of_pairs(&found[0]),
    })
}

fn fill(interpolator: &Interpolator, of: &Surroundings) -> Result<Probabilities, MappingError> {
    let grid = of.cut.grid();
    let in_field = |row: usize, column: usize| of.cut.is_in_field(row * grid.columns() + column);
    let filled = interpolator.fill(grid, of.method.reach_m, false, in_field)?;
    Ok(Probabilities::new(filled.value))
}

fn normal(limit: Depth, known: &Samples, of: &Surroundings) -> Result<Estimate, MappingError> {
    let Some((value, variance)) = of.kriged else {
        let method = of.method.estimator.kind().name();
        return Err(MappingError::NormalWithoutVariance { method });
    };
    let cells = value.values.iter().zip(&variance.values);
    let below = |(&value, &variance): (&f64, &f64)| {
        probability_below(Kriged { value, variance }, limit.cm())
    };
    let raster = Raster { grid: value.grid, values: cells.map(below).collect() };
    // The known spots keep their order, so their numbers follow from their places.
    let of_known = |place: (f64, f64)| {
        let mut all = known.as_slice().iter();
        all.position(|sample| (sample.easting_m, sample.northing_m) == place)
    };
    let of_pair = |pair: &geostat::ObservedEstimated| {
        let position = of.survey.spots()[pair.index].position;
        let index = of_known((position.easting_m, position.northing_m))?;
        let kriged = Kriged { value: pair.estimated, variance: pair.variance? };
        Some((index, probability_below(kriged, limit.cm())))
    };
    Ok(Estimate {
        method: ProbabilityMethod::Normal,
        probabilities: Probabilities::new(raster),
        of_spots: of.method.validation.pairs.iter().filter_map(of_pair).collect(),
    })
}

fn nothing_known(of: &Surroundings, limit: Depth) -> MappingError {
    MappingError::OneKindOfIndicator {
        what: format!(
            "all {} readings stopped above {} without reaching the threshold",
            of.survey.spots().len(),
            of.settings.classes.units().depth_text(limit)
        ),
        next: "give a smaller --thinner-than".into(),
    }
}

/// All spots are on one side: a probability of 0 or 1 everywhere would claim what no one knows.
fn one_kind(of: &Surroundings, limit: Depth, thinner: usize) -> MappingError {
    let text = |depth| of.settings.classes.units().depth_text(depth);
    let depths = || of.survey.spots().iter().filter(|spot| !spot.reading.is_not_reached());
    let depth = |spot: &survey::Spot| spot.reading.at_least();
    match thinner {
        0 => {
            let least = depths().map(depth).reduce(|a, b| if b < a { b } else { a });
            let next = least.map_or("leave --thinner-than out".into(), |least| {
                format!("the shallowest is {}: give a greater --thinner-than", text(least))
            });
            let what = format!("no reading is thinner than {}", text(limit));
            MappingError::OneKindOfIndicator { what, next }
        }
        _ => MappingError::OneKindOfIndicator {
            what: format!("every reading of which it is known is thinner than {}", text(limit)),
            next: "give a smaller --thinner-than".into(),
        },
    }
}

/// Scores probabilities against what was read.
fn check(of_spots: &[(f64, bool)]) -> Option<ProbabilityCheck> {
    let count = of_spots.len() as f64;
    if of_spots.len() < 2 {
        return None;
    }
    let read = |is_thinner: bool| f64::from(u8::from(is_thinner));
    let mean_square = |off: &dyn Fn(&(f64, bool)) -> f64| {
        of_spots.iter().map(|spot| off(spot) * off(spot)).sum::<f64>() / count
    };
    let share = of_spots.iter().map(|spot| read(spot.1)).sum::<f64>() / count;
    let brier = mean_square(&|&(p, is_thinner)| p - read(is_thinner));
    // The share among the others is off by n/(n−1) times what the share of all is off by.
    let plain_brier =
        mean_square(&|&(_, is_thinner)| (share - read(is_thinner)) * count / (count - 1.0));
    let of_class = |class: usize| {
        let spots: Vec<&(f64, bool)> =
            of_spots.iter().filter(|spot| probability_class(spot.0) == class).collect();
        (!spots.is_empty()).then(|| Reliability {
            class,
            mean_probability: spots.iter().map(|spot| spot.0).sum::<f64>() / spots.len() as f64,
            spots: spots.len(),
            thinner: spots.iter().filter(|spot| spot.1).count(),
        })
    };
    Some(ProbabilityCheck {
        spots: of_spots.len(),
        brier,
        plain_brier,
        skill: 1.0 - brier / plain_brier,
        reliability: (0..6).filter_map(of_class).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: squares 0.04, 0.16, 0.01 and 0.81; the others' shares are 1/3 for a thin spot and 2/3
    /// for another.
    #[test]
    fn scores_by_hand() {
        let check = check(&[(0.8, true), (0.6, true), (0.1, false), (0.9, false)]).unwrap();
        assert!((check.brier - 1.02 / 4.0).abs() < 1e-12);
        assert!((check.plain_brier - 4.0 / 9.0).abs() < 1e-12);
        assert!((check.skill - (1.0 - 0.255 * 9.0 / 4.0)).abs() < 1e-12);
        let classes: Vec<(usize, usize, usize)> =
            check.reliability.iter().map(|r| (r.class, r.spots, r.thinner)).collect();
        assert_eq!(classes, [(1, 1, 0), (3, 1, 1), (4, 1, 1), (5, 1, 0)]);
        assert!(super::check(&[(0.3, true)]).is_none());
    }
}
