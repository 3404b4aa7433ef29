//! A table of text, one record a line: commas, semicolons or tabs between the columns, which the
//! first line names.
//!
//! The separator is the one that the header has: a tab, else a semicolon, else a comma. A comma is a
//! decimal one only where it does not separate columns; a number such as `1,379` is read only where
//! others of the file show that its commas are decimal ones. A first line `sep=;`, as spreadsheets write
//! it, is passed over.

use std::borrow::Cow;
use std::path::Path;

use geojson::JsonObject;
use serde_json::Value;

use crate::collector::Collector;
use crate::columns::Columns;
use crate::delimited::Lines;
use crate::error::FormatError;
use crate::names::{Meaning, Role};
use crate::record::{Comma, Numbers, Record, RecordSink};
use crate::values::{may_be_thousands, number, number_in};

/// A table whose header is read.
pub(crate) struct Table<'t> {
    lines: Lines<'t>,
    names: Vec<String>,
    /// Which columns are longitudes and latitudes.
    degrees: Vec<Option<Role>>,
    numbers: Numbers,
}

impl<'t> Table<'t> {
    /// Reads the header.
    pub(crate) fn new(path: &Path, text: &'t str, columns: &Columns) -> Result<Self, FormatError> {
        let (skipped, separator) = separator(text);
        let mut lines = Lines::new(text, separator);
        lines.by_ref().take(skipped).for_each(drop);
        let no_place = |found: &str| FormatError::NoPlace {
            file: path.to_path_buf(),
            found: found.to_owned(),
        };
        let names = match lines.next() {
            Some((_, Ok(names))) => names,
            Some((line, Err(problem))) => {
                return Err(no_place(&format!("line {line}, where {problem}")));
            }
            None => return Err(no_place("no columns")),
        };
        let names: Vec<String> = names.iter().map(|name| name.trim().to_owned()).collect();
        let twice = names
            .iter()
            .enumerate()
            .find(|(k, name)| !columns.meanings(name).is_empty() && names[..*k].contains(name));
        if let Some((_, name)) = twice {
            let (file, name) = (path.to_path_buf(), name.clone());
            return Err(FormatError::ColumnTwice { file, name });
        }
        lines.expect_columns(names.len());
        let comma = match separator {
            ',' => Comma::Separator,
            _ => decimal_comma(lines.clone(), &names, columns),
        };
        let degrees = names.iter().map(|name| degrees(columns, name)).collect();
        Ok(Table { lines, names, degrees, numbers: Numbers::Text { comma } })
    }

    /// How its numbers are written.
    pub(crate) fn numbers(&self) -> Numbers {
        self.numbers
    }

    /// Its columns' names.
    pub(crate) fn names(&self) -> &[String] {
        &self.names
    }

    /// The names in words.
    fn found(&self) -> String {
        let shown = self.names.iter().take(20).map(String::as_str).collect::<Vec<_>>().join(", ");
        match self.names.len() {
            ..=20 => shown,
            _ => format!("{shown}, …"),
        }
    }

    /// The column whose name comes first in the list of names of a role.
    fn column(&self, columns: &Columns, role: Role) -> Option<usize> {
        let rank = |name: &str| {
            let own = |meaning: &Meaning| meaning.role == role;
            Some(columns.meanings(name).into_iter().find(own)?.rank)
        };
        let ranked = self.names.iter().enumerate().filter_map(|(k, name)| Some((rank(name)?, k)));
        ranked.min().map(|(_, k)| k)
    }

    /// The columns of east and north. In degrees by their names; where a coordinate system is given
    /// also, and before those, by the names of coordinates in a plane.
    pub(crate) fn place_columns(
        &self,
        path: &Path,
        columns: &Columns,
        has_crs: bool,
    ) -> Result<[usize; 2], FormatError> {
        let file = || path.to_path_buf();
        let both = |east, north| Some([self.column(columns, east)?, self.column(columns, north)?]);
        let degrees = both(Role::Longitude, Role::Latitude);
        let plane = both(Role::Easting, Role::Northing);
        let named = columns.longitude.is_some() || columns.latitude.is_some();
        match (degrees, plane) {
            (Some(degrees), _) if named => Ok(degrees),
            (_, Some(plane)) if has_crs => Ok(plane),
            (Some(degrees), _) => Ok(degrees),
            (None, Some([east, north])) => Err(FormatError::PlaneWithoutCrs {
                file: file(),
                columns: format!("{}, {}", self.names[east], self.names[north]),
            }),
            (None, None) => Err(FormatError::NoPlace { file: file(), found: self.found() }),
        }
    }

    /// The error of a table without a column for the points' names.
    pub(crate) fn check_id(&self, path: &Path, columns: &Columns) -> Result<(), FormatError> {
        match self.column(columns, Role::Id) {
            Some(_) => Ok(()),
            None => Err(FormatError::NoId { file: path.to_path_buf(), found: self.found() }),
        }
    }

    /// Gives each line to a sink; `place` are the columns of east and north.
    pub(crate) fn read(self, place: Option<[usize; 2]>, sink: &mut dyn RecordSink) {
        let Table { lines, names, degrees, numbers } = self;
        for (number, fields) in lines {
            match fields.and_then(|fields| fitting(fields, names.len())) {
                Ok(fields) => {
                    let mut record = record(number, &fields, &names, place, numbers);
                    let other = place.and_then(|place| {
                        let mut used = place.into_iter();
                        used.find_map(|k| other_degrees(k, &fields, &names, &degrees, numbers))
                    });
                    if let Some(problem) = other.filter(|_| record.coordinates.is_ok()) {
                        record.coordinates = Err(problem);
                    }
                    sink.record(record);
                }
                Err(problem) => sink.fault(number, problem),
            }
        }
    }
}

/// Reads a survey from a table that has places.
pub(crate) fn read_table<'c>(
    path: &Path,
    text: &str,
    columns: &'c Columns,
    has_crs: bool,
) -> Result<Collector<'c>, FormatError> {
    let table = Table::new(path, text, columns)?;
    let place = table.place_columns(path, columns, has_crs)?;
    let mut collector = Collector::new(columns, survey::RecordKind::Line, table.numbers());
    collector.header(table.names());
    table.read(Some(place), &mut collector);
    match collector.is_untouched() {
        true => Err(FormatError::NoRecords { file: path.to_path_buf(), kind: "line" }),
        false => Ok(collector),
    }
}

/// How many lines stand before the header, and what separates columns.
pub(crate) fn separator(text: &str) -> (usize, char) {
    let mut lines = text.split(['\n', '\r']).filter(|line| !line.trim().is_empty());
    let first = lines.next().unwrap_or_default();
    let stated = first.trim().strip_prefix("sep=").and_then(|rest| rest.chars().next());
    if let Some(separator) = stated.filter(|c| [',', ';', '\t'].contains(c)) {
        return (1, separator);
    }
    let mut quoted = false;
    let mut bare = String::new();
    for c in first.chars() {
        quoted ^= c == '"';
        if !quoted {
            bare.push(c);
        }
    }
    let separator = ['\t', ';'].into_iter().find(|&c| bare.contains(c)).unwrap_or(',');
    (0, separator)
}

/// Whether a column is a longitude or a latitude.
fn degrees(columns: &Columns, name: &str) -> Option<Role> {
    let roles = columns.meanings(name).into_iter().map(|meaning| meaning.role);
    roles.into_iter().find(|role| [Role::Longitude, Role::Latitude].contains(role))
}

/// What is wrong where another column of the same meaning gives another place than column `used`.
fn other_degrees(
    used: usize,
    fields: &[Cow<str>],
    names: &[String],
    degrees: &[Option<Role>],
    numbers: Numbers,
) -> Option<String> {
    /// About a metre, as of rounding.
    const SAME_DEG: f64 = 1e-5;
    let role = degrees[used]?;
    let here = number_in(&fields[used], numbers)?;
    (0..names.len()).filter(|&k| k != used && degrees[k] == Some(role)).find_map(|k| {
        let there = number_in(&fields[k], numbers)?;
        let differ = (here - there).abs() > SAME_DEG;
        differ.then(|| format!("{} is {here}, {} is {there}", names[used], names[k]))
    })
}

/// What the commas of numbers are: decimal ones where one cannot be a mark of thousands, and no
/// number has a point.
fn decimal_comma(lines: Lines, names: &[String], columns: &Columns) -> Comma {
    const TEXTS: [Role; 11] = [
        Role::Id,
        Role::Date,
        Role::Time,
        Role::Note,
        Role::Instrument,
        Role::Operator,
        Role::Group,
        Role::Visit,
        Role::Push,
        Role::Outcome,
        Role::NotReached,
    ];
    let is_number = |name: &String| {
        let meanings = columns.meanings(name);
        !meanings.is_empty() && meanings.iter().all(|meaning| !TEXTS.contains(&meaning.role))
    };
    let numeric: Vec<bool> = names.iter().map(is_number).collect();
    let decimal = Numbers::Text { comma: Comma::Decimal };
    let mut found = Comma::Doubtful;
    for fields in lines.filter_map(|(_, fields)| fields.ok()) {
        for (field, _) in fields.iter().zip(&numeric).filter(|(_, numeric)| **numeric) {
            match number_in(field, decimal) {
                Some(_) if field.contains('.') => return Comma::Doubtful,
                Some(_) if field.contains(',') && !may_be_thousands(field) => {
                    found = Comma::Decimal;
                }
                _ => {}
            }
        }
    }
    found
}

/// The fields of a line, as many as there are columns; empty ones too many are dropped.
pub(crate) fn fitting(mut fields: Vec<Cow<str>>, columns: usize) -> Result<Vec<Cow<str>>, String> {
    while fields.len() > columns && fields.last().is_some_and(|field| field.trim().is_empty()) {
        fields.pop();
    }
    match fields.len() == columns {
        true => Ok(fields),
        false => Err(format!("has {} fields, the header {columns}", fields.len())),
    }
}

fn record(
    line: usize,
    fields: &[Cow<str>],
    names: &[String],
    place: Option<[usize; 2]>,
    numbers: Numbers,
) -> Record {
    let mut properties = JsonObject::new();
    for (k, (field, name)) in fields.iter().zip(names).enumerate() {
        let is_place = place.is_some_and(|place| place.contains(&k));
        // Of columns with one name, none of which has a meaning, the first stands.
        if !is_place && !name.is_empty() && !properties.contains_key(name) {
            properties.insert(name.clone(), Value::String(field.trim().to_owned()));
        }
    }
    let coordinate = |k: usize| {
        let value = Value::String(fields[k].trim().to_owned());
        number(&names[k], &value, numbers)?.ok_or_else(|| format!("{} is empty", names[k]))
    };
    let coordinates = match place {
        Some([east, north]) => coordinate(east).and_then(|east| Ok((east, coordinate(north)?))),
        None => Err("has no place".into()),
    };
    Record { number: line, id: None, coordinates, properties }
}
