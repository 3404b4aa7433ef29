//! Which of several areas holds the middle of each cell of a grid.
//!
//! An area is inside by the even-odd rule. An edge counts from its southern end up to, but not at, its
//! northern end, and ground from a crossing eastwards up to the next: so areas that share a border
//! share no cell and leave none out, and a place is judged as the middle of a cell there would be.

use geo::{CoordsIter, LineString, Polygon};
use geostat::Grid;
use survey::EastNorth;

/// Label of cells that no area holds.
pub(crate) const NO_AREA: u16 = 0;

/// Labels of a grid's cells: the number of the first area that holds the middle, from 1; and how many
/// middles a later area of another label would have held too, by its label less one.
pub(crate) struct GridLabels {
    pub of_cell: Vec<u16>,
    pub lost_to_earlier: Vec<usize>,
}

/// Labels the cells of a grid. Areas come with their labels, from 1; several may have the same.
pub(crate) fn label(grid: Grid, labels: usize, areas: &[(u16, &Polygon)]) -> GridLabels {
    let mut found =
        GridLabels { of_cell: vec![NO_AREA; grid.cells()], lost_to_earlier: vec![0; labels] };
    for &(label, area) in areas {
        for_each_stretch(grid, area, |row, columns| {
            for cell in &mut found.of_cell[row * grid.columns()..][columns] {
                match *cell {
                    NO_AREA => *cell = label,
                    earlier if earlier != label => {
                        found.lost_to_earlier[usize::from(label) - 1] += 1;
                    }
                    _ => {}
                }
            }
        });
    }
    found
}

/// The label of a place: that of the first area that holds it.
pub(crate) fn label_at(place: EastNorth, areas: &[(u16, Polygon)]) -> u16 {
    let holds = |area: &Polygon| {
        let crossed = edges(area)
            .filter(|edge| edge.low.1 <= place.northing_m && place.northing_m < edge.high.1)
            .filter(|edge| edge.east_at(place.northing_m) <= place.easting_m);
        crossed.count() % 2 == 1
    };
    areas.iter().find(|(_, area)| holds(area)).map_or(NO_AREA, |(label, _)| *label)
}

/// Calls back with the columns of each stretch of cells of a row whose middles an area holds.
fn for_each_stretch(
    grid: Grid,
    area: &Polygon,
    mut found: impl FnMut(usize, std::ops::Range<usize>),
) {
    let mut edges: Vec<Edge> = edges(area).collect();
    edges.sort_by(|a, b| a.low.1.total_cmp(&b.low.1));
    let mut waiting = edges.into_iter().peekable();
    let mut crossed: Vec<Edge> = Vec::new();
    // The first column whose middle is at or east of a place, whatever the division's rounding.
    let first_column = |east: f64| {
        let near = ((east - grid.west_m()) / grid.cell_m() - 1.5).clamp(0.0, grid.columns() as f64);
        let mut column = near as usize;
        while column < grid.columns() && grid.easting_m(column) < east {
            column += 1;
        }
        column
    };
    // The edges a row crosses change little from row to row.
    for row in (0..grid.rows()).rev() {
        let northing_m = grid.northing_m(row);
        while let Some(edge) = waiting.next_if(|edge| edge.low.1 <= northing_m) {
            crossed.push(edge);
        }
        crossed.retain(|edge| northing_m < edge.high.1);
        let mut easts: Vec<f64> = crossed.iter().map(|edge| edge.east_at(northing_m)).collect();
        easts.sort_by(f64::total_cmp);
        for pair in easts.chunks_exact(2) {
            let columns = first_column(pair[0])..first_column(pair[1]);
            if !columns.is_empty() {
                found(row, columns);
            }
        }
    }
}

/// An edge from its southern to its northern end, as easting and northing.
#[derive(Clone, Copy)]
struct Edge {
    low: (f64, f64),
    high: (f64, f64),
}

impl Edge {
    fn east_at(&self, northing_m: f64) -> f64 {
        let part = (northing_m - self.low.1) / (self.high.1 - self.low.1);
        self.low.0 + part * (self.high.0 - self.low.0)
    }
}

/// The edges of an area that are not level, which nothing crosses.
fn edges(area: &Polygon) -> impl Iterator<Item = Edge> {
    let rings = std::iter::once(area.exterior()).chain(area.interiors());
    let of_ring = |ring: &LineString| {
        let corners: Vec<(f64, f64)> = ring.coords_iter().map(|c| (c.x, c.y)).collect();
        let pairs: Vec<Edge> = corners
            .windows(2)
            .map(|pair| match pair[0].1 <= pair[1].1 {
                true => Edge { low: pair[0], high: pair[1] },
                false => Edge { low: pair[1], high: pair[0] },
            })
            .collect();
        pairs
    };
    rings.flat_map(of_ring).filter(|edge| edge.low.1 < edge.high.1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;
    use proptest::prelude::*;

    /// Six columns and four rows of 10 m, drawn from the north.
    fn drawn(areas: &[(u16, &Polygon)]) -> (Vec<String>, Vec<usize>) {
        let grid = Grid::new(0.0, 0.0, 10.0, 6, 4).unwrap();
        let GridLabels { of_cell, lost_to_earlier } = label(grid, 3, areas);
        let row = |row: &[u16]| row.iter().map(ToString::to_string).collect::<String>();
        (of_cell.chunks(6).map(row).collect(), lost_to_earlier)
    }

    fn rectangle(west: f64, south: f64, east: f64, north: f64) -> Polygon {
        polygon![(x: west, y: south), (x: east, y: south), (x: east, y: north), (x: west, y: north)]
    }

    #[test]
    fn a_cell_belongs_to_the_first_area_that_holds_its_middle() {
        let west = rectangle(0.0, 0.0, 24.0, 40.0);
        let south = rectangle(0.0, 0.0, 60.0, 16.0);
        // Middles are at 5, 15, 25, …: 24 holds two columns, 16 two rows.
        let (rows, lost) = drawn(&[(1, &west), (2, &south)]);
        assert_eq!(rows, ["110000", "110000", "112222", "112222"]);
        assert_eq!(lost, [0, 4, 0]);
        let (rows, lost) = drawn(&[(2, &south), (1, &west)]);
        assert_eq!(rows, ["110000", "110000", "222222", "222222"]);
        assert_eq!(lost, [4, 0, 0]);
    }

    #[test]
    fn parts_of_one_label_add_up_where_they_overlap_and_holes_are_left_out() {
        let hole = Polygon::new(
            rectangle(10.0, 0.0, 60.0, 40.0).exterior().clone(),
            vec![rectangle(20.0, 10.0, 50.0, 30.0).exterior().clone()],
        );
        let (rows, lost) = drawn(&[(3, &hole), (3, &rectangle(0.0, 0.0, 30.0, 20.0))]);
        assert_eq!(rows, ["033333", "030003", "333003", "333333"]);
        assert_eq!(lost, [0, 0, 0]);
    }

    #[test]
    fn an_edge_through_middles_gives_each_to_one_side() {
        // The border runs through the middles of the third column and of the second row.
        let (rows, _) = drawn(&[
            (1, &rectangle(0.0, 0.0, 25.0, 25.0)),
            (2, &rectangle(25.0, 0.0, 60.0, 25.0)),
            (3, &rectangle(0.0, 25.0, 60.0, 40.0)),
        ]);
        assert_eq!(rows, ["333333", "333333", "112222", "112222"]);
    }

    proptest! {
        #[test]
        fn a_place_in_the_middle_of_a_cell_has_the_cells_label(
            corners in prop::collection::vec((-20..80_i32, -20..60_i32), 3..9),
            more in prop::collection::vec((-20..80_i32, -20..60_i32), 3..9),
        ) {
            let area = |corners: &[(i32, i32)]| {
                let ring = corners.iter().map(|&(x, y)| (f64::from(x), f64::from(y)));
                Polygon::new(ring.collect(), vec![])
            };
            let areas = [(1, area(&corners)), (2, area(&more))];
            let grid = Grid::new(0.0, 0.0, 10.0, 6, 4).unwrap();
            let of_cell = label(grid, 2, &[(1, &areas[0].1), (2, &areas[1].1)]).of_cell;
            for (cell, &label) in of_cell.iter().enumerate() {
                let place = EastNorth {
                    easting_m: grid.easting_m(cell % 6),
                    northing_m: grid.northing_m(cell / 6),
                };
                prop_assert_eq!(label_at(place, &areas), label, "cell {}", cell);
            }
        }
    }
}
