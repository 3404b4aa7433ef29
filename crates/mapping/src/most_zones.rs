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
