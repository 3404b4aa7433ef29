//! Borders of zones and the ground that their smoothing moved, as JSON.

use mapping::{BorderMoved, DepthMap};
use serde_json::{Value, json};

use crate::rounded::decimals;

/// Each border of two zones, or of a zone and ground without a value, by the zones' order.
pub(super) fn part(map: &DepthMap) -> Value {
    map.borders.iter().map(border).collect()
}

fn border(border: &BorderMoved) -> Value {
    json!({
        "first_zone": border.first,
        "second_zone": border.second,
        "length_m": decimals(border.length_m, 2),
        "to_first_m2": decimals(border.to_first_m2, 2),
        "to_second_m2": decimals(border.to_second_m2, 2),
    })
}
