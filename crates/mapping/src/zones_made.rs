//! How the zones of a field came about: by which rules, and what those cost.

use survey::Field;

use crate::cut::CutField;
use crate::most_zones::PatchJoin;
use crate::patches::{Ground, Patches};

/// More of the field than this in zones of another class is too much to pass over (common practice).
pub const MUCH_OF_OTHER_CLASS: f64 = 0.25;

/// How the zones of a field came about.
#[derive(Debug, Clone)]
pub struct ZonesMade {
    /// The narrowest zone, metres.
    pub narrowest_m: Option<f64>,
    /// How long zones are drawn along the passes where there is room, metres: with a narrowest zone and a
    /// heading.
    pub length_m: Option<f64>,
    /// Side of the cells that zones are made of, metres.
    pub cell_m: f64,
    /// True area on the ground whose own class is not that of its zone, square metres: narrow ground, small
    /// zones and zones too many went to others.
    pub other_class_m2: f64,
    /// What was joined because there were more zones than the most asked for, in order.
    pub joins: Vec<ZoneJoin>,
    /// Whether there are no more zones than asked: too many are left where they touch no other.
    pub is_within_most: bool,
}

/// A zone that joined another because there were too many.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneJoin {
    /// Its class.
    pub class: usize,
    /// True area on the ground, square metres.
    pub area_m2: f64,
    /// The class it joined.
    pub into_class: usize,
    /// Id of the zone that holds it in the end.
    pub into_zone: String,
}

/// Ground in patches of another class than its own.
pub(crate) fn other_class_m2(
    field: &Field,
    cut: &CutField,
    own: &[Ground],
    patches: &Patches,
) -> f64 {
    let held = |patch: u32| patches.ground[patch as usize];
    let is_other = |cell: usize| patches.of_cell[cell].is_some_and(|p| held(p) != own[cell]);
    let double_um2 =
        (0..own.len()).filter(|&cell| is_other(cell)).map(|cell| cut.double_area(cell));
    ground_m2(field, double_um2.sum())
}

/// Twice an area in the plane, µm², as the area on the ground. UTM's scale is taken for the same all over
/// the field.
fn ground_m2(field: &Field, double_um2: i128) -> f64 {
    double_um2 as f64 / 2e12 * field.ground_per_plane()
}

/// Joined zones by the ids of those that hold them.
pub(crate) fn joins(
    field: &Field,
    joins: &[PatchJoin],
    id_of: impl Fn(u32) -> Option<String>,
) -> Vec<ZoneJoin> {
    let named = |join: &PatchJoin| {
        Some(ZoneJoin {
            class: usize::from(join.ground.class()?),
            area_m2: ground_m2(field, join.double_area),
            into_class: usize::from(join.into_ground.class()?),
            into_zone: id_of(join.patch)?,
        })
    };
    joins.iter().filter_map(named).collect()
}
