//! A raster comes in row by row from the north; the file goes out with the smallest overview first.

use std::io::{self, Read, Seek, Write};

use geostat::Grid;
use survey::Utm;

use super::head::{Image, head};
use super::level::Level;
use super::tags::Form;
use super::{FRAME, Quantity, TILE};

/// The longest file of classic TIFF, whose places have 32 bits.
const MOST_CLASSIC: u64 = u32::MAX as u64;

/// Makes a file from rows, holding a row of tiles of each image. Compressed tiles wait in a spool of
/// their image, since the file begins with what is known last.
pub(super) struct Writer<S> {
    grid: Grid,
    utm: Utm,
    quantity: Quantity,
    /// In falling size.
    levels: Vec<Level<S>>,
    /// A longer file is a big TIFF.
    most_classic: u64,
}

impl<S: Read + Write + Seek> Writer<S> {
    /// A file of a grid, with overviews down to a single tile.
    pub fn new(
        grid: Grid,
        utm: Utm,
        quantity: Quantity,
        mut spool: impl FnMut() -> io::Result<S>,
    ) -> io::Result<Self> {
        let (mut columns, mut rows) = (grid.columns(), grid.rows());
        let mut levels = vec![Level::new(columns, rows, spool()?)];
        while columns.max(rows) > TILE {
            (columns, rows) = (columns.div_ceil(2), rows.div_ceil(2));
            levels.push(Level::new(columns, rows, spool()?));
        }
        Ok(Writer { grid, utm, quantity, levels, most_classic: MOST_CLASSIC })
    }

    #[cfg(test)]
    pub fn with_most_classic(self, most_classic: u64) -> Self {
        Writer { most_classic, ..self }
    }

    /// Takes the next values, row by row from the north-west, in portions of any size.
    pub fn push(&mut self, mut values: &[f64]) -> io::Result<()> {
        while !values.is_empty() {
            let lacks = self.levels[0].lacks();
            assert!(lacks > 0, "more values than the grid has cells");
            let (now, later) = values.split_at(lacks.min(values.len()));
            self.levels[0].take(now.iter().map(|&value| value as f32));
            self.pass_on()?;
            values = later;
        }
        Ok(())
    }

    /// Writes rows of tiles that are complete, which may complete one of the next overview.
    fn pass_on(&mut self) -> io::Result<()> {
        for number in 0..self.levels.len() {
            let (level, smaller) = self.levels[number..].split_first_mut().expect("one is left");
            if level.lacks() > 0 {
                break;
            }
            level.write_tiles()?;
            if let Some(next) = smaller.first_mut() {
                next.take(level.halved().into_iter());
            }
            level.forget_rows();
        }
        Ok(())
    }

    /// Writes the file, once every value has come.
    pub fn finish(mut self, file: &mut impl Write) -> io::Result<()> {
        assert!(self.levels.iter().all(|level| level.lacks() == 0), "every cell has come");
        let sizes = self.levels.iter().flat_map(|level| &level.sizes);
        let data: u64 = sizes.map(|&size| FRAME + u64::from(size)).sum();
        let length = |form| self.head(form, 0).len() as u64;
        let form = match length(Form::Classic) + data <= self.most_classic {
            true => Form::Classic,
            false => Form::Big,
        };
        file.write_all(&self.head(form, length(form)))?;
        for level in self.levels.iter_mut().rev() {
            level.spool.rewind()?;
            io::copy(&mut level.spool, file)?;
        }
        Ok(())
    }

    /// The head of a file whose data begins at a place.
    fn head(&self, form: Form, start: u64) -> Vec<u8> {
        let mut next = start;
        let mut place = |&size: &u32| {
            let place = next + FRAME / 2;
            next += FRAME + u64::from(size);
            place
        };
        // The smallest image comes first in the file, last among the directories.
        let smallest_first = self.levels.iter().rev();
        let mut places: Vec<Vec<u64>> =
            smallest_first.map(|level| level.sizes.iter().map(&mut place).collect()).collect();
        places.reverse();
        let images: Vec<Image> = self
            .levels
            .iter()
            .zip(places)
            .map(|(level, places)| Image {
                columns: level.columns,
                rows: level.rows,
                sizes: &level.sizes,
                places,
            })
            .collect();
        head(form, &self.grid, self.utm, &self.quantity, &images)
    }
}
