//! Where a file's ground lies.

use geo::Coord;

use super::elements::{GridElement, Outline};

/// West, south, east and north of what was added.
#[derive(Default)]
pub(super) struct Extent(pub Option<[f64; 4]>);

impl Extent {
    pub fn add(&mut self, place: Coord) {
        let [west, south, east, north] = self.0.unwrap_or([place.x, place.y, place.x, place.y]);
        self.0 =
            Some([west.min(place.x), south.min(place.y), east.max(place.x), north.max(place.y)]);
    }

    pub fn add_outlines(&mut self, outlines: &[Outline]) {
        let rings = outlines.iter().flat_map(|outline| &outline.rings);
        rings.flat_map(|ring| &ring.corners).for_each(|&corner| self.add(corner));
    }

    pub fn add_grid(&mut self, grid: &GridElement) {
        self.add(Coord { x: grid.west_deg, y: grid.south_deg });
        let east = grid.west_deg + grid.cell_east_deg * f64::from(grid.columns);
        let north = grid.south_deg + grid.cell_north_deg * f64::from(grid.rows);
        self.add(Coord { x: east.min(180.0), y: north.min(90.0) });
    }
}
