//! Cells over a field: rows from south to north, in a row from west to east.

use survey::LonLat;

use super::ellipsoid::degree_m;
use super::xml::Element;

/// More cells than this are refused: a grid of type 2 is then 16 MB large.
const MOST_CELLS: f64 = 4e6;

/// Where the cells of a grid lie. All numbers are those that the file holds.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Grid {
    /// The outer corner of the first cell.
    south_west: LonLat,
    cell_east_deg: f64,
    cell_north_deg: f64,
    pub columns: usize,
    pub rows: usize,
}

impl Grid {
    /// Square cells of so many metres in the middle of an extent, west, south, east and north in degrees,
    /// that cover all of it.
    ///
    /// # Errors
    /// Says what is wrong with the size.
    pub fn over([west, south, east, north]: [f64; 4], cell_m: f64) -> Result<Grid, String> {
        if !(cell_m.is_finite() && cell_m > 0.0) {
            return Err(format!("a grid cell of {cell_m} m is none; give metres above zero"));
        }
        let (degree_east_m, degree_north_m) = degree_m((south + north) / 2.0);
        let size = |degree_m: f64| rounded(cell_m / degree_m, 1e12);
        let (cell_east_deg, cell_north_deg) = (size(degree_east_m), size(degree_north_m));
        // Down to nine decimals, a tenth of a millimetre; version 4 takes no more.
        let snapped = |degrees: f64| (degrees * 1e9).floor() / 1e9;
        let south_west = LonLat { lon_deg: snapped(west), lat_deg: snapped(south) };
        // A billionth of a cell is noise, no further cell.
        let cells = |extent_deg: f64, cell_deg: f64| (extent_deg / cell_deg - 1e-9).ceil().max(1.0);
        let columns = cells(east - south_west.lon_deg, cell_east_deg);
        let rows = cells(north - south_west.lat_deg, cell_north_deg);
        if !(columns * rows <= MOST_CELLS && cell_east_deg <= 1.0 && cell_north_deg <= 1.0) {
            return Err(format!(
                "cells of {cell_m} m make {columns:.0} columns and {rows:.0} rows, and no more than \
                 {MOST_CELLS:.0} cells of at most a degree can be written; give another cell size"
            ));
        }
        let (columns, rows) = (columns as usize, rows as usize);
        Ok(Grid { south_west, cell_east_deg, cell_north_deg, columns, rows })
    }

    /// The middle of every cell in the order of the file.
    pub fn centres(&self) -> impl Iterator<Item = LonLat> {
        (0..self.rows * self.columns).map(|cell| {
            let (row, column) = (cell / self.columns, cell % self.columns);
            LonLat {
                lon_deg: self.south_west.lon_deg + (column as f64 + 0.5) * self.cell_east_deg,
                lat_deg: self.south_west.lat_deg + (row as f64 + 0.5) * self.cell_north_deg,
            }
        })
    }

    /// The element that describes a file of these cells (GRD).
    pub fn element(&self, file: &str, bytes: usize, kind: u8) -> Element {
        Element::new("GRD")
            .with("A", format_args!("{:.9}", self.south_west.lat_deg))
            .with("B", format_args!("{:.9}", self.south_west.lon_deg))
            // Never with an exponent.
            .with("C", format_args!("{:.12}", self.cell_north_deg))
            .with("D", format_args!("{:.12}", self.cell_east_deg))
            .with("E", self.columns)
            .with("F", self.rows)
            .with("G", file)
            .with("H", bytes)
            .with("I", kind)
    }
}

fn rounded(number: f64, steps: f64) -> f64 {
    (number * steps).round() / steps
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_begin_in_the_south_west_and_cover_the_extent() {
        // 10 m at the equator: 10/111319.4908 and 10/110574.2758 of a degree.
        let grid = Grid::over([10.0, -0.000_1, 10.000_3, 0.000_1], 10.0).unwrap();
        assert_eq!((grid.columns, grid.rows), (4, 3));
        let element = grid.element("GRD00001", 12, 1);
        let text = element.document();
        let expected = r#"<GRD A="-0.000100000" B="10.000000000" C="0.000090436948" D="0.000089831528" E="4" F="3" G="GRD00001" H="12" I="1"/>"#;
        assert!(text.contains(expected), "{text}");
        let centres: Vec<LonLat> = grid.centres().collect();
        assert_eq!(centres.len(), 12);
        assert!((centres[0].lon_deg - 10.000_044_915_764).abs() < 1e-12);
        assert!((centres[0].lat_deg - -0.000_054_781_526).abs() < 1e-12);
        assert!(
            centres[1].lon_deg > centres[0].lon_deg && centres[1].lat_deg == centres[0].lat_deg
        );
        assert!(
            centres[4].lat_deg > centres[0].lat_deg && centres[4].lon_deg == centres[0].lon_deg
        );
    }

    #[test]
    fn cells_that_cannot_be_are_refused() {
        let over = |cell_m| Grid::over([10.0, 45.0, 10.02, 45.02], cell_m);
        assert!(over(0.0).is_err() && over(-1.0).is_err() && over(f64::NAN).is_err());
        assert!(over(0.5).unwrap_err().contains("give another cell size"));
        assert!(over(200_000.0).is_err());
        assert_eq!(over(50_000.0).unwrap().columns, 1);
    }
}
