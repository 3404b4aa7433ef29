//! The map: zones, ground without a value, the field's outline, marks and their labels.

use geo::{BoundingRect, Coord};
use survey::EastNorth;

use crate::fonts::{self, CAP_HEIGHT, Weight};
use crate::frame::Rect;
use crate::label_point::{is_inside, roomiest};
use crate::labels::{Taken, around, beside};
use crate::marks::Mark;
use crate::outline::{self, GridLines};
use crate::page::MapPage;
use crate::palette::{HAIRLINE, INK, PAPER, Rgb, SURROUNDINGS, class_colour, ink_on};
use crate::svg::{Anchor, Paint, Svg, Type};
use crate::view::View;
use crate::{compass, graticule, scale_bar, wording};

/// Id of the pattern of ground without a value; the legend uses it too.
pub(crate) const NO_VALUE: &str = "no-value";
/// Id of the clip path of the field on the map.
const FIELD: &str = "field-on-map";

/// Size of a reading's number.
const READING: f64 = 20.0;
/// Sizes of a zone's id, the larger where there is room.
const ZONE_ID: [f64; 2] = [30.0, 23.0];
/// Radius of a mark where probes stand far apart.
pub(crate) const MARK: f64 = 7.0;
/// Height of the strip inside the frame that the scale bar and the arrow stand in.
const STRIP: f64 = 92.0;

/// Everything that is drawn of one zone.
struct ZoneOnPage<'a> {
    id: &'a str,
    colour: Rgb,
    /// True outline.
    rings: Vec<Vec<(f64, f64)>>,
    bounds: Rect,
}

/// Draws the map with its frame into a rectangle.
pub(crate) fn draw(svg: &mut Svg, page: &MapPage, place: Rect) {
    let frame = place.trim(graticule::MARGIN, 0.0, 0.0, graticule::MARGIN);
    let field = page.survey.field();
    let view = View::fit(field.polygons(), frame.trim(26.0, 26.0, 26.0, STRIP));
    let zones = zones_on_page(page, &view);
    svg.rect(frame, Paint::fill(SURROUNDINGS));
    graticule::draw(svg, frame, &view, field.utm());
    draw_ground(svg, page, &view, &zones);
    svg.rect(frame, Paint::stroke(HAIRLINE, 1.6));
    draw_strip(svg, page, frame, &view);
    let mut taken = Taken::new(frame.trim(3.0, 3.0, 3.0, STRIP - 12.0));
    let marks = marks(page, &view);
    let radius = mark_radius(page, &view);
    for &(_, at, _) in &marks {
        taken.take(around(at, 2.0 * radius + 3.0, 2.0 * radius + 3.0));
    }
    draw_zone_ids(svg, &zones, &marks, radius, &mut taken);
    draw_marks(svg, &zones, &marks, radius, &mut taken);
}

fn zones_on_page<'a>(page: &'a MapPage, view: &View) -> Vec<ZoneOnPage<'a>> {
    let classes = page.map.classes.len();
    let of_zone = |zone: &'a mapping::Zone| {
        let bounds = zone.polygons.bounding_rect()?;
        let (left, top) = view.on_page(Coord { x: bounds.min().x, y: bounds.max().y });
        let (width, height) = (bounds.width() * view.scale, bounds.height() * view.scale);
        Some(ZoneOnPage {
            id: &zone.id,
            colour: class_colour(zone.class, classes),
            rings: outline::rings(&zone.polygons, view),
            bounds: Rect::new(left, top, width, height),
        })
    };
    page.map.zones.iter().filter_map(of_zone).collect()
}

/// Fills the field. The zones' exact shapes lie below, so that nothing shows through where the
/// drawn edges cut the corners of the grid's cells.
fn draw_ground(svg: &mut Svg, page: &MapPage, view: &View, zones: &[ZoneOnPage]) {
    let outline = outline::rings(page.survey.field().polygons(), view);
    let field = outline::path(&outline);
    svg.raw(&format!(
        r#"<clipPath id="{FIELD}"><path d="{field}" clip-rule="evenodd"/></clipPath>"#
    ));
    let lines = GridLines::new(&page.map.depth_cm.grid, view);
    for zone in zones {
        svg.path(&outline::path(&zone.rings), Paint::fill(zone.colour).clip(FIELD));
    }
    for zone in zones {
        let soft = outline::path(&outline::soften(&zone.rings, lines, &outline));
        svg.path(&soft, Paint::fill(zone.colour).edge(PAPER, 2.4).clip(FIELD));
    }
    let unmapped = outline::rings(&page.map.unmapped.polygons, view);
    svg.path(&outline::path(&unmapped), Paint::pattern(NO_VALUE).clip(FIELD));
    svg.path(&field, Paint::stroke(INK, 3.4));
}

fn draw_strip(svg: &mut Svg, page: &MapPage, frame: Rect, view: &View) {
    let foot = frame.bottom() - 16.0;
    let units = page.map.classes.units();
    let room = (frame.width * 0.3).min(340.0);
    scale_bar::draw(svg, (frame.left + 26.0, foot), room, view.scale, units);
    let middle = view.in_plane(frame.middle());
    let utm = page.survey.field().utm();
    let at = (frame.right() - 30.0, foot);
    compass::draw(svg, at, utm, middle);
}

/// What stands where, with its label.
type Marked = (Mark, (f64, f64), String);

fn marks(page: &MapPage, view: &View) -> Vec<Marked> {
    let at = |place: EastNorth| view.on_page(place);
    let without = page.survey.without_reading().iter();
    let without = without.map(|(place, _)| (Mark::NoReading, at(*place), String::new()));
    let spots = page.survey.spots().iter().map(|spot| {
        let label = wording::reading_text(spot.reading, page.map.classes.units());
        (Mark::of(spot.reading), at(spot.position), label)
    });
    without.chain(spots).collect()
}

/// Marks shrink where probes stand close.
fn mark_radius(page: &MapPage, view: &View) -> f64 {
    (page.survey.spacing_m() * view.scale * 0.16).clamp(2.2, MARK)
}

fn draw_zone_ids(
    svg: &mut Svg,
    zones: &[ZoneOnPage],
    marks: &[Marked],
    radius: f64,
    taken: &mut Taken,
) {
    let points: Vec<(f64, f64)> = marks.iter().map(|&(_, at, _)| at).collect();
    for zone in zones {
        let Some(room) = roomiest(&zone.rings, &points) else {
            continue;
        };
        for size in ZONE_ID {
            let width = fonts::width(zone.id, size, Weight::SemiBold) + 6.0;
            let height = size * CAP_HEIGHT + 6.0;
            let rect = around((room.x, room.y), width, height);
            let fits = room.radius >= width.max(height) / 2.0 + radius * 0.5;
            if fits && taken.take_if_free(rect) {
                let (ink, halo) = ink_on(zone.colour);
                let style = Type::semi_bold(size).colour(ink).halo(halo, 3.0);
                let foot = (room.x, room.y + size * CAP_HEIGHT / 2.0);
                svg.text(zone.id, foot, style.anchor(Anchor::Middle));
                break;
            }
        }
    }
}

fn draw_marks(
    svg: &mut Svg,
    zones: &[ZoneOnPage],
    marks: &[Marked],
    radius: f64,
    taken: &mut Taken,
) {
    for (mark, at, label) in marks {
        mark.draw(svg, *at, radius);
        if label.is_empty() {
            continue;
        }
        let rank = |rect: &Rect| legibility(zones, rect);
        if let Some(foot) = beside(taken, label, READING, *at, radius, rank) {
            let middle = (foot.0, foot.1 - READING * CAP_HEIGHT / 2.0);
            let (ink, halo) = ink_on(ground_at(zones, middle).unwrap_or(PAPER));
            let style = Type::regular(READING).colour(ink).halo(halo, 2.5);
            svg.text(label, foot, style.anchor(Anchor::Middle));
        }
    }
}

/// Rank of a place for a label: best on one colour, then across colours, never across the outline.
fn legibility(zones: &[ZoneOnPage], rect: &Rect) -> Option<u8> {
    let middle = ground_at(zones, rect.middle())?;
    let mut rank = 0;
    for corner in rect.corners() {
        rank |= u8::from(ground_at(zones, corner)? != middle);
    }
    Some(rank)
}

/// The colour of the zone at a place on the page.
fn ground_at(zones: &[ZoneOnPage], at: (f64, f64)) -> Option<Rgb> {
    let point = Rect::new(at.0, at.1, 0.0, 0.0);
    zones
        .iter()
        .find(|zone| zone.bounds.holds(&point) && is_inside(&zone.rings, at))
        .map(|zone| zone.colour)
}
