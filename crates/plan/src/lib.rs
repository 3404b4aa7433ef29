//! From zones and what is known of them to a plan: what to do where, and what it takes.
//!
//! A [`ZoneMap`] is the zones of one visit with their evidence, as the zone file carries them. A
//! [`Plan`] divides the same ground into [`Part`]s, each with its dose for every [`Operation`].
//! Places are metres in the field's plane; nothing here knows of rasters, files or pictures.

mod operation;
mod plan;
mod rate;
mod words;
mod zone_map;

pub use operation::{Basis, Operation, OperationKind};
pub use plan::{CheckStrips, Dose, Part, Plan};
pub use rate::{MassRate, VolumeRate};
pub use words::{mass_text, volume_text};
pub use zone_map::{BottomFound, MappedZone, MeanFound, ZoneMap};
