//! The maps of the field sheet: spots with their numbers, the walk past them, the outline.

use std::ops::Range;

use geo::BoundingRect;
use survey::{EastNorth, Field};

use crate::base_map::BaseMap;
use crate::frame::Rect;
use crate::labels::{Taken, around, beside};
use crate::outline;
use crate::palette::{DIM, HAIRLINE, INK, PAPER, SOFT_INK, SURROUNDINGS};
use crate::spots_sheet::{SpotsSheet, marks, view_of};
use crate::svg::{Anchor, Paint, Svg, Type, number};
use crate::view::View;
use crate::{compass, scale_bar};

/// What stands at a place of the map.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum SpotMark {
    /// A full circle: a spot not probed before.
    New,
    /// A full square that stands on its corner: one where an earlier map is least sure.
    LeastSure,
    /// An open circle: a spot that was probed before.
    Before,
    /// A triangle: where the walk starts.
    Start,
}

impl SpotMark {
    /// Draws the mark around a place.
    pub fn draw(self, svg: &mut Svg, (x, y): (f64, f64), radius: f64) {
        let edge = (radius / 3.2).clamp(1.2, 2.6);
        let corners = |corners: &[(f64, f64)]| {
            let corner = |(dx, dy): &(f64, f64)| {
                format!("{} {}", number(x + radius * dx), number(y + radius * dy))
            };
            format!("M{}Z", corners.iter().map(corner).collect::<Vec<_>>().join("L"))
        };
        match self {
            SpotMark::New => svg.circle((x, y), radius, Paint::fill(INK).edge(PAPER, edge / 2.0)),
            SpotMark::Before => svg.circle((x, y), radius, Paint::fill(PAPER).edge(INK, edge)),
            SpotMark::LeastSure => {
                let path = corners(&[(0.0, -1.35), (1.35, 0.0), (0.0, 1.35), (-1.35, 0.0)]);
                svg.path(&path, Paint::fill(INK).edge(PAPER, edge / 2.0));
            }
            SpotMark::Start => {
                let path = corners(&[(0.0, -1.4), (1.3, 1.0), (-1.3, 1.0)]);
                svg.path(&path, Paint::fill(PAPER).edge(INK, edge));
            }
        }
    }
}

/// Sizes of the numbers, the largest at which all have room, or as many as at any.
const NUMBERS: [f64; 5] = [28.0, 24.0, 21.0, 18.0, 15.0];
/// Radius of a mark.
const MARK: f64 = 7.0;
/// Height of the strip of the scale bar and the arrow.
const STRIP: f64 = 92.0;
/// Id of the clip path of the map of some rows.
const FRAME: &str = "frame-of-rows";

/// Width of a field over its height.
pub(crate) fn aspect(field: &Field) -> f64 {
    let bounds = field.polygons().bounding_rect().expect("a field has ground");
    bounds.width() / bounds.height()
}

/// The height of the map of a whole field that is so wide on the page: [`BaseMap`] keeps so much free around it.
pub(crate) fn height_of_whole(field: &Field, width: f64) -> f64 {
    (width - 82.0) / aspect(field) + STRIP + 56.0
}

/// Draws the whole field with all spots and the walk into a rectangle.
pub(crate) fn whole(svg: &mut Svg, sheet: &SpotsSheet, place: Rect) {
    let base = BaseMap::new(sheet.field, sheet.units, place);
    base.draw_below(svg);
    svg.path(&outline::path(&base.outline), Paint::fill(PAPER));
    draw_walk(svg, sheet, &base.view, 0..sheet.spots.len(), None);
    base.draw_above(svg);
    let marks: Vec<_> = marks(sheet);
    let mut taken = base.free_ground();
    let start = base.view.on_page(sheet.walk.start);
    taken.take(around(start, 26.0, 26.0));
    draw_marks(svg, &marks, &base.view, taken);
    SpotMark::Start.draw(svg, start, 9.0);
}

/// The height that the map of some rows wants in a rectangle of a width.
pub(crate) fn height_for(sheet: &SpotsSheet, rows: Range<usize>, place: Rect) -> f64 {
    let ((west, south), (east, north)) = extent(sheet, rows);
    let wanted = (place.width - 60.0) * (north - south) / (east - west) + STRIP + 60.0;
    wanted.clamp(420.0_f64.min(place.height), place.height)
}

/// The ground that the map of some rows shows: their spots and as much around them as lies between spots.
fn extent(sheet: &SpotsSheet, rows: Range<usize>) -> ((f64, f64), (f64, f64)) {
    let spots = &sheet.spots[rows];
    let ends = |of: fn(EastNorth) -> f64| {
        let all = spots.iter().map(|spot| of(spot.place));
        all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)))
    };
    let (west, east) = ends(|place| place.easting_m);
    let (south, north) = ends(|place| place.northing_m);
    let spacing_m = (sheet.field.plane_area_m2() / sheet.spots.len() as f64).sqrt();
    let around_m = spacing_m.clamp(5.0, 0.25 * (east - west).max(north - south) + 20.0);
    ((west - around_m, south - around_m), (east + around_m, north + around_m))
}

/// Draws the spots of some rows with their stretch of the walk.
pub(crate) fn part(svg: &mut Svg, sheet: &SpotsSheet, rows: Range<usize>, place: Rect) {
    let (low, high) = extent(sheet, rows.clone());
    let view = view_of(low, high, place.trim(20.0, 20.0, 20.0, STRIP));
    svg.rect(place, Paint::fill(SURROUNDINGS));
    svg.raw(&format!(
        r#"<clipPath id="{FRAME}"><rect x="{}" y="{}" width="{}" height="{}"/></clipPath>"#,
        number(place.left),
        number(place.top),
        number(place.width),
        number(place.height)
    ));
    let field = outline::path(&outline::rings(sheet.field.polygons(), &view));
    svg.path(&field, Paint::fill(PAPER).edge(INK, 2.6).clip(FRAME));
    draw_walk(svg, sheet, &view, rows.clone(), Some(FRAME));
    let shown: Vec<_> = marks(sheet);
    let is_inside = |at: (f64, f64)| {
        place.trim(6.0, 6.0, 6.0, STRIP - 12.0).holds(&Rect::new(at.0, at.1, 0.0, 0.0))
    };
    // Other spots that lie here are faint and have no number.
    for (k, (_, _, spot)) in shown.iter().enumerate() {
        let at = view.on_page(*spot);
        if !rows.contains(&k) && is_inside(at) {
            svg.circle(at, 4.0, Paint::fill(DIM));
        }
    }
    draw_marks(svg, &shown[rows], &view, Taken::new(place.trim(3.0, 3.0, 3.0, STRIP - 12.0)));
    let foot = place.bottom() - 16.0;
    let strip = Rect::new(place.left, place.bottom() - STRIP + 12.0, place.width, STRIP - 12.0);
    svg.rect(strip, Paint::fill(SURROUNDINGS));
    scale_bar::draw(svg, (place.left + 26.0, foot), place.width * 0.36, view.scale, sheet.units);
    let middle = view.in_plane(place.middle());
    compass::draw(svg, (place.right() - 30.0, foot), sheet.field.utm(), middle);
    svg.rect(place, Paint::stroke(HAIRLINE, 1.6));
}

/// Draws the way to the spots of some rows: a line from each to the next.
fn draw_walk(
    svg: &mut Svg,
    sheet: &SpotsSheet,
    view: &View,
    rows: Range<usize>,
    clip: Option<&'static str>,
) {
    let before = match rows.start {
        0 => sheet.walk.start,
        first => sheet.spots[first - 1].place,
    };
    let places = [before].into_iter().chain(sheet.spots[rows].iter().map(|spot| spot.place));
    let corners: Vec<String> = places
        .map(|place| {
            let (x, y) = view.on_page(place);
            format!("{} {}", number(x), number(y))
        })
        .collect();
    let paint = Paint::stroke(SOFT_INK, 2.0).dashed(9.0, 5.0);
    let paint = clip.map_or(paint, |clip| paint.clip(clip));
    svg.path(&format!("M{}", corners.join("L")), paint);
}

/// Draws marks with their labels beside them, as large as nearly all have room.
fn draw_marks(
    svg: &mut Svg,
    marks: &[(SpotMark, String, EastNorth)],
    view: &View,
    mut taken: Taken,
) {
    let places: Vec<(f64, f64)> = marks.iter().map(|(_, _, place)| view.on_page(*place)).collect();
    let radius = (nearest(&places) * 0.28).clamp(2.6, MARK);
    for &at in &places {
        taken.take(around(at, 2.0 * radius + 3.0, 2.0 * radius + 3.0));
    }
    let labelled = |size: f64| {
        let mut taken = taken.clone();
        let place = |(at, (_, label, _)): (&(f64, f64), &(SpotMark, String, EastNorth))| {
            beside(&mut taken, label, size, *at, radius, |_| Some(0))
        };
        places.iter().zip(marks).map(place).collect::<Vec<_>>()
    };
    let mut best: (usize, f64, Vec<Option<(f64, f64)>>) = (0, NUMBERS[0], Vec::new());
    for size in NUMBERS {
        let feet = labelled(size);
        let count = feet.iter().flatten().count();
        if count > best.0 {
            best = (count, size, feet);
        }
        if count == marks.len() {
            break;
        }
    }
    let (_, size, feet) = best;
    for ((mark, label, _), (at, foot)) in marks.iter().zip(places.iter().zip(feet)) {
        mark.draw(svg, *at, radius);
        if let Some(foot) = foot {
            let style = Type::semi_bold(size).halo(PAPER, 3.0).anchor(Anchor::Middle);
            svg.text(label, foot, style);
        }
    }
}

/// A typical distance from a mark to the nearest other, pixels: the median.
fn nearest(places: &[(f64, f64)]) -> f64 {
    let away = |a: &(f64, f64), b: &(f64, f64)| {
        let (dx, dy) = (a.0 - b.0, a.1 - b.1);
        (dx * dx + dy * dy).sqrt()
    };
    let of = |(k, place): (usize, &(f64, f64))| {
        let others = places.iter().enumerate().filter(|(j, _)| *j != k);
        others.map(|(_, other)| away(place, other)).fold(f64::INFINITY, f64::min)
    };
    let mut all: Vec<f64> = places.iter().enumerate().map(of).collect();
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied().unwrap_or(f64::INFINITY)
}
