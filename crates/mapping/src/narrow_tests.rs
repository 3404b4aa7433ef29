//! What must hold of zones where the narrowest is set.

use std::collections::BTreeSet;

use geo::Area;
use proptest::prelude::*;

use crate::cut::CutField;
use crate::narrow::{LONG_IN_WIDTHS, Narrowest, widen};
use crate::patches::{Ground, Patches};
use crate::zoning_tests::{check, cut, drawn, ground, radii, star};

/// A cell of the test grid, metres.
const CELL_M: f64 = 5.0;

fn disc(width_m: f64) -> Narrowest {
    Narrowest { width_m, length_m: None }
}

/// Depths that suit classes of 10 cm each.
fn depths(ground: &[Ground]) -> Vec<f64> {
    let depth_cm =
        |held: &Ground| held.class().map_or(f64::NAN, |class| f64::from(class) * 10.0 + 5.0);
    ground.iter().map(depth_cm).collect()
}

fn widened(cut: &CutField, ground: &[Ground], narrowest: Narrowest) -> Vec<Ground> {
    let mut result = ground.to_vec();
    widen(cut, &mut result, &depths(ground), narrowest, |depth_cm| (depth_cm / 10.0) as usize);
    result
}

/// What the rows of a drawn square of cells hold, as letters; `?` is ground without a value.
fn picture(ground: &[Ground], rows: usize, columns: usize) -> Vec<String> {
    let letter = |held: &Ground| match held {
        Ground::Class(class) => char::from(b'a' + class),
        Ground::Unmapped => '?',
        Ground::OutsideField => '.',
    };
    let row = |row: usize| ground[row * 24..][..columns].iter().map(letter).collect();
    (24 - rows..24).map(row).collect()
}

/// The picture of a rectangular field of cells, after narrow ground was given away.
fn widened_picture(drawing: &[&str], narrowest: Narrowest) -> Vec<String> {
    let (rows, columns) = (drawing.len(), drawing[0].len());
    let (east, north) = (columns as f64 * CELL_M, rows as f64 * CELL_M);
    let (_, cut) = cut(vec![vec![(0.0, 0.0), (east, 0.0), (east, north), (0.0, north)]]);
    picture(&widened(&cut, &drawn(&cut, drawing), narrowest), rows, columns)
}

#[test]
fn a_strip_between_two_grounds_splits_in_the_middle() {
    let drawing = ["aaaabbcccc"; 6];
    assert_eq!(widened_picture(&drawing, disc(15.0)), ["aaaaaccccc"; 6]);
    assert_eq!(widened_picture(&drawing, disc(10.0)), drawing);
}

#[test]
fn a_strip_along_the_edge_joins_its_inner_neighbour() {
    let drawing = ["abbbbb"; 6];
    assert_eq!(widened_picture(&drawing, disc(10.0)), ["bbbbbb"; 6]);
    assert_eq!(widened_picture(&drawing, disc(5.0)), drawing);
}

/// Four cells are 20 m: the corners of the field stay with their zones, and so do those of the border.
#[test]
fn corners_stay_with_their_zones() {
    let drawing = [
        "aaaabbbbb", //
        "aaaabbbbb",
        "aaaabbbbb",
        "aaaabbbbb",
        "cccccccbb",
        "cccccccbb",
        "ccccccccc",
        "ccccccccc",
    ];
    let settled = widened_picture(&drawing, disc(20.0));
    let corner = |row: usize, column: usize| settled[row].as_bytes()[column];
    let corners =
        [corner(0, 0), corner(0, 8), corner(7, 0), corner(7, 8), corner(3, 0), corner(4, 0)];
    assert_eq!(corners.map(char::from), ['a', 'b', 'c', 'c', 'a', 'c']);
}

/// Two wide grounds of one class stay two zones where what joins them is too narrow.
#[test]
fn a_neck_is_parted() {
    let drawing = [
        "aaaabbbbbbaaaa", //
        "aaaabbbbbbaaaa",
        "aaaabbbbbbaaaa",
        "aaaaaaaaaaaaaa",
        "aaaabbbbbbaaaa",
        "aaaabbbbbbaaaa",
        "aaaabbbbbbaaaa",
    ];
    let mut expected = drawing;
    expected[3] = "aaaaabbbbaaaaa";
    assert_eq!(widened_picture(&drawing, disc(15.0)), expected, "blunt tips of a cell are left");
    assert_eq!(widened_picture(&drawing, disc(5.0)), drawing);
}

/// A neck of the field itself stays as it is: nothing wider could be there.
#[test]
fn a_neck_of_the_field_keeps_its_zone() {
    let shell = vec![
        (0.0, 0.0),
        (40.0, 0.0),
        (40.0, 15.0),
        (60.0, 15.0),
        (60.0, 0.0),
        (100.0, 0.0),
        (100.0, 40.0),
        (60.0, 40.0),
        (60.0, 25.0),
        (40.0, 25.0),
        (40.0, 40.0),
        (0.0, 40.0),
    ];
    let (_, cut) = cut(vec![shell]);
    let one: Vec<Ground> = (0..cut.grid().cells())
        .map(|cell| if cut.is_in_field(cell) { Ground::Class(1) } else { Ground::OutsideField })
        .collect();
    assert_eq!(widened(&cut, &one, disc(20.0)), one);
}

/// A chequerboard has room for nothing: mean depth (5 + 15) / 2 = 10 cm, the deeper class.
#[test]
fn ground_without_any_room_is_one_zone_of_its_mean_depth() {
    let drawing = ["abab", "baba", "abab", "baba"];
    assert_eq!(widened_picture(&drawing, disc(10.0)), ["bbbb"; 4]);
}

/// Runs of two columns are wide enough across, but not long enough along.
#[test]
fn with_a_heading_zones_are_long_along_the_passes() {
    let drawing = [
        "aaaabbbb", //
        "aaaabbbb", "aaaabbbb", "aabbbbbb", "aabbaabb", "aabbaabb", "aabbaabb", "aabbbbbb",
    ];
    let along = Narrowest { width_m: 10.0, length_m: Some(30.0) };
    // Only the two outer columns on each side are six cells long; the rest is split between them.
    assert_eq!(widened_picture(&drawing, along), ["aaaabbbb"; 8]);
}

/// Cells that break the guarantee, the plain way: a shape is tried at each place.
fn breaches(
    cut: &CutField,
    patch: &[Option<u32>],
    piece: &[Option<u32>],
    narrowest: Narrowest,
) -> Vec<usize> {
    let counts = |cell: usize| cut.share(cell) >= 0.5;
    let covered = covered(patch, narrowest, &counts);
    let in_piece = covered_any(piece, narrowest, &counts);
    let (long, tip) = (
        if narrowest.length_m.is_some() { f64::from(LONG_IN_WIDTHS) } else { 1.0 },
        narrowest.width_m / 4.0 + CELL_M,
    );
    let is_near = |cell: usize| {
        covered.iter().any(|&(label, other)| {
            let off = |a: usize, b: usize| a.abs_diff(b) as f64 * CELL_M;
            let (across, along) = (off(cell % 24, other % 24), off(cell / 24, other / 24) / long);
            Some(label) == patch[cell] && across.hypot(along) <= tip + 1e-9
        })
    };
    (0..patch.len()).filter(|&cell| in_piece.contains(&cell) && !is_near(cell)).collect()
}

fn covered_any(
    labels: &[Option<u32>],
    narrowest: Narrowest,
    counts: &impl Fn(usize) -> bool,
) -> BTreeSet<usize> {
    covered(labels, narrowest, counts).into_iter().map(|(_, cell)| cell).collect()
}

/// Cells that a shape within one label covers, with the label.
fn covered(
    labels: &[Option<u32>],
    narrowest: Narrowest,
    counts: &impl Fn(usize) -> bool,
) -> BTreeSet<(u32, usize)> {
    // The square of a disc's width in cells is rounded up.
    let width_m = match narrowest.length_m {
        None => ((narrowest.width_m / CELL_M).powi(2) - 1e-6).ceil().sqrt() * CELL_M,
        Some(_) => narrowest.width_m,
    };
    let mut found = BTreeSet::new();
    for y in 0..=48_i32 {
        for x in 0..=48_i32 {
            let (mut touched, mut held) = (BTreeSet::new(), Vec::new());
            for (cell, label) in labels.iter().enumerate() {
                let dx = (x - 2 * (cell as i32 % 24) - 1).abs();
                let dy = (y - 2 * (cell as i32 / 24) - 1).abs();
                let reaches = |dx: i32, dy: i32| match narrowest.length_m {
                    None => f64::from(dx.pow(2) + dy.pow(2)).sqrt() * CELL_M / 2.0 - width_m / 2.0,
                    Some(length_m) => {
                        let (dx, dy) =
                            (f64::from(dx) * CELL_M - width_m, f64::from(dy) * CELL_M - length_m);
                        dx.max(dy)
                    }
                };
                if reaches((dx - 1).max(0), (dy - 1).max(0)) < -1e-6 {
                    touched.insert(label.filter(|_| counts(cell)));
                }
                if reaches(dx, dy) < 1e-6 {
                    held.push(cell);
                }
            }
            if let [Some(label)] = touched.into_iter().collect::<Vec<_>>()[..] {
                found.extend(held.iter().map(|&cell| (label, cell)));
            }
        }
    }
    found
}

fn no_breach(cut: &CutField, ground: &[Ground], patches: &Patches, narrowest: Narrowest) {
    let piece = |held: &Ground| match held.class() {
        Some(_) => Ground::Class(0),
        None => *held,
    };
    let pieces = Patches::new(cut, &ground.iter().map(piece).collect::<Vec<_>>(), 0);
    let with_class = |patches: &Patches| -> Vec<Option<u32>> {
        let known = |patch: &u32| patches.ground[*patch as usize].class().is_some();
        patches.of_cell.iter().map(|patch| patch.filter(known)).collect()
    };
    let found = breaches(cut, &with_class(patches), &with_class(&pieces), narrowest);
    assert!(found.is_empty(), "{found:?}");
}

/// Ground in blocks, some of which are wide.
fn blocky(ground: &[Ground], cut: &CutField, block: usize) -> Vec<Ground> {
    let of = |cell: usize| {
        let (row, column) = (cell / 24 / block * block, cell % 24 / block * block);
        match (cut.is_in_field(cell), ground[(row * 24 + column).min(ground.len() - 1)]) {
            (false, _) => Ground::OutsideField,
            (true, Ground::OutsideField) => Ground::Class(0),
            (true, held) => held,
        }
    };
    (0..ground.len()).map(of).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn no_zone_is_narrower_than_asked(
        outer in radii(26.0..57.4),
        inner in prop::option::of(radii(3.0..11.0)),
        seed in any::<u64>(),
        classes in 2..5_u64,
        block in 1..5_usize,
        width_m in prop_oneof![Just(10.0), Just(15.0), 4.0..40.0_f64],
        heading in any::<bool>(),
        smallest_m2 in prop_oneof![Just(0.0), 1.0..400.0],
    ) {
        let mut rings = vec![star((60.0, 60.0), &outer)];
        rings.extend(inner.map(|radii| star((60.0, 60.0), &radii)));
        let (field, cut) = cut(rings);
        let ground = blocky(&ground(&cut, seed, classes), &cut, block);
        let narrowest = Narrowest { width_m, length_m: heading.then_some(3.0 * width_m) };
        let widened = widened(&cut, &ground, narrowest);
        for (before, after) in ground.iter().zip(&widened) {
            prop_assert_eq!(before.class().is_some(), after.class().is_some());
        }
        let patches = Patches::new(&cut, &widened, (smallest_m2 * 2e12) as i128);
        no_breach(&cut, &ground, &patches, narrowest);
        let polygons = check(&field, &cut, &patches);
        let total: f64 = polygons.iter().map(Area::unsigned_area).sum();
        prop_assert!((total / field.plane_area_m2() - 1.0).abs() < 1e-6);
    }
}
