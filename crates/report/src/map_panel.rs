//! The map: zones with their ids, ground without a value, the field's outline and the probes.

use geo::{BoundingRect, Coord};

use crate::base_map::{BaseMap, FIELD, NO_VALUE};
use crate::fonts::{self, CAP_HEIGHT, Weight};
use crate::frame::Rect;
use crate::label_point::{is_inside, roomiest};
use crate::labels::{Taken, around};
use crate::map_legend::FEW_MARK;
use crate::marks::Mark;
use crate::outline::{self, GridLines};
use crate::page::MapPage;
use crate::palette::{PAPER, Rgb, class_colour, ink_on};
use crate::probe_marks::ProbeMarks;
use crate::svg::{Anchor, Paint, Svg, Type};
use crate::view::View;

/// Sizes of a zone's id, the larger where there is room.
const ZONE_ID: [f64; 2] = [30.0, 23.0];

/// Everything that is drawn of one zone.
struct ZoneOnPage {
    /// Its id, with a mark where it has few probes.
    label: String,
    colour: Rgb,
    /// True outline.
    rings: Vec<Vec<(f64, f64)>>,
    bounds: Rect,
}

/// Draws the map with its frame into a rectangle.
pub(crate) fn draw(svg: &mut Svg, page: &MapPage, place: Rect) {
    let units = page.map.classes.units();
    let base = BaseMap::new(page.survey, units, place);
    let zones = zones_on_page(page, &base.view);
    base.draw_below(svg);
    draw_ground(svg, page, &base, &zones);
    base.draw_above(svg);
    let mut taken = base.free_ground();
    let marks = ProbeMarks::new(page.survey, units, &base.view, Mark::of);
    marks.take(&mut taken);
    draw_zone_ids(svg, &zones, &marks, &mut taken);
    marks.draw(svg, &mut taken, |at| ground_at(&zones, at));
}

fn zones_on_page(page: &MapPage, view: &View) -> Vec<ZoneOnPage> {
    let classes = page.map.classes.len();
    let of_zone = |zone: &mapping::Zone| {
        let bounds = zone.polygons.bounding_rect()?;
        let (left, top) = view.on_page(Coord { x: bounds.min().x, y: bounds.max().y });
        let (width, height) = (bounds.width() * view.scale, bounds.height() * view.scale);
        Some(ZoneOnPage {
            label: format!("{}{}", zone.id, if zone.has_few_probes() { FEW_MARK } else { "" }),
            colour: class_colour(zone.class, classes),
            rings: outline::rings(&zone.polygons, view),
            bounds: Rect::new(left, top, width, height),
        })
    };
    page.map.zones.iter().filter_map(of_zone).collect()
}

/// Fills the field. The zones' exact shapes lie below, so that nothing shows through where the
/// drawn edges cut the corners of the grid's cells.
fn draw_ground(svg: &mut Svg, page: &MapPage, base: &BaseMap, zones: &[ZoneOnPage]) {
    let lines = GridLines::new(&page.map.depth_cm.grid, &base.view);
    for zone in zones {
        svg.path(&outline::path(&zone.rings), Paint::fill(zone.colour).clip(FIELD));
    }
    for zone in zones {
        let soft = outline::path(&outline::soften(&zone.rings, lines, &base.outline));
        svg.path(&soft, Paint::fill(zone.colour).edge(PAPER, 2.4).clip(FIELD));
    }
    let unmapped = outline::rings(&page.map.unmapped.polygons, &base.view);
    svg.path(&outline::path(&unmapped), Paint::pattern(NO_VALUE).clip(FIELD));
}

fn draw_zone_ids(svg: &mut Svg, zones: &[ZoneOnPage], marks: &ProbeMarks, taken: &mut Taken) {
    let points = marks.places();
    for zone in zones {
        let Some(room) = roomiest(&zone.rings, &points) else {
            continue;
        };
        for size in ZONE_ID {
            let width = fonts::width(&zone.label, size, Weight::SemiBold) + 6.0;
            let height = size * CAP_HEIGHT + 6.0;
            let rect = around((room.x, room.y), width, height);
            let fits = room.radius >= width.max(height) / 2.0 + marks.radius * 0.5;
            if fits && taken.take_if_free(rect) {
                let (ink, halo) = ink_on(zone.colour);
                let style = Type::semi_bold(size).colour(ink).halo(halo, 3.0);
                let foot = (room.x, room.y + size * CAP_HEIGHT / 2.0);
                svg.text(&zone.label, foot, style.anchor(Anchor::Middle));
                break;
            }
        }
    }
}

/// The colour of the zone at a place on the page.
fn ground_at(zones: &[ZoneOnPage], at: (f64, f64)) -> Option<Rgb> {
    let point = Rect::new(at.0, at.1, 0.0, 0.0);
    zones
        .iter()
        .find(|zone| zone.bounds.holds(&point) && is_inside(&zone.rings, at))
        .map(|zone| zone.colour)
}
