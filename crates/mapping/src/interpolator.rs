//! An estimator with its samples, ready to fill a grid.

use geostat::{
    Anisotropy, CrossValidation, GeostatError, GlobalKriging, Grid, Idw, KrigedRaster, Kriging,
    NeighbourIndex, Raster, Reach, Samples, Search, SpatialBlocks, Variogram,
    leave_one_out_kriging,
};

use crate::method::Neighbourhood;

/// What fills a grid from samples, of depth or of anything else.
pub(crate) struct Interpolator {
    samples: Samples,
    way: Way,
}

enum Way {
    Mean,
    InverseDistance { idw: Idw, anisotropy: Anisotropy, index: NeighbourIndex },
    GlobalKriging(Box<GlobalKriging>),
    LocalKriging { kriging: Kriging, index: NeighbourIndex },
}

/// Kriging from every sample: that of the interpolator, or made for the purpose.
pub(crate) enum FromAll<'a> {
    Kept(&'a GlobalKriging),
    Made(Box<GlobalKriging>),
}

impl std::ops::Deref for FromAll<'_> {
    type Target = GlobalKriging;

    fn deref(&self) -> &GlobalKriging {
        match self {
            FromAll::Kept(global) => global,
            FromAll::Made(global) => global,
        }
    }
}

impl Interpolator {
    /// The samples' mean everywhere.
    pub fn mean(samples: &Samples) -> Self {
        Interpolator { samples: samples.clone(), way: Way::Mean }
    }

    /// Inverse-distance weighting.
    pub fn inverse_distance(
        samples: &Samples,
        power: f64,
        around: &Neighbourhood,
    ) -> Result<Self, GeostatError> {
        let idw = Idw::new(power, around.search())?.smoothed(around.smoothing_m)?;
        let index = NeighbourIndex::stretched(samples, around.anisotropy);
        let way = Way::InverseDistance { idw, anisotropy: around.anisotropy, index };
        Ok(Interpolator { samples: samples.clone(), way })
    }

    /// Ordinary kriging, from every sample at once where the neighbourhood holds them all.
    pub fn kriging(
        samples: &Samples,
        model: Variogram,
        around: &Neighbourhood,
    ) -> Result<Self, GeostatError> {
        let kriging = Kriging::new(model)?.with_search(around.search())?;
        let way = match kriging.search() == Search::EVERYTHING {
            true => Way::GlobalKriging(Box::new(GlobalKriging::new(samples, &kriging)?)),
            false => Way::LocalKriging { kriging, index: NeighbourIndex::new(samples) },
        };
        Ok(Interpolator { samples: samples.clone(), way })
    }

    /// The kriging settings, where it is kriging.
    pub fn as_kriging(&self) -> Option<&Kriging> {
        match &self.way {
            Way::GlobalKriging(global) => Some(global.kriging()),
            Way::LocalKriging { kriging, .. } => Some(kriging),
            Way::Mean | Way::InverseDistance { .. } => None,
        }
    }

    /// Kriging from every sample at once, where it is kriging and there are no more than so many.
    pub fn global(&self, most_samples: usize) -> Option<FromAll<'_>> {
        match &self.way {
            _ if self.samples.len() > most_samples => None,
            Way::GlobalKriging(global) => Some(FromAll::Kept(global)),
            Way::LocalKriging { kriging, .. } => {
                let global = GlobalKriging::new(&self.samples, kriging).ok()?;
                Some(FromAll::Made(Box::new(global)))
            }
            Way::Mean | Way::InverseDistance { .. } => None,
        }
    }

    /// Estimates, and variances where there are any and they are asked for, in the cells that are
    /// wanted and within reach of a sample by true distance; NaN in the others.
    pub fn fill(
        &self,
        grid: Grid,
        reach_m: f64,
        with_variance: bool,
        wanted: impl Fn(usize, usize) -> bool + Sync,
    ) -> Result<KrigedRaster, GeostatError> {
        let reach = Reach::new(&self.samples, grid, reach_m);
        let wanted = |row: usize, column: usize| wanted(row, column) && reach.holds(row, column);
        let plain = |value| KrigedRaster { value, variance: None, negative_variances: 0 };
        match &self.way {
            Way::Mean => {
                let mean = self.samples.mean();
                let value = |cell: usize| match wanted(cell / grid.columns(), cell % grid.columns())
                {
                    true => mean,
                    false => f64::NAN,
                };
                Ok(plain(Raster { grid, values: (0..grid.cells()).map(value).collect() }))
            }
            Way::InverseDistance { idw, index, .. } => {
                Ok(plain(idw.fill(&self.samples, index, grid, wanted)))
            }
            Way::GlobalKriging(global) => Ok(global.fill(grid, with_variance, wanted)),
            Way::LocalKriging { kriging, index } => {
                kriging.fill(&self.samples, index, grid, with_variance, wanted)
            }
        }
    }

    /// Leave-one-out cross-validation of kriging, over all samples; of others, none.
    pub fn leave_one_out_kriging(&self) -> Option<Result<CrossValidation, GeostatError>> {
        match &self.way {
            Way::GlobalKriging(global) => Some(Ok(global.leave_one_out())),
            Way::LocalKriging { kriging, index } => {
                Some(leave_one_out_kriging(&self.samples, index, kriging))
            }
            Way::Mean | Way::InverseDistance { .. } => None,
        }
    }

    /// Cross-validation that leaves out whole blocks.
    pub fn leave_out_blocks(
        &self,
        blocks: &SpatialBlocks,
    ) -> Result<CrossValidation, GeostatError> {
        match &self.way {
            Way::Mean => Ok(blocks.cross_validate_mean(&self.samples)),
            Way::InverseDistance { idw, anisotropy, .. } => {
                Ok(blocks.cross_validate_idw_stretched(&self.samples, idw, *anisotropy))
            }
            Way::GlobalKriging(global) => Ok(blocks.cross_validate_global(global)),
            Way::LocalKriging { kriging, .. } => {
                blocks.cross_validate_kriging(&self.samples, kriging)
            }
        }
    }
}
