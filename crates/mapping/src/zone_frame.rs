//! The grid that zones are drawn on: the map's own, or one of its own cells along the passes.
//!
//! With a heading everything about zones is done in a plane turned about a corner of the grid near the
//! field's middle, so that the passes run along its columns; only the finished outlines are turned back.

use std::borrow::Cow;

use geo::{BoundingRect, Coord, MapCoords, MultiPolygon};
use geostat::Raster;
use survey::{EastNorth, Field};

use crate::cut::CutField;
use crate::error::MappingError;
use crate::strata::{MAIN, Strata};
use crate::surface::{MOST_CELLS, grid_around};
use crate::zone_settings::ZoneRules;

/// Half the diagonal of a square of side 1, and a trifle.
const HALF_DIAGONAL: f64 = 0.7072;

/// A turn of the plane about a place.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Turn {
    sin: f64,
    cos: f64,
    about: Coord,
}

impl Turn {
    /// The turn after which what ran in a heading, degrees clockwise from north, runs north; `None` where
    /// it does already. A pass runs both ways: 190 is 10.
    pub fn to_north(heading_deg: f64, about: Coord) -> Option<Turn> {
        let half_turn = heading_deg.rem_euclid(180.0);
        if half_turn == 0.0 {
            return None;
        }
        let radians = half_turn.to_radians();
        // Exact where the axes change places.
        let (sin, cos) = match half_turn == 90.0 {
            true => (1.0, 0.0),
            false => (libm::sin(radians), libm::cos(radians)),
        };
        Some(Turn { sin, cos, about })
    }

    /// A place of the field's plane in the turned one.
    pub fn there(self, place: Coord) -> Coord {
        self.by(place, self.sin)
    }

    /// A place of the turned plane in the field's.
    pub fn back(self, place: Coord) -> Coord {
        self.by(place, -self.sin)
    }

    fn by(self, place: Coord, sin: f64) -> Coord {
        let off = place - self.about;
        let turned = Coord { x: self.cos * off.x - sin * off.y, y: sin * off.x + self.cos * off.y };
        self.about + turned
    }
}

/// The field on the grid that its zones are drawn on.
pub(crate) struct ZoneFrame<'a> {
    /// The field along the lines of that grid.
    pub cut: Cow<'a, CutField>,
    /// The depth in each of its cells, NaN where there is none.
    pub depth_cm: Cow<'a, [f64]>,
    /// The map, and the field along the lines of its grid.
    pub map_cm: &'a Raster,
    pub map_cut: &'a CutField,
    turn: Option<Turn>,
    strata: &'a Strata,
    /// The map's cell at the middle of each cell; `None` where they are the same.
    map_cell_at: Option<Vec<Option<usize>>>,
    /// The cell of this grid for each cell of the map; `None` where they are the same.
    cell_of_map: Option<Vec<Option<usize>>>,
}

impl<'a> ZoneFrame<'a> {
    /// The frame that zones are drawn in by some rules.
    ///
    /// # Errors
    /// When there are too many cells.
    pub fn new(
        field: &Field,
        map_cut: &'a CutField,
        map_cm: &'a Raster,
        strata: &'a Strata,
        rules: &ZoneRules,
    ) -> Result<Self, MappingError> {
        let cell_m = rules.cells_m.unwrap_or(map_cut.grid().cell_m());
        let turn = turn(field, rules.heading_deg, cell_m);
        if turn.is_none() && rules.cells_m.is_none() {
            return Ok(ZoneFrame {
                cut: Cow::Borrowed(map_cut),
                depth_cm: Cow::Borrowed(&map_cm.values),
                map_cm,
                map_cut,
                turn,
                strata,
                map_cell_at: None,
                cell_of_map: None,
            });
        }
        let polygons = turned(field.polygons(), turn);
        let bounds = polygons.bounding_rect().expect("a field has ground");
        let grid = grid_around(bounds, cell_m, "map of zones", MOST_CELLS)?;
        let cut = CutField::of_polygons(&polygons, grid);
        let cell_of_map = cells_of_map(map_cut, &cut, turn);
        let map_cell_at = map_cells_at(map_cut, &cut, turn);
        let depth =
            |map_cell: &Option<usize>| map_cell.map_or(f64::NAN, |cell| map_cm.values[cell]);
        let nearest: Vec<f64> = map_cell_at.iter().map(depth).collect();
        let stratum = |cell: usize| map_cell_at[cell].map(|map_cell| strata.of_cell(map_cell));
        let is_alike =
            |map_cell: usize, cell: usize| stratum(cell) == Some(strata.of_cell(map_cell));
        let depth_cm = match rules.cells_m {
            None => nearest,
            Some(_) => means(map_cut, &map_cm.values, &cell_of_map, is_alike, nearest),
        };
        Ok(ZoneFrame {
            cut: Cow::Owned(cut),
            depth_cm: Cow::Owned(depth_cm),
            map_cm,
            map_cut,
            turn,
            strata,
            map_cell_at: Some(map_cell_at),
            cell_of_map: Some(cell_of_map),
        })
    }

    /// The cell that a cell of the map belongs to: the one around its middle, or where that is outside the
    /// field the nearest that is not.
    pub fn cell_of_map(&self, map_cell: usize) -> Option<usize> {
        match &self.cell_of_map {
            None => Some(map_cell),
            Some(cells) => cells[map_cell],
        }
    }

    /// The stratum of a cell: that of the map's cell at its middle.
    pub fn stratum_of(&self, cell: usize) -> u8 {
        let map_cell = match &self.map_cell_at {
            None => Some(cell),
            Some(cells) => cells[cell],
        };
        map_cell.map_or(MAIN, |map_cell| self.strata.of_cell(map_cell))
    }

    /// The cell around a place of the field's plane.
    pub fn cell_at(&self, place: EastNorth) -> Option<usize> {
        let place = there(Coord::from(place), self.turn);
        let grid = self.cut.grid();
        let (row, column) = grid.row_column(place.x, place.y);
        grid.cell(row, column)
    }

    /// Outlines drawn here, in the field's plane. Every place is turned alike, so borders stay shared.
    pub fn in_plane(&self, polygons: MultiPolygon) -> MultiPolygon {
        match self.turn {
            None => polygons,
            Some(turn) => polygons.map_coords(|place| turn.back(place)),
        }
    }
}

/// The turn for a heading, about a corner of a grid of the side: at a right angle the cells are the same.
fn turn(field: &Field, heading_deg: Option<f64>, cell_m: f64) -> Option<Turn> {
    let middle = field.polygons().bounding_rect().expect("a field has ground").center();
    let corner = |m: f64| (m / cell_m).round() * cell_m;
    Turn::to_north(heading_deg?, Coord { x: corner(middle.x), y: corner(middle.y) })
}

/// The field's polygons in the frame of a heading.
pub(crate) fn field_in_frame(field: &Field, heading_deg: Option<f64>) -> MultiPolygon {
    turned(field.polygons(), turn(field, heading_deg, 1.0))
}

fn turned(polygons: &MultiPolygon, turn: Option<Turn>) -> MultiPolygon {
    polygons.map_coords(|place| there(place, turn))
}

fn there(place: Coord, turn: Option<Turn>) -> Coord {
    turn.map_or(place, |turn| turn.there(place))
}

/// The cell around a place if it is in the field, else the cell in the field whose middle is nearest, of
/// those within a reach; of equals the first.
fn cell_near(cut: &CutField, place: Coord, reach_m: f64) -> Option<usize> {
    let grid = cut.grid();
    let (row, column) = grid.row_column(place.x, place.y);
    let in_field = |row, column| grid.cell(row, column).filter(|&cell| cut.is_in_field(cell));
    if let Some(cell) = in_field(row, column) {
        return Some(cell);
    }
    let reach = (reach_m / grid.cell_m()).ceil() as i64;
    let around = |at: i64| at.saturating_sub(reach)..=at.saturating_add(reach);
    let squared_m2 = |cell: usize| {
        let off = middle(cut, cell) - place;
        off.x * off.x + off.y * off.y
    };
    around(row)
        .flat_map(|row| around(column).map(move |column| (row, column)))
        .filter_map(|(row, column)| in_field(row, column))
        .min_by(|&a, &b| squared_m2(a).total_cmp(&squared_m2(b)))
}

fn middle(cut: &CutField, cell: usize) -> Coord {
    let grid = cut.grid();
    let (row, column) = (cell / grid.columns(), cell % grid.columns());
    Coord { x: grid.easting_m(column), y: grid.northing_m(row) }
}

/// How far the middle of a cell with some ground can be from that of the other grid's cell with it.
fn reach_m(one: &CutField, other: &CutField) -> f64 {
    HALF_DIAGONAL * (one.grid().cell_m() + other.grid().cell_m())
}

fn cells_of_map(map_cut: &CutField, cut: &CutField, turn: Option<Turn>) -> Vec<Option<usize>> {
    let reach_m = reach_m(map_cut, cut);
    let cell = |map_cell: usize| {
        let place = || there(middle(map_cut, map_cell), turn);
        map_cut.is_in_field(map_cell).then(|| cell_near(cut, place(), reach_m)).flatten()
    };
    (0..map_cut.grid().cells()).map(cell).collect()
}

/// The map's cell around each cell's middle, or the nearest in the field; `None` outside it.
fn map_cells_at(map_cut: &CutField, cut: &CutField, turn: Option<Turn>) -> Vec<Option<usize>> {
    let reach_m = reach_m(map_cut, cut);
    let map_cell = |cell: usize| {
        let place = middle(cut, cell);
        let place = || turn.map_or(place, |turn| turn.back(place));
        cut.is_in_field(cell).then(|| cell_near(map_cut, place(), reach_m)).flatten()
    };
    (0..cut.grid().cells()).map(map_cell).collect()
}

/// The mean depth of the map's cells of each cell that are of its stratum, weighed by their ground in the
/// field: no value where less than half of it has one. Cells without any of the map's take the nearest depth.
fn means(
    map_cut: &CutField,
    depth_cm: &[f64],
    cell_of_map: &[Option<usize>],
    is_alike: impl Fn(usize, usize) -> bool,
    nearest: Vec<f64>,
) -> Vec<f64> {
    #[derive(Clone, Copy, Default)]
    struct Sum {
        share: f64,
        with_value: f64,
        weighted_cm: f64,
    }
    let mut sums = vec![Sum::default(); nearest.len()];
    for (map_cell, &cell) in cell_of_map.iter().enumerate() {
        if let Some(cell) = cell.filter(|&cell| is_alike(map_cell, cell)) {
            let (share, depth_cm) = (map_cut.share(map_cell), depth_cm[map_cell]);
            sums[cell].share += share;
            if !depth_cm.is_nan() {
                sums[cell].with_value += share;
                sums[cell].weighted_cm += share * depth_cm;
            }
        }
    }
    let mean = |(sum, nearest): (Sum, f64)| match sum.share > 0.0 {
        false => nearest,
        true if 2.0 * sum.with_value < sum.share => f64::NAN,
        true => sum.weighted_cm / sum.with_value,
    };
    sums.into_iter().zip(nearest).map(mean).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::patches::{Ground, Patches};
    use crate::zone_settings::ZoneSettings;
    use crate::zoning_tests::{cut, main_class};

    fn rules(field: &Field, heading_deg: Option<f64>, cells_m: Option<f64>) -> ZoneRules {
        ZoneSettings { heading_deg, cells_m, ..ZoneSettings::default() }.rules(field).unwrap()
    }

    /// Depths that rise eastwards by 1 cm a cell and northwards by 0.1 cm; none in one corner.
    fn depths(cut: &CutField) -> Raster {
        let depth = |cell: usize| match (cell / 24, cell % 24, cut.is_in_field(cell)) {
            (12.., ..6, _) | (_, _, false) => f64::NAN,
            (row, column, true) => column as f64 + 0.1 * (23 - row) as f64,
        };
        Raster { grid: cut.grid(), values: (0..24 * 24).map(depth).collect() }
    }

    fn field() -> (Field, CutField) {
        cut(vec![
            vec![(12.0, 8.0), (111.0, 17.0), (96.0, 103.0), (21.0, 111.0)],
            vec![(50.0, 50.0), (58.0, 66.0), (71.0, 48.0)],
        ])
    }

    fn areas_m2(cut: &CutField, depth_cm: &[f64]) -> Vec<f64> {
        let ground = |(cell, cm): (usize, &f64)| match (cut.is_in_field(cell), cm.is_nan()) {
            (false, _) => Ground::OutsideField,
            (true, true) => Ground::Unmapped,
            (true, false) => main_class((*cm / 4.0) as u8),
        };
        let ground: Vec<Ground> = depth_cm.iter().enumerate().map(ground).collect();
        let patches = Patches::new(cut, &ground, 0);
        let mut areas = vec![0.0; patches.ground.len()];
        for (cell, patch) in patches.of_cell.iter().enumerate() {
            if let &Some(patch) = patch {
                areas[patch as usize] += cut.double_area(cell) as f64 / 2e12;
            }
        }
        areas.sort_by(f64::total_cmp);
        areas
    }

    /// A quarter turn makes columns of rows: the same cells, and the same patches.
    #[test]
    fn a_quarter_turn_is_the_map_turned() {
        let (field, map_cut) = field();
        let raster = depths(&map_cut);
        let strata = Strata::default();
        let rules = rules(&field, Some(90.0), None);
        let frame = ZoneFrame::new(&field, &map_cut, &raster, &strata, &rules).unwrap();
        let turn = frame.turn.unwrap();
        for cell in 0..24 * 24 {
            if !map_cut.is_in_field(cell) {
                continue;
            }
            let there = frame.cell_of_map(cell).unwrap();
            let off = turn.back(middle(&frame.cut, there)) - middle(&map_cut, cell);
            assert!(off.x.hypot(off.y) < 1e-6, "{off:?}");
            assert_eq!(frame.depth_cm[there].to_bits(), raster.values[cell].to_bits());
            assert!((frame.cut.share(there) - map_cut.share(cell)).abs() < 1e-5);
        }
        let (there, here) =
            (areas_m2(&frame.cut, &frame.depth_cm), areas_m2(&map_cut, &raster.values));
        assert_eq!(there.len(), here.len());
        assert!(there.iter().zip(&here).all(|(a, b)| (a - b).abs() < 1e-3), "{there:?} {here:?}");
    }

    /// East of north turns to north, and its right hand to the east.
    #[test]
    fn passes_run_north_after_the_turn() {
        let about = Coord { x: 500.0, y: 900.0 };
        for (heading_deg, sin, cos) in [(30.0, 0.5, 3_f64.sqrt() / 2.0), (90.0, 1.0, 0.0)] {
            let turn = Turn::to_north(heading_deg, about).unwrap();
            let along = turn.there(about + Coord { x: 10.0 * sin, y: 10.0 * cos }) - about;
            let right = turn.there(about + Coord { x: 10.0 * cos, y: -10.0 * sin }) - about;
            assert!(along.x.abs() < 1e-9 && (along.y - 10.0).abs() < 1e-9, "{along:?}");
            assert!((right.x - 10.0).abs() < 1e-9 && right.y.abs() < 1e-9, "{right:?}");
            let place = Coord { x: 3.0, y: 4.0 };
            let back = turn.back(turn.there(place)) - place;
            assert!(back.x.hypot(back.y) < 1e-9, "{back:?}");
        }
        assert!(Turn::to_north(0.0, about).is_none() && Turn::to_north(180.0, about).is_none());
    }

    /// Whatever the heading, every cell with ground has a cell of the map, and takes a depth nearby.
    #[test]
    fn every_cell_with_ground_finds_its_depth() {
        let (field, map_cut) = field();
        let values = (0..24 * 24).map(|cell| f64::from(cell % 24));
        let raster = Raster { grid: map_cut.grid(), values: values.collect() };
        for heading_deg in [1.0, 17.0, 45.0, 90.0, 133.0] {
            for cells_m in [None, Some(1.3), Some(9.0)] {
                let strata = Strata::default();
                let rules = rules(&field, Some(heading_deg), cells_m);
                let frame = ZoneFrame::new(&field, &map_cut, &raster, &strata, &rules).unwrap();
                let mut worst: f64 = 0.0;
                for cell in (0..frame.depth_cm.len()).filter(|&cell| frame.cut.is_in_field(cell)) {
                    let place = frame.turn.unwrap().back(middle(&frame.cut, cell));
                    let true_cm = (place.x - map_cut.grid().west_m()) / 5.0 - 0.5;
                    worst = worst.max((frame.depth_cm[cell] - true_cm).abs());
                }
                // Half a diagonal of each cell: at most (5 + 9) × 0.71 / 5 columns.
                assert!(worst < 2.0, "{worst}");
                let found = (0..24 * 24).filter(|&cell| frame.cell_of_map(cell).is_some()).count();
                assert_eq!(found, (0..24 * 24).filter(|&cell| map_cut.is_in_field(cell)).count());
            }
        }
    }

    /// A square of 10 m holds two by two cells. With half of its ground it has a value, with less none.
    #[test]
    fn squares_have_the_mean_depth_of_the_ground_in_them() {
        let (field, map_cut) = field();
        let mut raster = depths(&map_cut);
        let strata = Strata::default();
        let rules = rules(&field, None, Some(10.0));
        let at = |raster: &Raster, east_m: f64, north_m: f64| {
            let frame = ZoneFrame::new(&field, &map_cut, raster, &strata, &rules).unwrap();
            let grid = map_cut.grid();
            let (easting_m, northing_m) = (grid.west_m() + east_m, grid.south_m() + north_m);
            frame.depth_cm[frame.cell_at(EastNorth { easting_m, northing_m }).unwrap()]
        };
        assert!((at(&raster, 85.0, 85.0) - (16.5 + 1.65)).abs() < 1e-12);
        // The two northern cells of the square.
        raster.values[6 * 24 + 16] = f64::NAN;
        raster.values[6 * 24 + 17] = f64::NAN;
        assert!((at(&raster, 85.0, 85.0) - (16.5 + 1.6)).abs() < 1e-12);
        raster.values[7 * 24 + 16] = f64::NAN;
        assert!(at(&raster, 85.0, 85.0).is_nan());
    }
}
