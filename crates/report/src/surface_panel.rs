//! The surface: the depth of each cell before it is divided into classes, as a small picture.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use geo::Coord;
use image::codecs::png::PngEncoder;
use image::{ImageEncoder, Rgba, RgbaImage};
use mapping::{DepthClasses, DepthMap};
use survey::Depth;
use survey::units::tidy;

use crate::base_map::NO_VALUE;
use crate::frame::Rect;
use crate::outline;
use crate::page::{self, MapPage};
use crate::palette::{HAIRLINE, INK, Rgb, SOFT_INK, class_colour, depth_colour};
use crate::svg::{Anchor, Paint, Svg, Type, number};
use crate::view::View;

/// Cells across in the picture at the most; of a larger raster it shows every second, third…
const MOST_ACROSS: usize = 800;
/// Id of the clip path of the field in this panel.
const FIELD: &str = "field-on-surface";
/// Room for the colour bar with its numbers and unit.
const BAR_ROOM: f64 = 76.0;
/// Between the surface and its colour bar.
const GAP: f64 = 22.0;
const BAR_HEIGHT: f64 = 18.0;
const SIZE: f64 = 19.0;

/// Draws the surface and its colour bar into a rectangle.
pub(crate) fn draw(svg: &mut Svg, page: &MapPage, place: Rect) {
    let field = page.survey.field().polygons();
    let room = place.trim(2.0, 2.0, 2.0, BAR_ROOM + GAP);
    let height = room.height.min(room.width / page::aspect(page.survey));
    let view = View::fit(field, Rect { height, ..room });
    let path = outline::path(&outline::rings(field, &view));
    svg.raw(&format!(
        r#"<clipPath id="{FIELD}"><path d="{path}" clip-rule="evenodd"/></clipPath>"#
    ));
    svg.path(&path, Paint::pattern(NO_VALUE));
    draw_picture(svg, page.map, &view);
    svg.path(&path, Paint::stroke(INK, 2.0));
    let width = place.width.min(440.0);
    let left = place.left + (place.width - width) / 2.0;
    let bar = Rect::new(left, room.top + height + GAP, width, BAR_HEIGHT);
    draw_bar(svg, &page.map.classes, bar);
}

fn draw_picture(svg: &mut Svg, map: &DepthMap, view: &View) {
    let grid = map.depth_cm.grid;
    let (left, top) = view.on_page(Coord { x: grid.west_m(), y: grid.north_m() });
    let picture = picture(map);
    let mut bytes = Vec::new();
    PngEncoder::new(&mut bytes)
        .write_image(&picture, picture.width(), picture.height(), image::ExtendedColorType::Rgba8)
        .expect("writing to memory");
    let side = grid.cell_m() * view.scale;
    // The clip path stands on a group: on the image itself it would be scaled with it.
    svg.raw(&format!(
        r#"<g clip-path="url(#{FIELD})"><image x="{}" y="{}" width="{}" height="{}" preserveAspectRatio="none" image-rendering="optimizeSpeed" href="data:image/png;base64,{}"/></g>"#,
        number(left),
        number(top),
        number(side * grid.columns() as f64),
        number(side * grid.rows() as f64),
        STANDARD.encode(bytes)
    ));
}

/// The raster as a picture, nearest cells; no data is transparent.
fn picture(map: &DepthMap) -> RgbaImage {
    let grid = map.depth_cm.grid;
    let every = grid.columns().max(grid.rows()).div_ceil(MOST_ACROSS);
    let (columns, rows) = (grid.columns().div_ceil(every), grid.rows().div_ceil(every));
    // Cell of the raster in the middle of what a pixel of the picture covers.
    let cell = |pixel: u32, pixels: usize, cells: usize| {
        ((2 * pixel as usize + 1) * cells / (2 * pixels)).min(cells - 1)
    };
    RgbaImage::from_fn(columns as u32, rows as u32, |x, y| {
        let row = cell(y, rows, grid.rows());
        let depth_cm = map.depth_cm.value(row, cell(x, columns, grid.columns()));
        match depth_cm.is_nan() {
            true => Rgba([0, 0, 0, 0]),
            false => {
                let Rgb(r, g, b) = depth_colour(Depth::from_cm(depth_cm), &map.classes);
                Rgba([r, g, b, 255])
            }
        }
    })
}

/// The colour bar: classes are equally wide, their limits are the numbers.
fn draw_bar(svg: &mut Svg, classes: &DepthClasses, bar: Rect) {
    let count = classes.len();
    let stops: String = (0..count)
        .map(|class| {
            let offset = number(class as f64 / count as f64);
            format!(r#"<stop offset="{offset}" stop-color="{}"/>"#, class_colour(class, count))
        })
        .collect();
    svg.raw(&format!(r#"<linearGradient id="depth-colours">{stops}</linearGradient>"#));
    svg.rect(bar, Paint::pattern("depth-colours").edge(HAIRLINE, 1.2));
    let units = classes.units();
    let tick = |k: usize| bar.left + bar.width * k as f64 / count as f64;
    for k in 0..count {
        let words = tidy(units.depth(classes.from(k)), 1);
        let anchor = if k == 0 { Anchor::Start } else { Anchor::Middle };
        let style = Type::regular(SIZE).colour(SOFT_INK).anchor(anchor);
        svg.text(&words, (tick(k), bar.bottom() + 22.0), style);
        let foot = (tick(k), bar.bottom() + 5.0);
        svg.line((tick(k), bar.bottom()), foot, Paint::stroke(HAIRLINE, 1.6));
    }
    let unit = units.depth_unit();
    let deepest = tidy(units.depth(classes.from(count - 1)), 1);
    let words = format!("Depth, {unit} (darkest: {deepest} {unit} or more)");
    let style = Type::regular(SIZE).colour(SOFT_INK).anchor(Anchor::Middle);
    svg.text(&words, (bar.middle().0, bar.bottom() + 50.0), style);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing;

    #[test]
    fn ground_without_a_value_is_transparent() {
        let sample = testing::with_gap();
        let picture = picture(&sample.map);
        let values = &sample.map.depth_cm.values;
        assert_eq!(picture.pixels().len(), values.len());
        for (pixel, depth_cm) in picture.pixels().zip(values) {
            assert_eq!(pixel.0[3] == 0, depth_cm.is_nan());
        }
    }

    #[test]
    fn a_large_raster_is_thinned() {
        let sample = testing::fine();
        assert!(sample.map.depth_cm.grid.columns() > MOST_ACROSS);
        let picture = picture(&sample.map);
        assert!(picture.width() as usize <= MOST_ACROSS);
        let before =
            sample.map.depth_cm.grid.columns() as f64 / sample.map.depth_cm.grid.rows() as f64;
        let after = f64::from(picture.width()) / f64::from(picture.height());
        assert!((before / after - 1.0).abs() < 0.02);
    }
}
