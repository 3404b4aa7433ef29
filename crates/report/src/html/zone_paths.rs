//! The zones of a map as outlines of the page.

use std::fmt::Write;

use geo::{BoundingRect, Coord, MultiPolygon};
use mapping::{DepthMap, Zone};
use serde::Serialize;
use survey::units::tidy;
use survey::{Depth, EastNorth, Field, UnitSystem};

use crate::frame::Rect;
use crate::label_point::roomiest;
use crate::map_legend::FEW_MARK;
use crate::palette::{Rgb, class_colour, ink_on};
use crate::view::View;
use crate::wording::{area_text, count_text, share_text};

/// The zones of a map with the classes that they are of: all that changes when a limit between classes
/// is moved.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ZonePaths {
    /// The depth classes, the shallowest first.
    pub classes: Vec<ClassView>,
    /// The zones, by class and falling area.
    pub zones: Vec<ZonePath>,
    /// Ground without a value, as the data of an SVG path; empty where every part has one.
    pub unmapped: String,
    /// How much ground has no value, and why: `0.4 ac, no probe within 330 ft`.
    pub unmapped_words: String,
}

/// A class of values with its colour.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClassView {
    /// Its name with its unit: `3–6 in`.
    pub name: String,
    /// Its colour, `#d7bea6`.
    pub colour: String,
    /// The colour of text upon it.
    pub ink: String,
    /// Where it begins, centimetres or a share of 1; `None` where it is open.
    pub from: Option<f64>,
    /// Where it ends; the limit is in the next class.
    pub to: Option<f64>,
    /// How much ground it has: `12.3 ac (17 %)`; empty where it was not worked out.
    pub ground: String,
    /// The sign of its changes, `−` or `+`; empty without one.
    pub sign: &'static str,
}

/// A zone on the page.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ZonePath {
    /// Its id: `Z3`.
    pub id: String,
    /// Its id as it is written on the map: with `*` where few probes back it.
    pub label: String,
    /// Its class, 0 the shallowest.
    pub class: usize,
    /// Its outline as the data of an SVG path (even-odd), metres of the page.
    pub path: String,
    /// What is known of it in a few words.
    pub words: String,
    /// Where its label stands best, and the radius of the free circle there, metres.
    pub at: [f64; 3],
}

/// The zones of a map on the page of its field.
pub fn zone_paths(map: &DepthMap) -> ZonePaths {
    let plane = PagePlane::of(map.field());
    let units = map.classes.units();
    let count = map.classes.len();
    let class = |class| ClassView {
        from: Some(map.classes.from(class).cm()),
        to: map.classes.below(class).map(Depth::cm),
        ground: ground_text(map.class_area_m2(class), map, units),
        ..ClassView::plain(map.classes.name(class), class_colour(class, count))
    };
    let reach = units.distance_text(crate::wording::whole(map.method.reach_m, units));
    ZonePaths {
        classes: (0..count).map(class).collect(),
        zones: map.zones.iter().map(|zone| zone_path(zone, map, &plane)).collect(),
        unmapped: plane.path(&map.unmapped.polygons),
        unmapped_words: format!(
            "{}, no probe within {reach}",
            ground_text(map.unmapped.ground_area_m2, map, units)
        ),
    }
}

impl ClassView {
    /// A class of which name and colour are known.
    pub(crate) fn plain(name: String, colour: Rgb) -> ClassView {
        ClassView {
            name,
            colour: colour.to_string(),
            ink: ink_on(colour).0.to_string(),
            from: None,
            to: None,
            ground: String::new(),
            sign: "",
        }
    }
}

fn zone_path(zone: &Zone, map: &DepthMap, plane: &PagePlane) -> ZonePath {
    ZonePath {
        id: zone.id.clone(),
        label: format!("{}{}", zone.id, if zone.has_few_probes() { FEW_MARK } else { "" }),
        class: zone.class,
        path: plane.path(&zone.polygons),
        words: zone_words(zone, map),
        at: label_place(&zone.polygons, plane),
    }
}

/// What is known of a zone: `6–9 in, 4.2 ac, mean 7.4 in; 12 probes, 3 not reached`.
fn zone_words(zone: &Zone, map: &DepthMap) -> String {
    let units = map.classes.units();
    let mut words = format!(
        "{}, {}, mean of the map {}; {}",
        map.classes.name(zone.class),
        area_text(zone.ground_area_m2, map.field(), units),
        units.depth_text(zone.depth.mean),
        count_text(zone.probes, "probe"),
    );
    if zone.not_reached > 0 {
        write!(words, ", {} not reached", zone.not_reached).expect("into a string");
    }
    if zone.has_few_probes() {
        words.push_str(", few to judge it by");
    }
    if let Some(stratum) = &zone.stratum {
        write!(words, "; in {stratum}").expect("into a string");
    }
    words
}

/// An area with its share of the field: `12.3 ac (17 %)`.
pub(crate) fn ground_text(area_m2: f64, map: &DepthMap, units: UnitSystem) -> String {
    format!("{} ({})", area_text(area_m2, map.field(), units), share_text(map.share(area_m2)))
}

/// The roomiest place of a zone for its label.
fn label_place(polygons: &MultiPolygon, plane: &PagePlane) -> [f64; 3] {
    /// The search stops at two of its units: so a zone is laid out this large.
    const SIDE: f64 = 400.0;
    let Some(bounds) = polygons.bounding_rect() else {
        return [0.0; 3];
    };
    let view = View::fit(polygons, Rect::new(0.0, 0.0, SIDE, SIDE));
    let rings = crate::outline::rings(polygons, &view);
    let Some(room) = roomiest(&rings, &[]) else {
        let (x, y) = plane.on_page(bounds.center());
        return [x, y, 0.0].map(|m| plane.rounded(m));
    };
    let (x, y) = plane.on_page(view.in_plane((room.x, room.y)));
    [x, y, room.radius / view.scale].map(|m| plane.rounded(m))
}

/// Ground of a field as the data of an SVG path (even-odd), metres of the field's page.
pub fn page_path(field: &Field, ground: &MultiPolygon) -> String {
    PagePlane::of(field).path(ground)
}

/// Where a place stands on the field's page, metres to the right and down.
pub fn on_page(field: &Field, place: EastNorth) -> [f64; 2] {
    let plane = PagePlane::of(field);
    let (x, y) = plane.on_page(place);
    [x, y].map(|m| plane.rounded(m))
}

/// From the field's plane to the metres of the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct PagePlane {
    /// Easting of the frame's west edge and northing of its north edge, whole metres.
    pub west_m: f64,
    pub north_m: f64,
    /// Width and height of the frame, metres.
    pub width_m: f64,
    pub height_m: f64,
    /// Decimals of a metre that are written.
    decimals: usize,
}

impl PagePlane {
    /// The frame of a field: whole metres around it.
    pub fn of(field: &Field) -> PagePlane {
        let bounds = field.polygons().bounding_rect().expect("a field has ground");
        let (west_m, north_m) = (bounds.min().x.floor(), bounds.max().y.ceil());
        let (width_m, height_m) =
            (bounds.max().x.ceil() - west_m, north_m - bounds.min().y.floor());
        // A tenth of a metre is a two-thousandth of a small field and less of any other.
        let decimals = if width_m.max(height_m) < 200.0 { 2 } else { 1 };
        PagePlane { west_m, north_m, width_m, height_m, decimals }
    }

    /// Where a place stands.
    pub fn on_page(&self, place: impl Into<Coord>) -> (f64, f64) {
        let place = place.into();
        (place.x - self.west_m, self.north_m - place.y)
    }

    /// A length as it is written.
    pub fn rounded(&self, m: f64) -> f64 {
        let step = 10_f64.powi(self.decimals as i32);
        // Plus zero: no minus zero is written.
        (m * step).round() / step + 0.0
    }

    /// Polygons as the data of one SVG path, even-odd.
    pub fn path(&self, polygons: &MultiPolygon) -> String {
        let mut path = String::new();
        let rings = polygons
            .iter()
            .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
        for ring in rings {
            let open = ring.0.split_last().map_or(&ring.0[..], |(_, open)| open);
            for (k, corner) in open.iter().enumerate() {
                let (x, y) = self.on_page(*corner);
                let letter = if k == 0 { 'M' } else { 'L' };
                let [x, y] = [x, y].map(|m| tidy(m, self.decimals));
                write!(path, "{letter}{x} {y}").expect("into a string");
            }
            path.push('Z');
        }
        path
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing;

    /// The corners of a path, ring by ring.
    fn corners(path: &str) -> Vec<Vec<(f64, f64)>> {
        let rings = path.split('Z').filter(|ring| !ring.is_empty());
        rings
            .map(|ring| {
                ring.split(['M', 'L'])
                    .filter(|corner| !corner.is_empty())
                    .map(|corner| {
                        let (x, y) = corner.split_once(' ').unwrap();
                        (x.parse().unwrap(), y.parse().unwrap())
                    })
                    .collect()
            })
            .collect()
    }

    #[test]
    fn paths_are_the_polygons_of_the_zones() {
        for sample in [testing::wide(), testing::with_gap(), testing::tiny()] {
            let (map, paths) = (&sample.map, zone_paths(&sample.map));
            let plane = PagePlane::of(map.field());
            assert_eq!(paths.zones.len(), map.zones.len());
            let shown = paths.zones.iter().map(|zone| &zone.path).chain([&paths.unmapped]);
            let meant = map.zones.iter().map(|zone| &zone.polygons).chain([&map.unmapped.polygons]);
            let near = 0.5 * 10_f64.powi(-(plane.decimals as i32)) + 1e-9;
            for (path, polygons) in shown.zip(meant) {
                let rings: Vec<_> = polygons
                    .iter()
                    .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
                    .collect();
                let found = corners(path);
                assert_eq!(found.len(), rings.len());
                for (found, ring) in found.iter().zip(rings) {
                    assert_eq!(found.len() + 1, ring.0.len());
                    for (&(x, y), corner) in found.iter().zip(&ring.0) {
                        assert!((plane.west_m + x - corner.x).abs() <= near);
                        assert!((plane.north_m - y - corner.y).abs() <= near);
                    }
                }
            }
        }
    }

    #[test]
    fn a_label_stands_in_its_own_zone() {
        let sample = testing::wide();
        let plane = PagePlane::of(sample.map.field());
        for zone in zone_paths(&sample.map).zones {
            let [x, y, radius] = zone.at;
            assert!(crate::label_point::is_inside(&corners(&zone.path), (x, y)), "{}", zone.id);
            assert!(radius > 0.0 && radius < plane.width_m);
        }
    }

    #[test]
    fn classes_and_words_carry_their_units() {
        let paths = zone_paths(&testing::si().map);
        assert_eq!(paths.classes[0].name, "0–10 cm");
        assert_eq!(paths.classes[0].colour, "#fdedea");
        assert_eq!((paths.classes[1].from, paths.classes[5].to), (Some(10.0), None));
        assert!(paths.classes[1].ground.contains(" ha ("), "{:?}", paths.classes[1]);
        assert!(paths.zones[0].words.contains(" cm, ") && paths.zones[0].words.contains(" ha, "));
        assert!(paths.unmapped_words.contains("no probe within"));
    }
}
