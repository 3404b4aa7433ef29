//! Numbers of a season as all its files write them, with their units in their names.

use season::{Falls, MoistureMatch, ReadingChange};
use serde_json::Value;
use survey::{Depth, Reading, UnitSystem};

use crate::rounded::decimals;

/// Decimals of depths: a tenth of a millimetre at least, finer than any rod.
const DEPTH_DECIMALS: i32 = 3;

/// A depth in the reader's unit.
pub(crate) fn depth(depth: Depth, units: UnitSystem) -> Value {
    decimals(units.depth(depth), DEPTH_DECIMALS)
}

/// A reading as a number in the reader's unit, the depth that is certain.
pub(crate) fn at_least(reading: Reading, units: UnitSystem) -> Value {
    depth(reading.at_least(), units)
}

/// The least and the most that a change can be, in the reader's unit; null where nothing bounds it.
pub(crate) fn change_bounds(change: ReadingChange, units: UnitSystem) -> [Value; 2] {
    [change.least_cm(), change.most_cm()]
        .map(|bound| bound.map_or(Value::Null, |cm| depth(Depth::from_cm(cm), units)))
}

/// Whether moistures match: `yes`, `no`, `unknown`.
pub(crate) fn moisture_matches(moisture: &MoistureMatch) -> &'static str {
    match moisture {
        MoistureMatch::Matched { .. } => "yes",
        MoistureMatch::Differs { .. } => "no",
        MoistureMatch::Unknown { .. } => "unknown",
    }
}

/// What became of a spot's reading: `reached`, `not_reached`, `no_reading`.
pub(crate) fn outcome(reading: Option<Reading>) -> &'static str {
    match reading {
        Some(Reading::Reached(_)) => "reached",
        Some(Reading::NotReached { .. }) => "not_reached",
        None => "no_reading",
    }
}

/// The place of a spot among those that fell and among those that deepened, from 1.
pub(crate) fn ranks(falls: &Falls, spot: usize) -> [Option<usize>; 2] {
    [&falls.fell, &falls.deepened]
        .map(|list| list.iter().position(|change| change.spot == spot).map(|index| index + 1))
}
