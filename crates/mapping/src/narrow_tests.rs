//! What must hold of zones where the narrowest is set.

use std::collections::BTreeSet;

use geo::Area;
use proptest::prelude::*;

use crate::cut::CutField;
use crate::narrow::{Narrowest, widen};
use crate::patches::{Ground, Patches};
use crate::zoning_tests::{check, cut, drawn, ground, main_class, radii, star};

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
        Ground::Class(held) => char::from(b'a' + held.class),
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
        .map(|cell| if cut.is_in_field(cell) { main_class(1) } else { Ground::OutsideField })
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

/// Cells that break the guarantee, the plain way: a disc is tried at each place.
fn breaches(
    cut: &CutField,
    patch: &[Option<u32>],
    piece: &[Option<u32>],
    width_m: f64,
) -> Vec<usize> {
    let in_patch = covered(cut, patch, width_m);
    let in_piece = covered(cut, piece, width_m);
    let tip = width_m / 4.0 / CELL_M + 1.0;
    let is_near = |cell: usize| {
        in_patch.iter().any(|&(label, other)| {
            let off = |a: usize, b: usize| a.abs_diff(b) as f64;
            let distance = off(cell % 24, other % 24).hypot(off(cell / 24, other / 24));
            Some(label) == patch[cell] && distance <= tip + 1e-9
        })
    };
    let has_room = |cell: usize| in_piece.iter().any(|&(_, other)| other == cell);
    (0..patch.len()).filter(|&cell| has_room(cell) && !is_near(cell)).collect()
}

/// Cells that a disc within one label covers, with the label.
fn covered(cut: &CutField, labels: &[Option<u32>], width_m: f64) -> BTreeSet<(u32, usize)> {
    // The square of a disc's width in cells is rounded up.
    let width = ((width_m / CELL_M).powi(2) - 1e-6).ceil().sqrt();
    let mut found = BTreeSet::new();
    for (x, y) in (0..=48_i32).flat_map(|y| (0..=48_i32).map(move |x| (x, y))) {
        let (mut touched, mut held) = (BTreeSet::new(), Vec::new());
        for (cell, label) in labels.iter().enumerate() {
            let off = |at: i32, cell: usize| f64::from((at - 2 * cell as i32 - 1).abs());
            let (across, along) = (off(x, cell % 24), off(y, cell / 24));
            if (across - 1.0).max(0.0).hypot((along - 1.0).max(0.0)) < width - 1e-6 {
                touched.insert(label.filter(|_| cut.share(cell) >= 0.5));
            }
            if across.hypot(along) < width + 1e-6 {
                held.push(cell);
            }
        }
        if let [Some(label)] = touched.into_iter().collect::<Vec<_>>()[..] {
            found.extend(held.iter().map(|&cell| (label, cell)));
        }
    }
    found
}

fn no_breach(cut: &CutField, ground: &[Ground], patches: &Patches, width_m: f64) {
    let piece = |held: &Ground| match held.class() {
        Some(_) => main_class(0),
        None => *held,
    };
    let pieces = Patches::new(cut, &ground.iter().map(piece).collect::<Vec<_>>(), 0);
    let with_class = |patches: &Patches| -> Vec<Option<u32>> {
        let known = |patch: &u32| patches.ground[*patch as usize].class().is_some();
        patches.of_cell.iter().map(|patch| patch.filter(known)).collect()
    };
    let found = breaches(cut, &with_class(patches), &with_class(&pieces), width_m);
    assert!(found.is_empty(), "{found:?}");
}

/// Ground in blocks, some of which are wide.
fn blocky(ground: &[Ground], cut: &CutField, block: usize) -> Vec<Ground> {
    let of = |cell: usize| {
        let (row, column) = (cell / 24 / block * block, cell % 24 / block * block);
        match (cut.is_in_field(cell), ground[(row * 24 + column).min(ground.len() - 1)]) {
            (false, _) => Ground::OutsideField,
            (true, Ground::OutsideField) => main_class(0),
            (true, held) => held,
        }
    };
    (0..ground.len()).map(of).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

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
        let narrowest = Narrowest { width_m, length_m: heading.then_some(2.0 * width_m) };
        let widened = widened(&cut, &ground, narrowest);
        for (before, after) in ground.iter().zip(&widened) {
            prop_assert_eq!(before.class().is_some(), after.class().is_some());
        }
        let patches = Patches::new(&cut, &widened, (smallest_m2 * 2e12) as i128);
        no_breach(&cut, &ground, &patches, width_m);
        let polygons = check(&field, &cut, &patches);
        let total: f64 = polygons.iter().map(Area::unsigned_area).sum();
        prop_assert!((total / field.plane_area_m2() - 1.0).abs() < 1e-6);
    }
}
