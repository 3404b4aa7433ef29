//! How much ground each depth class may have, by conditional simulation.
//!
//! A kriged map is smoother than the soil, so ground counted on it has too little of the shallow and
//! the deep. Maps drawn at random around the same readings have as much variation as the variogram says;
//! the ground of a class in each of them tells how sure its area is. Readings that did not reach
//! the threshold are drawn anew for each map, as deep as probed or deeper, so the deep classes can have
//! more ground here than on the map. What varies within a few paces, the nugget, averages out over a
//! cell and is not in these maps.

use geostat::{Kriging, Raster, Simulation, simulate};
use survey::CheckedSurvey;

use crate::areas::areas_m2;
use crate::classes::DepthClasses;
use crate::cut::CutField;
use crate::error::MappingError;
use crate::probability::observations;
use crate::settings::MapSettings;
use crate::thinned_cells::thinned;

/// The most cells that are simulated.
pub const MOST_SIMULATED_CELLS: usize = 10_000;

/// In a survey of more spots nothing is simulated: it would take longer than the map.
pub const MOST_SIMULATED_SPOTS: usize = 2_000;

/// Neighbours of a cell, and as many cells visited before.
const NEIGHBOURS: usize = 16;

/// Ground of the depth classes in maps drawn by conditional simulation.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassIntervals {
    /// How many maps.
    pub realisations: usize,
    /// Their seed.
    pub seed: u64,
    /// Cells simulated in each.
    pub cells: usize,
    /// Every so manieth row and column of the map's grid was simulated: 1 is all.
    pub step: usize,
    /// For each class, the shallowest first.
    pub areas: Vec<AreaInterval>,
}

/// An area with its 80 % interval, true square metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AreaInterval {
    /// A tenth of the maps have less.
    pub low_m2: f64,
    /// Half of the maps have less.
    pub median_m2: f64,
    /// A tenth of the maps have more.
    pub high_m2: f64,
}

/// Draws maps and measures the classes in them; `None` where none are wanted or there are more than
/// [`MOST_SIMULATED_SPOTS`] spots.
pub(crate) fn simulated(
    survey: &CheckedSurvey,
    settings: &MapSettings,
    kriging: &Kriging,
    cut: &CutField,
    depth_cm: &Raster,
) -> Result<Option<ClassIntervals>, MappingError> {
    let (realisations, seed) = (settings.realisations, settings.seed);
    if realisations == 0 || survey.spots().len() > MOST_SIMULATED_SPOTS {
        return Ok(None);
    }
    let classes = &settings.classes;
    let whole = areas_m2(cut, survey.field(), depth_cm, 1, |_| 0)[0];
    let grid = depth_cm.grid;
    let with_value = |&cell: &usize| !depth_cm.values[cell].is_nan();
    let with_value: Vec<usize> = (0..depth_cm.values.len()).filter(with_value).collect();
    let (step, cells) = thinned(&with_value, grid.columns(), MOST_SIMULATED_CELLS);
    let place = |&cell: &usize| {
        [grid.easting_m(cell % grid.columns()), grid.northing_m(cell / grid.columns())]
    };
    let places: Vec<[f64; 2]> = cells.iter().map(place).collect();
    let simulation = Simulation { realisations, seed, neighbours: NEIGHBOURS };
    let shares: Vec<f64> = cells.iter().map(|&cell| cut.share(cell)).collect();
    let all: f64 = shares.iter().sum();
    let mut areas: Vec<Vec<f64>> = vec![Vec::new(); classes.len()];
    simulate(&observations(survey), kriging, &places, simulation, |_, values_cm| {
        for (areas, share) in areas.iter_mut().zip(class_shares(values_cm, &shares, classes)) {
            areas.push(share / all * whole);
        }
    })
    .map_err(|source| MappingError::NoSimulation { source })?;
    let areas = areas.into_iter().map(interval).collect();
    Ok(Some(ClassIntervals { realisations, seed, cells: cells.len(), step, areas }))
}

/// The part of the field's cells in each class.
fn class_shares(values_cm: &[f64], shares: &[f64], classes: &DepthClasses) -> Vec<f64> {
    let mut sums = vec![0.0; classes.len()];
    for (&value_cm, share) in values_cm.iter().zip(shares) {
        sums[classes.class_of_cm(value_cm)] += share;
    }
    sums
}

/// The tenth, half and nine tenths of some numbers, between the two nearest of them by proportion
/// (definition 7 of Hyndman and Fan 1996, The American Statistician 50:361–365, from memory).
fn interval(mut areas: Vec<f64>) -> AreaInterval {
    areas.sort_by(f64::total_cmp);
    let quantile = |share: f64| {
        let at = share * (areas.len() - 1) as f64;
        let (low, high) = (at.floor() as usize, at.ceil() as usize);
        areas[low] + (areas[high] - areas[low]) * (at - at.floor())
    };
    AreaInterval { low_m2: quantile(0.1), median_m2: quantile(0.5), high_m2: quantile(0.9) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: of 0 to 10 the tenths are 1, 5 and 9; of two numbers they lie between.
    #[test]
    fn quantiles_by_hand() {
        let of = |areas: Vec<f64>| {
            let AreaInterval { low_m2, median_m2, high_m2 } = interval(areas);
            [low_m2, median_m2, high_m2]
        };
        assert_eq!(of((0..=10).rev().map(f64::from).collect()), [1.0, 5.0, 9.0]);
        assert_eq!(of(vec![10.0, 0.0]), [1.0, 5.0, 9.0]);
        assert_eq!(of(vec![3.0]), [3.0; 3]);
    }
}
