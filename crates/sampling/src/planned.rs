//! Spots of a plan, in walking order.

use survey::EastNorth;

use crate::names::spot_names;
use crate::walk::{Walk, shortest_walk};

/// Why a spot stands where it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// It was probed on an earlier visit.
    Again,
    /// It is on the grid.
    Grid,
    /// It was drawn at random.
    Random,
    /// It was drawn at random in its stratum.
    Stratum,
    /// It is on a line across traffic, the line's number.
    Transect(usize),
    /// An earlier map is least sure there.
    LeastSure,
}

impl Why {
    /// In a word or two: `grid`, `transect 3`.
    pub fn words(self) -> String {
        match self {
            Why::Again => "again".into(),
            Why::Grid => "grid".into(),
            Why::Random => "random".into(),
            Why::Stratum => "random in stratum".into(),
            Why::Transect(line) => format!("transect {line}"),
            Why::LeastSure => "least sure".into(),
        }
    }
}

/// A spot that was placed.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedSpot {
    /// Where.
    pub place: EastNorth,
    /// Why there.
    pub why: Why,
    /// The stratum it is in, where the field has some.
    pub stratum: Option<String>,
    /// Its name on an earlier visit.
    pub kept_name: Option<String>,
}

/// A spot of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedSpot {
    /// Its name.
    pub id: String,
    /// Where.
    pub place: EastNorth,
    /// Why there.
    pub why: Why,
    /// The stratum it is in, where the field has some.
    pub stratum: Option<String>,
}

/// The spots in walking order with their names, and the walk.
pub fn in_walking_order(start: EastNorth, placed: &[PlacedSpot]) -> (Vec<PlannedSpot>, Walk) {
    let places: Vec<EastNorth> = placed.iter().map(|spot| spot.place).collect();
    let walk = shortest_walk(start, &places);
    let ordered: Vec<&PlacedSpot> = walk.order.iter().map(|&number| &placed[number]).collect();
    let kept: Vec<Option<&str>> = ordered.iter().map(|spot| spot.kept_name.as_deref()).collect();
    let planned = |(spot, id): (&&PlacedSpot, String)| PlannedSpot {
        id,
        place: spot.place,
        why: spot.why,
        stratum: spot.stratum.clone(),
    };
    (ordered.iter().zip(spot_names(&kept)).map(planned).collect(), walk)
}
