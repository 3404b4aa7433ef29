//! The surface of loose-layer depth: a grid over the field, filled from the readings.

use geo::BoundingRect;
use geostat::{
    CrossValidation, Grid, Idw, NeighbourIndex, Raster, Reach, Sample, Samples, Search,
    leave_one_out_idw,
};
use survey::{CheckedSurvey, Field, Spot};

use crate::error::MappingError;
use crate::settings::{
    FEW_SPOTS, MANY_NEIGHBOURS, MapSettings, REACH_IN_SPACINGS, USUAL_POWER, candidate_powers,
    cell_for_area_m,
};

/// The most cells a map may have: about 25 bytes each while it is made, 1.3 GB in all.
pub const MOST_CELLS: usize = 50_000_000;

/// Least cell side, metres.
const LEAST_CELL_M: f64 = 0.1;

/// How a surface was made.
#[derive(Debug, Clone, PartialEq)]
pub struct Method {
    /// Power of inverse-distance weighting.
    pub power: f64,
    /// Whether cross-validation chose the power.
    pub power_chosen: bool,
    /// Whether the power chosen is the least or greatest of those tried: an even flatter or steeper
    /// surface might fit better still.
    pub power_at_end: bool,
    /// Nearest spots used; `None` is all.
    pub neighbours: Option<usize>,
    /// Reach, metres.
    pub reach_m: f64,
    /// Leave-one-out cross-validation, residuals in centimetres.
    pub validation: CrossValidation,
}

/// The numbers an interpolation works on: one sample per spot, depth in centimetres. "Not reached"
/// enters as its lower bound, the depth probed, and nowhere else does it become a number.
pub(crate) fn samples(spots: &[Spot]) -> Result<Samples, MappingError> {
    let sample = |spot: &Spot| Sample {
        easting_m: spot.position.easting_m,
        northing_m: spot.position.northing_m,
        value: spot.reading.at_least().cm(),
    };
    Ok(Samples::new(spots.iter().map(sample).collect())?)
}

/// The grid of a field: edges on whole multiples of the cell side, anchored by the field's outline
/// alone, with every part of the field strictly inside.
pub(crate) fn grid(field: &Field, settings: &MapSettings) -> Result<Grid, MappingError> {
    let cell_m = settings.cell_m.unwrap_or_else(|| cell_for_area_m(field.ground_area_m2()));
    let millimetres = cell_m * 1e3;
    if !(cell_m >= LEAST_CELL_M && (millimetres - millimetres.round()).abs() < 1e-6) {
        return Err(MappingError::Cell { cell_m });
    }
    let frame = field.polygons().bounding_rect().expect("a field has ground");
    let field_m = frame.width().max(frame.height());
    if cell_m > field_m {
        return Err(MappingError::WideCell { cell_m, field_m });
    }
    let first = |least: f64| (least / cell_m - 1e-6).floor();
    let count = |least: f64, most: f64| (most / cell_m + 1e-6).floor() - first(least) + 1.0;
    let columns = count(frame.min().x, frame.max().x);
    let rows = count(frame.min().y, frame.max().y);
    if columns * rows > MOST_CELLS as f64 {
        return Err(too_many_cells(cell_m, columns * rows));
    }
    let (west_m, south_m) = (first(frame.min().x) * cell_m, first(frame.min().y) * cell_m);
    Ok(Grid::new(west_m, south_m, cell_m, columns as usize, rows as usize)?)
}

fn too_many_cells(cell_m: f64, cells: f64) -> MappingError {
    let least_m = cell_m * (cells / MOST_CELLS as f64).sqrt();
    MappingError::TooManyCells {
        cell_m,
        cells: format!("{:.0} million", cells / 1e6),
        most: format!("{} million", MOST_CELLS / 1_000_000),
        advised_m: (least_m * 10.0 + 1.0).ceil() / 10.0,
    }
}

/// Chooses the method, with its cross-validation.
pub(crate) fn method(
    survey: &CheckedSurvey,
    samples: &Samples,
    index: &NeighbourIndex,
    settings: &MapSettings,
) -> Result<Method, MappingError> {
    let neighbours = settings
        .neighbours
        .or((samples.len() > FEW_SPOTS).then_some(MANY_NEIGHBOURS))
        .filter(|&count| count < samples.len());
    let reach_m = settings.reach_m.unwrap_or(REACH_IN_SPACINGS * survey.spacing_m());
    if !(reach_m > 0.0 && reach_m.is_finite()) {
        return Err(MappingError::Reach { reach_m });
    }
    let candidates = candidate_powers();
    let powers = settings.power.map_or_else(|| candidates.clone(), |power| vec![power]);
    let tried = leave_one_out_idw(samples, index, search(neighbours), Some(reach_m), &powers)?;
    let (power, validation) = powers
        .into_iter()
        .zip(tried)
        .min_by(|a, b| a.1.rmse.total_cmp(&b.1.rmse))
        .expect("at least one power");
    // Where nothing could be left out, or all readings are equal, nothing was chosen.
    let power_chosen = settings.power.is_none() && !validation.skill().is_nan();
    let power = if power_chosen { power } else { settings.power.unwrap_or(USUAL_POWER) };
    let ends = [candidates.first(), candidates.last()];
    let power_at_end = power_chosen && ends.contains(&Some(&power));
    Ok(Method { power, power_chosen, power_at_end, neighbours, reach_m, validation })
}

fn search(neighbours: Option<usize>) -> Search {
    neighbours.map_or(Search::EVERYTHING, Search::nearest)
}

/// Fills the wanted cells that are within reach of a spot; the others are NaN. Centimetres.
pub(crate) fn fill(
    method: &Method,
    samples: &Samples,
    index: &NeighbourIndex,
    grid: Grid,
    wanted: impl Fn(usize, usize) -> bool + Sync,
) -> Result<Raster, MappingError> {
    let idw = Idw::new(method.power, search(method.neighbours))?;
    let reach = Reach::new(samples, grid, method.reach_m);
    let is_near = |row: usize, column: usize| reach.holds(row, column);
    Ok(idw.fill(samples, index, grid, |row, column| wanted(row, column) && is_near(row, column)))
}
