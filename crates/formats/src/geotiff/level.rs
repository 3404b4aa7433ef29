//! The raster at full resolution or an overview of it, while its rows come in.

use std::io::{self, Write};

use rayon::prelude::*;

use super::tile::Room;
use super::{FRAME, TILE};

/// One image of the file. Rows are held until they fill a row of tiles.
pub(super) struct Level<S> {
    pub columns: usize,
    pub rows: usize,
    /// Rows that are in tiles.
    done: usize,
    /// The values of the rows after them, as far as they have come; NaN is no data.
    held: Vec<f32>,
    /// Bytes of each compressed tile, row by row from the north-west.
    pub sizes: Vec<u32>,
    /// The compressed tiles, each with its size before it and its last bytes again after it.
    pub spool: S,
}

impl<S: Write> Level<S> {
    pub fn new(columns: usize, rows: usize, spool: S) -> Self {
        let held = Vec::with_capacity(columns * rows.min(TILE));
        Level { columns, rows, done: 0, held, sizes: Vec::new(), spool }
    }

    /// How many values the row of tiles at hand still lacks; 0 when the image is complete.
    pub fn lacks(&self) -> usize {
        TILE.min(self.rows - self.done) * self.columns - self.held.len()
    }

    /// Takes values, no more than the row of tiles lacks.
    pub fn take(&mut self, values: impl Iterator<Item = f32>) {
        self.held.extend(values);
    }

    /// Compresses the row of tiles, which lacks nothing any more; the rows stay until
    /// [`Level::forget_rows`].
    pub fn write_tiles(&mut self) -> io::Result<()> {
        let tiles: Vec<Vec<u8>> = (0..self.columns.div_ceil(TILE))
            .into_par_iter()
            .map_init(Room::new, |room, number| {
                let columns = number * TILE..self.columns.min((number + 1) * TILE);
                let rows = self.held.chunks_exact(self.columns);
                room.framed(rows.map(|row| &row[columns.clone()]))
            })
            .collect();
        for tile in tiles {
            self.sizes.push(tile.len() as u32 - FRAME as u32);
            self.spool.write_all(&tile)?;
        }
        Ok(())
    }

    /// The rows of the next overview that lie over the row of tiles: each cell the mean of two by two,
    /// as far as they have values.
    pub fn halved(&self) -> Vec<f32> {
        let (columns, half) = (self.columns, self.columns.div_ceil(2));
        let rows = (self.held.len() / columns).div_ceil(2);
        let beyond = vec![f32::NAN; columns];
        let mut values = vec![f32::NAN; half * rows];
        values.par_chunks_exact_mut(half).zip(self.held.par_chunks(2 * columns)).for_each(
            |(means, pair)| {
                let (upper, lower) = pair.split_at(columns);
                mean_rows(upper, if lower.is_empty() { &beyond } else { lower }, means);
            },
        );
        values
    }

    /// Makes room for the next row of tiles.
    pub fn forget_rows(&mut self) {
        self.done += self.held.len() / self.columns;
        self.held.clear();
    }
}

/// Means of up to four cells each, of those that have a value; NaN where none has.
fn mean_rows(upper: &[f32], lower: &[f32], means: &mut [f32]) {
    for ((mean, upper), lower) in means.iter_mut().zip(upper.chunks(2)).zip(lower.chunks(2)) {
        let (mut sum, mut count) = (0.0, 0.0);
        for &value in upper.iter().chain(lower) {
            if !value.is_nan() {
                sum += f64::from(value);
                count += 1.0;
            }
        }
        *mean = (sum / count) as f32;
    }
}
