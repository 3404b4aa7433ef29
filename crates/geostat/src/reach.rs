//! The cells that lie near enough to a sample.

use rayon::prelude::*;

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
    /// The cells within `reach_m` metres of any sample; none where that is below 0 or NaN.
    pub fn new(samples: &Samples, grid: Grid, reach_m: f64) -> Self {
        let mut samples = samples.as_slice().to_vec();
        samples.sort_by(|a, b| a.northing_m.total_cmp(&b.northing_m));
        // Row by row, so that only the runs of one row stand beside each other before they are joined.
        let of_row = |row: usize| {
            let northing_m = grid.northing_m(row);
            // A cell more on each side: rounding must not hide a sample.
            let (south_m, north_m) =
                (northing_m - reach_m - grid.cell_m(), northing_m + reach_m + grid.cell_m());
            let first = samples.partition_point(|sample| sample.northing_m < south_m);
            let near = samples[first..].iter().take_while(|sample| sample.northing_m <= north_m);
            let mut runs: Vec<(u32, u32)> = near
                .filter_map(|sample| {
                    let north_m = northing_m - sample.northing_m;
                    let is_near = |column: usize| {
                        let east_m = grid.easting_m(column) - sample.easting_m;
                        east_m * east_m + north_m * north_m <= reach_m * reach_m
                    };
                    run(sample.easting_m, reach_m, north_m, grid, is_near)
                })
                .collect();
            join(&mut runs);
            runs
        };
        let runs = match reach_m >= 0.0 {
            true => (0..grid.rows()).into_par_iter().map(of_row).collect(),
            false => vec![Vec::new(); grid.rows()],
        };
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
        // Middles of cells lie at exactly 3 m, among others. Part of the grid as a band of a larger one.
        let whole = Grid::new(0.0, -5.0, 1.0, 25, 30).unwrap();
        for (reach_m, grid) in [(0.3, grid), (3.0, grid), (3.0, whole.band(13, 12)), (7.7, grid)] {
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
    #[test]
    fn a_reach_without_end_or_without_sense() {
        let sample = Sample { easting_m: 3.0, northing_m: 4.0, value: 0.0 };
        let samples = Samples::new(vec![sample]).unwrap();
        let grid = Grid::new(0.0, 0.0, 1.0, 25, 12).unwrap();
        let count = |reach_m: f64| {
            let reach = Reach::new(&samples, grid, reach_m);
            let cells = (0..12).flat_map(|row| (0..25).map(move |column| (row, column)));
            cells.filter(|&(row, column)| reach.holds(row, column)).count()
        };
        assert_eq!([f64::INFINITY, 1e200, 0.0, -0.8, f64::NAN].map(count), [300, 300, 0, 0, 0]);
    }
}
