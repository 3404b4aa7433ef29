//! The change of the map between two visits, and how sure it is.
//!
//! The change is the later map minus the earlier one, cell by cell. It is not a measurement of each cell:
//! both maps pass through single probes, and a probe errs. So each cell has the half width of an interval
//! around its change that holds the *mean* change of the ground around it with a given confidence. Where
//! the change is smaller than that it is within its uncertainty. The interval holds for one cell at a
//! time: where nothing changed, as many cells stand out by chance as the confidence leaves.

use geostat::{Raster, Samples};
use mapping::{DepthMap, FittedVariogram};

use crate::error::SeasonError;
use crate::kriged_change::{KrigedHalfWidth, changes_as_samples};
use crate::paired::ChangeCounts;
use crate::pairs::Pairs;
use crate::visit::Visit;

/// The change of the map between two visits.
#[derive(Debug, Clone)]
pub struct ChangeMap {
    /// Later minus earlier depth, centimetres; NaN where either has no value.
    pub change_cm: Raster,
    /// Half the width of the interval around it, centimetres; NaN where there is no change, and everywhere
    /// where nothing tells how sure the change is.
    pub half_width_cm: Raster,
    /// The share of such intervals that hold the mean change of the ground around the cell.
    pub confidence: f64,
    /// What the width rests on.
    pub basis: ChangeBasis,
    /// How far the readings tell the changes at the spots that both visits have.
    pub counts: ChangeCounts,
    /// True area on the ground where the loose layer became thinner by more than the half width, m².
    pub thinner_m2: f64,
    /// The same where it became deeper.
    pub deeper_m2: f64,
    /// Ground where the change is no greater than the half width, or its width is not known, m².
    pub within_m2: f64,
    /// Ground without a change, m².
    pub unmapped_m2: f64,
    /// Mean of the change over the ground that has one, centimetres.
    pub mean_cm: f64,
}

/// What the uncertainty of a change rests on.
#[derive(Debug, Clone, PartialEq)]
pub enum ChangeBasis {
    /// The changes at spots probed on both visits, kriged. The nugget is not in the error: what is told is
    /// the mean change of the ground, not what one probe would show.
    KrigedPairs {
        /// How many spots.
        pairs: usize,
        /// The variogram of their changes.
        variogram: Box<FittedVariogram>,
        /// What standard errors were multiplied by, since changes left out were farther off than they said;
        /// 1 where they were not.
        widened: f64,
    },
    /// One figure for the whole field: how far the change of the maps was off at spots probed on both
    /// visits when each was left out of both. The error of single probes is in it, so it is rather too wide.
    PairsLeftOut {
        /// How many spots.
        pairs: usize,
        /// Root mean square error, centimetres.
        rmse_cm: f64,
    },
    /// One figure for the whole field, from the errors of each map alone where spots are left out one by
    /// one, taken for independent: the visits have too few spots in common.
    MapsLeftOut {
        /// Root mean square error of the earlier map, centimetres.
        earlier_rmse_cm: f64,
        /// The same of the later map.
        later_rmse_cm: f64,
    },
    /// No spot could be left out, so nothing is known.
    Unknown,
}

impl ChangeMap {
    /// What the uncertainty rests on, and how many of the changes it rests on are only bounds.
    pub fn uncertainty_says(&self) -> String {
        let basis = self.basis.sentence();
        match self.basis {
            ChangeBasis::KrigedPairs { .. } | ChangeBasis::PairsLeftOut { .. } => {
                [Some(basis), bounds_sentence(self.counts)]
                    .into_iter()
                    .flatten()
                    .collect::<Vec<_>>()
            }
            ChangeBasis::MapsLeftOut { .. } | ChangeBasis::Unknown => vec![basis],
        }
        .join(" ")
    }
}

/// What changes that are only bounds do to the uncertainty; `None` where all are exact.
fn bounds_sentence(counts: ChangeCounts) -> Option<String> {
    let bounds = counts.all() - counts.exact;
    let greater = match (counts.at_most, counts.at_least) {
        (at_most, 0) if at_most == bounds => "the true fall there is greater",
        (0, at_least) if at_least == bounds => "the true rise there is greater",
        _ => "the true change there may be far greater",
    };
    (bounds > 0).then(|| {
        format!(
            "At {bounds} of {} spots the change is only a bound, since a reading was not reached: {greater}, \
             and the interval cannot hold it.",
            counts.all()
        )
    })
}

impl ChangeBasis {
    /// A sentence on what it is.
    fn sentence(&self) -> String {
        match self {
            ChangeBasis::KrigedPairs { pairs, variogram, .. } => format!(
                "Uncertainty from the changes at {pairs} spots probed on both visits, kriged with a {} \
                 variogram and without its nugget, {:.0} % of the sill: it is that of the mean change of \
                 the ground, not of one probe.",
                variogram.shape_name(),
                100.0 * variogram.nugget_share(),
            ),
            ChangeBasis::PairsLeftOut { pairs, .. } => format!(
                "Uncertainty is one figure for the whole field: how far the change of the maps was off at \
                 {pairs} spots probed on both visits when each was left out of both maps. The error of \
                 single probes is in it, so it is rather too wide."
            ),
            ChangeBasis::MapsLeftOut { .. } => {
                "Uncertainty is one figure for the whole field, from how far each map alone was off where \
                 spots were left out: the visits have too few spots in common."
                    .into()
            }
            ChangeBasis::Unknown => {
                "Nothing tells how sure the change is: no spot lies within reach of another.".into()
            }
        }
    }
}

/// Fewer pairs do not tell how far a change is off.
const LEAST_PAIRS_LEFT_OUT: usize = 5;

/// The change of the map between two visits, with the spots they have in common.
///
/// # Errors
/// When the maps are of different fields or grids.
pub fn change_map(
    earlier: &Visit,
    later: &Visit,
    pairs: &Pairs,
    confidence: f64,
) -> Result<ChangeMap, SeasonError> {
    let change_cm = difference(earlier, later)?;
    let (half_width_cm, basis) = uncertainty(earlier, later, pairs, &change_cm, confidence);
    let grid = change_cm.grid;
    let side = |(&change, &half): (&f64, &f64)| match change {
        _ if change.is_nan() => f64::NAN,
        _ if change < -half => 0.0,
        _ if change > half => 1.0,
        _ => 2.0,
    };
    let sides = change_cm.values.iter().zip(&half_width_cm.values).map(side).collect();
    let areas = later.map.areas_m2(&Raster { grid, values: sides }, 3, |side| side as usize);
    Ok(ChangeMap {
        thinner_m2: areas[0],
        deeper_m2: areas[1],
        within_m2: areas[2],
        unmapped_m2: (later.map.field_area_m2 - areas.iter().sum::<f64>()).max(0.0),
        mean_cm: later.map.mean_over_ground(&change_cm).unwrap_or(f64::NAN),
        change_cm,
        half_width_cm,
        confidence,
        basis,
        counts: ChangeCounts::of(pairs),
    })
}

/// Later minus earlier, cell by cell.
fn difference(earlier: &Visit, later: &Visit) -> Result<Raster, SeasonError> {
    let (first, second) = (&earlier.map, &later.map);
    if first.depth_cm.grid != second.depth_cm.grid || first.field() != second.field() {
        return Err(SeasonError::DifferentGround {
            earlier: earlier.name.clone(),
            later: later.name.clone(),
        });
    }
    let cells = second.depth_cm.values.iter().zip(&first.depth_cm.values);
    let values = cells.map(|(later_cm, earlier_cm)| later_cm - earlier_cm).collect();
    Ok(Raster { grid: second.depth_cm.grid, values })
}

/// The half width for each cell and what it rests on: the first of the ways that can be taken.
fn uncertainty(
    earlier: &Visit,
    later: &Visit,
    pairs: &Pairs,
    change_cm: &Raster,
    confidence: f64,
) -> (Raster, ChangeBasis) {
    let samples: Option<Samples> = changes_as_samples(pairs);
    let anisotropy = later.map.settings.anisotropy;
    let kriged = samples
        .and_then(|samples| KrigedHalfWidth::new(&samples, anisotropy, change_cm, confidence));
    if let Some(KrigedHalfWidth { half_width_cm, variogram, widened }) = kriged {
        let (pairs, variogram) = (pairs.pairs.len(), Box::new(variogram));
        return (half_width_cm, ChangeBasis::KrigedPairs { pairs, variogram, widened });
    }
    let basis = left_out(earlier, later, pairs);
    let two_sided = f64::midpoint(1.0, confidence);
    let half_cm = match basis {
        ChangeBasis::PairsLeftOut { pairs, rmse_cm } => {
            rmse_cm * statistics::student::quantile(two_sided, pairs as f64)
        }
        ChangeBasis::MapsLeftOut { earlier_rmse_cm, later_rmse_cm } => {
            let rmse_cm = libm::hypot(earlier_rmse_cm, later_rmse_cm);
            let fewer = earlier.survey.spots().len().min(later.survey.spots().len());
            rmse_cm * statistics::student::quantile(two_sided, fewer as f64)
        }
        _ => f64::NAN,
    };
    let half = |change: &f64| if change.is_nan() { f64::NAN } else { half_cm };
    let values = change_cm.values.iter().map(half).collect();
    (Raster { grid: change_cm.grid, values }, basis)
}

/// How far the change was off where spots were left out.
fn left_out(earlier: &Visit, later: &Visit, pairs: &Pairs) -> ChangeBasis {
    let (first, second) = (residuals_cm(&earlier.map), residuals_cm(&later.map));
    let of = |residuals: &[(usize, f64)], spot: usize| {
        let at = residuals.binary_search_by_key(&spot, |&(number, _)| number).ok()?;
        Some(residuals[at].1)
    };
    let off_cm: Vec<f64> = pairs
        .pairs
        .iter()
        .filter_map(|pair| Some(of(&second, pair.later_spot)? - of(&first, pair.earlier_spot)?))
        .collect();
    if off_cm.len() >= LEAST_PAIRS_LEFT_OUT {
        let rmse_cm = root_mean_square(off_cm.iter().copied());
        return ChangeBasis::PairsLeftOut { pairs: off_cm.len(), rmse_cm };
    }
    let of_map = |residuals: &[(usize, f64)]| root_mean_square(residuals.iter().map(|r| r.1));
    let (earlier_rmse_cm, later_rmse_cm) = (of_map(&first), of_map(&second));
    match (earlier_rmse_cm + later_rmse_cm).is_nan() {
        true => ChangeBasis::Unknown,
        false => ChangeBasis::MapsLeftOut { earlier_rmse_cm, later_rmse_cm },
    }
}

/// Observed minus estimated depth of each spot that could be left out, by its number in the survey.
fn residuals_cm(map: &DepthMap) -> Vec<(usize, f64)> {
    let of_strata = map.strata.iter().filter_map(|stratum| stratum.method.as_ref());
    let validations =
        std::iter::once(&map.method).chain(of_strata).map(|method| &method.validation);
    let mut all: Vec<(usize, f64)> = validations
        .flat_map(|validation| &validation.pairs)
        .map(|pair| (pair.index, pair.observed - pair.estimated))
        .collect();
    all.sort_by_key(|&(number, _)| number);
    all
}

/// NaN of nothing.
fn root_mean_square(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let count = values.len() as f64;
    (values.map(|value| value * value).sum::<f64>() / count).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::made_up::{Probe, not_reached, reached, settings, square, visit};
    use crate::pairs::{PairsWithin, pair_spots};

    const SIDE_M: f64 = 150.0;

    /// A visit to a square grid of spots, its depth by the spot's number.
    fn visited(count: usize, depth_cm: impl Fn(usize) -> f64) -> Visit {
        let places = square(count, SIDE_M / count as f64).into_iter().enumerate();
        let probes: Vec<Probe> =
            places.map(|(k, (id, place))| (id, place, reached(depth_cm(k)))).collect();
        visit("2025-04-14", None, SIDE_M, &probes, &settings(5.0))
    }

    fn change(earlier: &Visit, later: &Visit) -> Result<ChangeMap, SeasonError> {
        let within = PairsWithin::usual(&earlier.survey, &later.survey);
        let pairs = pair_spots(&earlier.survey, &later.survey, within);
        change_map(earlier, later, &pairs, 0.95)
    }

    fn waves(k: usize) -> f64 {
        20.0 + (k * 7 % 11) as f64
    }

    #[test]
    fn a_visit_beside_itself_has_not_changed_anywhere() {
        for count in [5, 8] {
            let one = visited(count, waves);
            let change = change(&one, &one).unwrap();
            assert_eq!(change.mean_cm, 0.0);
            assert_eq!((change.thinner_m2, change.deeper_m2), (0.0, 0.0));
            let all = change.within_m2 + change.unmapped_m2;
            assert!((all - one.map.field_area_m2).abs() < 1e-6);
            let pairs = count * count;
            assert_eq!(change.basis, ChangeBasis::PairsLeftOut { pairs, rmse_cm: 0.0 });
        }
    }

    #[test]
    fn an_even_fall_is_that_fall_everywhere_and_sure() {
        let (before, after) = (visited(5, waves), visited(5, |k| waves(k) - 6.0));
        let back = change(&after, &before).unwrap();
        let change = change(&before, &after).unwrap();
        let cells = || change.change_cm.values.iter().filter(|value| !value.is_nan());
        assert!(cells().count() > 800);
        assert!(cells().all(|value| (value + 6.0).abs() < 1e-9));
        assert!((change.mean_cm + 6.0).abs() < 1e-9);
        assert_eq!((change.deeper_m2, change.within_m2), (0.0, 0.0));
        assert_eq!(back.deeper_m2, change.thinner_m2);
        assert_eq!(back.thinner_m2, 0.0);
    }

    #[test]
    fn changes_that_are_only_bounds_are_told_beside_the_uncertainty() {
        let visited = |outcome: &dyn Fn(usize) -> survey::Outcome| {
            let places = square(5, 30.0).into_iter().enumerate();
            let probes: Vec<Probe> =
                places.map(|(k, (id, place))| (id, place, outcome(k))).collect();
            visit("2025-04-14", None, SIDE_M, &probes, &settings(5.0))
        };
        let plain = visited(&|k| reached(waves(k)));
        let censored = visited(&|k| if k < 7 { not_reached(45.0) } else { reached(waves(k)) });
        let says = |earlier, later| change(earlier, later).unwrap().uncertainty_says();
        let fell = says(&censored, &plain);
        assert!(fell.contains("At 7 of 25 spots the change is only a bound"), "{fell}");
        assert!(fell.ends_with("the true fall there is greater, and the interval cannot hold it."));
        assert!(says(&plain, &censored).contains("the true rise there is greater"));
        assert!(says(&censored, &censored).contains("may be far greater"));
        assert!(!says(&plain, &plain).contains("bound"));
    }

    /// Spots that rise and fall in turn by 3 cm, each the mean of its neighbours' opposite: left out of
    /// both maps, they are off by about twice as much, and no cell stands out.
    #[test]
    fn a_change_that_neighbours_contradict_is_within_its_uncertainty() {
        let turn = |k: usize| if (k / 5 + k % 5).is_multiple_of(2) { 3.0 } else { -3.0 };
        let change = change(&visited(5, |_| 20.0), &visited(5, |k| 20.0 + turn(k))).unwrap();
        let ChangeBasis::PairsLeftOut { pairs: 25, rmse_cm } = change.basis else {
            panic!("{:?}", change.basis);
        };
        assert!((3.0..6.0).contains(&rmse_cm), "{rmse_cm}");
        assert_eq!((change.thinner_m2, change.deeper_m2), (0.0, 0.0));
        assert!(change.within_m2 > 0.0);
    }

    #[test]
    fn without_spots_in_common_the_errors_of_both_maps_count() {
        let earlier = visited(5, waves);
        let places = square(5, 30.0).into_iter().enumerate();
        let probes: Vec<Probe> = places
            .map(|(k, (_, [east, north]))| (String::new(), [east + 15.0, north], reached(waves(k))))
            .filter(|(_, [east, _], _)| *east < SIDE_M)
            .collect();
        let later = visit("2025-08-24", None, SIDE_M, &probes, &settings(5.0));
        let within = PairsWithin::all_m(10.0);
        let pairs = pair_spots(&earlier.survey, &later.survey, within);
        let change = change_map(&earlier, &later, &pairs, 0.95).unwrap();
        let ChangeBasis::MapsLeftOut { earlier_rmse_cm, later_rmse_cm } = change.basis else {
            panic!("{:?}", change.basis);
        };
        assert_eq!(earlier_rmse_cm, earlier.map.method.validation.rmse);
        assert_eq!(later_rmse_cm, later.map.method.validation.rmse);
        // Student's t of 20 degrees of freedom is 2.086 (NIST e-Handbook, 1.3.6.7.2).
        let half = change.half_width_cm.values.iter().find(|half| !half.is_nan()).unwrap();
        let expected = 2.086 * libm::hypot(earlier_rmse_cm, later_rmse_cm);
        assert!((half - expected).abs() < 1e-3 * expected, "{half} {expected}");
    }

    #[test]
    fn maps_of_other_cells_or_ground_are_refused() {
        let probes: Vec<Probe> =
            square(5, 30.0).into_iter().map(|(id, place)| (id, place, not_reached(45.0))).collect();
        let with = |side_m, cell_m| visit("2025-04-14", None, side_m, &probes, &settings(cell_m));
        let plain = with(SIDE_M, 5.0);
        for other in [with(SIDE_M, 4.0), with(149.9, 5.0)] {
            let refused = change(&plain, &other);
            assert!(matches!(refused, Err(SeasonError::DifferentGround { .. })));
        }
        assert!(change(&plain, &plain).is_ok());
    }
}
