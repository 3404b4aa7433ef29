//! The choice of a method by cross-validation.
//!
//! The field mean, each power of inverse distance and kriging estimate every spot from the others; all
//! are compared over the same spots, those within reach of another. The least root mean square error
//! wins; of errors that are equal to a billionth the plainer method: the field mean before inverse
//! distance before kriging. The powers and the variogram are fitted to the same spots, so the
//! error of the method chosen is a little too small, as always where the best of several is reported.

use std::collections::BTreeSet;

use geostat::{
    CrossValidation, NeighbourIndex, Samples, SpatialBlocks, leave_one_out_smoothed_idw,
};

use crate::error::MappingError;
use crate::fitted_variogram::FittedVariogram;
use crate::interpolator::Interpolator;
use crate::method::{
    BlockCheck, EQUAL, Errors, Estimator, Method, MethodKind, Neighbourhood, Tried,
};
use crate::settings::{
    BLOCK_IN_SPACINGS, FEW_SPOTS, FEW_SPOTS_OF_KRIGING, LEAST_BLOCKS, LEAST_REALISATIONS,
    LEAST_SPOTS_OF_KRIGING, MANY_NEIGHBOURS, MANY_NEIGHBOURS_OF_KRIGING, MOST_REALISATIONS,
    MOST_SPOTS_OF_BLOCKS, MapSettings, MethodChoice, REACH_IN_SPACINGS, USUAL_POWER,
    candidate_powers,
};

/// A way that can be taken, with its leave-one-out cross-validation.
struct Candidate {
    estimator: Estimator,
    around: Neighbourhood,
    interpolator: Interpolator,
    validation: CrossValidation,
}

/// Chooses the method for samples of so much typical spacing, and makes it ready.
pub(crate) fn choose(
    spacing_m: f64,
    samples: &Samples,
    settings: &MapSettings,
) -> Result<(Method, Interpolator), MappingError> {
    check_options(settings)?;
    let reach_m = settings.reach_m.unwrap_or(REACH_IN_SPACINGS * spacing_m);
    if !(reach_m > 0.0 && reach_m.is_finite()) {
        return Err(MappingError::Reach { reach_m });
    }
    let (idw, mut tried) = inverse_distance(samples, settings, reach_m)?;
    let near: BTreeSet<usize> = idw.validation.pairs.iter().map(|pair| pair.index).collect();
    let mean = mean(samples, &near);
    tried.insert(0, told(MethodKind::Mean, None, &mean.validation));
    let kriging = match settings.method {
        MethodChoice::Mean | MethodChoice::InverseDistance => None,
        MethodChoice::Auto if samples.len() < LEAST_SPOTS_OF_KRIGING => None,
        MethodChoice::Auto | MethodChoice::Kriging => Some(kriging(samples, settings, &near)),
    };
    tried.extend(kriging.as_ref().map(|kriging| match kriging {
        Ok(kriging) => told(MethodKind::Kriging, None, &kriging.validation),
        Err(problem) => {
            Tried { kind: MethodKind::Kriging, power: None, errors: Err(root_of(problem)) }
        }
    }));
    let best = match settings.method {
        MethodChoice::Mean => mean,
        MethodChoice::InverseDistance => idw,
        MethodChoice::Kriging => kriging.expect("kriging was tried")?,
        MethodChoice::Auto => best(mean, idw, kriging.and_then(Result::ok), samples.len()),
    };
    let Candidate { estimator, around, interpolator, validation } = best;
    let blocks = block_check(spacing_m, samples, &interpolator)?;
    let asked = settings.method;
    let neighbourhood = around;
    let method = Method { estimator, asked, neighbourhood, reach_m, validation, blocks, tried };
    Ok((method, interpolator))
}

fn best(mean: Candidate, idw: Candidate, kriging: Option<Candidate>, spots: usize) -> Candidate {
    // Too few to choose from, or nothing could be left out.
    if spots < LEAST_SPOTS_OF_KRIGING || !mean.validation.rmse.is_finite() {
        return idw;
    }
    let better = |a: Candidate, b: Candidate| {
        if b.validation.rmse < a.validation.rmse * (1.0 - EQUAL) { b } else { a }
    };
    [Some(idw), kriging].into_iter().flatten().fold(mean, better)
}

/// Options that the method asked for has no use for are refused: silence would mislead. So are too few
/// and too many realisations, whether or not the method chosen comes to need them.
fn check_options(settings: &MapSettings) -> Result<(), MappingError> {
    let (given, least, most) = (settings.realisations, LEAST_REALISATIONS, MOST_REALISATIONS);
    if given != 0 && !(least..=most).contains(&given) {
        return Err(MappingError::Realisations { given, least, most });
    }
    let method = match settings.method {
        MethodChoice::Auto | MethodChoice::InverseDistance => return Ok(()),
        MethodChoice::Kriging => "kriging",
        MethodChoice::Mean => "mean",
    };
    let is_mean = settings.method == MethodChoice::Mean;
    let given = [
        ("--power", settings.power.is_some()),
        ("--smoothing", settings.smoothing_m != 0.0),
        ("--neighbours", is_mean && settings.neighbours.is_some()),
        ("--sectors", is_mean && settings.sectors.is_some()),
        ("--direction", is_mean && !settings.anisotropy.is_none()),
    ];
    match given.into_iter().find(|(_, is_given)| *is_given) {
        Some((option, _)) => Err(MappingError::OptionOfOther { option, method }),
        None => Ok(()),
    }
}

fn told(kind: MethodKind, power: Option<f64>, validation: &CrossValidation) -> Tried {
    Tried { kind, power, errors: Ok(Errors::from(validation)) }
}

/// The last cause of an error: the plainest words.
fn root_of(error: &MappingError) -> String {
    let mut cause: &dyn std::error::Error = error;
    while let Some(source) = cause.source() {
        cause = source;
    }
    cause.to_string()
}

fn around(settings: &MapSettings, neighbours: Option<usize>, spots: usize) -> Neighbourhood {
    Neighbourhood {
        neighbours: neighbours.filter(|&count| count < spots),
        sectors: settings.sectors,
        anisotropy: settings.anisotropy,
        smoothing_m: 0.0,
    }
}

fn mean(samples: &Samples, near: &BTreeSet<usize>) -> Candidate {
    let plain = MapSettings::new(survey::UnitSystem::Si);
    Candidate {
        estimator: Estimator::Mean,
        around: around(&plain, None, samples.len()),
        interpolator: Interpolator::mean(samples),
        validation: CrossValidation::of_mean(samples).only(samples, |index| near.contains(&index)),
    }
}

fn inverse_distance(
    samples: &Samples,
    settings: &MapSettings,
    reach_m: f64,
) -> Result<(Candidate, Vec<Tried>), MappingError> {
    let many = (samples.len() > FEW_SPOTS).then_some(MANY_NEIGHBOURS);
    let around = Neighbourhood {
        smoothing_m: settings.smoothing_m,
        ..around(settings, settings.neighbours.or(many), samples.len())
    };
    let candidates = candidate_powers();
    let powers = settings.power.map_or_else(|| candidates.clone(), |power| vec![power]);
    let index = NeighbourIndex::stretched(samples, around.anisotropy);
    let (search, reach) = (around.search(), Some(reach_m));
    let found =
        leave_one_out_smoothed_idw(samples, &index, search, reach, around.smoothing_m, &powers)?;
    let told = |(&power, validation): (&f64, &CrossValidation)| {
        told(MethodKind::InverseDistance, Some(power), validation)
    };
    let tried = powers.iter().zip(&found).map(told).collect();
    let (power, validation) = powers
        .into_iter()
        .zip(found)
        .min_by(|a, b| a.1.rmse.total_cmp(&b.1.rmse))
        .expect("at least one power");
    // Where nothing could be left out, or all readings are equal, nothing was chosen.
    let chosen = settings.power.is_none() && !validation.skill().is_nan();
    let power = if chosen { power } else { settings.power.unwrap_or(USUAL_POWER) };
    let ends = [candidates.first(), candidates.last()];
    let at_end = chosen && ends.contains(&Some(&power));
    let estimator = Estimator::InverseDistance { power, chosen, at_end };
    let interpolator = Interpolator::inverse_distance(samples, power, &around)?;
    Ok((Candidate { estimator, around, interpolator, validation }, tried))
}

/// The neighbourhood of kriging: see [`MapSettings::neighbours`].
pub(crate) fn kriging_neighbourhood(settings: &MapSettings, spots: usize) -> Neighbourhood {
    let many = (spots > FEW_SPOTS_OF_KRIGING).then_some(MANY_NEIGHBOURS_OF_KRIGING);
    around(settings, settings.neighbours.or(many), spots)
}

fn kriging(
    samples: &Samples,
    settings: &MapSettings,
    near: &BTreeSet<usize>,
) -> Result<Candidate, MappingError> {
    let spots = samples.len();
    if spots < LEAST_SPOTS_OF_KRIGING {
        return Err(MappingError::FewForKriging { spots, least: LEAST_SPOTS_OF_KRIGING });
    }
    let around = kriging_neighbourhood(settings, spots);
    let refused = |source| MappingError::NoKriging { source };
    let variogram = FittedVariogram::new(samples, settings.anisotropy).map_err(refused)?;
    let interpolator = Interpolator::kriging(samples, variogram.model, &around).map_err(refused)?;
    let validation = interpolator.leave_one_out_kriging().expect("it is kriging");
    let validation = validation.map_err(refused)?.only(samples, |index| near.contains(&index));
    let estimator = Estimator::Kriging(Box::new(variogram));
    Ok(Candidate { estimator, around, interpolator, validation })
}

fn block_check(
    spacing_m: f64,
    samples: &Samples,
    interpolator: &Interpolator,
) -> Result<Option<BlockCheck>, MappingError> {
    let side_m = BLOCK_IN_SPACINGS * spacing_m;
    if samples.len() > MOST_SPOTS_OF_BLOCKS {
        return Ok(None);
    }
    let blocks = SpatialBlocks::new(samples, side_m)?;
    if blocks.as_slice().len() < LEAST_BLOCKS {
        return Ok(None);
    }
    let validation = interpolator.leave_out_blocks(&blocks)?;
    Ok(Some(BlockCheck { side_m, blocks: blocks.as_slice().len(), validation }))
}
