//! The cells that lie near enough to a sample.

use crate::grid::Grid;
use crate::sample::Samples;

/// The cells of a grid whose middle is at most so far from a sample, by plain distance; a distance
/// of just that is within reach. Kept as runs of columns, so that it takes room for the rows of a
/// grid and not for its cells.
#[derive(Debug, Clone)]
pub struct Reach {
    /// For each row, its runs from the west: first column and the one after the last.
    runs: Vec<Vec<(u32, u32)>>,
}

impl Reach {
    /// The cells within `reach_m` metres of any sample.
    pub fn new(samples: &Samples, grid: Grid, reach_m: f64) -> Self {
        let mut runs: Vec<Vec<(u32, u32)>> = vec![Vec::new(); grid.rows()];
        let to_south = |northing_m: f64| (grid.north_m() - northing_m) / grid.cell_m();
        for sample in samples.as_slice() {
            let row = |row: f64, count: usize| (row.max(0.0) as usize).min(count);
            let first = row(to_south(sample.northing_m + reach_m) - 1.0, grid.rows());
            let last = row(to_south(sample.northing_m - reach_m) + 2.0, grid.rows());
            for (row, runs) in runs.iter_mut().enumerate().take(last).skip(first) {
                let north_m = grid.northing_m(row) - sample.northing_m;
                let is_near = |column: usize| {
                    let east_m = grid.easting_m(column) - sample.easting_m;
                    east_m * east_m + north_m * north_m <= reach_m * reach_m
                };
                runs.extend(run(sample.easting_m, reach_m, north_m, grid, is_near));
            }
        }
        for runs in &mut runs {
            join(runs);
        }
        Reach { runs }
    }

    /// Whether a cell is within reach.
    pub fn holds(&self, row: usize, column: usize) -> bool {
        let runs = &self.runs[row];
        let after = runs.partition_point(|run| run.0 as usize <= column);
        after > 0 && column < runs[after - 1].1 as usize
    }
}

/// The columns of a row that are near a sample.
fn run(
    easting_m: f64,
    reach_m: f64,
    north_m: f64,
    grid: Grid,
    is_near: impl Fn(usize) -> bool,
) -> Option<(u32, u32)> {
    let half_m = (reach_m * reach_m - north_m * north_m).max(0.0).sqrt();
    // A column more on each side, then in to the first that is near, so that rounding decides nothing.
    let column = |easting_m: f64| (easting_m - grid.west_m()) / grid.cell_m() - 0.5;
    let from = (column(easting_m - half_m) - 1.0).max(0.0) as usize;
    let to = ((column(easting_m + half_m) + 2.0).max(0.0) as usize).min(grid.columns());
    let first = (from..to).find(|&column| is_near(column))?;
    let last = (first..to).rev().find(|&column| is_near(column))?;
    Some((first as u32, last as u32 + 1))
}

/// Puts runs in order and joins those that meet.
fn join(runs: &mut Vec<(u32, u32)>) {
    runs.sort_unstable();
    let mut joined: Vec<(u32, u32)> = Vec::with_capacity(runs.len().min(8));
    for &(first, end) in runs.iter() {
        match joined.last_mut() {
            Some(last) if first <= last.1 => last.1 = last.1.max(end),
            _ => joined.push((first, end)),
        }
    }
    *runs = joined;
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::Sample;

    #[test]
    fn reach_is_the_nearest_samples_distance() {
        let at = |easting_m, northing_m| Sample { easting_m, northing_m, value: 0.0 };
        let samples =
            Samples::new(vec![at(3.5, 4.5), at(7.5, 4.5), at(20.0, -3.0), at(-9.0, 30.0)]).unwrap();
        let grid = Grid::new(0.0, 0.0, 1.0, 25, 12).unwrap();
        // Middles of cells lie at exactly 3 m, among others.
        for reach_m in [0.3, 3.0, 7.7] {
            let reach = Reach::new(&samples, grid, reach_m);
            let mut near = 0;
            for (row, column) in (0..12).flat_map(|row| (0..25).map(move |column| (row, column))) {
                let place = (grid.easting_m(column), grid.northing_m(row));
                let squared =
                    |s: &Sample| (s.easting_m - place.0).powi(2) + (s.northing_m - place.1).powi(2);
                let expected = samples.as_slice().iter().any(|s| squared(s) <= reach_m * reach_m);
                assert_eq!(reach.holds(row, column), expected, "{reach_m} {row} {column}");
                near += usize::from(expected);
            }
            assert!(near > 0 && near < 25 * 12);
        }
    }
}
