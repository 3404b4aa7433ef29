//! A depth raster of any size on its way to the disk.

use std::fs::File;
use std::path::Path;

use geostat::Grid;
use survey::Utm;

use super::Quantity;
use super::writer::Writer;
use crate::error::FormatError;
use crate::write::NewFile;

/// What [`depth_geotiff`](super::depth_geotiff) makes, the same bytes, written from rows as they come:
/// only some rows are held in memory. What is ready waits in nameless files beside the result, so while
/// it is written it takes twice its room on the disk. Dropped unfinished, it leaves nothing behind.
pub struct GeotiffFile {
    // Dropped before the folder they lie in.
    writer: Writer<File>,
    file: NewFile,
}

impl GeotiffFile {
    /// Begins a file; its folder is made where it is missing.
    ///
    /// # Errors
    /// When the file is there and `replace` is false, or the disk refuses.
    pub fn create(path: &Path, grid: Grid, utm: Utm, replace: bool) -> Result<Self, FormatError> {
        let file = NewFile::create(path, replace)?;
        let writer =
            Writer::new(grid, utm, Quantity::depth(), || tempfile::tempfile_in(file.folder()))
                .map_err(|source| file.unwritable(source))?;
        Ok(GeotiffFile { writer, file })
    }

    /// Takes the next depths in centimetres, row by row from the north-west, in portions of any size;
    /// NaN is no data.
    ///
    /// # Errors
    /// When the disk refuses.
    ///
    /// # Panics
    /// When there are more of them than the grid has cells.
    pub fn push(&mut self, depth_cm: &[f64]) -> Result<(), FormatError> {
        self.writer.push(depth_cm).map_err(|source| self.file.unwritable(source))
    }

    /// Puts the file together and gives it its name.
    ///
    /// # Errors
    /// When the disk refuses, or the file has come to be there and is not to be replaced.
    ///
    /// # Panics
    /// When not every cell of the grid has come.
    pub fn finish(mut self) -> Result<(), FormatError> {
        let written = self.writer.finish(self.file.as_file_mut());
        written.map_err(|source| self.file.unwritable(source))?;
        self.file.keep()
    }
}
