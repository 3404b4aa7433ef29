//! At most so many zones: the smallest joins a neighbour until they are few enough.

use crate::cut::CutField;
use crate::patches::{Absorbed, Ground, Joining, Patches};

/// What was joined, and whether it was enough.
pub(crate) struct Fewer {
    /// What became of patches, in the order in which it was done.
    pub joins: Vec<PatchJoin>,
    /// Whether there are at most as many zones as asked.
    pub is_reached: bool,
}

/// A patch that joined another.
pub(crate) struct PatchJoin {
    /// What the patch and the other held.
    pub ground: Ground,
    pub into_ground: Ground,
    /// Twice its area, µm².
    pub double_area: i128,
    /// The patch that holds it in the end.
    pub patch: u32,
}

/// While there are more zones than `most`, the smallest joins the neighbour with the longest shared edge,
/// which is at least as large and keeps its class; neighbours of one class that touch then become one.
/// A zone that touches no other stays, and the next larger joins in its place.
pub(crate) fn keep_most(patches: &mut Patches, cut: &CutField, most: usize) -> Fewer {
    let mut joining = Joining::new(patches, cut, i128::MAX);
    let is_zone = |joining: &Joining, patch: u32| {
        joining.has_class(patch) && joining.area[patch as usize] > 0
    };
    let zones = joining.waiting.iter().filter(|(_, patch)| is_zone(&joining, *patch)).count();
    while zones - joining.absorbed.len() > most {
        let Some((_, smallest)) = joining.waiting.pop_first() else { break };
        if is_zone(&joining, smallest) {
            joining.join(smallest);
        }
    }
    let is_reached = zones - joining.absorbed.len() <= most;
    let absorbed = std::mem::take(&mut joining.absorbed);
    let joins = absorbed.into_iter().map(|absorbed| patch_join(&mut joining, absorbed)).collect();
    patches.take(joining);
    Fewer { joins, is_reached }
}

fn patch_join(joining: &mut Joining, absorbed: Absorbed) -> PatchJoin {
    let Absorbed { taken, into, double_area } = absorbed;
    let ground = |patch: u32| joining.ground[patch as usize];
    let (ground, into_ground) = (ground(taken), ground(into));
    PatchJoin { ground, into_ground, double_area, patch: joining.sets.root(into) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::zoning_tests::{cut, drawn, main_class};

    /// A field of cells of 5 m, drawn from its south-western corner, a trifle within its outer lines.
    fn patches(drawing: &[&str]) -> (CutField, Patches) {
        let (east, north) = (drawing[0].len() as f64 * 5.0, drawing.len() as f64 * 5.0);
        let (least, east, north) = (1e-5, east - 1e-5, north - 1e-5);
        let ring = vec![(least, least), (east, least), (east, north), (least, north)];
        let (_, cut) = cut(vec![ring]);
        let patches = Patches::new(&cut, &drawn(&cut, drawing), 0);
        (cut, patches)
    }

    fn told(fewer: &Fewer) -> Vec<(Ground, Ground, f64)> {
        let m2 = |double_area: i128| (double_area as f64 / 2e12).round();
        fewer.joins.iter().map(|j| (j.ground, j.into_ground, m2(j.double_area))).collect()
    }

    /// The smallest is `c`, which shares 10 m with `d` and 5 m with `b`; then, of the equals `a` and `b`, the
    /// first.
    #[test]
    fn the_smallest_joins_first_along_its_longest_edge() {
        let [a, b, c, d] = [0, 1, 2, 3].map(main_class);
        let (cut, mut patches) = patches(&["aabbcdd", "aabbddd"]);
        let fewer = keep_most(&mut patches, &cut, 2);
        assert!(fewer.is_reached);
        assert_eq!(told(&fewer), [(c, d, 25.0), (a, b, 100.0)]);
        assert_eq!(patches.of_cell[22 * 24], patches.of_cell[22 * 24 + 2], "a is in b's patch");
        assert_eq!(Some(fewer.joins[1].patch), patches.of_cell[22 * 24]);
    }

    /// Where `b` joins `a`, the two of `a` touch: one join more is told, and there are fewer than asked.
    #[test]
    fn equals_that_come_to_touch_become_one() {
        let [a, b] = [0, 1].map(main_class);
        let (cut, mut patches) = patches(&["aabaaa", "aabaaa"]);
        let fewer = keep_most(&mut patches, &cut, 2);
        assert_eq!(told(&fewer), [(b, a, 50.0), (a, a, 150.0)]);
        assert!(fewer.is_reached);
    }

    #[test]
    fn enough_is_left_alone() {
        let (cut, mut patches) = patches(&["aabb"]);
        let fewer = keep_most(&mut patches, &cut, 2);
        assert!(fewer.is_reached && fewer.joins.is_empty());
    }

    /// Ground without a value parts the zones: two cannot become one, and it is said.
    #[test]
    fn zones_that_touch_no_other_are_too_many() {
        let (cut, mut patches) = patches(&["ab?bbb", "ab?bbb"]);
        let fewer = keep_most(&mut patches, &cut, 1);
        assert!(!fewer.is_reached);
        assert_eq!(fewer.joins.len(), 1);
    }
}
