//! How a map is made, with the defaults beside what they steer.

use geostat::{Anisotropy, Sectors};
use survey::{Depth, UnitSystem};

use crate::classes::DepthClasses;
use crate::strata::StratumPart;
use crate::zone_settings::ZoneSettings;

/// Settings of a map. `None` lets the survey or the field decide, by the rule stated.
#[derive(Debug, Clone, PartialEq)]
pub struct MapSettings {
    /// The depth classes.
    pub classes: DepthClasses,
    /// How depths between spots are estimated.
    pub method: MethodChoice,
    /// Power of inverse-distance weighting; `None` takes the one of [`candidate_powers`] with the least
    /// root mean square error in leave-one-out cross-validation, the smaller of equals, or
    /// [`USUAL_POWER`] where nothing can be cross-validated.
    pub power: Option<f64>,
    /// How many nearest spots each cell is estimated from; `None` is all of them, or the nearest
    /// [`MANY_NEIGHBOURS`] in a survey of more than [`FEW_SPOTS`] spots; with kriging the nearest
    /// [`MANY_NEIGHBOURS_OF_KRIGING`] in one of more than [`FEW_SPOTS_OF_KRIGING`].
    pub neighbours: Option<usize>,
    /// Most spots taken from each direction.
    pub sectors: Option<Sectors>,
    /// Direction in which readings count as nearer, traffic lanes for instance. The reach is by true
    /// distance all the same.
    pub anisotropy: Anisotropy,
    /// Smoothing length of inverse distance, metres; 0 keeps the surface exact at the spots.
    pub smoothing_m: f64,
    /// Cells farther than this from every spot have no value, metres; `None` is
    /// [`REACH_IN_SPACINGS`] times the typical spacing of the spots.
    pub reach_m: Option<f64>,
    /// Side of a cell, metres; `None` is the side that gives a square of the field's area
    /// [`CELLS_ACROSS`] cells, rounded down to 1, 2 or 5 times a power of ten, from 0.5 m to 20 m. It
    /// depends on the field alone, so that all visits of a field share one grid.
    pub cell_m: Option<f64>,
    /// Ground that is probed and judged apart; what lies in no stratum is the main ground.
    pub strata: Vec<StratumPart>,
    /// How zones are drawn.
    pub zones: ZoneSettings,
    /// The depth whose probability of being undercut is mapped.
    pub thinner_than: Option<Depth>,
    /// How that probability is estimated.
    pub probability: ProbabilityChoice,
    /// How many maps are drawn by conditional simulation for the intervals of the class areas, where the
    /// surface is kriged; 0 is none.
    pub realisations: usize,
    /// Seed of the simulation: the same seed gives the same maps.
    pub seed: u64,
}

/// How depths between spots are estimated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum MethodChoice {
    /// Inverse-distance weighting.
    #[default]
    InverseDistance,
    /// Ordinary kriging; needs [`LEAST_SPOTS_OF_KRIGING`] spots.
    Kriging,
    /// The mean of all spots, everywhere.
    Mean,
    /// The one of them with the least leave-one-out error; inverse distance in a survey of fewer than
    /// [`LEAST_SPOTS_OF_KRIGING`] spots.
    Auto,
}

/// How the probability of a loose layer thinner than a depth is estimated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ProbabilityChoice {
    /// Indicator kriging, or inverse distance of the indicators where there are too few spots, fewer than
    /// five on one side of the depth, or no variogram fits.
    #[default]
    Auto,
    /// Indicator kriging alone.
    Indicator,
    /// From the kriged depth and its variance, taken for normally distributed.
    Normal,
}

impl MapSettings {
    /// The defaults in one system of units.
    pub fn new(units: UnitSystem) -> Self {
        MapSettings {
            classes: DepthClasses::rod_marks(units),
            method: MethodChoice::default(),
            power: None,
            neighbours: None,
            sectors: None,
            anisotropy: Anisotropy::NONE,
            smoothing_m: 0.0,
            reach_m: None,
            cell_m: None,
            strata: Vec::new(),
            zones: ZoneSettings::default(),
            thinner_than: None,
            probability: ProbabilityChoice::default(),
            realisations: USUAL_REALISATIONS,
            seed: 1,
        }
    }
}

/// Up to so many spots a cell is estimated from all of them, which leaves no jump in the surface
/// that a zone's border could follow.
pub const FEW_SPOTS: usize = 2_000;

/// Neighbours of a cell in a survey of more spots.
pub const MANY_NEIGHBOURS: usize = 64;

/// Fewer spots make no variogram: Webster and Oliver (1992, Journal of Soil Science 43:177–192, from
/// memory) found those of fewer than 50 worthless, and want 100 to 150.
pub const LEAST_SPOTS_OF_KRIGING: usize = 50;

/// Fewer spots than this are few for a variogram (the same).
pub const SPOTS_FOR_A_GOOD_VARIOGRAM: usize = 100;

/// Up to so many spots kriging takes all of them at once.
pub const FEW_SPOTS_OF_KRIGING: usize = 500;

/// Neighbours of a cell kriged in a survey of more spots: more change an estimate by little, since near
/// spots screen those behind them.
pub const MANY_NEIGHBOURS_OF_KRIGING: usize = 32;

/// Side of the blocks of ground that are left out together, in typical spacings: a block of a
/// square grid of probes then holds about nine.
pub const BLOCK_IN_SPACINGS: f64 = 3.0;

/// Fewer blocks would leave too little of the field in.
pub(crate) const LEAST_BLOCKS: usize = 4;

/// In a survey of more spots no blocks are left out: inverse distance from all spots would take longer
/// to check than to map.
pub const MOST_SPOTS_OF_BLOCKS: usize = 1_000;

/// Realisations of a conditional simulation: a tenth of 100 lies beyond each end of the 80 % interval.
pub const USUAL_REALISATIONS: usize = 100;

/// The fewest realisations beside none: two lie beyond each end of the 80 % interval. Of one or two the
/// interval would be as narrow as chance has it, and claim what is not known.
pub const LEAST_REALISATIONS: usize = 20;

/// The most realisations: some minutes.
pub const MOST_REALISATIONS: usize = 10_000;

/// The reach in typical spacings: on a square grid of probes the farthest ground between them is
/// 0.71 spacings away, so 1.5 bridges a missing probe and no more.
pub const REACH_IN_SPACINGS: f64 = 1.5;

/// Cells across a square of the field's area: 250, about 60 000 in all.
pub const CELLS_ACROSS: f64 = 250.0;

/// The power where cross-validation cannot choose, because all readings are equal or each is alone
/// within its reach (common practice).
pub const USUAL_POWER: f64 = 2.0;

/// The powers that cross-validation chooses from: 0.5 to 5 by quarters. A finer step would read
/// more out of a flat minimum than is in it.
pub fn candidate_powers() -> Vec<f64> {
    (2..=20).map(|quarters| f64::from(quarters) / 4.0).collect()
}

/// The cell side for a field of so much ground: see [`MapSettings::cell_m`].
pub(crate) fn cell_for_area_m(area_m2: f64) -> f64 {
    let wanted = area_m2.sqrt() / CELLS_ACROSS;
    [20.0, 10.0, 5.0, 2.0, 1.0].into_iter().find(|&side| side <= wanted).unwrap_or(0.5)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_suit_the_field() {
        // 30 ha is a square of 548 m: 2.2 m, rounded down to 2 m.
        assert_eq!(cell_for_area_m(300_000.0), 2.0);
        assert_eq!(cell_for_area_m(1_000.0), 0.5);
        assert_eq!(cell_for_area_m(1e10), 20.0);
    }

    #[test]
    fn powers_run_from_a_half_to_five() {
        let powers = candidate_powers();
        assert_eq!((powers[0], powers[1], *powers.last().unwrap()), (0.5, 0.75, 5.0));
    }
}
