//! Columns of numbers and their units, told by their names.

use serde_json::Value;
use survey::units::tidy;

use super::sheet::{Row, Sheet};

/// The most columns that are shown.
const MOST_COLUMNS: usize = 12;

/// Ends of names and the units they mean, longer ones first.
const UNITS: [(&str, &str); 26] = [
    ("kg_per_ha", "kg/ha"),
    ("lb_per_ac", "lb/ac"),
    ("l_per_ha", "L/ha"),
    ("gal_per_ac", "gal/ac"),
    ("ton_ac", "ton/ac"),
    ("kg_ha", "kg/ha"),
    ("kgha", "kg/ha"),
    ("lbs_ac", "lb/ac"),
    ("lb_ac", "lb/ac"),
    ("lbac", "lb/ac"),
    ("gal_ac", "gal/ac"),
    ("t_ha", "t/ha"),
    ("l_ha", "L/ha"),
    ("lha", "L/ha"),
    ("psi", "psi"),
    ("kpa", "kPa"),
    ("mpa", "MPa"),
    ("pct", "%"),
    ("deg", "°"),
    ("cm", "cm"),
    ("mm", "mm"),
    ("in", "in"),
    ("ft", "ft"),
    ("ha", "ha"),
    ("ac", "ac"),
    ("m", "m"),
];

/// A column of numbers.
pub(super) struct NumberColumn {
    name: String,
    /// What the name says it is, and the unit at its end.
    meaning: Option<(String, &'static str)>,
}

/// What the columns of a sheet say.
pub(super) struct Columns {
    /// Columns with a unit, areas aside, or else those without.
    shown: Vec<NumberColumn>,
    /// A rate in one column and its unit in another.
    rate_and_unit: Option<(String, String)>,
    /// What a display will stumble over.
    pub note: Option<String>,
}

impl Columns {
    pub fn of(sheet: &Sheet) -> Columns {
        let numbers = number_columns(sheet);
        let rate_and_unit = rate_and_unit(sheet);
        let has_unit = |column: &NumberColumn| column.meaning.is_some();
        let is_area = |column: &NumberColumn| matches!(&column.meaning, Some((what, "ha" | "ac" | "m")) if what.contains("area"));
        let (with, without): (Vec<_>, Vec<_>) = numbers.into_iter().partition(has_unit);
        let mut with: Vec<NumberColumn> = with.into_iter().filter(|c| !is_area(c)).collect();
        with.truncate(MOST_COLUMNS);
        // What the rate says already.
        if let Some(unit) = rate_and_unit.as_ref().and_then(|(_, unit)| only_text(sheet, unit)) {
            with.retain(|column| column.meaning.as_ref().is_none_or(|(_, own)| *own != unit));
        }
        let note = match (with.is_empty() && rate_and_unit.is_none(), without.is_empty()) {
            (false, _) => None,
            (true, true) => {
                Some("has no column of numbers: nothing a machine could set".to_owned())
            }
            (true, false) => {
                let names: Vec<&str> = without.iter().take(6).map(|c| c.name.as_str()).collect();
                Some(format!(
                    "has no rate column with a unit in its name (its numbers are {}); a display will \
                     ask for the unit",
                    names.join(", ")
                ))
            }
        };
        let shown = match with.is_empty() && rate_and_unit.is_none() {
            true => without.into_iter().take(MOST_COLUMNS).collect(),
            false => with,
        };
        Columns { shown, rate_and_unit, note }
    }

    /// What is shown of each row, in words.
    pub fn quantities(&self, sheet: &Sheet) -> Vec<String> {
        let rate = self.rate_and_unit.as_ref().map(|(_, unit_column)| {
            match only_text(sheet, unit_column) {
                Some(only) => format!("rate in {}", in_words(only)),
                None => format!("rate in the unit that {unit_column} says"),
            }
        });
        let columns = self.shown.iter().map(|column| match &column.meaning {
            Some((what, unit)) => format!("{what} in {}", in_words(unit)),
            None => format!("{}, of unknown unit", column.name),
        });
        rate.into_iter().chain(columns).collect()
    }

    /// A row's values in the order of [`Columns::quantities`].
    pub fn values(&self, row: &Row) -> Vec<String> {
        let number = |name: &str| row.values.get(name).and_then(Value::as_f64);
        let rate = self.rate_and_unit.as_ref().map(|(rate, unit)| {
            let unit = row.values.get(unit).and_then(Value::as_str).unwrap_or("of unknown unit");
            number(rate)
                .map_or("none".into(), |number| format!("{} {}", tidy(number, 3), unit.trim()))
        });
        let columns =
            self.shown.iter().map(|column| match (number(&column.name), &column.meaning) {
                (None, _) => "none".into(),
                (Some(number), Some((_, "%"))) => format!("{} %", tidy(number, 3)),
                (Some(number), Some((_, unit))) => format!("{} {unit}", tidy(number, 3)),
                (Some(number), None) => tidy(number, 3),
            });
        rate.into_iter().chain(columns).collect()
    }
}

/// The text that a column has in every row.
fn only_text<'s>(sheet: &'s Sheet, column: &str) -> Option<&'s str> {
    let mut texts: Vec<&str> =
        sheet.rows.iter().filter_map(|row| row.values.get(column)?.as_str()).collect();
    texts.dedup();
    match texts[..] {
        [only] => Some(only.trim()),
        _ => None,
    }
}

/// `in` reads as a word.
fn in_words(unit: &str) -> &str {
    if unit == "in" { "inches" } else { unit }
}

/// The names of columns that hold a number somewhere and no text anywhere, in the file's order.
fn number_columns(sheet: &Sheet) -> Vec<NumberColumn> {
    let mut names: Vec<&str> = Vec::new();
    for row in &sheet.rows {
        // Most rows have the columns of the first.
        for name in row.values.keys() {
            if names.len() < 256 && !names.contains(&name.as_str()) {
                names.push(name);
            }
        }
    }
    let holds = |name: &str, is: fn(&Value) -> bool| {
        sheet.rows.iter().any(|row| row.values.get(name).is_some_and(is))
    };
    let is_counter = |name: &str| {
        let name = name.to_lowercase();
        ["fid", "id", "zone", "class_no", "check_strip", "objectid"].contains(&name.as_str())
    };
    names
        .into_iter()
        .filter(|name| holds(name, Value::is_number) && !holds(name, Value::is_string))
        .filter(|name| !is_counter(name))
        .map(|name| NumberColumn { name: name.to_owned(), meaning: meaning(name) })
        .collect()
}

/// What a name says, and the unit at its end behind a `_`, or that is the whole name.
fn meaning(name: &str) -> Option<(String, &'static str)> {
    let lower = name.to_lowercase();
    UNITS.iter().find_map(|(end, unit)| {
        let what = lower.strip_suffix(end)?;
        let what = match what {
            // `m` and `in` alone are names of anything.
            "" if end.len() > 2 => "rate",
            what => what.strip_suffix('_')?,
        };
        Some((what.replace('_', " "), *unit))
    })
}

/// Columns `rate` and `unit`, in any case.
fn rate_and_unit(sheet: &Sheet) -> Option<(String, String)> {
    let first = sheet.rows.first()?;
    let named = |wanted: &str| first.values.keys().find(|name| name.eq_ignore_ascii_case(wanted));
    Some((named("rate")?.clone(), named("unit")?.clone()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_says_its_unit() {
        let of = |name: &str| meaning(name).map(|(what, unit)| format!("{what}|{unit}"));
        for (name, expected) in [
            ("loosen_cm", Some("loosen|cm")),
            ("GYPSUM_KG_HA", Some("gypsum|kg/ha")),
            ("KG_HA", Some("rate|kg/ha")),
            ("mean_depth_in", Some("mean depth|in")),
            ("margin", None),
            ("RATE", None),
            ("in", None),
            ("area_ha", Some("area|ha")),
        ] {
            assert_eq!(of(name).as_deref(), expected, "{name}");
        }
    }
}
