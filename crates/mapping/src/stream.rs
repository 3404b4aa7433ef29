//! The surface of a survey, worked out band by band, so that a raster of any size needs little memory.

use geostat::{Grid, KrigedRaster, Kriging};
use survey::CheckedSurvey;

use crate::choose::choose;
use crate::cut::CutField;
use crate::error::MappingError;
use crate::interpolator::Interpolator;
use crate::method::Method;
use crate::settings::MapSettings;
use crate::surface::{self, MOST_RASTER_CELLS};

/// Cells of a band, about: 64 MB of values, and enough rows for many processors to share.
const BAND_CELLS: usize = 8_000_000;

/// Bands have whole multiples of so many rows, in which interpolation works.
const BAND_STEP: usize = 64;

/// The surface of loose-layer depth over a field, before its values are worked out.
pub struct DepthSurface {
    interpolator: Interpolator,
    method: Method,
    cut: CutField,
}

impl DepthSurface {
    /// The surface of a survey, of up to [`MOST_RASTER_CELLS`] cells. Of the settings, only those of the
    /// interpolation matter.
    ///
    /// # Errors
    /// When a setting makes no surface: too many cells, a power or reach that means nothing.
    pub fn new(survey: &CheckedSurvey, settings: &MapSettings) -> Result<Self, MappingError> {
        Self::with_most(survey, settings, "raster", MOST_RASTER_CELLS)
    }

    /// The surface for a `what` that holds so many cells at most.
    pub(crate) fn with_most(
        survey: &CheckedSurvey,
        settings: &MapSettings,
        what: &'static str,
        most_cells: usize,
    ) -> Result<Self, MappingError> {
        let grid = surface::grid(survey.field(), settings, what, most_cells)?;
        let samples = surface::samples(survey.spots())?;
        let (method, interpolator) = choose(survey, &samples, settings)?;
        let cut = CutField::new(survey.field(), grid);
        Ok(DepthSurface { interpolator, method, cut })
    }

    /// The grid.
    pub fn grid(&self) -> Grid {
        self.cut.grid()
    }

    /// How the surface is made, with its cross-validation.
    pub fn method(&self) -> &Method {
        &self.method
    }

    /// The kriging settings, where the surface is kriged.
    pub(crate) fn kriging(&self) -> Option<&Kriging> {
        self.interpolator.as_kriging()
    }

    /// The method and the field along the lines of the grid.
    pub(crate) fn into_parts(self) -> (Method, CutField) {
        (self.method, self.cut)
    }

    /// The field along the lines of the grid.
    pub(crate) fn cut(&self) -> &CutField {
        &self.cut
    }

    /// Works out the values and hands them over in bands of whole rows, from the north: those of
    /// [`DepthMap::depth_cm`](crate::DepthMap::depth_cm).
    ///
    /// # Errors
    /// What `take` returns, which ends the work; and, at the end, when no cell has a value.
    pub fn stream<E: From<MappingError>>(
        &self,
        mut take: impl FnMut(&[f64]) -> Result<(), E>,
    ) -> Result<(), E> {
        let rows = BAND_CELLS / self.grid().columns() / BAND_STEP * BAND_STEP;
        self.stream_bands(rows.max(BAND_STEP), false, |mut band| {
            // Kriging can go beyond the readings, and there is no depth above ground.
            band.value.values.iter_mut().for_each(|value| *value = above_ground(*value));
            take(&band.value.values)
        })
    }

    /// All values at once, with their variances where there are any: as kriged, below 0 too.
    pub(crate) fn fill(&self) -> Result<KrigedRaster, MappingError> {
        let mut whole = None;
        self.stream_bands(self.grid().rows(), true, |band| {
            whole = Some(band);
            Ok::<(), MappingError>(())
        })?;
        Ok(whole.expect("a grid has a row"))
    }

    fn stream_bands<E: From<MappingError>>(
        &self,
        band_rows: usize,
        with_variance: bool,
        mut take: impl FnMut(KrigedRaster) -> Result<(), E>,
    ) -> Result<(), E> {
        let (columns, rows) = (self.grid().columns(), self.grid().rows());
        let mut in_field = vec![false; columns * band_rows.min(rows)];
        let mut has_values = false;
        for first in (0..rows).step_by(band_rows) {
            let band = self.grid().band(first, band_rows.min(rows - first));
            for (row, in_field) in in_field.chunks_mut(columns).take(band.rows()).enumerate() {
                self.cut.row_in_field(first + row, in_field);
            }
            let wanted = |row: usize, column: usize| in_field[row * columns + column];
            let reach_m = self.method.reach_m;
            let filled = self.interpolator.fill(band, reach_m, with_variance, wanted);
            let filled = filled.map_err(MappingError::from)?;
            has_values |= filled.value.values.iter().any(|value| !value.is_nan());
            take(filled)?;
        }
        match has_values {
            true => Ok(()),
            false => Err(MappingError::NothingMapped { reach_m: self.method.reach_m }.into()),
        }
    }
}

/// A depth, 0 where it is less.
pub(crate) fn above_ground(depth_cm: f64) -> f64 {
    if depth_cm < 0.0 { 0.0 } else { depth_cm }
}

#[cfg(test)]
mod tests {
    use super::*;
    use survey::{
        CheckSettings, Depth, Insertion, LonLat, Measured, Outcome, Survey, UnitSystem, check,
    };

    /// Readings on a skew lattice; the field is their hull, so that many cells are outside.
    fn survey() -> CheckedSurvey {
        let insertions: Vec<Insertion> = (0..40)
            .map(|k| {
                let (east, north) = (f64::from(k % 8), f64::from(k / 8));
                let place = LonLat {
                    lon_deg: -95.62 + 5e-4 * east + 2e-4 * north,
                    lat_deg: 41.93 + 4e-4 * north + 1e-4 * east,
                };
                let depth = Depth::from_in(f64::from(k * 7 % 18));
                Insertion::at(k as usize + 1, place, Measured::Once(Outcome::Reached(depth)))
            })
            .collect();
        let survey = Survey { features: insertions.len(), insertions, ..Survey::default() };
        let threshold = Some("200psi".parse().unwrap());
        check(&survey, None, &CheckSettings { threshold, ..CheckSettings::default() }).unwrap()
    }

    #[test]
    fn bands_of_any_height_give_the_values_of_the_whole() {
        let survey = survey();
        for neighbours in [None, Some(5)] {
            let settings = MapSettings {
                neighbours,
                cell_m: Some(0.7),
                reach_m: Some(45.0),
                ..MapSettings::new(UnitSystem::Si)
            };
            let surface = DepthSurface::new(&survey, &settings).unwrap();
            let grid = surface.grid();
            let whole = surface.fill().unwrap().value;
            let bits = |values: &[f64]| values.iter().map(|v| v.to_bits()).collect::<Vec<u64>>();
            for band_rows in [1, 7, 64, 200, grid.rows(), 10_000] {
                let (mut values, mut bands) = (Vec::new(), 0);
                let taken = surface.stream_bands(band_rows, false, |band| {
                    bands += 1;
                    values.extend_from_slice(&band.value.values);
                    Ok::<(), MappingError>(())
                });
                taken.unwrap();
                assert_eq!(bands, grid.rows().div_ceil(band_rows));
                assert!(bits(&values) == bits(&whole.values), "{neighbours:?} {band_rows}");
            }
            let outside = whole.values.iter().filter(|value| value.is_nan()).count();
            assert!(outside > grid.cells() / 10 && outside < grid.cells() / 2, "{outside}");
        }
    }

    #[test]
    fn what_cannot_be_taken_ends_the_work() {
        let settings = MapSettings { cell_m: Some(1.0), ..MapSettings::new(UnitSystem::Si) };
        let surface = DepthSurface::new(&survey(), &settings).unwrap();
        let mut bands = 0;
        let ended = surface.stream_bands(10, false, |_| {
            bands += 1;
            Err(MappingError::Cell { cell_m: 0.0 })
        });
        assert!(matches!(ended, Err(MappingError::Cell { .. })));
        assert_eq!(bands, 1);
    }

    #[test]
    fn a_raster_without_any_value_is_an_error() {
        let settings = MapSettings { reach_m: Some(0.001), ..MapSettings::new(UnitSystem::Si) };
        let surface = DepthSurface::new(&survey(), &settings).unwrap();
        let ended = surface.stream(|_| Ok(()));
        assert!(matches!(ended, Err(MappingError::NothingMapped { .. })));
    }
}
