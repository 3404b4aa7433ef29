//! The map: zones with their ids, ground without a value, the field's outline and the probes.

use geo::{BoundingRect, Coord};

use crate::base_map::{BaseMap, FIELD, NO_VALUE};
use crate::fonts::{self, CAP_HEIGHT, Weight};
use crate::frame::Rect;
use crate::label_point::{is_inside, roomiest};
use crate::labels::{Taken, around};
use crate::map_legend::FEW_MARK;
use crate::marks::Mark;
use crate::outline;
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
    has_few_probes: bool,
    colour: Rgb,
    /// Outline, as in the zones' file.
    rings: Vec<Vec<(f64, f64)>>,
    bounds: Rect,
}

/// Draws the map with its frame into a rectangle.
pub(crate) fn draw(svg: &mut Svg, page: &MapPage, place: Rect) {
    let units = page.map.classes.units();
    let base = BaseMap::new(page.survey.field(), units, place);
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
            has_few_probes: zone.has_few_probes(),
            colour: class_colour(zone.class, classes),
            rings: outline::rings(&zone.polygons, view),
            bounds: Rect::new(left, top, width, height),
        })
    };
    page.map.zones.iter().filter_map(of_zone).collect()
}

/// Fills the field.
fn draw_ground(svg: &mut Svg, page: &MapPage, base: &BaseMap, zones: &[ZoneOnPage]) {
    for zone in zones {
        let paint = Paint::fill(zone.colour).edge(PAPER, 2.4).clip(FIELD);
        svg.path(&outline::path(&zone.rings), paint);
    }
    let unmapped = outline::rings(&page.map.unmapped.polygons, &base.view);
    svg.path(&outline::path(&unmapped), Paint::pattern(NO_VALUE).clip(FIELD));
}

/// Draws the zones' ids where there is room; a zone with few probes has its mark even without its id.
fn draw_zone_ids(svg: &mut Svg, zones: &[ZoneOnPage], marks: &ProbeMarks, taken: &mut Taken) {
    let points = marks.places();
    for zone in zones {
        let Some(room) = roomiest(&zone.rings, &points) else {
            continue;
        };
        let words =
            [zone.label.as_str()].into_iter().chain(zone.has_few_probes.then_some(FEW_MARK));
        let ways = words.flat_map(|words| ZONE_ID.map(|size| (words, size)));
        for (words, size) in ways {
            let width = fonts::width(words, size, Weight::SemiBold) + 6.0;
            let height = size * CAP_HEIGHT + 6.0;
            let rect = around((room.x, room.y), width, height);
            let fits = room.radius >= width.max(height) / 2.0 + marks.radius * 0.5;
            if fits && taken.take_if_free(rect) {
                let (ink, halo) = ink_on(zone.colour);
                let style = Type::semi_bold(size).colour(ink).halo(halo, 3.0);
                let foot = (room.x, room.y + size * CAP_HEIGHT / 2.0);
                svg.text(words, foot, style.anchor(Anchor::Middle));
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

#[cfg(test)]
mod tests {
    use crate::page::map_svg;
    use crate::testing;

    #[test]
    fn zones_with_few_probes_have_a_mark_that_the_legend_explains() {
        let sample = testing::wide();
        let words: Vec<String> = testing::texts(&map_svg(&sample.page("Field")))
            .into_iter()
            .map(|(text, _)| text)
            .collect();
        let is_marked = |id: &String| words.contains(&format!("{id}*"));
        let (few, many): (Vec<_>, Vec<_>) =
            sample.map.zones.iter().partition(|zone| zone.has_few_probes());
        assert!(!few.is_empty() && !many.is_empty());
        assert!(many.iter().all(|zone| !is_marked(&zone.id)));
        // The mark stands behind an id or alone, and once in the legend.
        let marks = words.iter().filter(|text| text.ends_with('*')).count();
        assert!(marks > 1, "{words:?}");
        assert!(words.iter().any(|text| text == "fewer than 5 probes"), "{words:?}");
    }
}
