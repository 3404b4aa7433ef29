//! The surface over one stratum or the main ground, made from its own spots alone.

use geostat::CrossValidation;
use survey::{CheckedSurvey, Spot};

use crate::choose::choose;
use crate::error::MappingError;
use crate::interpolator::Interpolator;
use crate::method::Method;
use crate::settings::{LEAST_SPOTS_OF_KRIGING, MapSettings, MethodChoice};
use crate::surface;

/// A method with its spots, ready to fill a grid.
pub(crate) struct Layer {
    pub interpolator: Interpolator,
    pub method: Method,
}

impl Layer {
    /// The layer of the spots with these numbers. Reach and blocks go by the typical spacing of the whole
    /// survey, so that one rule holds all over the field.
    pub fn new(
        survey: &CheckedSurvey,
        numbers: &[usize],
        settings: &MapSettings,
    ) -> Result<Layer, MappingError> {
        let spots = numbers.iter().map(|&k| &survey.spots()[k]);
        let samples = surface::samples::<'_>(spots)?;
        let (mut method, interpolator) = choose(survey.spacing_m(), &samples, settings)?;
        number_as_in_survey(&mut method.validation, numbers);
        if let Some(blocks) = &mut method.blocks {
            number_as_in_survey(&mut blocks.validation, numbers);
        }
        Ok(Layer { interpolator, method })
    }

    /// The layer of a stratum. Kriging takes more spots than most strata have: where it cannot be used,
    /// inverse distance is, and the reason is given.
    pub fn of_stratum(
        survey: &CheckedSurvey,
        numbers: &[usize],
        settings: &MapSettings,
    ) -> Result<(Layer, Option<String>), MappingError> {
        if settings.method != MethodChoice::Kriging {
            return Ok((Layer::new(survey, numbers, settings)?, None));
        }
        let plain = || {
            let settings =
                MapSettings { method: MethodChoice::InverseDistance, ..settings.clone() };
            Layer::new(survey, numbers, &settings)
        };
        if numbers.len() < LEAST_SPOTS_OF_KRIGING {
            let why = format!("it has fewer than {LEAST_SPOTS_OF_KRIGING} readings");
            return Ok((plain()?, Some(why)));
        }
        match Layer::new(survey, numbers, settings) {
            Err(MappingError::NoKriging { source }) => Ok((plain()?, Some(source.to_string()))),
            layer => Ok((layer?, None)),
        }
    }
}

/// Samples of a layer are numbered from 0; in what it tells, spots have their number in the survey.
fn number_as_in_survey(validation: &mut CrossValidation, numbers: &[usize]) {
    for pair in &mut validation.pairs {
        pair.index = numbers[pair.index];
    }
}

/// The numbers of the spots of each stratum, the main ground first.
pub(crate) fn spots_of_strata(
    spots: &[Spot],
    strata: usize,
    stratum_of: impl Fn(&Spot) -> u8,
) -> Vec<Vec<usize>> {
    let mut numbers = vec![Vec::new(); strata + 1];
    for (number, spot) in spots.iter().enumerate() {
        numbers[usize::from(stratum_of(spot))].push(number);
    }
    numbers
}
