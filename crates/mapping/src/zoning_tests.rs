//! What must hold of zones for any field and any classes.

use std::collections::BTreeMap;

use geo::{
    Area, Contains, Coord, Euclidean, Length, Line, MultiPolygon, Point, Polygon, Validation,
};
use geostat::Grid;
use proptest::prelude::*;
use survey::{Field, LonLat, Utm};

use crate::cut::CutField;
use crate::patches::{Ground, Patches, StratumClass};
use crate::rings::outlines;

const WEST_M: f64 = 300_000.0;
const SOUTH_M: f64 = 4_600_000.0;

fn utm() -> Utm {
    Utm::for_place(LonLat { lon_deg: -95.4, lat_deg: 41.5 }).unwrap()
}

/// A field from rings in metres from the grid's corner, on a grid of 24 × 24 cells of 5 m.
fn cut(rings: Vec<Vec<(f64, f64)>>) -> (Field, CutField) {
    let mut rings = rings.into_iter().map(|ring| {
        ring.into_iter().map(|(x, y)| Coord { x: WEST_M + x, y: SOUTH_M + y }).collect()
    });
    let polygon = Polygon::new(rings.next().unwrap(), rings.collect());
    let field = Field::in_plane(utm(), &MultiPolygon::from(polygon)).unwrap();
    let grid = Grid::new(WEST_M, SOUTH_M, 5.0, 24, 24).unwrap();
    let cut = CutField::new(&field, grid);
    (field, cut)
}

/// A class of the main ground.
fn main_class(class: u8) -> Ground {
    Ground::Class(StratumClass { stratum: 0, class })
}

/// Classes by a little random number generator; `None` in eight is ground without a value.
fn ground(cut: &CutField, seed: u64, classes: u64) -> Vec<Ground> {
    let mut state = seed | 1;
    (0..cut.grid().cells())
        .map(|cell| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            let random = state >> 33;
            match cut.is_in_field(cell) {
                false => Ground::OutsideField,
                _ if random % 8 == 7 => Ground::Unmapped,
                _ => main_class((random % classes) as u8),
            }
        })
        .collect()
}

/// A field many kilometres wide, where squares of micrometres are huge: a square and a hole.
#[test]
fn zones_of_a_wide_field_fit_together() {
    for side_m in [4_008.0, 13_008.0, 90_000.0] {
        let ring = |a: f64, b: f64| -> geo::LineString {
            [(a, a), (b, a + 3.0), (b - 5.0, b), (a + 1.0, b - 2.0)]
                .map(|(x, y)| Coord {
                    x: WEST_M + x * side_m / 100.0,
                    y: SOUTH_M + y * side_m / 100.0,
                })
                .to_vec()
                .into()
        };
        let polygon = Polygon::new(ring(5.0, 95.0), vec![ring(40.0, 60.0)]);
        let field = Field::in_plane(utm(), &MultiPolygon::from(polygon)).unwrap();
        let grid = Grid::new(WEST_M, SOUTH_M, side_m / 24.0, 24, 24).unwrap();
        let cut = CutField::new(&field, grid);
        let cells_m2: f64 = (0..grid.cells()).map(|cell| cut.double_area(cell) as f64 / 2e12).sum();
        assert!((cells_m2 / field.plane_area_m2() - 1.0).abs() < 1e-9, "{side_m} m");
        rows_are_in_field_as_their_cells(&cut);
        let polygons = outlines(&cut, &Patches::new(&cut, &ground(&cut, 11, 3), 0));
        valid(&polygons);
        borders_are_shared(&field, &polygons);
        let total: f64 = polygons.iter().map(Area::unsigned_area).sum();
        assert!((total / field.plane_area_m2() - 1.0).abs() < 1e-9, "{side_m} m");
    }
}

/// Checks everything; returns the patches' polygons.
fn check(field: &Field, cut: &CutField, patches: &Patches) -> Vec<MultiPolygon> {
    rows_are_in_field_as_their_cells(cut);
    let polygons = outlines(cut, patches);
    valid(&polygons);
    areas_add_up(field, cut, patches, &polygons);
    borders_are_shared(field, &polygons);
    cells_lie_in_their_patch(field, cut, patches, &polygons);
    polygons
}

fn rows_are_in_field_as_their_cells(cut: &CutField) {
    let columns = cut.grid().columns();
    for row in 0..cut.grid().rows() {
        let mut in_field = vec![true; columns];
        cut.row_in_field(row, &mut in_field);
        for (column, &is_in_field) in in_field.iter().enumerate() {
            assert_eq!(is_in_field, cut.is_in_field(row * columns + column), "{row} {column}");
        }
    }
}

fn valid(polygons: &[MultiPolygon]) {
    for polygon in polygons.iter().flatten() {
        polygon.check_validation().unwrap_or_else(|e| panic!("{e}: {polygon:?}"));
        assert!(polygon.signed_area() > 0.0);
    }
}

/// Positions are rounded to a micrometre, so areas agree to that times the length of border.
fn areas_add_up(field: &Field, cut: &CutField, patches: &Patches, polygons: &[MultiPolygon]) {
    let mut cells_m2 = vec![0.0; polygons.len()];
    for (cell, patch) in patches.of_cell.iter().enumerate() {
        if let &Some(patch) = patch {
            cells_m2[patch as usize] += cut.double_area(cell) as f64 / 2e12;
        }
    }
    for (polygon, cells_m2) in polygons.iter().zip(&cells_m2) {
        assert!((polygon.unsigned_area() - cells_m2).abs() < 2e-3, "{cells_m2} {polygon:?}");
    }
    let total: f64 = polygons.iter().map(Area::unsigned_area).sum();
    assert!((total / field.plane_area_m2() - 1.0).abs() < 1e-6, "{total}");
}

/// Every edge is some other polygon's edge the other way round, except along the field's outline.
fn borders_are_shared(field: &Field, polygons: &[MultiPolygon]) {
    let key = |c: Coord| (c.x.to_bits(), c.y.to_bits());
    let mut edges: BTreeMap<_, (i32, f64)> = BTreeMap::new();
    for polygon in polygons.iter().flatten() {
        for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
            for Line { start, end } in ring.lines() {
                let (a, b) = (key(start), key(end));
                let length = Euclidean.length(&Line::new(start, end));
                let entry = edges.entry((a.min(b), a.max(b))).or_insert((0, length));
                entry.0 += if a < b { 1 } else { -1 };
            }
        }
    }
    assert!(edges.values().all(|(balance, _)| balance.abs() <= 1), "an edge twice the same way");
    let outer: f64 = edges.values().filter(|(balance, _)| *balance != 0).map(|(_, l)| l).sum();
    let outline: f64 = field
        .polygons()
        .iter()
        .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
        .map(|ring| Euclidean.length(ring))
        .sum();
    assert!((outer - outline).abs() < 1e-3, "{outer} m of unshared border, outline {outline} m");
}

fn cells_lie_in_their_patch(
    field: &Field,
    cut: &CutField,
    patches: &Patches,
    polygons: &[MultiPolygon],
) {
    let grid = cut.grid();
    for (cell, patch) in patches.of_cell.iter().enumerate() {
        let (row, column) = (cell / grid.columns(), cell % grid.columns());
        // A place off the middle, so that it does not lie on an edge by design.
        let place = Point::new(grid.easting_m(column) + 0.31, grid.northing_m(row) - 0.17);
        if !field.polygons().contains(&place) {
            continue;
        }
        let holders: Vec<usize> =
            (0..polygons.len()).filter(|&k| polygons[k].contains(&place)).collect();
        assert_eq!(holders, [patch.unwrap() as usize], "cell {cell}");
    }
}

/// A star-shaped ring around a middle, with radii in metres; some radii whole multiples of the cell.
fn star(middle: (f64, f64), radii: &[f64]) -> Vec<(f64, f64)> {
    let corner = |(k, radius): (usize, &f64)| {
        let angle = std::f64::consts::TAU * k as f64 / radii.len() as f64;
        (middle.0 + radius * angle.cos(), middle.1 + radius * angle.sin())
    };
    radii.iter().enumerate().map(corner).collect()
}

fn radii(range: std::ops::Range<f64>) -> impl Strategy<Value = Vec<f64>> {
    let whole = range.clone().prop_map(|r| (r / 5.0).round() * 5.0);
    prop::collection::vec(prop_oneof![range, whole], 3..14)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn zones_of_any_field_fit_together(
        outer in radii(26.0..57.4),
        inner in prop::option::of(radii(3.0..11.0)),
        seed in any::<u64>(),
        classes in 1..5_u64,
        smallest_m2 in prop_oneof![Just(0.0), 1.0..400.0],
    ) {
        let mut rings = vec![star((60.0, 60.0), &outer)];
        rings.extend(inner.map(|radii| star((60.0, 60.0), &radii)));
        let (field, cut) = cut(rings);
        let ground = ground(&cut, seed, classes);
        let patches = Patches::new(&cut, &ground, (smallest_m2 * 2e12) as i128);
        let polygons = check(&field, &cut, &patches);
        for (polygon, held) in polygons.iter().zip(&patches.ground) {
            let joined_if_small = polygon.0.is_empty()
                || polygon.unsigned_area() >= smallest_m2 - 1e-3
                || *held == Ground::Unmapped
                || has_no_class_beside(polygon, &polygons, &patches.ground);
            prop_assert!(joined_if_small, "a patch of {} m²", polygon.unsigned_area());
        }
    }

    #[test]
    fn a_field_on_the_grid_lines_is_no_harder(
        west in 0..8_i32, south in 0..8_i32, east in 12..24_i32, north in 12..24_i32, seed in any::<u64>(),
    ) {
        let [west, south, east, north] = [west, south, east, north].map(|k| f64::from(k) * 5.0);
        let shell = vec![(west, south), (east, south), (east, north), (west, north)];
        // A hole that touches the shell at one corner, at a place in the middle of its edge.
        let hole = vec![(west, 52.5), (west + 10.0, 47.5), (west + 10.0, 57.5)];
        let (field, cut) = cut(vec![shell, hole]);
        let ground = ground(&cut, seed, 3);
        check(&field, &cut, &Patches::new(&cut, &ground, 0));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Whatever joins, ground of one stratum stays with it: beside every patch that stays small there is
    /// none of its stratum.
    #[test]
    fn zones_never_cross_strata(
        outer in radii(26.0..57.4),
        seed in any::<u64>(),
        classes in 1..5_u64,
        smallest_m2 in 1.0..4_000.0,
        lane in 4..20_usize,
        width in 1..6_usize,
    ) {
        let (field, cut) = cut(vec![star((60.0, 60.0), &outer)]);
        let stratum_of = |cell: usize| u8::from((lane..lane + width).contains(&(cell % 24)));
        let mut ground = ground(&cut, seed, classes);
        for (cell, held) in ground.iter_mut().enumerate() {
            if let Ground::Class(held) = held {
                held.stratum = stratum_of(cell);
            }
        }
        let patches = Patches::new(&cut, &ground, (smallest_m2 * 2e12) as i128);
        check(&field, &cut, &patches);
        for (cell, patch) in patches.of_cell.iter().enumerate() {
            let Some(patch) = patch else { continue };
            let is_speck = cut.double_area(cell) < 400_000_000;
            match patches.ground[*patch as usize] {
                Ground::Class(held) => {
                    let kept = ground[cell] != Ground::Unmapped && held.stratum == stratum_of(cell);
                    prop_assert!(kept || is_speck, "cell {}: {:?}", cell, held);
                }
                other => prop_assert!(ground[cell] == other || is_speck, "cell {}", cell),
            }
        }
    }
}

fn has_no_class_beside(polygon: &MultiPolygon, all: &[MultiPolygon], ground: &[Ground]) -> bool {
    let corners = |p: &MultiPolygon| -> Vec<Line> {
        p.iter()
            .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
            .flat_map(|ring| ring.lines().collect::<Vec<_>>())
            .collect()
    };
    let own = corners(polygon);
    !all.iter().zip(ground).any(|(other, held)| {
        matches!(held, Ground::Class(_))
            && other != polygon
            && corners(other).iter().any(|l| own.contains(&Line::new(l.end, l.start)))
    })
}

/// Classes `a`, `b`, … drawn as a picture with its south-west corner in the grid's; what else is in
/// the field is ground without a value.
fn drawn(cut: &CutField, picture: &[&str]) -> Vec<Ground> {
    let mut ground: Vec<Ground> = (0..cut.grid().cells())
        .map(|cell| match cut.is_in_field(cell) {
            true => Ground::Unmapped,
            false => Ground::OutsideField,
        })
        .collect();
    for (row, line) in picture.iter().enumerate() {
        for (column, letter) in line.bytes().enumerate() {
            ground[(24 - picture.len() + row) * 24 + column] = main_class(letter - b'a');
        }
    }
    ground
}

/// Two by two cells of two classes in a chequerboard: four zones that meet at a corner only.
#[test]
fn ground_that_meets_at_a_corner_is_not_connected() {
    let (field, cut) = cut(vec![vec![(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]]);
    let ground = drawn(&cut, &["ab", "ba"]);
    let polygons = check(&field, &cut, &Patches::new(&cut, &ground, 0));
    let areas: Vec<f64> = polygons.iter().map(Area::unsigned_area).filter(|a| *a > 0.0).collect();
    assert_eq!(areas.len(), 4, "{areas:?}");
    assert!(areas.iter().all(|area| (area - 25.0).abs() < 1e-4), "{areas:?}");
}

/// A ring of cells that closes only at a corner: its hole touches its outline there.
#[test]
fn a_ring_that_touches_itself_is_a_hole_in_a_simple_outline() {
    let picture = [
        "aaaa", //
        "abba", //
        "abab", //
        "aaba",
    ];
    let (field, cut) = cut(vec![vec![(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0)]]);
    let ground = drawn(&cut, &picture);
    check(&field, &cut, &Patches::new(&cut, &ground, 0));
}

/// The speck of the middle joins the neighbour with the longest shared edge, not the largest.
#[test]
fn a_speck_joins_the_neighbour_with_the_longest_edge() {
    let (field, cut) = cut(vec![vec![(0.0, 0.0), (15.0, 0.0), (15.0, 10.0), (0.0, 10.0)]]);
    let picture = ["aac", "abc"];
    let ground = drawn(&cut, &picture);
    let patches = Patches::new(&cut, &ground, 2 * 30_000_000_000_000);
    check(&field, &cut, &patches);
    let speck = patches.of_cell[23 * 24 + 1].unwrap();
    assert_eq!(patches.ground[speck as usize], main_class(0), "10 m shared with a, 5 m with c");
    assert_eq!(Some(speck), patches.of_cell[22 * 24]);
}

/// A waterway narrower than a cell parts the ground on its two sides as far as it runs.
#[test]
fn a_cut_through_the_field_keeps_its_exact_area() {
    let shell = vec![(1.3, 1.1), (118.0, 3.0), (117.0, 116.5), (2.0, 118.0)];
    let slit = vec![(20.0, 60.2), (100.0, 61.0), (100.0, 61.9), (20.0, 61.2)];
    let (field, cut) = cut(vec![shell, slit]);
    let ground = ground(&cut, 7, 2);
    let polygons = check(&field, &cut, &Patches::new(&cut, &ground, 0));
    let total: f64 = polygons.iter().map(Area::unsigned_area).sum();
    assert!((total - field.plane_area_m2()).abs() < 1e-3);
}
