//! Smoothed borders of zones, and what each moved.

use std::collections::BTreeMap;

use survey::Field;

use crate::border_arcs::Arcs;
use crate::border_moved::{BorderMoved, Moved};
use crate::borders::smooth;
use crate::cut::{CutField, Node, PER_M};
use crate::patches::Patches;
use crate::rings::rings;

/// What the borders of two patches moved, the first on the left.
pub(crate) type MovedBetween = BTreeMap<(u32, u32), Moved>;

/// The rings of each patch with smoothed borders, and what that moved.
pub(crate) fn smoothed(
    cut: &CutField,
    patches: &Patches,
    tolerance_m: f64,
) -> (Vec<Vec<Vec<Node>>>, MovedBetween) {
    let along_cells = rings(cut, patches);
    let mut arcs = Arcs::new(&along_cells);
    let tolerance_um = (tolerance_m * PER_M).round() as i64;
    let edges = smooth(cut, &mut arcs, tolerance_um);
    let mut moved = MovedBetween::new();
    for (arc, edges) in arcs.borders.iter().zip(&edges) {
        let sum = moved.entry((arc.left, arc.right)).or_default();
        *sum = sum.and(Moved::of_edges(edges));
    }
    let rings = if tolerance_um == 0 { along_cells } else { arcs.rings() };
    (rings, moved)
}

/// The borders of zones, given by their patches and ids, in the zones' order. UTM's scale is taken for
/// the same all over the field.
pub(crate) fn borders(
    field: &Field,
    zones: &[(u32, &str)],
    moved: &MovedBetween,
) -> Vec<BorderMoved> {
    let rank_of: BTreeMap<u32, usize> =
        zones.iter().enumerate().map(|(rank, &(patch, _))| (patch, rank)).collect();
    // Ground without a value comes behind all zones.
    let rank = |patch: u32| rank_of.get(&patch).copied().unwrap_or(zones.len());
    let mut sums: BTreeMap<(usize, usize), Moved> = BTreeMap::new();
    for (&(left, right), &moved) in moved {
        let (left, right) = (rank(left), rank(right));
        let sum = sums.entry((left.min(right), left.max(right))).or_default();
        *sum = sum.and(if left < right { moved } else { moved.turned() });
    }
    let scale = field.ground_per_plane();
    let id = |rank: usize| zones.get(rank).map(|(_, id)| (*id).to_owned());
    let border = |((first, second), moved): ((usize, usize), Moved)| {
        Some(BorderMoved {
            first: id(first)?,
            second: id(second),
            length_m: moved.length_um / PER_M * scale.sqrt(),
            to_first_m2: moved.to_left_um2 / (PER_M * PER_M) * scale,
            to_second_m2: moved.to_right_um2 / (PER_M * PER_M) * scale,
        })
    };
    sums.into_iter().filter_map(border).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::zoning_tests::cut;

    #[test]
    fn borders_are_seen_from_the_zone_that_comes_first() {
        let (field, _) = cut(vec![vec![(1.0, 1.0), (119.0, 1.0), (119.0, 119.0), (1.0, 119.0)]]);
        let moved = |length_m: f64, left_m2: f64, right_m2: f64| Moved {
            length_um: length_m * PER_M,
            to_left_um2: left_m2 * PER_M * PER_M,
            to_right_um2: right_m2 * PER_M * PER_M,
        };
        // Patch 7 is the first zone, patch 2 the second; patches 4 and 9 are ground without a value.
        let between = MovedBetween::from([
            ((2, 7), moved(10.0, 1.0, 2.0)),
            ((7, 2), moved(20.0, 3.0, 5.0)),
            ((2, 9), moved(30.0, 5.0, 6.0)),
            ((4, 2), moved(40.0, 7.0, 9.0)),
        ]);
        let borders = borders(&field, &[(7, "Z1"), (2, "Z2")], &between);
        let scale = field.ground_area_m2() / field.plane_area_m2();
        assert!((scale - 1.0).abs() < 2e-3);
        let expected = [("Z1", Some("Z2"), 30.0, 5.0, 6.0), ("Z2", None, 70.0, 14.0, 13.0)];
        assert_eq!(borders.len(), expected.len());
        for (border, (first, second, length_m, to_first_m2, to_second_m2)) in
            borders.iter().zip(expected)
        {
            assert_eq!((border.first.as_str(), border.second.as_deref()), (first, second));
            assert!((border.length_m - length_m * scale.sqrt()).abs() < 1e-9, "{border:?}");
            assert!((border.to_first_m2 - to_first_m2 * scale).abs() < 1e-9, "{border:?}");
            assert!((border.to_second_m2 - to_second_m2 * scale).abs() < 1e-9, "{border:?}");
        }
    }
}
