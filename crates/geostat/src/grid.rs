//! A regular grid of square cells, and values on it.

use crate::error::GeostatError;
use crate::sample::FARTHEST_M;

/// A grid of square cells, rows from north to south, columns from west to east.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    west_m: f64,
    south_m: f64,
    cell_m: f64,
    columns: usize,
    rows: usize,
    /// Rows between `south_m` and the southernmost row: those south of a band.
    rows_south: usize,
}

impl Grid {
    /// A grid from its south-west corner.
    ///
    /// # Errors
    /// When the cell is not above zero, there is no row or column, a corner has a coordinate beyond
    /// 1e100 m, or the number of cells is too large for a number.
    pub fn new(
        west_m: f64,
        south_m: f64,
        cell_m: f64,
        columns: usize,
        rows: usize,
    ) -> Result<Self, GeostatError> {
        let sound = cell_m > 0.0 && columns > 0 && rows > 0 && columns.checked_mul(rows).is_some();
        let is_near = |from_m: f64, count: usize| {
            from_m.abs() <= FARTHEST_M && (from_m + count as f64 * cell_m).abs() <= FARTHEST_M
        };
        match sound && is_near(west_m, columns) && is_near(south_m, rows) {
            true => Ok(Grid { west_m, south_m, cell_m, columns, rows, rows_south: 0 }),
            false => Err(GeostatError::EmptyGrid),
        }
    }

    /// So many rows from row `first`, as a grid of their own. The middles of its cells are exactly those
    /// of this grid, so what is worked out band by band is the same as at once.
    ///
    /// # Panics
    /// When there is no row, or they are more than this grid has from there.
    pub fn band(&self, first: usize, rows: usize) -> Grid {
        assert!(rows > 0 && first + rows <= self.rows, "a band lies within its grid");
        Grid { rows, rows_south: self.rows_south + self.rows - first - rows, ..*self }
    }

    /// Side of a cell, metres.
    pub fn cell_m(&self) -> f64 {
        self.cell_m
    }

    /// Number of columns.
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Number of cells.
    pub fn cells(&self) -> usize {
        self.columns * self.rows
    }

    /// Easting of the western edge, metres.
    pub fn west_m(&self) -> f64 {
        self.west_m
    }

    /// Northing of the southern edge, metres.
    pub fn south_m(&self) -> f64 {
        self.south_m + self.rows_south as f64 * self.cell_m
    }

    /// Northing of the northern edge, metres.
    pub fn north_m(&self) -> f64 {
        self.south_m + (self.rows_south + self.rows) as f64 * self.cell_m
    }

    /// Easting of the middle of a column, metres.
    pub fn easting_m(&self, column: usize) -> f64 {
        self.west_m + (column as f64 + 0.5) * self.cell_m
    }

    /// Northing of the middle of a row, metres; row 0 is the northernmost.
    pub fn northing_m(&self, row: usize) -> f64 {
        self.south_m + ((self.rows_south + self.rows - 1 - row) as f64 + 0.5) * self.cell_m
    }

    /// Row and column of a place, counted on beyond the grid on all sides.
    pub fn row_column(&self, easting_m: f64, northing_m: f64) -> (i64, i64) {
        let column = ((easting_m - self.west_m()) / self.cell_m).floor();
        let row = ((self.north_m() - northing_m) / self.cell_m).floor();
        (row as i64, column as i64)
    }

    /// The number of the cell in a row and column, where they are in the grid.
    pub fn cell(&self, row: i64, column: i64) -> Option<usize> {
        let (row, column) = (usize::try_from(row).ok()?, usize::try_from(column).ok()?);
        (row < self.rows && column < self.columns).then_some(row * self.columns + column)
    }
}

/// One value for each cell of a grid, row by row from the north-west; NaN is no data.
#[derive(Debug, Clone)]
pub struct Raster {
    /// The grid.
    pub grid: Grid,
    /// The values, `grid.cells()` of them.
    pub values: Vec<f64>,
}

impl Raster {
    /// The value of a cell.
    pub fn value(&self, row: usize, column: usize) -> f64 {
        self.values[row * self.grid.columns + column]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn row_0_is_the_northernmost() {
        let grid = Grid::new(100.0, 200.0, 10.0, 3, 2).unwrap();
        assert_eq!((grid.easting_m(0), grid.northing_m(0)), (105.0, 215.0));
        assert_eq!((grid.easting_m(2), grid.northing_m(1)), (125.0, 205.0));
        assert_eq!(grid.north_m(), 220.0);
    }

    #[test]
    fn a_place_is_in_the_cell_around_it() {
        let grid = Grid::new(100.0, 200.0, 10.0, 3, 2).unwrap();
        let cell = |east, north| {
            let (row, column) = grid.row_column(east, north);
            grid.cell(row, column)
        };
        assert_eq!(
            [cell(100.0, 219.0), cell(129.0, 219.0), cell(111.0, 201.0)],
            [0, 2, 4].map(Some)
        );
        assert_eq!([cell(99.9, 205.0), cell(130.0, 205.0), cell(105.0, 199.0)], [None; 3]);
        assert_eq!(grid.row_column(f64::INFINITY, 205.0).0, 1);
        assert_eq!(cell(f64::INFINITY, 205.0), None);
    }

    #[test]
    fn a_band_has_the_middles_of_its_grid() {
        // A tenth of a metre has no exact value, so every step rounds.
        let grid = Grid::new(412_345.6, 4_650_123.7, 0.1, 3, 1_000).unwrap();
        for (first, rows) in [(0, 1_000), (0, 1), (999, 1), (17, 256)] {
            let band = grid.band(first, rows);
            assert_eq!((band.rows(), band.columns()), (rows, 3));
            for row in 0..rows {
                assert_eq!(band.northing_m(row), grid.northing_m(first + row));
            }
            assert_eq!(band.easting_m(2), grid.easting_m(2));
        }
        let (upper, lower) = (grid.band(0, 400), grid.band(400, 600));
        assert_eq!(upper.south_m(), lower.north_m());
        assert_eq!((upper.north_m(), lower.south_m()), (grid.north_m(), grid.south_m()));
        assert_eq!(grid.band(100, 500).band(50, 7), grid.band(150, 7));
    }

    #[test]
    fn a_grid_without_cells_is_refused() {
        assert!(Grid::new(0.0, 0.0, 0.0, 1, 1).is_err());
        assert!(Grid::new(0.0, 0.0, 1.0, 0, 1).is_err());
        assert!(Grid::new(f64::NAN, 0.0, 1.0, 1, 1).is_err());
        assert!(Grid::new(0.0, 0.0, f64::INFINITY, 1, 1).is_err());
        assert!(Grid::new(0.0, 1e308, 1e308, 1, 1).is_err());
        assert!(Grid::new(0.0, 0.0, 1.0, usize::MAX, 2).is_err());
    }
}
