//! Which zone a cell or a place belongs to.

use std::collections::BTreeMap;

use geo::{Coord, Distance, Euclidean, Point};
use survey::EastNorth;

use crate::strata::Strata;
use crate::zone_frame::ZoneFrame;
use crate::zones::Zone;

/// The cells of the zones.
pub(crate) struct ZoneMembers<'a> {
    frame: &'a ZoneFrame<'a>,
    /// Of each cell of the frame.
    patch_of_cell: Vec<Option<u32>>,
    zone_of_patch: BTreeMap<u32, usize>,
}

impl<'a> ZoneMembers<'a> {
    /// From the patch of each zone and of each cell of the frame.
    pub fn new(
        frame: &'a ZoneFrame,
        patch_of_zone: &[u32],
        patch_of_cell: Vec<Option<u32>>,
    ) -> Self {
        let zones = patch_of_zone.iter().enumerate();
        ZoneMembers {
            frame,
            patch_of_cell,
            zone_of_patch: zones.map(|(zone, &patch)| (patch, zone)).collect(),
        }
    }

    /// The zone that a cell of the map is in; `None` outside the field and where there is no value.
    pub fn of_map_cell(&self, map_cell: usize) -> Option<usize> {
        self.of_frame_cell(self.frame.cell_of_map(map_cell)?)
    }

    fn of_frame_cell(&self, cell: usize) -> Option<usize> {
        self.zone_of_patch.get(&self.patch_of_cell[cell]?).copied()
    }

    /// The zone that a place counts for: the one it lies in or, just outside the field or across a
    /// stratum's border from its cell's middle, the nearest of its stratum. `None` on ground without a
    /// value.
    pub fn of_place(&self, place: EastNorth, zones: &[Zone], strata: &Strata) -> Option<usize> {
        let stratum = strata.of_place(place);
        let in_field = |&cell: &usize| self.patch_of_cell[cell].is_some();
        if let Some(cell) = self.frame.cell_at(place).filter(in_field)
            && self.frame.stratum_of(cell) == stratum
        {
            return self.of_frame_cell(cell);
        }
        nearest(zones, strata.name(stratum), place)
    }
}

fn nearest(zones: &[Zone], stratum: Option<&str>, place: EastNorth) -> Option<usize> {
    let point = Point::from(Coord::from(place));
    let distance_m = |&zone: &usize| Euclidean.distance(&point, &zones[zone].polygons);
    (0..zones.len())
        .filter(|&zone| zones[zone].stratum.as_deref() == stratum)
        .min_by(|a, b| distance_m(a).total_cmp(&distance_m(b)))
}
