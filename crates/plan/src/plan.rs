//! A plan: the ground in parts, each with its doses.

use geo::MultiPolygon;
use survey::{Date, Depth, UnitSystem, Utm};

use crate::operation::Operation;
use crate::rate::{MassRate, VolumeRate};

/// What to do where in one field.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Its name, for people.
    pub name: String,
    /// The field's name.
    pub field_name: String,
    /// The farm's name, where it is given.
    pub farm: Option<String>,
    /// The grower's name, where it is given.
    pub grower: Option<String>,
    /// The plane the polygons are in.
    pub utm: Utm,
    /// The units people read it in.
    pub units: UnitSystem,
    /// Day of the visit the zones are from.
    pub visit: Option<Date>,
    /// The operations, in the order of the rates file.
    pub operations: Vec<Operation>,
    /// The ground in parts that do not overlap: zones without their check strips, then check strips.
    pub parts: Vec<Part>,
    /// Width of a pass of the machine, metres, where it is given.
    pub swath_m: Option<f64>,
    /// Heading of the passes, degrees clockwise from north, where it is given.
    pub heading_deg: Option<f64>,
    /// What stands across the plan in capitals: `RATES NOT BACKED BY A SOIL TEST`.
    pub stamps: Vec<String>,
    /// What should be known before acting on it: a margin over two inches, zones with few probes.
    pub warnings: Vec<String>,
    /// When to stop: sentences for the operator.
    pub stop_rules: Vec<String>,
    /// Hazards on this field: sentences for the operator.
    pub hazards: Vec<String>,
    /// How each figure was worked out: formulas with their numbers and source.
    pub workings: Vec<String>,
    /// What every reader must be told, whatever the plan: sentences in a fixed order.
    pub cautions: Vec<String>,
    /// How check strips were drawn, where some are left.
    pub check_strips: Option<CheckStrips>,
}

/// Whole passes of the machine that are left untreated, to prove the treatment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CheckStrips {
    /// How many.
    pub count: usize,
    /// Passes side by side in each.
    pub passes: usize,
    /// Seed of the draw: the same seed draws the same passes.
    pub seed: u64,
}

/// Ground that is treated alike.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Its name, unique in the plan: the zone's id, `Z3`, or `Z3 check 1` for a check strip in it.
    pub id: String,
    /// The zone it lies in.
    pub zone_id: String,
    /// Number of the zone's depth class, 1 the shallowest.
    pub class_no: usize,
    /// Name of the zone's depth class with the unit.
    pub class_name: String,
    /// Number of the check strip it belongs to, from 1: left untreated, to prove the treatment.
    pub check_strip: Option<usize>,
    /// What is to be done, in words: `leave`, `loosen to 14 in`, `1.5 ton/ac gypsum`.
    pub action: String,
    /// Outline in the plane, metres: valid, not empty, outer rings counter-clockwise, holes clockwise.
    pub polygons: MultiPolygon,
    /// True area on the ground, square metres.
    pub ground_area_m2: f64,
    /// Dose of each operation of the plan, in their order; `None` where the operation leaves it alone.
    pub doses: Vec<Option<Dose>>,
    /// Whether the zone has fewer probes than evidence asks for.
    pub few_probes: bool,
}

impl Part {
    /// What is to be done, marked where the zone has few probes: for lists and files that say nothing else
    /// of them.
    pub fn marked_action(&self) -> String {
        marked(&self.action, self.few_probes)
    }

    /// The part's name, marked in the same way.
    pub fn marked_id(&self) -> String {
        marked(&self.id, self.few_probes)
    }
}

fn marked(words: &str, few_probes: bool) -> String {
    if few_probes { format!("{words} (few probes)") } else { words.into() }
}

/// How much of an operation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Dose {
    /// Depth of tillage below the surface; 0 is the tool at the surface.
    Depth(Depth),
    /// Mass of a product.
    Mass(MassRate),
    /// Volume of a product.
    Volume(VolumeRate),
}

impl Dose {
    /// Whether anything is done: a depth, mass or volume above zero.
    pub fn is_some(self) -> bool {
        match self {
            Dose::Depth(depth) => depth.m() > 0.0,
            Dose::Mass(rate) => rate.kg_per_ha() > 0.0,
            Dose::Volume(rate) => rate.l_per_ha() > 0.0,
        }
    }

    /// Nothing of the same kind.
    pub fn none(self) -> Dose {
        match self {
            Dose::Depth(_) => Dose::Depth(Depth::from_m(0.0)),
            Dose::Mass(_) => Dose::Mass(MassRate::from_kg_per_ha(0.0)),
            Dose::Volume(_) => Dose::Volume(VolumeRate::from_l_per_ha(0.0)),
        }
    }
}
