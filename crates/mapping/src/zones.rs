//! Zones: connected ground of one depth class, with what is known of it.

use geo::{Coord, Distance, Euclidean, MultiPolygon, Point};
use survey::{CheckedSurvey, Depth, EastNorth, Field};

use crate::classes::DepthClasses;
use crate::cut::CutField;
use crate::most_zones::keep_most;
use crate::narrow::widen;
use crate::patches::{Ground, Patches};
use crate::rings::outlines;
use crate::zone_frame::ZoneFrame;
use crate::zone_settings::ZoneRules;
use crate::zones_made::{ZonesMade, made};

/// Connected ground of one depth class. Ground that meets only at a corner is not connected.
#[derive(Debug, Clone)]
pub struct Zone {
    /// `Z` and a number, one of a kind in the map: from `Z1` by class, the shallowest first, then by
    /// falling area; of equal areas the more northern comes first, then the more western. A text that no
    /// table program takes for a number or a date.
    pub id: String,
    /// The class, 0 the shallowest.
    pub class: usize,
    /// Outline in the field's plane, metres. Zones share their borders: same corners, no gap and no
    /// overlap. Several polygons only where the field itself is parted within one cell.
    pub polygons: MultiPolygon,
    /// True area on the ground, square metres.
    pub ground_area_m2: f64,
    /// Depths of the surface in the zone, each cell weighed by its part in the field. Small patches
    /// that joined the zone can lie outside its class.
    pub depth: DepthSummary,
    /// How many spots with a reading lie in the zone. A spot just outside the boundary counts for
    /// the nearest zone.
    pub probes: usize,
    /// How many of them did not reach the threshold.
    pub not_reached: usize,
}

impl Zone {
    /// Whether at least half of the zone's probes did not reach the threshold: the loose layer is
    /// then likely deeper than the zone's depths say.
    pub fn is_lower_bound(&self) -> bool {
        self.not_reached > 0 && 2 * self.not_reached >= self.probes
    }
}

/// Mean and extremes of a surface over some ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DepthSummary {
    /// Mean.
    pub mean: Depth,
    /// Least.
    pub min: Depth,
    /// Greatest.
    pub max: Depth,
}

/// Ground of the field without a value.
#[derive(Debug, Clone)]
pub struct Unmapped {
    /// Outline in the field's plane, metres; empty where every part has a value.
    pub polygons: MultiPolygon,
    /// True area on the ground, square metres.
    pub ground_area_m2: f64,
}

/// A field divided into zones: each cell of the frame goes whole into the class of its depth, as far as it
/// lies in the field, but for ground too narrow, and zones too small or too many.
pub(crate) fn zones(
    survey: &CheckedSurvey,
    frame: &ZoneFrame,
    classes: &DepthClasses,
    rules: &ZoneRules,
) -> (Vec<Zone>, Unmapped, ZonesMade) {
    let field = survey.field();
    let cut: &CutField = &frame.cut;
    let own = ground(frame, classes);
    let mut ground = own.clone();
    if let Some(narrowest) = rules.narrowest {
        widen(cut, &mut ground, &frame.depth_cm, narrowest, |depth_cm| {
            classes.class_of_cm(depth_cm)
        });
    }
    let mut patches = Patches::new(cut, &ground, smallest_double_um2(field, rules.smallest_m2));
    let fewer = rules.most.map(|most| keep_most(&mut patches, cut, most));
    let outlines = outlines(cut, &patches).into_iter();
    let polygons: Vec<MultiPolygon> = outlines.map(|outline| frame.in_plane(outline)).collect();
    let sums = sums(frame, &patches);
    let mut zones = zones_of(field, &patches, &polygons, &sums);
    number(&mut zones);
    count_probes(survey, frame, &patches, &mut zones);
    let made = made(survey.field(), frame, rules, (&own, &patches), fewer, |patch| {
        let zone = zones.iter().find(|numbered| numbered.patch == patch)?;
        Some(zone.zone.id.clone())
    });
    let unmapped = unmapped(field, &patches, &polygons);
    (zones.into_iter().map(|numbered| numbered.zone).collect(), unmapped, made)
}

fn ground(frame: &ZoneFrame, classes: &DepthClasses) -> Vec<Ground> {
    let of =
        |(cell, depth_cm): (usize, &f64)| match (frame.cut.is_in_field(cell), depth_cm.is_nan()) {
            (false, _) => Ground::OutsideField,
            (true, true) => Ground::Unmapped,
            (true, false) => Ground::Class(classes.class_of_cm(*depth_cm) as u8),
        };
    frame.depth_cm.iter().enumerate().map(of).collect()
}

/// An area on the ground as twice the area in the plane, µm².
fn smallest_double_um2(field: &Field, area_m2: f64) -> i128 {
    let plane_m2 = area_m2 * field.plane_area_m2() / field.ground_area_m2();
    (2.0 * plane_m2 * 1e12) as i128
}

fn unmapped(field: &Field, patches: &Patches, polygons: &[MultiPolygon]) -> Unmapped {
    let polygons: MultiPolygon = (patches.ground.iter().zip(polygons))
        .filter(|(held, _)| **held == Ground::Unmapped)
        .flat_map(|(_, polygons)| polygons.0.clone())
        .collect();
    let ground_area_m2 = match polygons.0.is_empty() {
        true => 0.0,
        false => field.utm().ground_area_m2(&polygons),
    };
    Unmapped { polygons, ground_area_m2 }
}

/// A zone and the patch it was made from.
struct Numbered {
    zone: Zone,
    patch: u32,
}

fn zones_of(
    field: &Field,
    patches: &Patches,
    polygons: &[MultiPolygon],
    sums: &[Sum],
) -> Vec<Numbered> {
    let of_class = |(patch, &held): (usize, &Ground)| match held.class() {
        Some(class) if !polygons[patch].0.is_empty() => Some((patch, class)),
        _ => None,
    };
    (patches.ground.iter().enumerate().filter_map(of_class))
        .map(|(patch, class)| Numbered {
            patch: patch as u32,
            zone: Zone {
                id: String::new(),
                class: usize::from(class),
                ground_area_m2: field.utm().ground_area_m2(&polygons[patch]),
                polygons: polygons[patch].clone(),
                depth: sums[patch].summary(),
                probes: 0,
                not_reached: 0,
            },
        })
        .collect()
}

/// Depths of the map's cells in each patch, each weighed by its part in the field; of a patch without any,
/// those of its own cells.
fn sums(frame: &ZoneFrame, patches: &Patches) -> Vec<Sum> {
    let mut sums: Vec<Sum> = vec![Sum::EMPTY; patches.ground.len()];
    let known = frame.map_cm.values.iter().enumerate().filter(|(_, depth_cm)| !depth_cm.is_nan());
    for (map_cell, &depth_cm) in known {
        if let Some(patch) = frame.cell_of_map(map_cell).and_then(|cell| patches.of_cell[cell]) {
            sums[patch as usize].add(depth_cm, frame.map_cut.share(map_cell));
        }
    }
    let is_empty: Vec<bool> = sums.iter().map(|sum| sum.weights == 0.0).collect();
    for (cell, &patch) in patches.of_cell.iter().enumerate() {
        if let Some(patch) = patch.map(|patch| patch as usize).filter(|&patch| is_empty[patch])
            && !frame.depth_cm[cell].is_nan()
        {
            sums[patch].add(frame.depth_cm[cell], frame.cut.share(cell));
        }
    }
    sums
}

/// Weighted sums over the cells of a patch.
#[derive(Clone)]
struct Sum {
    weights: f64,
    weighted_cm: f64,
    min_cm: f64,
    max_cm: f64,
}

impl Sum {
    const EMPTY: Sum =
        Sum { weights: 0.0, weighted_cm: 0.0, min_cm: f64::INFINITY, max_cm: f64::NEG_INFINITY };

    fn add(&mut self, depth_cm: f64, weight: f64) {
        self.weights += weight;
        self.weighted_cm += weight * depth_cm;
        self.min_cm = self.min_cm.min(depth_cm);
        self.max_cm = self.max_cm.max(depth_cm);
    }

    fn summary(&self) -> DepthSummary {
        // The mean of equal depths may miss them by a rounding: it never lies outside them.
        let mean_cm = (self.weighted_cm / self.weights).clamp(self.min_cm, self.max_cm);
        DepthSummary {
            mean: Depth::from_cm(mean_cm),
            min: Depth::from_cm(self.min_cm),
            max: Depth::from_cm(self.max_cm),
        }
    }
}

/// Orders zones by class, area and place, and gives them their ids. Patches are numbered from the
/// north-west, so a stable sort leaves equals in that order.
fn number(zones: &mut [Numbered]) {
    zones.sort_by(|a, b| {
        let (a, b) = (&a.zone, &b.zone);
        a.class.cmp(&b.class).then(b.ground_area_m2.total_cmp(&a.ground_area_m2))
    });
    for (rank, numbered) in zones.iter_mut().enumerate() {
        numbered.zone.id = format!("Z{}", rank + 1);
    }
}

fn count_probes(
    survey: &CheckedSurvey,
    frame: &ZoneFrame,
    patches: &Patches,
    zones: &mut [Numbered],
) {
    for spot in survey.spots() {
        let patch = frame.cell_at(spot.position).and_then(|cell| patches.of_cell[cell]);
        let zone = match patch {
            Some(patch) => zones.iter_mut().find(|numbered| numbered.patch == patch),
            None => nearest(zones, spot.position),
        };
        if let Some(Numbered { zone, .. }) = zone {
            zone.probes += 1;
            zone.not_reached += usize::from(spot.reading.is_not_reached());
        }
    }
}

fn nearest(zones: &mut [Numbered], place: EastNorth) -> Option<&mut Numbered> {
    let point = Point::from(Coord::from(place));
    zones.iter_mut().min_by(|a, b| {
        let distance_m = |n: &Numbered| Euclidean.distance(&point, &n.zone.polygons);
        distance_m(a).total_cmp(&distance_m(b))
    })
}
