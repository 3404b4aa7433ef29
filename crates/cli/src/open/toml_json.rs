//! TOML as the page reads it, and what the page writes as TOML.

use serde_json::{Map, Value, json};
use toml_edit::{Array, InlineTable};

/// A value as JSON; a day is a text.
pub fn json(value: &toml::Value) -> Value {
    match value {
        toml::Value::String(text) => json!(text),
        toml::Value::Integer(number) => json!(number),
        toml::Value::Float(number) => json!(number),
        toml::Value::Boolean(is) => json!(is),
        toml::Value::Datetime(day) => json!(day.to_string()),
        toml::Value::Array(values) => values.iter().map(json).collect(),
        toml::Value::Table(table) => {
            let entries = table.iter().map(|(key, value)| (key.clone(), json(value)));
            Value::Object(entries.collect::<Map<String, Value>>())
        }
    }
}

/// A value of JSON as one of TOML.
///
/// # Errors
/// When TOML has none: null, or a number that is too large.
pub fn toml(value: &Value) -> Result<toml_edit::Value, String> {
    Ok(match value {
        Value::Null => return Err("null is no value".into()),
        Value::Bool(is) => (*is).into(),
        Value::String(text) => text.as_str().into(),
        Value::Number(number) => match (number.as_i64(), number.as_f64()) {
            (Some(whole), _) => whole.into(),
            (None, Some(number)) => number.into(),
            (None, None) => return Err(format!("{number} is too large")),
        },
        Value::Array(values) => {
            toml_edit::Value::Array(values.iter().map(toml).collect::<Result<Array, String>>()?)
        }
        Value::Object(entries) => {
            let mut table = InlineTable::new();
            for (key, value) in entries {
                table.insert(key, toml(value)?);
            }
            toml_edit::Value::InlineTable(table)
        }
    })
}
