//! From zones and what is known of them to a plan: what to do where, and what it takes.
//!
//! A [`ZoneMap`] is the zones of one visit with their evidence, as the zone file carries them. A
//! [`Plan`] divides the same ground into [`Part`]s, each with its dose for every [`Operation`].
//! Places are metres in the field's plane; nothing here knows of rasters, files or pictures.

mod action;
mod assign;
mod cautions;
mod cut;
mod error;
mod gypsum;
mod make;
mod operation;
mod operations;
mod passes;
mod plan;
mod product_rate;
mod quantity;
mod random;
mod rate;
mod rates_file;
mod rates_tables;
mod refused;
mod set_depth;
mod slug;
mod strips;
mod typed;
mod words;
mod zone_map;
mod zone_notes;

pub use action::{Action, Amend, Bottom, Loosen, Target, What};
pub use error::PlanError;
pub use make::{NOT_BACKED, PlanSettings, make_plan};
pub use operation::{Basis, Operation, OperationKind};
pub use plan::{CheckStrips, Dose, Part, Plan};
pub use quantity::{Amount, Price, PricedUnit, Rate};
pub use rate::{MassRate, VolumeRate};
pub use rates_file::{BuriedLines, MoistureWindow, RatesFile};
pub use words::{mass_text, volume_text};
pub use zone_map::{BottomFound, MappedZone, MeanFound, ZoneMap};
