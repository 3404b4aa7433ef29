//! A surface whose values are worked out: what a map takes longest for, and what stays as it is while the limits
//! of classes and the rules of zones are tried.

use geostat::{KrigedRaster, Raster};
use survey::CheckedSurvey;

use crate::error::MappingError;
use crate::evidence::Basis;
use crate::probability::Surroundings;
use crate::settings::MapSettings;
use crate::stream::{DepthSurface, above_ground};
use crate::surface::MOST_CELLS;
use crate::zone_frame::ZoneFrame;
use crate::zone_members::ZoneMembers;
use crate::{DepthMap, Probability, class_intervals, evidence, probability, zone_ids, zoning};

/// A surface of loose-layer depth with the values of all its cells, before classes and zones.
pub struct FilledSurface {
    surface: DepthSurface,
    depth_cm: Raster,
    standard_error_cm: Option<Raster>,
    negative_variances: usize,
    below_ground: usize,
    probability: Option<Probability>,
}

impl FilledSurface {
    /// Interpolates a survey. Of the settings, those of the interpolation, the strata and `thinner_than` matter;
    /// those of the zones are looked at, so that what makes no map is said before the work.
    ///
    /// # Errors
    /// When a setting makes no map: a cell too small for memory, a power or reach that means nothing.
    pub fn new(survey: &CheckedSurvey, settings: &MapSettings) -> Result<Self, MappingError> {
        let rules = settings.zones.rules(survey.field())?;
        if settings.thinner_than.is_some() && !settings.strata.is_empty() {
            return Err(MappingError::NotWithStrata { option: "--thinner-than" });
        }
        let surface = DepthSurface::with_most(survey, settings, "map", MOST_CELLS)?;
        rules.refuse_finer_than(surface.grid().cell_m(), survey.field())?;
        let KrigedRaster { value: kriged, variance, negative_variances } = surface.fill()?;
        let around = Surroundings {
            survey,
            settings,
            method: surface.method(),
            cut: surface.cut(),
            kriged: variance.as_ref().map(|variance| (&kriged, variance)),
        };
        let chance = |limit| probability::map(limit, &around);
        let probability = settings.thinner_than.map(chance).transpose()?;
        let below_ground = kriged.values.iter().filter(|&&value| value < 0.0).count();
        Ok(FilledSurface {
            depth_cm: each(kriged, above_ground),
            standard_error_cm: variance.map(|variance| each(variance, f64::sqrt)),
            negative_variances,
            below_ground,
            probability,
            surface,
        })
    }

    /// The map of the survey it was made of. The settings are those it was made with; only classes, zones,
    /// `realisations` and `seed` may be others.
    ///
    /// # Errors
    /// When the rules of the zones mean nothing for this field and grid.
    pub fn map(
        &self,
        survey: &CheckedSurvey,
        settings: &MapSettings,
    ) -> Result<DepthMap, MappingError> {
        let (surface, field, classes) = (&self.surface, survey.field(), &settings.classes);
        let rules = settings.zones.rules(field)?;
        rules.refuse_finer_than(surface.grid().cell_m(), field)?;
        let class_intervals = match surface.kriging() {
            // A simulation knows one variogram.
            Some(kriging) if surface.strata().is_empty() => {
                let cut = surface.cut();
                class_intervals::simulated(survey, settings, kriging, cut, &self.depth_cm)?
            }
            _ => None,
        };
        let frame = ZoneFrame::new(field, surface.cut(), &self.depth_cm, surface.strata(), &rules)?;
        let (mut zoned, patch_of_cell) =
            zoning::zones(field, &frame, classes, surface.strata(), &rules)?;
        let members = ZoneMembers::new(&frame, &zoned.patch_of_zone, patch_of_cell);
        let basis = Basis { survey, surface, classes, members: &members };
        evidence::add(&mut zoned.zones, &basis);
        let earlier = &settings.zones.earlier;
        let kept_ids = (!earlier.is_empty())
            .then(|| zone_ids::keep(&mut zoned.zones, earlier, &members, surface.cut(), field))
            .transpose()?;
        let (probed, strata) = surface.found_in_strata(survey);
        Ok(DepthMap {
            depth_cm: self.depth_cm.clone(),
            standard_error_cm: self.standard_error_cm.clone(),
            negative_variances: self.negative_variances,
            below_ground: self.below_ground,
            class_intervals,
            probability: self.probability.clone(),
            method: surface.method().clone(),
            probed,
            strata,
            notes: surface.strata().notes.clone(),
            classes: classes.clone(),
            kept_ids,
            borders: zoned.borders(field),
            border_tolerance_m: zoned.border_tolerance_m,
            field_area_m2: field.ground_area_m2(),
            smallest_zone_m2: rules.smallest_m2,
            zones_made: zoned.made(field, &rules),
            zones: zoned.zones,
            unmapped: zoned.unmapped,
            settings: settings.clone(),
            field: field.clone(),
            cut: surface.cut().clone(),
        })
    }
}

/// A raster with each value changed.
fn each(raster: Raster, change: impl Fn(f64) -> f64) -> Raster {
    let Raster { grid, values } = raster;
    Raster { grid, values: values.into_iter().map(change).collect() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stream::tests::survey;
    use crate::{DepthClasses, map_survey};
    use survey::{Depth, UnitSystem};

    /// All that a map tells, to the last digit.
    fn told(map: &DepthMap) -> String {
        let DepthMap { depth_cm, probability, zones, unmapped, borders, zones_made, .. } = map;
        format!("{depth_cm:?} {probability:?} {zones:?} {unmapped:?} {borders:?} {zones_made:?}")
    }

    #[test]
    fn other_classes_and_zones_of_a_kept_surface_are_those_of_a_new_map() {
        let survey = survey();
        let mut settings = MapSettings {
            thinner_than: Some(Depth::from_in(6.0)),
            ..MapSettings::new(UnitSystem::Us)
        };
        let kept = FilledSurface::new(&survey, &settings).unwrap();
        let mut numbers_of_zones = Vec::new();
        for (limits, smallest_m2) in
            [(vec![3.0, 6.0, 9.0], 0.0), (vec![5.0], 0.0), (vec![3.0, 6.0, 9.0], 2_000.0)]
        {
            settings.classes = DepthClasses::new(&limits, UnitSystem::Us).unwrap();
            settings.zones.smallest_m2 = Some(smallest_m2);
            let (again, anew) =
                (kept.map(&survey, &settings).unwrap(), map_survey(&survey, &settings).unwrap());
            assert_eq!(told(&again), told(&anew));
            numbers_of_zones.push(again.zones.len());
        }
        assert!(numbers_of_zones[0] > numbers_of_zones[1]);
        assert!(numbers_of_zones[0] > numbers_of_zones[2]);
    }

    #[test]
    fn rules_that_make_no_zones_are_refused_before_and_after() {
        let survey = survey();
        let settings = MapSettings::new(UnitSystem::Us);
        let kept = FilledSurface::new(&survey, &settings).unwrap();
        let mut wrong = settings.clone();
        wrong.zones.narrowest_m = Some(-1.0);
        assert!(kept.map(&survey, &wrong).is_err());
        assert!(FilledSurface::new(&survey, &wrong).is_err());
    }
}
