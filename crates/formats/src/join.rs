//! Readings of one file at the places of another, by the points' names.

use std::collections::HashMap;
use std::path::Path;

use survey::RecordKind;

use crate::collector::Collector;
use crate::columns::Columns;
use crate::error::FormatError;
use crate::fields::{Fields, Meanings};
use crate::interpret::id;
use crate::names::Role;
use crate::record::{Numbers, Record, RecordSink};
use crate::table::Table;

/// Places by the names of points.
pub(crate) struct Places<'c> {
    meanings: Meanings<'c>,
    numbers: Numbers,
    by_id: HashMap<String, usize>,
    places: Vec<Place>,
    /// Records that name no place, and why.
    faults: Vec<(usize, String, String)>,
}

struct Place {
    number: usize,
    id: String,
    coordinates: (f64, f64),
    record: Record,
    used: bool,
}

impl<'c> Places<'c> {
    pub(crate) fn new(columns: &'c Columns, numbers: Numbers) -> Self {
        Places {
            meanings: Meanings::new(columns),
            numbers,
            by_id: HashMap::new(),
            places: Vec::new(),
            faults: Vec::new(),
        }
    }
}

impl RecordSink for Places<'_> {
    fn record(&mut self, record: Record) {
        let fields = Fields::new(&record.properties, &mut self.meanings, self.numbers);
        let (number, id) = (record.number, id(&record, &fields));
        let problem = match (id, record.coordinates.clone()) {
            (Some(id), Ok(coordinates)) if !self.by_id.contains_key(&id) => {
                self.by_id.insert(id.clone(), self.places.len());
                self.places.push(Place { number, id, coordinates, record, used: false });
                return;
            }
            (Some(id), Ok(_)) => (id, "another of the same name stands before it".into()),
            (None, Ok(_)) => (String::new(), "has no name to join by".into()),
            (id, Err(problem)) => (id.unwrap_or_default(), problem),
        };
        self.faults.push((number, problem.0, problem.1));
    }

    fn fault(&mut self, number: usize, problem: String) {
        self.faults.push((number, String::new(), problem));
    }
}

/// Reads a table without places, each line at the place of its name.
pub(crate) fn read_joined<'c>(
    path: &Path,
    text: &str,
    columns: &'c Columns,
    kind: RecordKind,
    mut places: Places,
) -> Result<Collector<'c>, FormatError> {
    let table = Table::new(path, text, columns)?;
    table.check_id(path, columns)?;
    let mut collector = Collector::new(columns, RecordKind::Line, table.numbers());
    collector.header(table.names());
    let numbers = table.numbers();
    let mut joined = Joined {
        kind,
        places: &mut places,
        meanings: Meanings::new(columns),
        numbers,
        collector: &mut collector,
    };
    table.read(None, &mut joined);
    for (number, id, problem) in &places.faults {
        collector.fault_of(kind, *number, id, problem);
    }
    for place in places.places.iter().filter(|place| !place.used) {
        let problem = format!("no line of {} is named so", path.display());
        collector.fault_of(kind, place.number, &place.id, &problem);
    }
    match collector.is_untouched() {
        true => Err(FormatError::NoRecords { file: path.to_path_buf(), kind: "line" }),
        false => Ok(collector),
    }
}

/// Gives lines on with their places.
struct Joined<'j, 'c> {
    kind: RecordKind,
    places: &'j mut Places<'c>,
    meanings: Meanings<'j>,
    numbers: Numbers,
    collector: &'j mut dyn RecordSink,
}

impl RecordSink for Joined<'_, '_> {
    fn record(&mut self, mut record: Record) {
        let fields = Fields::new(&record.properties, &mut self.meanings, self.numbers);
        let dated = fields.first(Role::Date).is_some() || fields.first(Role::Time).is_some();
        let name = id(&record, &fields);
        record.coordinates = match &name {
            None => Err("has no name to join by".into()),
            Some(name) => match self.places.by_id.get(name) {
                None => Err(format!("no {} is named so", self.kind.name())),
                Some(&index) => {
                    let place = &mut self.places.places[index];
                    place.used = true;
                    if let Some(time) = place.record.properties.get("time").filter(|_| !dated) {
                        record.properties.insert("time".into(), time.clone());
                    }
                    Ok(place.coordinates)
                }
            },
        };
        self.collector.record(record);
    }

    fn fault(&mut self, number: usize, problem: String) {
        self.collector.fault(number, problem);
    }
}
