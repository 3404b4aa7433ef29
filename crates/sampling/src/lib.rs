//! Where to probe next: spots on a grid, at random, by strata, on transects or where a map is least sure;
//! how many are needed for a wanted precision; and a short walk past all of them.
//!
//! Everything happens in the field's metric plane. Whatever depends on chance depends on a seed alone, and
//! nothing on the machine: angles go through `libm`, and roots and products are exact on their own.
//!
//! ```
//! use geo::{MultiPolygon, polygon};
//! use sampling::{Ground, shortest_walk, square_grid};
//!
//! let field = polygon![(x: 0.0, y: 0.0), (x: 200.0, y: 0.0), (x: 200.0, y: 100.0), (x: 0.0, y: 100.0)];
//! let ground = Ground::inside(&MultiPolygon(vec![field]), 5.0)?;
//! let spots = square_grid(&ground, 40.0, 0.0)?;
//! assert_eq!(spots.len(), 15, "three rows of five");
//! let walk = shortest_walk(ground.south_west_corner(), &spots);
//! assert!(walk.length_m <= walk.plain_m);
//! # Ok::<(), sampling::SamplingError>(())
//! ```

mod allotment;
mod distance;
mod error;
mod gaps;
mod grid;
mod ground;
mod least_sure;
mod names;
mod planned;
mod random_places;
mod sample_size;
mod strata;
mod transects;
mod walk;

pub use allotment::allot;
pub use distance::{distance_m, nearest_m};
pub use error::SamplingError;
pub use gaps::{Gaps, widest_gaps};
pub use grid::square_grid;
pub use ground::Ground;
pub use least_sure::{LeastSure, MOST_KNOWN, least_sure};
pub use names::spot_names;
pub use planned::{PlacedSpot, PlannedSpot, Why, in_walking_order};
pub use random_places::random_places;
pub use sample_size::{Spread, precision_of, sample_size, spots_needed};
pub use strata::{DividedGround, Stratum, stratified_places};
pub use transects::{GOLDEN, Transects, widest_phase_gap};
pub use walk::{Walk, shortest_walk};

/// The most spots of one plan: no one walks to more on a visit, and the walk is sought by comparing all pairs.
pub const MOST_SPOTS: usize = 2_000;

/// Two new spots stand no nearer to each other than this, metres: nearer ones are one place to a receiver, and
/// insertions within half a metre count as one spot.
pub const APART_M: f64 = 2.0;
