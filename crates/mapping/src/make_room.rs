//! Where a disc can be laid over a cell so that it takes least ground from other patches.

use crate::opening::squared_radius;

/// The cells a disc lies on, row by row, from an anchor.
pub(crate) struct Footprint {
    runs: Vec<Run>,
    /// Its middle, in half cells from the anchor's north-western corner.
    middle: [i64; 2],
    squared: i64,
}

/// Columns from the first to the last in a row.
struct Run {
    row: i64,
    from: i64,
    to: i64,
}

/// The four ways in which a disc of a diameter in cells lies on the lattice of half cells.
pub(crate) fn footprints(diameter: f64) -> [Footprint; 4] {
    let squared = squared_radius(diameter) as i64;
    [[0, 0], [0, 1], [1, 0], [1, 1]].map(|middle| disc(middle, squared))
}

fn disc(middle: [i64; 2], squared: i64) -> Footprint {
    let reach = squared.isqrt();
    let run = |row: i64| {
        // Squares less than the radius away: see `opening`.
        let off = ((2 * row + 1 - middle[1]).abs() - 1).max(0);
        let left = squared - 1 - off * off;
        let span = (left >= 0).then(|| left.isqrt())?;
        let from = (middle[0] - span - 1).div_euclid(2);
        Some(Run { row, from, to: (middle[0] + span).div_euclid(2) })
    };
    Footprint { runs: (-reach..=reach).filter_map(run).collect(), middle, squared }
}

impl Footprint {
    fn covers_middle(&self, row: i64, column: i64) -> bool {
        let off = [2 * column + 1 - self.middle[0], 2 * row + 1 - self.middle[1]];
        off[0] * off[0] + off[1] * off[1] <= self.squared
    }

    fn cells(&self) -> i64 {
        self.runs.iter().map(|run| run.to - run.from + 1).sum()
    }
}

/// Cells counted along the rows around a place.
struct Counts {
    row: i64,
    column: i64,
    /// So many rows and columns to each side.
    around: i64,
    sums: Vec<i64>,
}

impl Counts {
    fn new(at: (i64, i64), around: i64, counts: impl Fn(i64, i64) -> bool) -> Counts {
        let mut sums = Vec::new();
        for row in at.0 - around..=at.0 + around {
            let mut sum = 0;
            sums.push(sum);
            for column in at.1 - around..=at.1 + around {
                sum += i64::from(counts(row, column));
                sums.push(sum);
            }
        }
        Counts { row: at.0, column: at.1, around, sums }
    }

    /// How many of a run's cells count, seen from an anchor.
    fn of(&self, run: &Run, (row, column): (i64, i64)) -> i64 {
        let width = 2 * self.around + 2;
        let line = (row + run.row - self.row + self.around) * width;
        let sum = |at: i64| self.sums[(line + column + at - self.column + self.around) as usize];
        sum(run.to + 1) - sum(run.from)
    }
}

/// A grid in which a disc is laid.
pub(crate) struct Laying<'a> {
    pub columns: usize,
    pub cells: usize,
    pub footprints: &'a [Footprint],
}

impl Laying<'_> {
    /// The cells of the disc that covers the middle of a cell, lies on ground that `may` be taken alone, and
    /// of that on as much as can be that `is_own`: those and how many are not. The first of equals.
    pub fn cheapest(
        &self,
        cell: usize,
        may: impl Fn(usize) -> bool,
        is_own: impl Fn(usize) -> bool,
    ) -> Option<(i64, Vec<usize>)> {
        let at = self.row_column(cell);
        let rows = self.footprints.iter().map(|footprint| footprint.runs.len() as i64);
        let wide = self.footprints.iter().flat_map(|f| &f.runs).map(|run| run.to - run.from + 1);
        let around = rows.chain(wide).max()?;
        let count = |holds: &dyn Fn(usize) -> bool| {
            Counts::new(at, around, |row, column| self.cell(row, column).is_some_and(holds))
        };
        let (usable, own) = (count(&may), count(&is_own));
        let mut best: Option<(i64, &Footprint, (i64, i64))> = None;
        for footprint in self.footprints {
            let sum = |counts: &Counts, anchor| -> i64 {
                footprint.runs.iter().map(|run| counts.of(run, anchor)).sum()
            };
            let cells = footprint.cells();
            for run in &footprint.runs {
                for column in run.from..=run.to {
                    let anchor = (at.0 - run.row, at.1 - column);
                    let fits =
                        footprint.covers_middle(run.row, column) && sum(&usable, anchor) == cells;
                    let cost = if fits { cells - sum(&own, anchor) } else { continue };
                    if best.is_none_or(|(least, ..)| cost < least) {
                        best = Some((cost, footprint, anchor));
                    }
                }
            }
        }
        let (cost, footprint, (row, column)) = best?;
        let run = |run: &Run| {
            let line = row + run.row;
            (column + run.from..=column + run.to).filter_map(move |c| self.cell(line, c))
        };
        Some((cost, footprint.runs.iter().flat_map(run).collect()))
    }

    fn row_column(&self, cell: usize) -> (i64, i64) {
        ((cell / self.columns) as i64, (cell % self.columns) as i64)
    }

    fn cell(&self, row: i64, column: i64) -> Option<usize> {
        let (row, column) = (usize::try_from(row).ok()?, usize::try_from(column).ok()?);
        let cell = row * self.columns + column;
        (column < self.columns && cell < self.cells).then_some(cell)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two rows of four cells of which two are own: two by two that cover the cell 1.
    #[test]
    fn the_disc_lies_on_as_much_own_ground_as_can_be() {
        let footprints = footprints(2.0);
        let laying = Laying { columns: 4, cells: 8, footprints: &footprints };
        let own = |cell| [2, 6].contains(&cell);
        assert_eq!(laying.cheapest(1, |_| true, own), Some((2, vec![1, 2, 5, 6])));
        assert_eq!(laying.cheapest(1, |cell| cell != 2, own), Some((4, vec![0, 1, 4, 5])));
        assert_eq!(laying.cheapest(1, |cell| cell != 2 && cell != 4, own), None);
    }

    /// A disc two cells wide lies on two by two cells, on two by three, or on three by three.
    #[test]
    fn a_disc_lies_on_the_squares_it_reaches() {
        let footprints = footprints(2.0);
        let sizes: Vec<i64> = footprints.iter().map(Footprint::cells).collect();
        assert_eq!(sizes, [4, 6, 6, 9]);
    }
}
