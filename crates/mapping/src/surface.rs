//! What the surface of loose-layer depth is made from: the readings as samples, and a grid over the field.

use geo::BoundingRect;
use geostat::{Grid, Sample, Samples};
use survey::{Field, Spot};

use crate::error::MappingError;
use crate::settings::{MapSettings, cell_for_area_m};

/// The most cells a map may have: about 25 bytes each while it is made, 1.3 GB in all, and as much
/// again for each raster of standard error or probability.
pub const MOST_CELLS: usize = 50_000_000;

/// The most cells of a raster that is worked out band by band: a square of 63 000.
pub const MOST_RASTER_CELLS: usize = 4_000_000_000;

/// Least cell side, metres.
const LEAST_CELL_M: f64 = 0.1;

/// The numbers an interpolation works on: one sample per spot, depth in centimetres. "Not reached"
/// enters as its lower bound, the depth probed.
pub(crate) fn samples<'a>(
    spots: impl IntoIterator<Item = &'a Spot>,
) -> Result<Samples, MappingError> {
    let sample = |spot: &Spot| Sample {
        easting_m: spot.position.easting_m,
        northing_m: spot.position.northing_m,
        value: spot.reading.at_least().cm(),
    };
    Ok(Samples::new(spots.into_iter().map(sample).collect())?)
}

/// The grid of a field: edges on whole multiples of the cell side, anchored by the field's outline
/// alone, with every part of the field strictly inside; for a `what` that holds so many cells at most.
pub(crate) fn grid(
    field: &Field,
    settings: &MapSettings,
    what: &'static str,
    most_cells: usize,
) -> Result<Grid, MappingError> {
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
    if columns * rows > most_cells as f64 {
        return Err(too_many_cells(cell_m, columns * rows, what, most_cells as f64));
    }
    let (west_m, south_m) = (first(frame.min().x) * cell_m, first(frame.min().y) * cell_m);
    Ok(Grid::new(west_m, south_m, cell_m, columns as usize, rows as usize)?)
}

fn too_many_cells(cell_m: f64, cells: f64, what: &'static str, most: f64) -> MappingError {
    let least_m = cell_m * (cells / most).sqrt();
    let millions = |cells: f64| format!("{:.0} million", cells / 1e6);
    MappingError::TooManyCells {
        cell_m,
        cells: millions(cells),
        what,
        most: millions(most),
        advised_m: (least_m * 10.0 + 1.0).ceil() / 10.0,
    }
}
