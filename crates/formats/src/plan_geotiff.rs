//! A plan as rasters, one Cloud-Optimised GeoTIFF for each operation: the dose in cm, kg/ha or L/ha, 0
//! where the operation leaves the ground alone, no data outside the plan.
//!
//! A cell has the dose of the part that holds its middle.

use geo::{BoundingRect, LineString, MultiPolygon, Rect};
use geostat::{Grid, Raster};
use plan::{Operation, OperationKind};

use crate::error::FormatError;
use crate::geotiff::{Quantity, geotiff};
use crate::plain_text::{ascii, xml};
use crate::plan_rows::{Measure, Rows};
use crate::write::Output;

/// Side of a cell, metres, where nothing else is asked for: finer than any machine's pass.
const CELL_M: f64 = 2.0;
/// The most cells: a field of 10 km by 10 km at 2 m. A larger one has larger cells.
const MOST_CELLS: f64 = 25e6;

/// A raster for each operation, in the plan's order.
pub(crate) fn plan_geotiffs(rows: &Rows, cell_m: Option<f64>) -> Result<Vec<Output>, FormatError> {
    let grid = grid(rows, cell_m)?;
    let part_of = parts_of_cells(rows, grid);
    let raster = |index: usize| Raster {
        grid,
        values: part_of
            .iter()
            .map(|&part| match part {
                NO_PART => f64::NAN,
                part => rows.rows[part as usize].amounts[index],
            })
            .collect(),
    };
    let file = |(index, (operation, measure)): (usize, (&Operation, Measure))| Output {
        name: format!("{}.tif", operation.slug),
        bytes: geotiff(&raster(index), rows.plan.utm, quantity(operation, measure)),
    };
    Ok(rows.operations().enumerate().map(file).collect())
}

fn quantity(operation: &Operation, measure: Measure) -> Quantity {
    let unit = measure.unit(survey::UnitSystem::Si);
    match &operation.kind {
        OperationKind::Loosen => Quantity::dose("tillage depth", unit),
        OperationKind::AmendMass { product } | OperationKind::AmendVolume { product } => {
            Quantity::dose(&format!("rate of {}", xml(&ascii(product))), unit)
        }
    }
}

/// A grid of whole cells over all parts.
fn grid(rows: &Rows, cell_m: Option<f64>) -> Result<Grid, FormatError> {
    let wrong = |problem: &str| FormatError::Plan { problem: problem.into() };
    let frames = rows.rows.iter().filter_map(|row| row.part.polygons.bounding_rect());
    let frame = frames.reduce(|a, b| {
        let (low, high) = (a.min(), a.max());
        Rect::new(
            (low.x.min(b.min().x), low.y.min(b.min().y)),
            (high.x.max(b.max().x), high.y.max(b.max().y)),
        )
    });
    let frame = frame.ok_or_else(|| wrong("its parts have no ground"))?;
    let asked = cell_m.unwrap_or(CELL_M);
    if !(0.1..=1_000.0).contains(&asked) {
        return Err(wrong("a raster's cell must be 0.1 to 1000 m wide"));
    }
    let mut cell = asked;
    let counts = |cell: f64| {
        let (west, south) = ((frame.min().x / cell).floor(), (frame.min().y / cell).floor());
        let columns = (frame.max().x / cell).ceil() - west;
        let rows = (frame.max().y / cell).ceil() - south;
        (west * cell, south * cell, columns.max(1.0), rows.max(1.0))
    };
    while counts(cell).2 * counts(cell).3 > MOST_CELLS {
        cell *= 2.0;
    }
    let (west, south, columns, rows) = counts(cell);
    Grid::new(west, south, cell, columns as usize, rows as usize)
        .map_err(|error| wrong(&format!("its raster cannot be made: {error}")))
}

/// No part.
const NO_PART: u32 = u32::MAX;

/// The part that holds the middle of each cell.
fn parts_of_cells(rows: &Rows, grid: Grid) -> Vec<u32> {
    let mut part_of = vec![NO_PART; grid.cells()];
    for (number, row) in (0_u32..).zip(&rows.rows) {
        for stretch in stretches(&row.part.polygons, grid) {
            part_of[stretch].fill(number);
        }
    }
    part_of
}

/// The cells whose middles lie in polygons (even-odd), as stretches of cells along the grid's rows.
fn stretches(polygons: &MultiPolygon, grid: Grid) -> Vec<std::ops::Range<usize>> {
    let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); grid.rows()];
    let rings = polygons
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    rings.for_each(|ring| cross(ring, grid, &mut crossings));
    let mut found = Vec::new();
    for (row, crossings) in crossings.iter_mut().enumerate() {
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            // The first middle at or beyond a crossing.
            let column = |east: f64| {
                let column = ((east - grid.west_m()) / grid.cell_m() - 0.5).ceil();
                column.clamp(0.0, grid.columns() as f64) as usize
            };
            let (from, to) = (column(pair[0]), column(pair[1]));
            if from < to {
                found.push(row * grid.columns() + from..row * grid.columns() + to);
            }
        }
    }
    found
}

/// Where a ring's lines cross the middles of the grid's rows. A corner on one counts as above it.
fn cross(ring: &LineString, grid: Grid, crossings: &mut [Vec<f64>]) {
    for line in ring.lines() {
        let (low, high) = match line.start.y <= line.end.y {
            true => (line.start, line.end),
            false => (line.end, line.start),
        };
        // Rows count from the north.
        let row_at = |north: f64| ((grid.north_m() - north) / grid.cell_m()).floor();
        let first = row_at(high.y).max(0.0) as usize;
        let last = (row_at(low.y).max(0.0) as usize).min(grid.rows() - 1);
        let within = crossings.get_mut(first..=last).unwrap_or_default();
        for (row, crossings) in (first..).zip(within) {
            let north = grid.northing_m(row);
            if (low.y..high.y).contains(&north) {
                let share = (north - low.y) / (high.y - low.y);
                crossings.push(low.x + share * (high.x - low.x));
            }
        }
    }
}
