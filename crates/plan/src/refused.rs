//! What no rates file may say, whatever its tables are.

use toml::{Table, Value};

use crate::error::PlanError;

/// The longest text, characters: names go into files with little room, and a text is a sentence.
const LONGEST_TEXT: usize = 400;

/// Keys of an action by which somebody may try to set a depth.
const SET_DEPTHS: [&str; 14] = [
    "set_depth",
    "depth",
    "tool_depth",
    "shank_depth",
    "working_depth",
    "tillage_depth",
    "loosen_to",
    "from",
    "top",
    "loose_layer",
    "loose_layer_depth",
    "loose_depth",
    "mean_depth",
    "depth_from",
];

/// Refuses a set depth as such, and one from the loose layer, with the reason.
pub(crate) fn refuse_set_depths(file: &str, plain: &Table) -> Result<(), PlanError> {
    let refused = |place: String, key: &str| {
        Err(PlanError::DepthOfTop { file: file.into(), place, key: key.into() })
    };
    let actions = plain.get("action").and_then(Value::as_array).into_iter().flatten();
    let actions =
        actions.enumerate().map(|(index, action)| (format!("[[action]] {}", index + 1), action));
    let tables = plain.iter().filter(|(name, _)| *name != "action");
    let tables = tables.map(|(name, table)| (format!("[{name}]"), table));
    for (place, table) in actions.chain(tables) {
        let Some(table) = table.as_table() else { continue };
        if let Some(key) = table.keys().find(|key| SET_DEPTHS.contains(&plain_key(key).as_str())) {
            return refused(place, key);
        }
        let word = table.get("bottom").and_then(Value::as_str);
        if word.is_some_and(|word| word != "profiles") {
            return refused(place, "bottom");
        }
    }
    Ok(())
}

/// A key in lower case, with `_` between words.
fn plain_key(key: &str) -> String {
    key.to_lowercase().replace(['-', ' '], "_")
}

/// Refuses control characters, which no file for a machine can carry, and texts without end.
pub(crate) fn refuse_odd_text(file: &str, plain: &Table) -> Result<(), PlanError> {
    let Some((path, problem)) = plain.iter().find_map(|(key, value)| odd_text(key, value)) else {
        return Ok(());
    };
    Err(PlanError::Place { file: file.into(), place: format!("`{path}`"), problem })
}

/// The first odd text in a value, with its path.
fn odd_text(path: &str, value: &Value) -> Option<(String, String)> {
    match value {
        Value::String(text) => {
            let length = text.chars().count();
            if text.chars().any(char::is_control) {
                Some((
                    path.into(),
                    "holds a line break or another control character; take it out".into(),
                ))
            } else if length > LONGEST_TEXT {
                let problem = format!("{length} characters long; shorten it to {LONGEST_TEXT}");
                Some((path.into(), problem))
            } else {
                None
            }
        }
        Value::Array(all) => all
            .iter()
            .enumerate()
            .find_map(|(index, value)| odd_text(&format!("{path} {}", index + 1), value)),
        Value::Table(table) => {
            table.iter().find_map(|(key, value)| odd_text(&format!("{path}.{key}"), value))
        }
        _ => None,
    }
}
