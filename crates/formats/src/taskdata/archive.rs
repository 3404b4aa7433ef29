//! The folder as one file.

use std::io::{Cursor, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, System, ZipWriter};

use crate::write::Output;

/// The files of a TASKDATA folder as a zip archive, the folder within it. Same files, same bytes: all of
/// them are from 1980-01-01, the first day that the format knows, and none is compressed.
pub fn taskdata_zip(files: &[Output]) -> Vec<u8> {
    let options = SimpleFileOptions::default()
        .system(System::Unix)
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(DateTime::DEFAULT)
        .unix_permissions(0o644);
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    let write = || {
        for file in files {
            archive.start_file(file.name.as_str(), options)?;
            archive.write_all(&file.bytes)?;
        }
        archive.finish()
    };
    write().expect("memory takes all of an archive below 4 GB").into_inner()
}
