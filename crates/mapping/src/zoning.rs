//! A field divided into zones.
//!
//! Each cell of the frame goes whole into the class of its depth, within its stratum, as far as it lies in
//! the field. Ground too narrow, patches too small and zones too many go to others; then the borders are
//! smoothed.

use geo::MultiPolygon;
use survey::Field;

use crate::border_moved::BorderMoved;
use crate::classes::DepthClasses;
use crate::cut::CutField;
use crate::depth_sums::depth_summaries;
use crate::error::MappingError;
use crate::evidence::ZoneEvidence;
use crate::most_zones::{Fewer, keep_most};
use crate::narrow::widen;
use crate::patches::{Ground, Patches, StratumClass};
use crate::rings::polygons;
use crate::strata::Strata;
use crate::zone_borders::{MovedBetween, borders, smoothed};
use crate::zone_frame::ZoneFrame;
use crate::zone_settings::ZoneRules;
use crate::zones::{DepthSummary, Unmapped, Zone};
use crate::zones_made::{ZonesMade, joins, other_class_m2};

/// The zones of a field with what belongs to each.
pub(crate) struct ZonedField {
    pub zones: Vec<Zone>,
    pub unmapped: Unmapped,
    /// The patch of each zone.
    pub patch_of_zone: Vec<u32>,
    /// How far borders may have moved, metres.
    pub border_tolerance_m: f64,
    moved: MovedBetween,
    fewer: Option<Fewer>,
    cell_m: f64,
    other_class_m2: f64,
}

/// Divides a field into zones; with them comes the patch of each cell of the frame.
///
/// # Errors
/// When the borders cannot be smoothed by so much.
pub(crate) fn zones(
    field: &Field,
    frame: &ZoneFrame,
    classes: &DepthClasses,
    strata: &Strata,
    rules: &ZoneRules,
) -> Result<(ZonedField, Vec<Option<u32>>), MappingError> {
    let cut: &CutField = &frame.cut;
    let cell_m = cut.grid().cell_m();
    let border_tolerance_m = rules.border_tolerance_of(cell_m)?;
    let own = ground(frame, classes);
    let mut ground = own.clone();
    if let Some(narrowest) = rules.narrowest {
        widen(cut, &mut ground, &frame.depth_cm, narrowest, |depth_cm| {
            classes.class_of_cm(depth_cm)
        });
    }
    let mut patches = Patches::new(cut, &ground, smallest_double_um2(field, rules.smallest_m2));
    let fewer = rules.most.map(|most| keep_most(&mut patches, cut, most));
    let (rings, moved) = smoothed(cut, &patches, border_tolerance_m);
    let polygons: Vec<MultiPolygon> =
        rings.into_iter().map(|rings| frame.in_plane(polygons(cut, rings))).collect();
    let depths = depth_summaries(frame, &patches);
    let mut numbered = zones_of(field, &patches, &polygons, &depths, strata);
    number(&mut numbered);
    let (patch_of_zone, zones) = numbered.into_iter().map(|n| (n.patch, n.zone)).unzip();
    let zoned = ZonedField {
        zones,
        unmapped: unmapped(field, &patches, &polygons),
        patch_of_zone,
        other_class_m2: other_class_m2(field, cut, &own, &patches),
        border_tolerance_m,
        moved,
        fewer,
        cell_m,
    };
    Ok((zoned, patches.of_cell))
}

impl ZonedField {
    /// The borders of the zones, by their ids.
    pub fn borders(&self, field: &Field) -> Vec<BorderMoved> {
        let patches = self.patch_of_zone.iter().copied();
        let ids: Vec<(u32, &str)> =
            patches.zip(self.zones.iter().map(|zone| zone.id.as_str())).collect();
        borders(field, &ids, &self.moved)
    }

    /// How the zones came about.
    pub fn made(&self, field: &Field, rules: &ZoneRules) -> ZonesMade {
        let id_of = |patch: u32| {
            let zone = self.patch_of_zone.iter().position(|&other| other == patch)?;
            Some(self.zones[zone].id.clone())
        };
        ZonesMade {
            narrowest_m: rules.narrowest.map(|narrowest| narrowest.width_m),
            length_m: rules.narrowest.and_then(|narrowest| narrowest.length_m),
            cell_m: self.cell_m,
            other_class_m2: self.other_class_m2,
            is_within_most: self.fewer.as_ref().is_none_or(|fewer| fewer.is_reached),
            joins: self.fewer.as_ref().map_or_else(Vec::new, |f| joins(field, &f.joins, id_of)),
        }
    }
}

/// What each cell of the frame holds by itself.
fn ground(frame: &ZoneFrame, classes: &DepthClasses) -> Vec<Ground> {
    let of =
        |(cell, depth_cm): (usize, &f64)| match (frame.cut.is_in_field(cell), depth_cm.is_nan()) {
            (false, _) => Ground::OutsideField,
            (true, true) => Ground::Unmapped,
            (true, false) => Ground::Class(StratumClass {
                stratum: frame.stratum_of(cell),
                class: classes.class_of_cm(*depth_cm) as u8,
            }),
        };
    frame.depth_cm.iter().enumerate().map(of).collect()
}

/// An area on the ground as twice the area in the plane, µm².
pub(crate) fn smallest_double_um2(field: &Field, area_m2: f64) -> i128 {
    let plane_m2 = area_m2 / field.ground_per_plane();
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
    depths: &[Option<DepthSummary>],
    strata: &Strata,
) -> Vec<Numbered> {
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
                depth: depths[patch].expect("a cell with a class has a depth"),
                probes: 0,
                not_reached: 0,
                evidence: ZoneEvidence::default(),
            },
        })
        .collect()
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
