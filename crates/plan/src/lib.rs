//! From zones and what is known of them to a plan: what to do where, and what it takes.
//!
//! A [`ZoneMap`] is the zones of one visit with their evidence, as the zone file carries them. A
//! [`Plan`] divides the same ground into [`Part`]s, each with its dose for every [`Operation`].
//! Places are metres in the field's plane; nothing here knows of rasters, files or pictures.
//!
//! What to do is the user's word, in a [`RatesFile`]; [`make_plan`] holds it against the zones:
//!
//! ```
//! use plan::{Bottom, RatesFile, What};
//!
//! let rates = RatesFile::parse("rates.toml", r#"
//!     [[action]]
//!     classes = [2]
//!     do = "loosen"
//!     bottom = { depth = "13in", how = "3 pits", date = "2025-09-30" }
//! "#)?;
//! let What::Loosen(loosen) = &rates.actions[0].what else { panic!("it loosens") };
//! assert!(matches!(loosen.bottom, Bottom::Given { .. }));
//! assert_eq!(loosen.margin.inches(), 1.0);
//!
//! // The depth of the tool is no figure of its own: it follows from the bottom.
//! let refused = RatesFile::parse("rates.toml", "[[action]]\nclasses = [2]\ndo = \"loosen\"\ndepth = \"14in\"");
//! assert!(refused.is_err());
//! # Ok::<(), plan::PlanError>(())
//! ```

mod action;
mod assign;
mod cautions;
mod cut;
mod drafts;
mod error;
mod gypsum;
mod make;
mod operation;
mod passes;
mod plan;
mod prices;
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
mod totals;
mod typed;
mod words;
mod zone_map;
mod zone_notes;

pub use action::{Action, Amend, Bottom, Loosen, Target, What};
pub use cautions::report_cautions;
pub use error::PlanError;
pub use make::{NOT_BACKED, PlanSettings, make_plan};
pub use operation::{Basis, Operation, OperationKind};
pub use plan::{CheckStrips, Dose, Part, Plan};
pub use quantity::{Amount, Price, PricedUnit, Rate};
pub use rate::{MassRate, VolumeRate};
pub use rates_file::{BuriedLines, MoistureWindow, RatesFile};
pub use words::{capitalised, mass_text, volume_text};
pub use zone_map::{BottomFound, MappedZone, MeanFound, ZoneMap};
