//! What makes a page impossible to draw as a picture.

/// Why a page could not be turned into a picture.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[expect(missing_docs, reason = "each variant's text says what it is")]
pub enum ReportError {
    #[error("the page cannot be read back for drawing")]
    Drawing(#[from] resvg::usvg::Error),
    #[error("there is no memory for a picture of {width} × {height} pixels")]
    Memory { width: u32, height: u32 },
    #[error("the picture cannot be written as PNG")]
    Encoding(#[from] png::EncodingError),
    #[error("the chart \"{title}\" {problem}")]
    Chart { title: String, problem: String },
    #[error("row {row} of the table \"{caption}\" has {cells} cells; there are {columns} columns")]
    Row { caption: String, row: usize, cells: usize, columns: usize },
    #[error("the page cannot be written as PDF: {problem}")]
    Pdf { problem: String },
    #[error("no recording page can be made: {problem}")]
    RecordPage { problem: String },
}
