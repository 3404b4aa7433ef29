//! Kriging from every sample, with the equations factorised once.

use rayon::prelude::*;

use crate::cholesky::{Lanes, WIDTH};
use crate::error::GeostatError;
use crate::grid::{Grid, Raster};
use crate::kriging::system::Dual;
use crate::kriging::{Kriged, KrigedRaster, Kriging, System};
use crate::sample::Samples;

/// Sets of [`WIDTH`] cells whose variances are worked out together.
const SETS: usize = 8;

/// Kriging from every sample. It holds n²/2 numbers for n samples: 16 MB for 2 000, 400 MB for
/// 10 000. An estimate takes n covariances, a variance n² products more.
pub struct GlobalKriging {
    pub(crate) samples: Samples,
    pub(crate) system: System,
    pub(crate) dual: Dual,
}

impl GlobalKriging {
    /// The most samples whose equations are solved at once: they take 1.6 GB.
    pub const MOST_SAMPLES: usize = 20_000;

    /// Factorises the equations of the samples. The search of the settings is not looked at.
    ///
    /// # Errors
    /// When a sample is, up to rounding, known from others through the variogram: close samples and
    /// a Gaussian model without a nugget, or a model whose range is far too long. Or when the samples
    /// do not lie so that the trend can be told, as on a line for a plane. Or when there are more than
    /// [`GlobalKriging::MOST_SAMPLES`].
    pub fn new(samples: &Samples, kriging: &Kriging) -> Result<Self, GeostatError> {
        if samples.len() > GlobalKriging::MOST_SAMPLES {
            let (count, most) = (samples.len(), GlobalKriging::MOST_SAMPLES);
            return Err(GeostatError::TooManySamples { count, most });
        }
        let of_sample = samples.as_slice().iter();
        let places: Vec<_> = of_sample.clone().map(|s| [s.easting_m, s.northing_m]).collect();
        let values: Vec<f64> = of_sample.map(|s| s.value).collect();
        let system = System::of_samples(kriging, &places)?;
        let dual = system.dual(&values);
        Ok(GlobalKriging { samples: samples.clone(), system, dual })
    }

    /// The settings.
    pub fn kriging(&self) -> &Kriging {
        &self.system.kriging
    }

    /// The estimate at a place, without its variance.
    pub fn value(&self, place: [f64; 2]) -> f64 {
        self.system.value(&self.dual, place)
    }

    /// The estimate at a place and its variance.
    pub fn estimate(&self, place: [f64; 2]) -> Kriged {
        self.system.estimate(&self.dual, place)
    }

    /// The weights of the samples for a place, in their order; they add up to 1.
    pub fn weights(&self, place: [f64; 2]) -> Vec<f64> {
        self.system.weights(self.system.side(place), self.system.trend_at(place))
    }

    /// Estimates, and variances if asked for, for the cells of a grid that are `wanted`, by row and
    /// column; NaN for the others. Rows are worked on in parallel; each cell's result is its own, so it
    /// does not depend on the number of threads, and is that of [`GlobalKriging::estimate`].
    pub fn fill(
        &self,
        grid: Grid,
        with_variance: bool,
        wanted: impl Fn(usize, usize) -> bool + Sync,
    ) -> KrigedRaster {
        let mut values = vec![f64::NAN; grid.cells()];
        values.par_chunks_mut(grid.columns()).enumerate().for_each(|(row, values)| {
            for (column, value) in values.iter_mut().enumerate() {
                if wanted(row, column) {
                    *value = self.value([grid.easting_m(column), grid.northing_m(row)]);
                }
            }
        });
        let variance =
            with_variance.then(|| Raster { grid, values: self.variances(grid, &wanted) });
        KrigedRaster::new(Raster { grid, values }, variance)
    }

    fn variances(&self, grid: Grid, wanted: &(impl Fn(usize, usize) -> bool + Sync)) -> Vec<f64> {
        let mut variances = vec![f64::NAN; grid.cells()];
        let room = || vec![vec![[0.0; WIDTH]; self.system.factor.padded_rows()]; SETS];
        variances.par_chunks_mut(grid.columns()).enumerate().for_each_init(
            room,
            |sets, (row, variances)| {
                let columns: Vec<usize> =
                    (0..grid.columns()).filter(|&column| wanted(row, column)).collect();
                for columns in columns.chunks(SETS * WIDTH) {
                    // The last set is filled up with its last cell.
                    let place = |k: usize| {
                        let column = columns[k.min(columns.len() - 1)];
                        [grid.easting_m(column), grid.northing_m(row)]
                    };
                    let count = columns.len().div_ceil(WIDTH);
                    let found = self.variances_of(&mut sets[..count], place);
                    for (&column, variance) in columns.iter().zip(found.as_flattened()) {
                        variances[column] = *variance;
                    }
                }
            },
        );
        variances
    }

    /// Variances at the places with numbers up to [`WIDTH`] times the number of sets.
    fn variances_of(
        &self,
        sets: &mut [Vec<Lanes>],
        place: impl Fn(usize) -> [f64; 2],
    ) -> Vec<Lanes> {
        let system = &self.system;
        let places_of = |set: usize| std::array::from_fn(|lane| place(set * WIDTH + lane));
        for (set, sides) in sets.iter_mut().enumerate() {
            system.fill_sides(places_of(set), sides);
        }
        system.factor.forward_sets(sets);
        let variance = system.kriging.signal_variance();
        let of_set = |(set, sides): (usize, &Vec<Lanes>)| {
            system.variances(sides, places_of(set).map(|place| system.trend_at(place)), variance)
        };
        sets.iter().enumerate().map(of_set).collect()
    }
}
