//! Zones: connected ground of one depth class, with what is known of it.

use geo::MultiPolygon;
use geostat::Raster;
use survey::{Depth, Field};

use crate::classes::DepthClasses;
use crate::cut::CutField;
use crate::evidence::{FEW_PROBES, ZoneEvidence};
use crate::patches::{Ground, Patches, StratumClass};
use crate::rings::outlines;
use crate::strata::Strata;
use crate::zone_members::ZoneMembers;

/// Connected ground of one depth class. Ground that meets only at a corner is not connected.
#[derive(Debug, Clone)]
pub struct Zone {
    /// `Z` and a number, one of a kind in the map: from `Z1` by class, the shallowest first, then by
    /// falling area; of equal areas the more northern comes first, then the more western. A text that no
    /// table program takes for a number or a date.
    pub id: String,
    /// The class, 0 the shallowest.
    pub class: usize,
    /// The stratum it lies in; `None` on the main ground. A zone lies in one stratum whole.
    pub stratum: Option<String>,
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
    /// What backs the zone's depth and class.
    pub evidence: ZoneEvidence,
}

impl Zone {
    /// Whether the zone has too few probes to be judged by them.
    pub fn has_few_probes(&self) -> bool {
        self.probes < FEW_PROBES
    }

    /// Share of the zone's probes that did not reach the threshold, 0 to 1; `None` without any.
    pub fn share_not_reached(&self) -> Option<f64> {
        (self.probes > 0).then(|| self.not_reached as f64 / self.probes as f64)
    }

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

/// The zones of a field with what belongs to each.
pub(crate) struct Zoning {
    pub zones: Vec<Zone>,
    pub unmapped: Unmapped,
    pub members: ZoneMembers,
}

/// Divides a field into zones: each cell of the raster goes whole into the class of its value, within its
/// stratum, as far as it lies in the field.
pub(crate) fn zones(
    field: &Field,
    cut: &CutField,
    raster: &Raster,
    classes: &DepthClasses,
    strata: &Strata,
    smallest_zone_m2: f64,
) -> Zoning {
    let ground: Vec<Ground> = raster
        .values
        .iter()
        .enumerate()
        .map(|(cell, &depth_cm)| match (cut.is_in_field(cell), depth_cm.is_nan()) {
            (false, _) => Ground::OutsideField,
            (true, true) => Ground::Unmapped,
            (true, false) => Ground::Class(StratumClass {
                stratum: strata.of_cell(cell),
                class: classes.class_of_cm(depth_cm) as u8,
            }),
        })
        .collect();
    let patches = Patches::new(cut, &ground, smallest_double_um2(field, smallest_zone_m2));
    let polygons = outlines(cut, &patches);
    let mut zones = zones_of(field, cut, raster, &patches, &polygons, strata);
    number(&mut zones);
    let unmapped: MultiPolygon = (patches.ground.iter().zip(&polygons))
        .filter(|(held, _)| **held == Ground::Unmapped)
        .flat_map(|(_, polygons)| polygons.0.clone())
        .collect();
    let ground_area_m2 = match unmapped.0.is_empty() {
        true => 0.0,
        false => field.utm().ground_area_m2(&unmapped),
    };
    let members = ZoneMembers::new(patches, &zones);
    let zones = zones.into_iter().map(|numbered| numbered.zone).collect();
    Zoning { zones, unmapped: Unmapped { polygons: unmapped, ground_area_m2 }, members }
}

/// An area on the ground as twice the area in the plane, µm².
pub(crate) fn smallest_double_um2(field: &Field, area_m2: f64) -> i128 {
    let plane_m2 = area_m2 * field.plane_area_m2() / field.ground_area_m2();
    (2.0 * plane_m2 * 1e12) as i128
}

/// A zone and the patch it was made from.
pub(crate) struct Numbered {
    pub zone: Zone,
    pub patch: u32,
}

fn zones_of(
    field: &Field,
    cut: &CutField,
    raster: &Raster,
    patches: &Patches,
    polygons: &[MultiPolygon],
    strata: &Strata,
) -> Vec<Numbered> {
    let mut sums: Vec<Sum> = vec![Sum::EMPTY; patches.ground.len()];
    for (cell, patch) in patches.of_cell.iter().enumerate() {
        if let &Some(patch) = patch {
            sums[patch as usize].add(raster.values[cell], cut.share(cell));
        }
    }
    let of_class = |(patch, &held): (usize, &Ground)| match held {
        Ground::Class(held) if !polygons[patch].0.is_empty() => Some((patch, held)),
        _ => None,
    };
    (patches.ground.iter().enumerate().filter_map(of_class))
        .map(|(patch, held)| Numbered {
            patch: patch as u32,
            zone: Zone {
                id: String::new(),
                class: usize::from(held.class),
                stratum: strata.name(held.stratum).map(str::to_owned),
                ground_area_m2: field.utm().ground_area_m2(&polygons[patch]),
                polygons: polygons[patch].clone(),
                depth: sums[patch].summary(),
                probes: 0,
                not_reached: 0,
                evidence: ZoneEvidence::default(),
            },
        })
        .collect()
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
        // A zone may have taken in cells too far from any reading to have a depth.
        if depth_cm.is_nan() {
            return;
        }
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
