//! The charts of a report that not every report has.

use geostat::{Sample, Samples};
use mapping::{FittedVariogram, LEAST_SPOTS_OF_KRIGING, STOPS_ROOTS_PSI};
use report::Chart;
use survey::{Pressure, Threshold};

use super::ReportOf;
use crate::commands::{profile, season_pages};
use crate::profiles::{ProfileRequest, Profiles};
use crate::{pages, settings};

/// The variogram that the map is kriged with, or that of its readings where they are enough for one.
pub fn variogram(of: &ReportOf) -> Option<Chart> {
    let visit = of.latest();
    let kriged = visit.map.method.variogram().cloned();
    let fitted = kriged.or_else(|| estimated(of))?;
    let draw = report::variogram_chart;
    Some(pages::with_variogram(&of.loaded.field_name, &visit.survey, &visit.map, &fitted, draw))
}

/// That of the readings which the check of the map rests on.
fn estimated(of: &ReportOf) -> Option<FittedVariogram> {
    let visit = of.latest();
    let sample = |pair: &geostat::ObservedEstimated| {
        let place = visit.survey.spots()[pair.index].position;
        Sample { easting_m: place.easting_m, northing_m: place.northing_m, value: pair.observed }
    };
    let pairs = &visit.map.method.validation.pairs;
    let samples = Samples::new(pairs.iter().map(sample).collect()).ok()?;
    let is_enough = samples.len() >= LEAST_SPOTS_OF_KRIGING;
    is_enough.then(|| FittedVariogram::new(&samples, visit.map.settings.anisotropy).ok()).flatten()
}

/// Cone index by depth, where the survey has profiles.
pub fn profiles(of: &ReportOf) -> Option<Chart> {
    let source = of.loaded.sources.last()?;
    let options = &source.args.read.options;
    let own = of.latest().survey.threshold().clone();
    let stops_roots = Pressure::from_psi(STOPS_ROOTS_PSI);
    let is_other = !own.pressure().is_same_threshold(stops_roots);
    let thresholds = std::iter::once(own).chain(is_other.then(|| Threshold::plain(stops_roots)));
    let request = ProfileRequest {
        thresholds: thresholds.collect(),
        sustained: settings::sustained(options),
        units: of.units(),
        by_group: options.group.is_some(),
        dates: options.date,
    };
    let profiles = Profiles::of(&source.source.readings.survey, &request).ok()?;
    let name = &of.loaded.field_name;
    Some(profile::with_page(name, &profiles, &request, report::profile_chart))
}

/// The season by its days.
pub fn season(of: &ReportOf) -> Option<Chart> {
    season_pages::with_season_page(of.loaded, of.trend, of.stage, |page| {
        // The legend of the shares would be one more list; the table has them.
        report::season_chart(&report::SeasonPage { share_names: &[], ..*page })
    })
}
