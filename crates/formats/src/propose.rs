//! Which column may hold the depth where no name tells: proposed, never taken.

use geojson::JsonObject;

use crate::record::Numbers;
use crate::values::{is_missing, number};

/// How many columns are looked at.
const MOST_COLUMNS: usize = 64;
/// How many names are shown.
const MOST_SHOWN: usize = 12;
/// No hand-pushed rod goes deeper, in any unit but millimetres (common practice: 24 to 36 in rods).
const DEEPEST: f64 = 120.0;

/// The names of a file's columns, and the numbers under those that have no known meaning.
#[derive(Default)]
pub(crate) struct Unknown {
    names: Vec<String>,
    columns: Vec<Numeric>,
}

/// A column's numbers.
struct Numeric {
    name: String,
    count: usize,
    others: usize,
    least: f64,
    greatest: f64,
    /// The greatest common divisor of the numbers in tenths, where all are whole tenths.
    step_tenths: Option<u64>,
}

impl Unknown {
    /// Remembers the names of the first record that has any.
    pub(crate) fn see_names<'a>(&mut self, names: impl Iterator<Item = &'a String>) {
        if self.names.is_empty() {
            self.names = names.take(MOST_SHOWN + 1).cloned().collect();
        }
    }

    /// Looks at the values of a record.
    pub(crate) fn see(&mut self, properties: &JsonObject, numbers: Numbers) {
        for (name, value) in properties {
            if is_missing(value, numbers) {
                continue;
            }
            let at = match self.columns.iter().position(|column| column.name == *name) {
                Some(at) => at,
                None if self.columns.len() < MOST_COLUMNS => {
                    self.columns.push(Numeric::new(name));
                    self.columns.len() - 1
                }
                None => continue,
            };
            match number(name, value, numbers) {
                Ok(Some(number)) => self.columns[at].see(number),
                _ => self.columns[at].others += 1,
            }
        }
    }

    /// The columns' names, in words.
    pub(crate) fn names(&self) -> String {
        match self.names.as_slice() {
            [] => "no properties".into(),
            few if few.len() <= MOST_SHOWN => few.join(", "),
            many => format!("{}, …", many[..MOST_SHOWN].join(", ")),
        }
    }

    /// What may be the depth: a sentence that begins with a space, or nothing. A column that the
    /// user might mean by its name comes first.
    pub(crate) fn proposal(&self, excluded: impl Fn(&str) -> bool) -> String {
        let candidates = self.columns.iter().filter(|c| c.may_be_depth() && !excluded(&c.name));
        let rank = |column: &&Numeric| {
            let name = column.name.to_lowercase();
            match () {
                () if name.contains("depth") => 0,
                () if name.starts_with('d') => 1,
                () => 2,
            }
        };
        candidates.min_by_key(rank).map_or_else(String::new, |column| {
            let (unit, word) = column.unit();
            format!(
                ". {} holds {} to {}{}: {word}? then give --depth-field {:?} --depth-unit {unit}",
                column.name,
                column.least,
                column.greatest,
                column.step().map(|step| format!(" in steps of {step}")).unwrap_or_default(),
                column.name,
            )
        })
    }
}

impl Numeric {
    fn new(name: &str) -> Self {
        Numeric {
            name: name.to_owned(),
            count: 0,
            others: 0,
            least: f64::INFINITY,
            greatest: f64::NEG_INFINITY,
            step_tenths: Some(0),
        }
    }

    fn see(&mut self, number: f64) {
        self.count += 1;
        self.least = self.least.min(number);
        self.greatest = self.greatest.max(number);
        let tenths = number * 10.0;
        let whole = (tenths - tenths.round()).abs() < 1e-6 && (0.0..1e9).contains(&tenths);
        self.step_tenths =
            self.step_tenths.filter(|_| whole).map(|step| divisor(step, tenths.round() as u64));
    }

    fn may_be_depth(&self) -> bool {
        let range = self.least >= 0.0 && self.greatest <= DEEPEST && self.least < self.greatest;
        range && self.count > self.others
    }

    fn step(&self) -> Option<f64> {
        self.step_tenths.filter(|&tenths| tenths >= 5).map(|tenths| tenths as f64 / 10.0)
    }

    /// The likelier unit: a rod has marks each 3 in or each 5 or 10 cm (common practice).
    fn unit(&self) -> (&'static str, &'static str) {
        let metric = self.step_tenths.is_some_and(|tenths| tenths > 0 && tenths % 25 == 0);
        match self.greatest <= 36.0 && !metric {
            true => ("in", "inches"),
            false => ("cm", "centimetres"),
        }
    }
}

fn divisor(a: u64, b: u64) -> u64 {
    match b {
        0 => a,
        _ => divisor(b, a % b),
    }
}
