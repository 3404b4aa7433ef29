//! One value of a TOML file changed, its comments kept, and only where it can be read afterwards.

use std::fs;
use std::path::Path;

use formats::{Output, write_files};
use serde::Deserialize;
use serde_json::Value;
use toml_edit::{DocumentMut, Item, Table};

use super::App;
use super::answer::Refused;
use super::command_line::stays_below;
use super::{rates, toml_json};
use crate::config::{Config, NAME};

/// The largest file that is edited.
const MOST_BYTES: u64 = 1 << 20;

/// Settings that name files; the page may set them to a file of the field's folder alone.
const FILES: [&str; 5] = ["boundary", "strata", "edits", "rates", "weather"];
/// Settings that the page leaves alone, since they say where it reads and writes.
const FIXED: [&str; 2] = ["visits", "results"];

/// Changes of a file.
#[derive(Debug, Deserialize)]
pub struct Edit {
    file: String,
    set: Vec<Change>,
}

/// One value.
#[derive(Debug, Deserialize)]
pub struct Change {
    /// Keys and places down to the value.
    pub at: Vec<Step>,
    /// The new value; null takes it away.
    pub to: Value,
}

/// A step down to a value.
#[derive(Debug, Clone, Deserialize)]
#[serde(untagged)]
pub enum Step {
    /// The entry of a list, from 0.
    Place(usize),
    /// The entry of a table.
    Key(String),
}

/// Changes settings or rates.
///
/// # Errors
/// When there is no such value, or the file could not be read with it.
pub fn apply(app: &App, edit: &Edit) -> Result<(), Refused> {
    let _held = app.changing();
    match edit.file.as_str() {
        NAME => {
            edit.set.iter().try_for_each(refuse_of_settings)?;
            set(app, &edit.set)
        }
        rates::NAME => {
            let text = rates::text(app)?;
            let shown = rates::path(app)?.display().to_string();
            rates::write(app, &changed(&shown, &text, &edit.set)?)
        }
        other => Err(Refused::not_found(&format!("{other:?} is not a file that is edited here"))),
    }
}

/// Changes the settings file, which is made where it is missing.
///
/// # Errors
/// When it could not be read afterwards.
pub fn set(app: &App, changes: &[Change]) -> Result<(), Refused> {
    let path = app.field.settings_file();
    let text = read(&path)?.unwrap_or_default();
    let shown = path.display().to_string();
    let changed = changed(&shown, &text, changes)?;
    write_checked(&path, &changed, |trial| {
        Config::read(trial)?;
        Ok(())
    })
}

fn refuse_of_settings(change: &Change) -> Result<(), Refused> {
    let Some(Step::Key(key)) = change.at.first() else {
        return Err(Refused::unusable("a setting has a name"));
    };
    if FIXED.contains(&key.as_str()) {
        return Err(Refused::unusable(&format!("{key} is set by hand in {NAME}")));
    }
    let leads_out = match &change.to {
        Value::String(path) => !stays_below(Path::new(path)),
        Value::Null => false,
        _ => true,
    };
    match FILES.contains(&key.as_str()) && leads_out {
        true => Err(Refused::unusable(&format!("{key} is a file of the field's folder"))),
        false => Ok(()),
    }
}

/// The text of a file; nothing where there is none.
///
/// # Errors
/// When it cannot be read, or is no text of a sensible size.
pub fn read(path: &Path) -> Result<Option<String>, Refused> {
    let shown = path.display();
    let Ok(about) = fs::metadata(path) else { return Ok(None) };
    if about.len() > MOST_BYTES {
        return Err(Refused::unusable(&format!("{shown}: larger than 1 MB; edit it by hand")));
    }
    let text = fs::read_to_string(path)
        .map_err(|error| Refused::unusable(&format!("{shown}: cannot be read ({error})")))?;
    Ok(Some(text))
}

/// Writes a file if a reader takes its text, else tells what the reader says; then the file is as it was.
///
/// # Errors
/// When the reader refuses it, or it cannot be written.
pub fn write_checked(
    path: &Path,
    text: &str,
    reader: impl Fn(&Path) -> Result<(), Box<dyn std::error::Error>>,
) -> Result<(), Refused> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let file = || [Output { name: name.clone(), bytes: text.as_bytes().to_vec() }];
    let trial = tempfile::tempdir()
        .map_err(|error| Refused::unusable(&format!("no folder to try it in ({error})")))?;
    write_files(trial.path(), &file(), true)?;
    if let Err(error) = reader(&trial.path().join(&name)) {
        return Err(Refused::of_copy(&*error, trial.path(), folder));
    }
    Ok(write_files(folder, &file(), true)?)
}

/// A text with its values changed.
fn changed(shown: &str, text: &str, changes: &[Change]) -> Result<String, Refused> {
    let told = |problem: &dyn std::fmt::Display| {
        Refused::unusable(format!("{shown}: {problem}").trim_end())
    };
    let mut document: DocumentMut = text.parse().map_err(|error| told(&error))?;
    for Change { at, to } in changes {
        let (last, way) = at.split_last().ok_or_else(|| told(&"no value is named"))?;
        let holder = descend(document.as_item_mut(), way).map_err(|problem| told(&problem))?;
        put(holder, last, to).map_err(|problem| told(&problem))?;
    }
    Ok(document.to_string())
}

/// The table or list that holds a value; tables on the way are made where they are missing.
fn descend<'a>(mut item: &'a mut Item, way: &[Step]) -> Result<&'a mut Item, String> {
    for step in way {
        item = match step {
            Step::Key(key) => {
                let table = item
                    .as_table_like_mut()
                    .ok_or_else(|| format!("{key:?} is asked for in what is no table"))?;
                table.entry(key).or_insert(Item::Table(Table::new()))
            }
            Step::Place(place) => {
                item.get_mut(*place).ok_or_else(|| format!("there is no entry {}", place + 1))?
            }
        };
    }
    Ok(item)
}

/// Sets or takes away one entry. A new value keeps the comment and the blanks of the old one.
fn put(holder: &mut Item, last: &Step, to: &Value) -> Result<(), String> {
    match (last, to) {
        (Step::Key(key), Value::Null) => {
            let table = holder.as_table_like_mut().ok_or("what holds the value is no table")?;
            table.remove(key);
        }
        (Step::Key(key), to) => {
            let table = holder.as_table_like_mut().ok_or("what holds the value is no table")?;
            let old = table.get(key).and_then(Item::as_value);
            let value = like(old, to)?;
            match table.get_mut(key) {
                // The key stays with its comment.
                Some(item) => *item = Item::Value(value),
                None => drop(table.insert(key, Item::Value(value))),
            }
        }
        (Step::Place(place), to) => put_entry(holder, *place, to)?,
    }
    Ok(())
}

/// Sets, adds at the end or takes away an entry of a list, of values or of tables.
fn put_entry(holder: &mut Item, place: usize, to: &Value) -> Result<(), String> {
    let missing = || format!("there is no entry {}", place + 1);
    // The first entry of a list of tables that is not there yet.
    if holder.is_table_like() && holder.as_table_like().is_some_and(toml_edit::TableLike::is_empty)
    {
        *holder = Item::ArrayOfTables(toml_edit::ArrayOfTables::new());
    }
    if let Some(tables) = holder.as_array_of_tables_mut() {
        let Value::Object(entries) = to else {
            return match (to, place < tables.len()) {
                (Value::Null, true) => {
                    tables.remove(place);
                    Ok(())
                }
                (Value::Null, false) => Err(missing()),
                _ => Err("an entry of this list is a table".into()),
            };
        };
        let mut table = Table::new();
        for (key, value) in entries {
            table.insert(key, Item::Value(toml_json::toml(value)?));
        }
        let count = tables.len();
        match tables.get_mut(place) {
            Some(old) => {
                *table.decor_mut() = old.decor().clone();
                *old = table;
            }
            None if place == count => {
                table.decor_mut().set_prefix("\n");
                tables.push(table);
            }
            None => return Err(missing()),
        }
        return Ok(());
    }
    let array = holder.as_array_mut().ok_or("what holds the value is no list")?;
    match to {
        Value::Null if place < array.len() => drop(array.remove(place)),
        to if place == array.len() => array.push(like(None, to)?),
        to if place < array.len() => {
            let value = like(array.get(place), to)?;
            array.replace_formatted(place, value);
        }
        _ => return Err(missing()),
    }
    Ok(())
}

/// A new value with the blanks and the comment of the old one; a day stays a day.
fn like(old: Option<&toml_edit::Value>, to: &Value) -> Result<toml_edit::Value, String> {
    let mut value = toml_json::toml(to)?;
    let Some(old) = old else { return Ok(value) };
    if old.is_datetime()
        && let Some(day) = value.as_str().and_then(|day| day.parse::<toml_edit::Datetime>().ok())
    {
        value = day.into();
    }
    *value.decor_mut() = old.decor().clone();
    Ok(value)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn edited(text: &str, at: Value, to: Value) -> Result<String, Value> {
        let change = Change { at: serde_json::from_value(at).unwrap(), to };
        changed("x.toml", text, &[change]).map_err(|refused| refused.json())
    }

    #[test]
    fn one_value_changes_and_comments_stay() {
        let text = "# the field\nname = \"A\"  # short\nplanted = 2025-05-06\n";
        let to = edited(text, json!(["name"]), json!("North \"B\"")).unwrap();
        assert_eq!(to, text.replace("\"A\"", "'North \"B\"'"));
        let to = edited(text, json!(["planted"]), json!("2025-05-07")).unwrap();
        assert_eq!(to, text.replace("05-06", "05-07"));
        let to = edited(text, json!(["planted"]), Value::Null).unwrap();
        assert_eq!(to, "# the field\nname = \"A\"  # short\n");
        let to = edited("", json!(["classes"]), json!([3, 6.5])).unwrap();
        assert_eq!(to, "classes = [3, 6.5]\n");
        let to = edited(text, json!(["columns", "depth", "name"]), json!("D")).unwrap();
        assert!(to.starts_with(text) && to.contains("name = \"D\""), "{to}");
    }

    #[test]
    fn entries_of_lists_change() {
        let text = "# one\n[[action]]\nclasses = [1, 2] # thin\ndo = \"leave\"\n";
        let to = edited(text, json!(["action", 0, "classes", 1]), json!(3)).unwrap();
        assert_eq!(to, text.replace("[1, 2]", "[1, 3]"));
        let more = json!({"classes": [3], "do": "leave"});
        let to = edited(text, json!(["action", 1]), more).unwrap();
        assert_eq!(to, format!("{text}\n[[action]]\nclasses = [3]\ndo = \"leave\"\n"));
        let to = edited(&to, json!(["action", 1]), Value::Null).unwrap();
        assert_eq!(to, text);
        for at in [json!(["action", 4, "do"]), json!(["action", 0, "do", "x"]), json!([])] {
            assert!(edited(text, at.clone(), json!("x")).is_err(), "{at}");
        }
        assert!(edited("[[", json!(["a"]), json!(1)).is_err());
    }
}
