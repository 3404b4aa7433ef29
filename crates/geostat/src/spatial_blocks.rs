//! Cross-validation that leaves out whole blocks of ground.
//!
//! Leaving out one sample asks how well a map fills the gaps between samples that are close to each
//! other; leaving out all samples of a block asks how well it does farther away, where neighbours do
//! not give the answer away: Roberts and others (2017), "Cross-validation strategies for data with
//! temporal, spatial, hierarchical, or phylogenetic structure", Ecography 40:913–929 (from memory).
//! Blocks are squares on a grid that begins at the least easting and northing of the samples.

use rayon::prelude::*;

use crate::anisotropy::Anisotropy;
use crate::cross_validation::CrossValidation;
use crate::error::GeostatError;
use crate::idw::Idw;
use crate::kriging::{GlobalKriging, Kriging};
use crate::neighbours::{NeighbourIndex, Search};
use crate::sample::{Sample, Samples};

/// Samples grouped in square blocks of ground.
#[derive(Debug, Clone, PartialEq)]
pub struct SpatialBlocks {
    /// Numbers of the samples in each block, from the south-west, rows of blocks eastwards; no block
    /// is empty.
    blocks: Vec<Vec<usize>>,
}

impl SpatialBlocks {
    /// Groups samples in squares of a side in metres. A sample on a line between squares belongs to
    /// the one to its north or east.
    ///
    /// # Errors
    /// When the side is not above 0 or not finite.
    pub fn new(samples: &Samples, side_m: f64) -> Result<Self, GeostatError> {
        if !(side_m > 0.0 && side_m.is_finite()) {
            return Err(GeostatError::BlockSide { side_m });
        }
        let all = samples.as_slice();
        let west_m = all.iter().map(|s| s.easting_m).fold(f64::MAX, f64::min);
        let south_m = all.iter().map(|s| s.northing_m).fold(f64::MAX, f64::min);
        let square = |i: usize| {
            let number = |from_m: f64| (from_m / side_m).floor();
            (number(all[i].northing_m - south_m), number(all[i].easting_m - west_m))
        };
        let mut order: Vec<usize> = (0..all.len()).collect();
        order.sort_by(|&a, &b| {
            (square(a), a).partial_cmp(&(square(b), b)).expect("samples are finite")
        });
        let blocks = order.chunk_by(|&a, &b| square(a) == square(b));
        Ok(SpatialBlocks { blocks: blocks.map(<[usize]>::to_vec).collect() })
    }

    /// Numbers of the samples in each block.
    pub fn as_slice(&self) -> &[Vec<usize>] {
        &self.blocks
    }

    /// Leaves out one block after the other and estimates its samples by the mean of the others.
    pub fn cross_validate_mean(&self, samples: &Samples) -> CrossValidation {
        let mean = samples.mean();
        let of_block = |block: &Vec<usize>| {
            vec![(mean_of_others(samples, mean, block).unwrap_or(f64::NAN), None); block.len()]
        };
        self.collect(samples, self.blocks.iter().map(of_block).collect())
    }

    /// Leaves out one block after the other and estimates its samples by inverse-distance weighting,
    /// by plain distance.
    pub fn cross_validate_idw(&self, samples: &Samples, idw: &Idw) -> CrossValidation {
        self.cross_validate_idw_stretched(samples, idw, Anisotropy::NONE)
    }

    /// The same by the distance of an anisotropy, as an index made by [`NeighbourIndex::stretched`]
    /// has it.
    pub fn cross_validate_idw_stretched(
        &self,
        samples: &Samples,
        idw: &Idw,
        anisotropy: Anisotropy,
    ) -> CrossValidation {
        let of_block = |block: &Vec<usize>| {
            let Some((rest, index)) = without(samples, block, anisotropy) else {
                return not_estimated(block);
            };
            let estimate = |&i: &usize| (idw.estimate(&rest, &index, place(samples, i)), None);
            block.iter().map(estimate).collect()
        };
        self.collect(samples, self.blocks.par_iter().map(of_block).collect())
    }

    /// Leaves out one block after the other and estimates its samples by kriging, with the variances of
    /// the observed values; in closed form where every sample takes part. The variogram stays that of
    /// the settings. Neighbours are the nearest in plain distance.
    ///
    /// # Errors
    /// When the equations have no solution: see [`GlobalKriging::new`].
    pub fn cross_validate_kriging(
        &self,
        samples: &Samples,
        kriging: &Kriging,
    ) -> Result<CrossValidation, GeostatError> {
        if kriging.search() == Search::EVERYTHING && samples.len() >= kriging.coefficients() {
            return Ok(self.cross_validate_global(&GlobalKriging::new(samples, kriging)?));
        }
        let of_block = |block: &Vec<usize>| {
            let Some((rest, index)) = without(samples, block, Anisotropy::NONE) else {
                return Ok(not_estimated(block));
            };
            let estimate = |&i: &usize| {
                let kriged = kriging.estimate(&rest, &index, place(samples, i))?;
                Ok((kriged.value, Some(kriged.variance + kriging.error_variance())))
            };
            block.iter().map(estimate).collect()
        };
        let found: Vec<Result<Vec<_>, GeostatError>> =
            self.blocks.par_iter().map(of_block).collect();
        Ok(self.collect(samples, found.into_iter().collect::<Result<_, _>>()?))
    }

    /// The same in closed form, from equations that are factorised already, whose samples the blocks are of.
    pub fn cross_validate_global(&self, global: &GlobalKriging) -> CrossValidation {
        let with_variance = |(value, variance)| (value, Some(variance));
        let of_block = |block: &Vec<usize>| match global.leave_out(block) {
            Some(estimates) => estimates.into_iter().map(with_variance).collect(),
            None => not_estimated(block),
        };
        self.collect(&global.samples, self.blocks.iter().map(of_block).collect())
    }

    /// Puts the estimates of the blocks' samples together.
    fn collect(
        &self,
        samples: &Samples,
        of_blocks: Vec<Vec<(f64, Option<f64>)>>,
    ) -> CrossValidation {
        let all = samples.as_slice();
        let mut estimates = vec![(f64::NAN, None); all.len()];
        let mut from_mean = vec![f64::NAN; all.len()];
        let mean = samples.mean();
        for (block, of_block) in self.blocks.iter().zip(of_blocks) {
            let of_others = mean_of_others(samples, mean, block).unwrap_or(f64::NAN);
            for (&i, estimate) in block.iter().zip(of_block) {
                estimates[i] = estimate;
                from_mean[i] = all[i].value - of_others;
            }
        }
        CrossValidation::new(samples, &estimates, |i| from_mean[i])
    }
}

/// No estimate of a block's samples.
fn not_estimated(block: &[usize]) -> Vec<(f64, Option<f64>)> {
    vec![(f64::NAN, None); block.len()]
}

/// The mean of the samples that are not in a block, from what the block's pull the mean of all by;
/// `None` where there is no other.
fn mean_of_others(samples: &Samples, mean: f64, block: &[usize]) -> Option<f64> {
    let others = samples.len() - block.len();
    let pull: f64 = block.iter().map(|&i| samples.as_slice()[i].value - mean).sum();
    (others > 0).then(|| mean - pull / others as f64)
}

fn place(samples: &Samples, i: usize) -> [f64; 2] {
    [samples.as_slice()[i].easting_m, samples.as_slice()[i].northing_m]
}

/// The samples without a block, which is in order; `None` where none is left.
fn without(
    samples: &Samples,
    block: &[usize],
    anisotropy: Anisotropy,
) -> Option<(Samples, NeighbourIndex)> {
    let others = samples.as_slice().iter().enumerate();
    let others = others.filter(|(i, _)| block.binary_search(i).is_err());
    let rest: Vec<Sample> = others.map(|(_, &sample)| sample).collect();
    let rest = Samples::new(rest).ok()?;
    let index = NeighbourIndex::stretched(&rest, anisotropy);
    Some((rest, index))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cross_validation::leave_one_out_idw;

    #[test]
    fn blocks_begin_at_the_least_place() {
        let at = |easting_m, northing_m| Sample { easting_m, northing_m, value: 0.0 };
        let places =
            vec![at(25.0, 7.0), at(5.0, 7.0), at(14.9, 16.9), at(15.0, 7.0), at(5.0, 17.0)];
        let samples = Samples::new(places).unwrap();
        let blocks = SpatialBlocks::new(&samples, 10.0).unwrap();
        assert_eq!(blocks.as_slice(), [vec![1, 2], vec![3], vec![0], vec![4]]);
        assert!(SpatialBlocks::new(&samples, 0.0).is_err());
    }

    #[test]
    fn distances_are_stretched_as_those_of_the_map() {
        let at = |easting_m, northing_m, value| Sample { easting_m, northing_m, value };
        // The third is nearest to the first, but for the second along the main direction.
        let samples =
            Samples::new(vec![at(0.0, 0.0, 3.0), at(30.0, 0.0, 9.0), at(0.0, 20.0, 1.0)]).unwrap();
        let blocks = SpatialBlocks::new(&samples, 5.0).unwrap();
        let idw = Idw::new(2.0, Search::nearest(1)).unwrap();
        let east = Anisotropy::new(90.0, 0.5).unwrap();
        let cv = blocks.cross_validate_idw_stretched(&samples, &idw, east);
        let index = NeighbourIndex::stretched(&samples, east);
        let single = leave_one_out_idw(&samples, &index, Search::nearest(1), None, &[2.0]).unwrap();
        assert_eq!(cv.pairs, single[0].pairs);
        assert_eq!(cv.pairs[0].estimated, 9.0);
        assert_eq!(blocks.cross_validate_idw(&samples, &idw).pairs[0].estimated, 1.0);
    }

    #[test]
    fn a_single_block_leaves_nothing_to_estimate_from() {
        let at = |easting_m, value| Sample { easting_m, northing_m: 0.0, value };
        let samples = Samples::new(vec![at(0.0, 1.0), at(3.0, 2.0)]).unwrap();
        let idw = Idw::new(2.0, Search::EVERYTHING).unwrap();
        let whole = SpatialBlocks::new(&samples, 100.0).unwrap();
        assert_eq!(whole.cross_validate_idw(&samples, &idw).isolated, 2);
        // Each in a block of its own: the mean of the others is the other.
        let cv = SpatialBlocks::new(&samples, 2.0).unwrap().cross_validate_idw(&samples, &idw);
        assert_eq!((cv.rmse, cv.mean_rmse, cv.isolated), (1.0, 1.0, 0));
        assert_eq!(whole.cross_validate_mean(&samples).isolated, 2);
    }
}
