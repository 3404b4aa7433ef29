//! The surface of a survey, worked out band by band, so that a raster of any size needs little memory.

use geostat::{Grid, KrigedRaster, Kriging, Raster};
use survey::{CheckedSurvey, Spot};

use crate::cut::CutField;
use crate::error::MappingError;
use crate::evidence::FEW_PROBES;
use crate::layer::{Layer, spots_of_strata};
use crate::method::Method;
use crate::settings::MapSettings;
use crate::strata::{MAIN, Probed, Strata, StratumMap};
use crate::surface::{self, MOST_RASTER_CELLS};

/// Cells of a band, about: 64 MB of values, and enough rows for many processors to share.
const BAND_CELLS: usize = 8_000_000;

/// Bands have whole multiples of so many rows, in which interpolation works.
const BAND_STEP: usize = 64;

/// The surface of loose-layer depth over a field, before its values are worked out.
pub struct DepthSurface {
    main: Layer,
    /// Of each stratum, none where it has no spot.
    of_strata: Vec<Option<Layer>>,
    strata: Strata,
    /// Numbers of the spots of the main ground and of each stratum.
    spots: Vec<Vec<usize>>,
    cut: CutField,
}

impl DepthSurface {
    /// The surface of a survey, of up to [`MOST_RASTER_CELLS`] cells. Of the settings, only those of the
    /// interpolation matter; strata are left to a map.
    ///
    /// # Errors
    /// When a setting makes no surface: too many cells, a power or reach that means nothing.
    pub fn new(survey: &CheckedSurvey, settings: &MapSettings) -> Result<Self, MappingError> {
        let settings = MapSettings { strata: Vec::new(), ..settings.clone() };
        Self::with_most(survey, &settings, "raster", MOST_RASTER_CELLS)
    }

    /// The surface for a `what` that holds so many cells at most.
    pub(crate) fn with_most(
        survey: &CheckedSurvey,
        settings: &MapSettings,
        what: &'static str,
        most_cells: usize,
    ) -> Result<Self, MappingError> {
        let field = survey.field();
        let grid = surface::grid(field, settings, what, most_cells)?;
        let cut = CutField::new(field, grid);
        let mut strata = Strata::new(settings, field, &cut)?;
        let stratum_of = |spot: &Spot| strata.of_place(spot.position);
        let spots = spots_of_strata(survey.spots(), strata.names().len(), stratum_of);
        if spots[0].is_empty() {
            return Err(MappingError::NothingOnMainGround);
        }
        let main = Layer::new(survey, &spots[0], settings)?;
        let of_strata = layers_of_strata(survey, settings, &spots[1..], &mut strata)?;
        Ok(DepthSurface { main, of_strata, strata, spots, cut })
    }

    /// The grid.
    pub fn grid(&self) -> Grid {
        self.cut.grid()
    }

    /// How the surface of the main ground is made, with its cross-validation.
    pub fn method(&self) -> &Method {
        &self.main.method
    }

    /// The kriging settings of the main ground, where it is kriged.
    pub(crate) fn kriging(&self) -> Option<&Kriging> {
        self.main.interpolator.as_kriging()
    }

    /// The layer of a stratum or of the main ground, where it has a spot.
    pub(crate) fn layer(&self, stratum: u8) -> Option<&Layer> {
        match usize::from(stratum).checked_sub(1) {
            None => Some(&self.main),
            Some(k) => self.of_strata[k].as_ref(),
        }
    }

    /// The strata.
    pub(crate) fn strata(&self) -> &Strata {
        &self.strata
    }

    /// The spots of the main ground, and what was found in each stratum.
    pub(crate) fn found_in_strata(&self, survey: &CheckedSurvey) -> (Probed, Vec<StratumMap>) {
        let probed = |numbers: &[usize]| Probed::of(numbers.iter().map(|&k| &survey.spots()[k]));
        let of_stratum = |(k, name): (usize, &String)| StratumMap {
            name: name.clone(),
            ground_area_m2: self.strata.area_m2(k + 1),
            probed: probed(&self.spots[k + 1]),
            method: self.of_strata[k].as_ref().map(|layer| layer.method.clone()),
        };
        let names = self.strata.names().iter().enumerate();
        (probed(&self.spots[0]), names.map(of_stratum).collect())
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
            let wanted = |stratum: u8, row: usize, column: usize| {
                let cell = row * columns + column;
                in_field[cell] && self.strata.of_cell(first * columns + cell) == stratum
            };
            let filled = self.fill_band(band, with_variance, wanted)?;
            has_values |= filled.value.values.iter().any(|value| !value.is_nan());
            take(filled)?;
        }
        match has_values {
            true => Ok(()),
            false => Err(MappingError::NothingMapped { reach_m: self.main.method.reach_m }.into()),
        }
    }

    /// The main ground's values in a band, and those of each stratum on its own ground. Variances are
    /// those of the main ground, and of the strata that are kriged like it.
    fn fill_band(
        &self,
        band: Grid,
        with_variance: bool,
        wanted: impl Fn(u8, usize, usize) -> bool + Sync,
    ) -> Result<KrigedRaster, MappingError> {
        let fill = |stratum: u8, layer: &Layer| {
            let on_its_ground = |row: usize, column: usize| wanted(stratum, row, column);
            let reach_m = layer.method.reach_m;
            layer.interpolator.fill(band, reach_m, with_variance, on_its_ground)
        };
        let mut all = fill(MAIN, &self.main)?;
        for (k, layer) in self.of_strata.iter().enumerate() {
            if let Some(layer) = layer {
                add(&mut all, &fill(k as u8 + 1, layer)?);
            }
        }
        Ok(all)
    }
}

/// Adds the values of other ground.
fn add(all: &mut KrigedRaster, more: &KrigedRaster) {
    let put = |into: &mut Raster, from: &Raster| {
        for (value, &more) in into.values.iter_mut().zip(&from.values) {
            if !more.is_nan() {
                *value = more;
            }
        }
    };
    put(&mut all.value, &more.value);
    if let (Some(variance), Some(more_variance)) = (&mut all.variance, &more.variance) {
        put(variance, more_variance);
        all.negative_variances += more.negative_variances;
    }
}

/// The layers of strata with a spot, and notes of what there is too little of.
fn layers_of_strata(
    survey: &CheckedSurvey,
    settings: &MapSettings,
    spots: &[Vec<usize>],
    strata: &mut Strata,
) -> Result<Vec<Option<Layer>>, MappingError> {
    let mut layers = Vec::new();
    for (k, numbers) in spots.iter().enumerate() {
        let name = strata.names()[k].clone();
        let has_no_ground = strata.area_m2(k + 1) == 0.0;
        let mut note = |words: String| strata.notes.push(format!("stratum {name:?} {words}"));
        match numbers.len() {
            0 if has_no_ground => {
                note("has no ground in the field".into());
                layers.push(None);
                continue;
            }
            0 => {
                note("has no reading, so its ground has no value".into());
                layers.push(None);
                continue;
            }
            1 => note("has 1 reading, so its ground has that value all over".into()),
            count if count < FEW_PROBES => note(format!("has only {count} readings")),
            _ => {}
        }
        let (layer, why_not_kriged) = Layer::of_stratum(survey, numbers, settings)?;
        if let Some(why) = why_not_kriged {
            note(format!("is mapped by inverse distance, not by kriging: {why}"));
        }
        layers.push(Some(layer));
    }
    Ok(layers)
}

/// A depth, 0 where it is less.
pub(crate) fn above_ground(depth_cm: f64) -> f64 {
    if depth_cm < 0.0 { 0.0 } else { depth_cm }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use survey::{
        CheckSettings, Depth, Insertion, LonLat, Measured, Outcome, Survey, UnitSystem, check,
    };

    /// Readings on a skew lattice; the field is their hull, so that many cells are outside.
    pub(crate) fn survey() -> CheckedSurvey {
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
