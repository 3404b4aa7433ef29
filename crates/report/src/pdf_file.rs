//! A page as PDF: the same drawing as the picture's, with text that can be searched and copied.

use krilla::Document;
use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla_svg::{SurfaceExt, SvgSettings};

use crate::error::ReportError;
use crate::page::{DPI, MapPage, PAGE_HEIGHT_PX, PAGE_WIDTH_PX, map_svg};
use crate::png_file::parsed;

/// PDF's unit: points in an inch (ISO 32000-1, section 8.3.2.3).
const POINTS_PER_INCH: f32 = 72.0;

/// The page of a map as PDF: the same drawing as [`map_png`](crate::map_png), its text in Inter.
///
/// # Errors
/// When the page cannot be written as PDF.
pub fn map_pdf(page: &MapPage) -> Result<Vec<u8>, ReportError> {
    pdf(&map_svg(page), page.title)
}

/// A page of [`PAGE_WIDTH_PX`] × [`PAGE_HEIGHT_PX`] as PDF of the same size on paper. It holds no date, so
/// the same page gives the same bytes.
pub(crate) fn pdf(svg: &str, title: &str) -> Result<Vec<u8>, ReportError> {
    pdf_pages(&[svg.to_owned()], title)
}

/// Several such pages as one PDF, in their order.
pub(crate) fn pdf_pages(svgs: &[String], title: &str) -> Result<Vec<u8>, ReportError> {
    let points = |pixels: u32| pixels as f32 * POINTS_PER_INCH / DPI as f32;
    let unwritable = |problem: &str| ReportError::Pdf { problem: problem.into() };
    let size = Size::from_wh(points(PAGE_WIDTH_PX), points(PAGE_HEIGHT_PX))
        .ok_or_else(|| unwritable("it has no size"))?;
    let mut document = Document::new();
    document.set_metadata(Metadata::new().title(title.into()));
    for svg in svgs {
        let tree = parsed(svg)?;
        let mut page = document.start_page_with(PageSettings::new(size));
        let mut surface = page.surface();
        surface
            .draw_svg(&tree, size, SvgSettings::default())
            .ok_or_else(|| unwritable("its drawing cannot be read"))?;
        surface.finish();
        page.finish();
    }
    document.finish().map_err(|error| unwritable(&format!("{error:?}")))
}
