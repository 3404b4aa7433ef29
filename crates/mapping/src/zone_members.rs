//! Which zone a cell or a place belongs to.

use geo::{Coord, Distance, Euclidean, Point};
use geostat::Grid;
use survey::EastNorth;

use crate::patches::Patches;
use crate::strata::Strata;
use crate::zones::{Numbered, Zone};

/// The cells of the zones.
pub(crate) struct ZoneMembers {
    patch_of_cell: Vec<Option<u32>>,
    zone_of_patch: Vec<Option<u32>>,
}

impl ZoneMembers {
    pub fn new(patches: Patches, zones: &[Numbered]) -> Self {
        let mut zone_of_patch = vec![None; patches.ground.len()];
        for (zone, numbered) in zones.iter().enumerate() {
            zone_of_patch[numbered.patch as usize] = Some(zone as u32);
        }
        ZoneMembers { patch_of_cell: patches.of_cell, zone_of_patch }
    }

    /// The zone that a cell is in; `None` outside the field and where there is no value.
    pub fn of_cell(&self, cell: usize) -> Option<usize> {
        let patch = self.patch_of_cell[cell]?;
        self.zone_of_patch[patch as usize].map(|zone| zone as usize)
    }

    /// The zone that a place counts for: the one it lies in or, just outside the field or across a
    /// stratum's border from its cell's middle, the nearest of its stratum. `None` on ground without a
    /// value.
    pub fn of_place(
        &self,
        place: EastNorth,
        grid: Grid,
        zones: &[Zone],
        strata: &Strata,
    ) -> Option<usize> {
        let stratum = strata.of_place(place);
        if let Some(cell) = cell_at(grid, place).filter(|&cell| self.patch_of_cell[cell].is_some())
            && (strata.is_empty() || strata.of_cell(cell) == stratum)
        {
            return self.of_cell(cell);
        }
        nearest(zones, strata.name(stratum), place)
    }
}

fn cell_at(grid: Grid, place: EastNorth) -> Option<usize> {
    let column = ((place.easting_m - grid.west_m()) / grid.cell_m()).floor();
    let row = ((grid.north_m() - place.northing_m) / grid.cell_m()).floor();
    let within = |k: f64, count: usize| (0.0..count as f64).contains(&k);
    (within(column, grid.columns()) && within(row, grid.rows()))
        .then(|| row as usize * grid.columns() + column as usize)
}

fn nearest(zones: &[Zone], stratum: Option<&str>, place: EastNorth) -> Option<usize> {
    let point = Point::from(Coord::from(place));
    let distance_m = |&zone: &usize| Euclidean.distance(&point, &zones[zone].polygons);
    (0..zones.len())
        .filter(|&zone| zones[zone].stratum.as_deref() == stratum)
        .min_by(|a, b| distance_m(a).total_cmp(&distance_m(b)))
}
