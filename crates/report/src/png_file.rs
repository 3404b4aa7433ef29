//! The page as a picture: drawn by resvg, written as PNG with its resolution.

use resvg::{tiny_skia, usvg};

use crate::error::ReportError;
use crate::fonts;
use crate::page::{DPI, MapPage, PAGE_HEIGHT_PX, PAGE_WIDTH_PX, map_svg};

/// Pixels per metre at [`DPI`], for the chunk `pHYs` (PNG, third edition, section 11.3.4.3).
const PIXELS_PER_M: u32 = (DPI as f64 / survey::units::M_PER_IN + 0.5) as u32;

/// The page as a PNG picture of [`PAGE_WIDTH_PX`] × [`PAGE_HEIGHT_PX`] that says its resolution.
///
/// # Errors
/// When there is no memory for the picture.
pub fn map_png(page: &MapPage) -> Result<Vec<u8>, ReportError> {
    picture(&map_svg(page))
}

/// A page of [`PAGE_WIDTH_PX`] × [`PAGE_HEIGHT_PX`] as PNG.
pub(crate) fn picture(svg: &str) -> Result<Vec<u8>, ReportError> {
    encode(&draw(svg)?)
}

/// A page read as a drawing, with the built-in fonts and no others.
pub(crate) fn parsed(svg: &str) -> Result<usvg::Tree, ReportError> {
    let options = usvg::Options {
        dpi: DPI as f32,
        font_family: fonts::FAMILY.into(),
        fontdb: fonts::database(),
        ..usvg::Options::default()
    };
    Ok(usvg::Tree::from_str(svg, &options)?)
}

/// Draws a page on white.
fn draw(svg: &str) -> Result<tiny_skia::Pixmap, ReportError> {
    let tree = parsed(svg)?;
    let (width, height) = (PAGE_WIDTH_PX, PAGE_HEIGHT_PX);
    let mut picture =
        tiny_skia::Pixmap::new(width, height).ok_or(ReportError::Memory { width, height })?;
    picture.fill(tiny_skia::Color::WHITE);
    resvg::render(&tree, tiny_skia::Transform::identity(), &mut picture.as_mut());
    Ok(picture)
}

/// Without the alpha channel: paper has none.
fn encode(picture: &tiny_skia::Pixmap) -> Result<Vec<u8>, ReportError> {
    let rgb: Vec<u8> = picture
        .pixels()
        .iter()
        .flat_map(|pixel| [pixel.red(), pixel.green(), pixel.blue()])
        .collect();
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, picture.width(), picture.height());
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_pixel_dims(Some(png::PixelDimensions {
        xppu: PIXELS_PER_M,
        yppu: PIXELS_PER_M,
        unit: png::Unit::Meter,
    }));
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&rgb)?;
    writer.finish()?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing;

    #[test]
    fn the_picture_has_its_size_and_says_its_resolution() {
        let sample = testing::wide();
        let bytes = map_png(&sample.page("North Bench")).unwrap();
        let picture = image::load_from_memory(&bytes).unwrap();
        assert_eq!((picture.width(), picture.height()), (2200, 1700));
        let header = png::Decoder::new(std::io::Cursor::new(&bytes)).read_info().unwrap();
        let resolution = header.info().pixel_dims.unwrap();
        assert_eq!((resolution.xppu, resolution.yppu), (7874, 7874));
        assert_eq!(resolution.unit, png::Unit::Meter);
    }

    #[test]
    fn the_same_map_gives_the_same_picture() {
        let sample = testing::tall();
        let once = map_png(&sample.page("Hill")).unwrap();
        assert!(once == map_png(&sample.page("Hill")).unwrap());
    }
}
