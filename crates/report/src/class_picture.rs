//! A raster's classes as a picture that fills the field: one pixel of the picture is one of the page.
//!
//! Between the middles of cells values are bilinear, so that the classes' edges are lines and not
//! stairs; which ground has a value is decided by the nearest cell alone. Each pixel is the mean of
//! nine samples. Ground where the value is less than its half-width is hatched here too, and not by a
//! pattern of the page, since its border runs through cells.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use geo::Coord;
use geostat::Raster;
use image::codecs::png::PngEncoder;
use image::{ImageEncoder, Rgba, RgbaImage};

use crate::base_map::{FIELD, NO_VALUE};
use crate::outline;
use crate::palette::{PAPER, Ramp, Rgb, WITHIN_GROUND, WITHIN_LINE};
use crate::svg::{Paint, Svg, number};
use crate::value_classes::ValueClasses;
use crate::view::View;

/// Samples of a pixel: three by three.
const SAMPLES: usize = 9;
/// Half the width of the pale line between classes, pixels.
const HALF_LINE: f64 = 1.0;
/// A pixel without another class within so many pixels has one colour.
const NEAR: usize = 2;

/// Id of the pattern of ground whose value is within its uncertainty.
pub(crate) const WITHIN: &str = "within-uncertainty";
/// Distance and width of its lines, pixels.
const WITHIN_STEP: f64 = 18.0;
const WITHIN_WIDTH: f64 = 1.4;

/// A raster on the page.
pub(crate) struct ClassPicture<'a> {
    pub raster: &'a Raster,
    pub classes: &'a ValueClasses,
    pub ramp: Ramp<'a>,
    /// Half the width of each value's interval, on the same grid: where the value lies nearer to 0, or
    /// nothing is known of its half-width, the ground is hatched and has no class.
    pub half_width: Option<&'a Raster>,
}

/// What a place of the field is painted as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ground {
    Class(usize),
    /// The value is within its uncertainty.
    Within,
}

impl ClassPicture<'_> {
    /// Fills the field, of which the outline on the page is given; ground without a value is hatched.
    pub fn draw(&self, svg: &mut Svg, view: &View, field: &[Vec<(f64, f64)>]) {
        svg.path(&outline::path(field), Paint::pattern(NO_VALUE));
        let corners = || field.iter().flatten();
        let left = corners().map(|at| at.0).fold(f64::INFINITY, f64::min).floor();
        let top = corners().map(|at| at.1).fold(f64::INFINITY, f64::min).floor();
        let right = corners().map(|at| at.0).fold(left + 1.0, f64::max).ceil();
        let bottom = corners().map(|at| at.1).fold(top + 1.0, f64::max).ceil();
        let picture =
            self.picture(view, (left, top), ((right - left) as usize, (bottom - top) as usize));
        let mut bytes = Vec::new();
        let (width, height) = picture.dimensions();
        PngEncoder::new(&mut bytes)
            .write_image(&picture, width, height, image::ExtendedColorType::Rgba8)
            .expect("writing to memory");
        // The clip path stands on a group: on the image itself it would be scaled with it.
        svg.raw(&format!(
            r#"<g clip-path="url(#{FIELD})"><image x="{}" y="{}" width="{width}" height="{height}" preserveAspectRatio="none" image-rendering="optimizeSpeed" href="data:image/png;base64,{}"/></g>"#,
            number(left),
            number(top),
            STANDARD.encode(bytes)
        ));
    }

    /// The colour at a place on the page; `None` without a value.
    pub fn colour_at(&self, view: &View, at: (f64, f64)) -> Option<Rgb> {
        Some(match self.ground_at(view, at)? {
            Ground::Class(class) => self.ramp.class_colour(class, self.classes.len()),
            Ground::Within => WITHIN_GROUND,
        })
    }

    /// The class at a place on the page; `None` without a value and within its uncertainty.
    pub fn class_at(&self, view: &View, at: (f64, f64)) -> Option<usize> {
        match self.ground_at(view, at)? {
            Ground::Class(class) => Some(class),
            Ground::Within => None,
        }
    }

    fn ground_at(&self, view: &View, at: (f64, f64)) -> Option<Ground> {
        let grid = &self.raster.grid;
        let place: Coord = view.in_plane(at).into();
        let column = (place.x - grid.west_m()) / grid.cell_m() - 0.5;
        let row = (grid.north_m() - place.y) / grid.cell_m() - 0.5;
        let value = value_between(self.raster, row, column);
        let class = self.classes.class_of(value)?;
        let half_width = self.half_width.map(|raster| value_between(raster, row, column));
        Some(match half_width {
            Some(half_width) if half_width.is_nan() || value.abs() <= half_width => Ground::Within,
            _ => Ground::Class(class),
        })
    }

    fn picture(&self, view: &View, (left, top): (f64, f64), size: (usize, usize)) -> RgbaImage {
        let (width, height) = size;
        let middle = |k: usize, from: f64| from + k as f64 + 0.5;
        let middles: Vec<Option<Ground>> = (0..width * height)
            .map(|k| self.ground_at(view, (middle(k % width, left), middle(k / width, top))))
            .collect();
        // Most pixels have no edge near them and need one sample only.
        let is_plain = |x: usize, y: usize| {
            let here = middles[y * width + x];
            let columns = x.saturating_sub(NEAR)..=(x + NEAR).min(width - 1);
            let mut rows = y.saturating_sub(NEAR)..=(y + NEAR).min(height - 1);
            rows.all(|y| columns.clone().all(|x| middles[y * width + x] == here))
        };
        let colours: Vec<Rgb> = (0..self.classes.len())
            .map(|class| self.ramp.class_colour(class, self.classes.len()))
            .collect();
        RgbaImage::from_fn(width as u32, height as u32, |x, y| {
            let (x, y) = (x as usize, y as usize);
            match (is_plain(x, y), middles[y * width + x]) {
                (true, None) => Rgba([0, 0, 0, 0]),
                (true, Some(Ground::Class(class))) => {
                    let Rgb(red, green, blue) = colours[class];
                    Rgba([red, green, blue, 255])
                }
                (true, Some(Ground::Within)) | (false, _) => {
                    let at = (middle(x, left), middle(y, top));
                    let offsets = (0..9).map(|k| (f64::from(k % 3 - 1), f64::from(k / 3 - 1)));
                    let places = offsets.map(|(dx, dy)| (at.0 + dx / 3.0, at.1 + dy / 3.0));
                    mean_colour(places.filter_map(|at| self.sample(view, at, &colours)))
                }
            }
        })
    }

    /// The colour of one sample: pale where another class is near.
    fn sample(&self, view: &View, (x, y): (f64, f64), colours: &[Rgb]) -> Option<Rgb> {
        let here = self.ground_at(view, (x, y))?;
        let is_other = |at| self.ground_at(view, at).is_some_and(|ground| ground != here);
        let is_edge = is_other((x - HALF_LINE, y))
            || is_other((x + HALF_LINE, y))
            || is_other((x, y - HALF_LINE))
            || is_other((x, y + HALF_LINE));
        Some(match here {
            _ if is_edge => PAPER,
            Ground::Class(class) => colours[class],
            Ground::Within if is_hatch_line((x, y)) => WITHIN_LINE,
            Ground::Within => WITHIN_GROUND,
        })
    }
}

/// Whether a place lies on a line of the hatching, which falls to the right.
fn is_hatch_line((x, y): (f64, f64)) -> bool {
    ((x - y) * std::f64::consts::FRAC_1_SQRT_2).rem_euclid(WITHIN_STEP) < WITHIN_WIDTH
}

/// The same hatching as a pattern of the page with the id [`WITHIN`], for legends.
pub(crate) fn within_pattern() -> String {
    let (step, width) = (number(WITHIN_STEP), number(WITHIN_WIDTH));
    format!(
        "<pattern id=\"{WITHIN}\" width=\"{step}\" height=\"{step}\" \
         patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(-45)\"><rect width=\"{step}\" \
         height=\"{step}\" fill=\"{WITHIN_GROUND}\"/><rect width=\"{width}\" height=\"{step}\" \
         fill=\"{WITHIN_LINE}\"/></pattern>"
    )
}

/// The value at a place counted in cells from the middle of the first; NaN where the nearest cell
/// has none. Neighbours without a value are left out.
fn value_between(raster: &Raster, row: f64, column: f64) -> f64 {
    let grid = &raster.grid;
    let (rows, columns) = (grid.rows() as f64 - 1.0, grid.columns() as f64 - 1.0);
    let beyond = |at: f64, last: f64| at < -0.5 || at > last + 0.5;
    if beyond(row, rows) || beyond(column, columns) {
        return f64::NAN;
    }
    let (row, column) = (row.clamp(0.0, rows), column.clamp(0.0, columns));
    let value = |row: f64, column: f64| raster.value(row as usize, column as usize);
    if value(row.round(), column.round()).is_nan() {
        return f64::NAN;
    }
    let (up, left) = (row.floor(), column.floor());
    let (down, right) = ((up + 1.0).min(rows), (left + 1.0).min(columns));
    let (part_down, part_right) = (row - up, column - left);
    let corners = [
        (value(up, left), (1.0 - part_down) * (1.0 - part_right)),
        (value(up, right), (1.0 - part_down) * part_right),
        (value(down, left), part_down * (1.0 - part_right)),
        (value(down, right), part_down * part_right),
    ];
    let known = corners.iter().filter(|(value, _)| !value.is_nan());
    let (sum, weight) = known
        .fold((0.0, 0.0), |(sum, weight), (value, share)| (sum + value * share, weight + share));
    sum / weight
}

/// The mean of a pixel's samples; those that are missing make it transparent.
fn mean_colour(samples: impl Iterator<Item = Rgb>) -> Rgba<u8> {
    let (mut sum, mut count) = ([0_usize; 3], 0);
    for Rgb(red, green, blue) in samples {
        for (sum, channel) in sum.iter_mut().zip([red, green, blue]) {
            *sum += usize::from(channel);
        }
        count += 1;
    }
    let mean = sum.map(|sum| ((sum + count / 2) / count.max(1)) as u8);
    Rgba([mean[0], mean[1], mean[2], (255 * count / SAMPLES) as u8])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::Rect;
    use crate::palette::PROBABILITY;
    use geo::{MultiPolygon, polygon};
    use geostat::Grid;

    fn raster(values: [f64; 4]) -> Raster {
        Raster { grid: Grid::new(0.0, 0.0, 10.0, 4, 1).unwrap(), values: values.into() }
    }

    fn picture_of(values: [f64; 4]) -> RgbaImage {
        picture_with(values, None)
    }

    fn picture_with(values: [f64; 4], half_width: Option<&Raster>) -> RgbaImage {
        let raster = raster(values);
        let field = MultiPolygon(vec![polygon![
            (x: 0.0, y: 0.0), (x: 40.0, y: 0.0), (x: 40.0, y: 10.0), (x: 0.0, y: 10.0),
        ]]);
        let view = View::fit(&field, Rect::new(0.0, 0.0, 40.0, 10.0));
        let classes = ValueClasses::probability();
        let picture =
            ClassPicture { raster: &raster, classes: &classes, ramp: PROBABILITY, half_width };
        picture.picture(&view, (0.0, 0.0), (40, 10))
    }

    #[test]
    fn a_class_edge_lies_between_the_cells_where_the_value_crosses_it() {
        let picture = picture_of([0.2, 0.2, 0.8, 0.8]);
        let colour = |x| {
            let Rgba([red, green, blue, _]) = *picture.get_pixel(x, 5);
            Rgb(red, green, blue)
        };
        assert_eq!(colour(5), PROBABILITY.class_colour(1, 6));
        assert_eq!(colour(17), PROBABILITY.class_colour(2, 6));
        assert_eq!(colour(20), PAPER);
        assert_eq!(colour(22), PROBABILITY.class_colour(3, 6));
        assert_eq!(colour(35), PROBABILITY.class_colour(4, 6));
    }

    #[test]
    fn ground_without_a_value_is_transparent_to_the_half_of_its_cell() {
        let picture = picture_of([0.2, f64::NAN, f64::NAN, 0.2]);
        let alpha: Vec<u8> = (0..40).map(|x| picture.get_pixel(x, 5).0[3]).collect();
        assert!(alpha[..10].iter().all(|&alpha| alpha == 255));
        assert!(alpha[10..30].iter().all(|&alpha| alpha == 0));
        assert!(alpha[30..].iter().all(|&alpha| alpha == 255));
    }

    #[test]
    fn a_value_within_its_half_width_has_no_colour_of_a_class() {
        let half_width = raster([0.3, 0.3, 0.9, f64::NAN]);
        let picture = picture_with([0.4, 0.4, 0.8, 0.8], Some(&half_width));
        let colours: Vec<Rgba<u8>> = (0..40).map(|x| *picture.get_pixel(x, 5)).collect();
        let of_class = |class| {
            let Rgb(red, green, blue) = PROBABILITY.class_colour(class, 6);
            Rgba([red, green, blue, 255])
        };
        assert!(colours[..15].iter().all(|colour| *colour == of_class(2)));
        let classes: Vec<Rgba<u8>> = (0..6).map(of_class).collect();
        assert!(colours[22..].iter().all(|colour| !classes.contains(colour)));
        let Rgb(red, green, blue) = WITHIN_GROUND;
        assert!(colours[22..].contains(&Rgba([red, green, blue, 255])));
        assert!(colours[22..].iter().any(|colour| colour.0[0] < 0xe0), "no line of the hatching");
    }
}
