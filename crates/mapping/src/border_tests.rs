//! What must hold of smoothed borders for any field and any classes.

use std::collections::{BTreeMap, BTreeSet};

use geo::{Area, Euclidean, Length, Line, MultiPolygon};
use proptest::prelude::*;
use survey::Field;

use crate::border_arcs::{Arc, Arcs};
use crate::borders::smooth;
use crate::cut::{CutField, Node, PER_M};
use crate::patches::{Ground, Patches};
use crate::rings::{polygons, rings};
use crate::zone_borders::{MovedBetween, smoothed};
use crate::zoning_tests::{
    borders_are_shared, cut, drawn, ground, main_class, outlines, radii, star, valid,
};

/// Smoothed polygons of each patch, and what moved.
fn smoothed_polygons(
    cut: &CutField,
    patches: &Patches,
    tolerance_m: f64,
) -> (Vec<MultiPolygon>, MovedBetween) {
    let (rings, moved) = smoothed(cut, patches, tolerance_m);
    (rings.into_iter().map(|rings| polygons(cut, rings)).collect(), moved)
}

/// Checks everything; returns the patches' polygons.
fn check(field: &Field, cut: &CutField, patches: &Patches, tolerance_m: f64) -> Vec<MultiPolygon> {
    let (smooth, moved) = smoothed_polygons(cut, patches, tolerance_m);
    let before = outlines(cut, patches);
    valid(&smooth);
    borders_are_shared(field, &smooth);
    areas_changed_by_what_moved(&before, &smooth, &moved);
    lattice_areas_add_up(cut, patches, tolerance_m);
    rings_stay(&before, &smooth);
    borders_stay_near(cut, patches, tolerance_m);
    smooth
}

/// Positions are rounded to a micrometre in the plane only: what moved is exact to a millionth.
fn areas_changed_by_what_moved(
    before: &[MultiPolygon],
    smooth: &[MultiPolygon],
    moved: &MovedBetween,
) {
    let mut gained = vec![0.0; before.len()];
    for (&(left, right), moved) in moved {
        assert!(left != right && moved.to_left_um2 >= -1.0 && moved.to_right_um2 >= -1.0);
        let net = (moved.to_left_um2 - moved.to_right_um2) / (PER_M * PER_M);
        gained[left as usize] += net;
        gained[right as usize] -= net;
    }
    for (k, gained) in gained.iter().enumerate() {
        let change = smooth[k].unsigned_area() - before[k].unsigned_area();
        assert!((change - gained).abs() < 1e-5, "patch {k}: {change} {gained}");
    }
}

fn double_area(ring: &[Node]) -> i128 {
    let next = ring.iter().cycle().skip(1);
    let product = |(a, b): (&Node, &Node)| {
        i128::from(a.east) * i128::from(b.north) - i128::from(b.east) * i128::from(a.north)
    };
    ring.iter().zip(next).map(product).sum()
}

/// On the lattice the patches have exactly as much ground together as before.
fn lattice_areas_add_up(cut: &CutField, patches: &Patches, tolerance_m: f64) {
    let sum = |rings: &[Vec<Vec<Node>>]| -> i128 {
        rings.iter().flatten().map(|ring| double_area(ring)).sum()
    };
    let before = rings(cut, patches);
    assert_eq!(sum(&smoothed(cut, patches, tolerance_m).0), sum(&before));
}

/// Each patch keeps its outer rings and holes: no island joins another patch or goes under.
fn rings_stay(before: &[MultiPolygon], smooth: &[MultiPolygon]) {
    for (before, smooth) in before.iter().zip(smooth) {
        let holes = |polygons: &MultiPolygon| -> usize {
            polygons.iter().map(|polygon| polygon.interiors().len()).sum()
        };
        assert_eq!((before.0.len(), holes(before)), (smooth.0.len(), holes(smooth)));
    }
}

/// The distance of a place from a line in floating point, by another way than in the code.
fn distance_um(place: Node, (from, to): (Node, Node)) -> f64 {
    let (run, rise) = ((to.east - from.east) as f64, (to.north - from.north) as f64);
    let (east, north) = ((place.east - from.east) as f64, (place.north - from.north) as f64);
    let part = ((east * run + north * rise) / (run * run + rise * rise)).clamp(0.0, 1.0);
    (east - part * run).hypot(north - part * rise)
}

fn edges_of(arc: &Arc) -> Vec<(Node, Node)> {
    let next = arc.nodes.iter().cycle().skip(1);
    let count = arc.nodes.len() - usize::from(!arc.is_closed);
    arc.nodes.iter().copied().zip(next.copied()).take(count).collect()
}

/// No place of the old border is farther than the tolerance from the new one, and none of the new one
/// from the old one, looked at in so many places of each edge.
fn borders_stay_near(cut: &CutField, patches: &Patches, tolerance_m: f64) {
    const PLACES: i64 = 8;
    let tolerance_um = (tolerance_m * PER_M).round();
    let mut arcs = Arcs::new(&rings(cut, patches));
    let before = arcs.borders.clone();
    smooth(cut, &mut arcs, tolerance_um as i64);
    let is_near = |a: &Arc, b: &Arc| {
        let edges = edges_of(b);
        edges_of(a).into_iter().all(|(from, to)| {
            (0..=PLACES).all(|k| {
                let at = |a: i64, b: i64| a + (b - a) * k / PLACES;
                let place = Node { east: at(from.east, to.east), north: at(from.north, to.north) };
                let nearest = edges.iter().map(|&edge| distance_um(place, edge));
                // A place between is rounded to a micrometre.
                nearest.fold(f64::INFINITY, f64::min) <= tolerance_um + 2.0
            })
        })
    };
    for (old, new) in before.iter().zip(&arcs.borders) {
        assert_eq!((old.left, old.right), (new.left, new.right));
        assert!(is_near(old, new), "{tolerance_m} m: {old:?} {new:?}");
        assert!(is_near(new, old), "{tolerance_m} m: {new:?} {old:?}");
        if !old.is_closed {
            assert_eq!((old.nodes[0], old.nodes.last()), (new.nodes[0], new.nodes.last()));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn smoothed_zones_of_any_field_fit_together(
        outer in radii(26.0..57.4),
        inner in prop::option::of(radii(3.0..11.0)),
        seed in any::<u64>(),
        classes in 1..5_u64,
        smallest_m2 in prop_oneof![Just(0.0), 1.0..400.0],
        tolerance_m in prop_oneof![Just(0.0), Just(5.0), 0.001..1.0, 0.5..12.0, Just(100.0)],
    ) {
        let mut rings = vec![star((60.0, 60.0), &outer)];
        rings.extend(inner.map(|radii| star((60.0, 60.0), &radii)));
        let (field, cut) = cut(rings);
        let ground = ground(&cut, seed, classes);
        check(&field, &cut, &Patches::new(&cut, &ground, (smallest_m2 * 2e12) as i128), tolerance_m);
    }

    /// Ground of a smooth surface: the classes of a sum of two waves.
    #[test]
    fn smoothed_contours_fit_together(
        outer in radii(26.0..57.4),
        waves in prop::array::uniform4(-0.4..0.4_f64),
        tolerance_m in prop_oneof![Just(5.0), 0.5..12.0],
    ) {
        let (field, cut) = cut(vec![star((60.0, 60.0), &outer)]);
        let ground = contoured(&cut, |x, y| {
            1.5 + (waves[0] * x + waves[1] * y).sin() + (waves[2] * x + waves[3] * y).cos() / 2.0
        });
        check(&field, &cut, &Patches::new(&cut, &ground, 0), tolerance_m);
    }

    #[test]
    fn smoothed_zones_of_a_field_on_the_grid_lines_fit_together(
        west in 0..8_i32, south in 0..8_i32, east in 12..24_i32, north in 12..24_i32,
        seed in any::<u64>(), tolerance_m in 0.0..12.0,
    ) {
        let [west, south, east, north] = [west, south, east, north].map(|k| f64::from(k) * 5.0);
        let shell = vec![(west, south), (east, south), (east, north), (west, north)];
        let hole = vec![(west, 52.5), (west + 10.0, 47.5), (west + 10.0, 57.5)];
        let (field, cut) = cut(vec![shell, hole]);
        let ground = ground(&cut, seed, 3);
        check(&field, &cut, &Patches::new(&cut, &ground, 0), tolerance_m);
    }
}

/// Classes of a function of columns from the west and rows from the south.
fn contoured(cut: &CutField, of: impl Fn(f64, f64) -> f64) -> Vec<Ground> {
    let grid = cut.grid();
    let class = |cell: usize| {
        let (column, row) = (cell % grid.columns(), grid.rows() - 1 - cell / grid.columns());
        of(column as f64 + 0.5, row as f64 + 0.5).clamp(0.0, 9.0) as u8
    };
    (0..grid.cells())
        .map(
            |cell| {
                if cut.is_in_field(cell) { main_class(class(cell)) } else { Ground::OutsideField }
            },
        )
        .collect()
}

/// A square field from 2 m inside the grid's south-western corner to 2 m before a side.
fn square(side_m: f64) -> (Field, CutField) {
    let (low, high) = (2.0, side_m - 2.0);
    cut(vec![vec![(low, low), (high, low), (high, high), (low, high)]])
}

/// The inner places of all borders, metres from the grid's corner.
fn inner_places(cut: &CutField, patches: &Patches, tolerance_m: f64) -> Vec<Vec<(f64, f64)>> {
    let mut arcs = Arcs::new(&rings(cut, patches));
    smooth(cut, &mut arcs, (tolerance_m * PER_M) as i64);
    let metres = |node: &Node| (node.east as f64 / PER_M, node.north as f64 / PER_M);
    let inner = |arc: &Arc| {
        let nodes = match arc.is_closed {
            true => &arc.nodes[..],
            false => &arc.nodes[1..arc.nodes.len() - 1],
        };
        nodes.iter().map(metres).collect()
    };
    arcs.borders.iter().map(inner).collect()
}

#[test]
fn without_tolerance_borders_keep_to_the_cells() {
    let (_, cut) = square(40.0);
    let patches = Patches::new(&cut, &ground(&cut, 5, 3), 0);
    let (polygons, moved) = smoothed_polygons(&cut, &patches, 0.0);
    assert_eq!(polygons, outlines(&cut, &patches));
    assert!(moved.values().all(|moved| moved.to_left_um2 == 0.0 && moved.to_right_um2 == 0.0));
    assert!(moved.values().all(|moved| moved.length_um > 1e6));
}

/// Steps of one cell in both directions become one straight line, as much ground going over on one side
/// as on the other, but for the two ends.
#[test]
fn a_slanted_staircase_becomes_a_straight_line() {
    let (field, cut) = square(60.0);
    let ground = contoured(&cut, |x, y| if x > y { 1.0 } else { 0.0 });
    let patches = Patches::new(&cut, &ground, 0);
    check(&field, &cut, &patches, 5.0);
    assert_eq!(inner_places(&cut, &patches, 5.0), [[(7.5, 5.0), (55.0, 52.5)]]);
    let (_, moved) = smoothed_polygons(&cut, &patches, 5.0);
    let moved = moved.values().next().unwrap();
    // Between them the steps leave nine triangles of 2.5 m by 2.5 m on one side and ten on the other; 3 m
    // of a step are left at either end, each with one of 2.5 m by 3 m.
    let [left, right] = [moved.to_left_um2, moved.to_right_um2].map(|um2| um2 / 1e12);
    assert!((left - (9.0 * 3.125 + 2.0 * 3.75)).abs() < 1e-4, "{left}");
    assert!((right - 10.0 * 3.125).abs() < 1e-4, "{right}");
}

/// A ring island of one cell in the corner of a step, where the straight line would pass it by.
#[test]
fn an_island_in_a_bay_stays_on_its_side() {
    let (field, cut) = square(30.0);
    let picture = [
        "aaaaaa", //
        "aaaaaa", //
        "aaacbb", //
        "aacabb", //
        "aaaabb", //
        "bbbbbb",
    ];
    let patches = Patches::new(&cut, &drawn(&cut, &picture), 0);
    for tolerance_m in [2.0, 5.0, 10.0, 100.0] {
        let polygons = check(&field, &cut, &patches, tolerance_m);
        let islands: Vec<&MultiPolygon> = (polygons.iter().zip(&patches.ground))
            .filter(|(_, held)| **held == main_class(2))
            .map(|(polygons, _)| polygons)
            .collect();
        assert_eq!(islands.len(), 2);
        assert!(islands.iter().all(|island| island.unsigned_area() > 1.0), "{islands:?}");
    }
}

/// A lens between two others: both of its borders run between the same two places.
#[test]
fn two_borders_between_the_same_places_stay_apart() {
    let (field, cut) = square(30.0);
    let picture = [
        "aaaaaa", //
        "aaaaaa", //
        "acccca", //
        "bccccb", //
        "bbbbbb", //
        "bbbbbb",
    ];
    let patches = Patches::new(&cut, &drawn(&cut, &picture), 0);
    for tolerance_m in [2.0, 5.0, 10.0, 100.0] {
        let polygons = check(&field, &cut, &patches, tolerance_m);
        let lens = patches.of_cell[21 * 24 + 2].unwrap() as usize;
        assert!(polygons[lens].unsigned_area() > 10.0, "{tolerance_m} m: {polygons:?}");
        let edges: BTreeSet<Vec<u64>> = inner_places(&cut, &patches, tolerance_m)
            .iter()
            .map(|places| places.iter().map(|place| place.0.to_bits()).collect())
            .collect();
        assert!(edges.len() > 1);
    }
}

/// A border across the field beside an outline's straight edge between the same two places.
#[test]
fn a_border_does_not_fall_onto_the_outline() {
    // The outline's southern edge is cut off by a sliver of another class.
    let (field, cut) = cut(vec![vec![(2.0, 1.0), (28.0, 1.0), (28.0, 28.0), (2.0, 28.0)]]);
    let picture = ["aaaaaa", "aaaaaa", "aaaaaa", "aaaaaa", "abbbba", "abbbba"];
    let patches = Patches::new(&cut, &drawn(&cut, &picture), 0);
    for tolerance_m in [5.0, 100.0] {
        let polygons = check(&field, &cut, &patches, tolerance_m);
        assert!(polygons.iter().all(|p| p.0.is_empty() || p.unsigned_area() > 50.0));
    }
}

/// A disc of 50 m: its polygon must keep its area, of which striking out places until none may go would
/// take several percent.
#[test]
fn a_round_zone_keeps_its_area_and_loses_its_steps() {
    let (field, cut) = square(120.0);
    let ground = contoured(&cut, |x, y| if (x - 12.0).hypot(y - 12.0) < 10.0 { 1.0 } else { 0.0 });
    let patches = Patches::new(&cut, &ground, 0);
    let before = outlines(&cut, &patches);
    let polygons = check(&field, &cut, &patches, 5.0);
    let disc = patches.of_cell[12 * 24 + 12].unwrap() as usize;
    let share = polygons[disc].unsigned_area() / before[disc].unsigned_area();
    assert!((share - 1.0).abs() < 0.01, "{share}");
    let length = |polygons: &MultiPolygon| -> f64 {
        polygons.iter().map(|polygon| Euclidean.length(polygon.exterior())).sum()
    };
    // Along cells a round border is 4/π times as long.
    let around = std::f64::consts::TAU * 50.0;
    assert!(length(&before[disc]) > 1.25 * around);
    assert!((length(&polygons[disc]) / around - 1.0).abs() < 0.02, "{}", length(&polygons[disc]));
    assert!(polygons[disc].0[0].exterior().0.len() < before[disc].0[0].exterior().0.len() / 2);
}

/// Whatever the borders' order, an edge is met from both sides, and lines are those of the polygons.
#[test]
fn lines_of_a_border_are_those_of_both_zones() {
    let (_, cut) = square(100.0);
    let patches = Patches::new(&cut, &ground(&cut, 3, 2), 2 * 200_000_000_000_000);
    let (polygons, moved) = smoothed_polygons(&cut, &patches, 5.0);
    let mut lengths: BTreeMap<Vec<u64>, (f64, usize)> = BTreeMap::new();
    for ring in polygons.iter().flatten() {
        for ring in std::iter::once(ring.exterior()).chain(ring.interiors()) {
            for Line { start, end } in ring.lines() {
                let mut key = vec![
                    (start.x.to_bits(), start.y.to_bits()),
                    (end.x.to_bits(), end.y.to_bits()),
                ];
                key.sort_unstable();
                let key = key.into_iter().flat_map(|(x, y)| [x, y]).collect();
                let entry = lengths.entry(key).or_default();
                *entry = (Euclidean.length(&Line::new(start, end)), entry.1 + 1);
            }
        }
    }
    let shared: f64 = lengths.values().filter(|(_, times)| *times == 2).map(|(m, _)| m).sum();
    let reported: f64 = moved.values().map(|moved| moved.length_um / PER_M).sum();
    assert!((shared - reported).abs() < 1e-4, "{shared} {reported}");
}
