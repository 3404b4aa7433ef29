//! Puts a survey together from a file's records.

use std::path::Path;

use survey::{CoordinateSystem, Finding, RecordKind, Severity, Subject, Survey, ToLonLat};

use crate::columns::Columns;
use crate::error::FormatError;
use crate::fields::{Fields, Meanings};
use crate::interpret::{Interpreted, Meant, Remark, id, interpret};
use crate::names::Role;
use crate::profile_lines::{ProfileKey, ProfileLines};
use crate::propose::Unknown;
use crate::record::{Numbers, Record, RecordSink};
use crate::values::is_missing;

/// How many findings about records are kept one by one; the others are counted.
pub(crate) const MOST_FINDINGS: usize = 10_000;
/// How many records a survey may have, which bounds the memory it takes (about 350 bytes each).
pub(crate) const MOST_RECORDS: usize = 5_000_000;

/// Which pressures the records hold.
#[derive(Default)]
struct PressureNames {
    /// The first name without a unit that has a value.
    cone_index: Option<String>,
    /// Whether one with a unit has a value.
    has_cone_index: bool,
    threshold: Option<String>,
    has_threshold: bool,
}

impl PressureNames {
    fn see(&mut self, fields: &Fields) {
        for field in fields.iter().filter(|field| !is_missing(field.value, fields.numbers)) {
            let first = |known: &mut Option<String>| {
                known.get_or_insert_with(|| field.key.to_owned());
            };
            match field.meaning.role {
                Role::ConeIndexWithoutUnit => first(&mut self.cone_index),
                Role::ThresholdWithoutUnit => first(&mut self.threshold),
                Role::ConeIndex(_) | Role::ConeIndexAt(..) => self.has_cone_index = true,
                Role::Threshold(_) => self.has_threshold = true,
                _ => {}
            }
        }
    }
}

/// Takes records and makes a survey of them.
pub(crate) struct Collector<'c> {
    columns: &'c Columns,
    meanings: Meanings<'c>,
    numbers: Numbers,
    survey: Survey,
    profiles: ProfileLines,
    /// Records with a depth but no pressure, by number, with the profile they may belong to.
    without_pressure: Vec<(usize, ProfileKey)>,
    has_depth: bool,
    depth_without_unit: Option<String>,
    pressures: PressureNames,
    /// How many records could be looked into.
    opened: usize,
    unknown: Unknown,
    unlisted: usize,
}

impl<'c> Collector<'c> {
    pub(crate) fn new(columns: &'c Columns, kind: RecordKind, numbers: Numbers) -> Self {
        Collector {
            columns,
            meanings: Meanings::new(columns),
            numbers,
            survey: Survey { kind, ..Survey::default() },
            profiles: ProfileLines::default(),
            without_pressure: Vec::new(),
            has_depth: false,
            depth_without_unit: None,
            pressures: PressureNames::default(),
            opened: 0,
            unknown: Unknown::default(),
            unlisted: 0,
        }
    }

    /// Gives the survey its name.
    pub(crate) fn name(&mut self, name: Option<String>) {
        self.survey.name = name;
    }

    /// Names that a table has, though no record may.
    pub(crate) fn header(&mut self, names: &[String]) {
        self.unknown.see_names(names.iter());
        names.iter().for_each(|name| self.see_name(name));
    }

    /// Whether no record was given.
    pub(crate) fn is_untouched(&self) -> bool {
        self.survey.features == 0
    }

    /// Something about the whole file.
    pub(crate) fn note(&mut self, problem: impl Into<String>, done: impl Into<String>) {
        self.survey.findings.push(Finding::note(problem, done));
    }

    /// Something about a record of another kind than the survey's own.
    pub(crate) fn fault_of(&mut self, kind: RecordKind, number: usize, id: &str, problem: &str) {
        self.find(Finding::fault((kind, number), Some(id), problem, "left out"));
    }

    fn find(&mut self, finding: Finding) {
        match self.survey.findings.len() < MOST_FINDINGS {
            true => self.survey.findings.push(finding),
            false => self.unlisted += 1,
        }
    }

    fn remark(&mut self, number: usize, id: Option<&str>, remark: Remark) {
        let fault = Finding::fault((self.survey.kind, number), id, remark.problem, remark.done);
        self.find(Finding { severity: remark.severity, ..fault });
    }

    fn see_name(&mut self, key: &str) {
        for meaning in self.meanings.of(key).iter() {
            match meaning.role {
                Role::Depth(_) | Role::ConeIndexAt(..) => self.has_depth = true,
                Role::DepthWithoutUnit if self.depth_without_unit.is_none() => {
                    self.depth_without_unit = Some(key.to_owned());
                }
                _ => {}
            }
        }
    }

    /// The survey, its places converted from a coordinate system where they are of one.
    ///
    /// # Errors
    /// When no column holds the depth, no record is usable, or the system is unknown.
    pub(crate) fn finish(
        mut self,
        path: &Path,
        crs: Option<&CoordinateSystem>,
    ) -> Result<Survey, FormatError> {
        if self.survey.features > MOST_RECORDS {
            return Err(FormatError::TooManyRecords {
                file: path.to_path_buf(),
                most: MOST_RECORDS / 1_000_000,
            });
        }
        if self.opened == 0 && self.survey.features > 0 {
            return Err(self.nothing_usable(path));
        }
        self.check_depth(path)?;
        self.check_pressures(path)?;
        for name in self.meanings.unseen().to_vec() {
            self.note(format!("there is no column {name:?}"), "read without it");
        }
        self.leave_out_holes();
        self.close_profiles();
        if let Some(crs) = crs.filter(|crs| !crs.is_wgs84_degrees()) {
            self.convert(path, crs)?;
        }
        if self.unlisted > 0 {
            let problem = format!("{} more findings about records are not listed", self.unlisted);
            let note = Finding::note(problem, "what was done is the same as for those listed");
            self.survey.findings.push(Finding { severity: Severity::Fault, ..note });
        }
        self.survey.findings.sort_by(|a, b| a.subject.cmp(&b.subject));
        match self.survey.insertions.is_empty() && self.first_about_record().is_some() {
            true => Err(self.nothing_usable(path)),
            false => Ok(self.survey),
        }
    }

    fn first_about_record(&self) -> Option<&Finding> {
        let about_record = |f: &&Finding| matches!(f.subject, Subject::Record { .. });
        self.survey.findings.iter().find(about_record)
    }

    fn nothing_usable(&self, path: &Path) -> FormatError {
        FormatError::NothingUsable {
            file: path.to_path_buf(),
            records: self.survey.features,
            kind: self.survey.kind.name(),
            first: self.first_about_record().map_or_else(String::new, ToString::to_string),
        }
    }

    /// Makes sure that pressures have their unit: without it, lines of a profile would pass for
    /// depths of a loose layer, and a threshold for the usual one.
    fn check_pressures(&self, path: &Path) -> Result<(), FormatError> {
        let PressureNames { cone_index, has_cone_index, threshold, has_threshold } =
            &self.pressures;
        let found = match (cone_index, threshold) {
            (Some(field), _) if !has_cone_index => Some((field, "cone_index")),
            (_, Some(field)) if !has_threshold => Some((field, "threshold")),
            _ => None,
        };
        found.map_or(Ok(()), |(field, what)| {
            let (file, field) = (path.to_path_buf(), field.clone());
            Err(FormatError::NoPressureUnit { file, field, what })
        })
    }

    /// Makes sure that a depth with its unit can be found.
    fn check_depth(&self, path: &Path) -> Result<(), FormatError> {
        if self.has_depth {
            return Ok(());
        }
        let file = path.to_path_buf();
        let kind = self.survey.kind.name();
        let found = self.unknown.names();
        if let Some(field) = &self.columns.depth {
            let field = field.name.clone();
            return Err(FormatError::NoSuchField { file, kind, field, found });
        }
        Err(match &self.depth_without_unit {
            Some(field) => {
                let proposal = self.unknown.proposal(|name| name != field);
                FormatError::NoDepthUnit { file, field: field.clone(), proposal }
            }
            None => {
                let known = |name: &str| !self.columns.meanings(name).is_empty();
                let proposal = self.unknown.proposal(known);
                FormatError::NoDepth { file, kind, found, proposal }
            }
        })
    }

    /// Takes out depths that are holes in a profile, not readings of their own.
    fn leave_out_holes(&mut self) {
        let holes: Vec<usize> = std::mem::take(&mut self.without_pressure)
            .into_iter()
            .filter(|(_, key)| self.profiles.has(key))
            .map(|(number, _)| number)
            .collect();
        for number in &holes {
            let problem = "a depth without a cone index, in a profile";
            self.remark(*number, None, Remark::fault(problem, "left out of the profile"));
        }
        let is_hole = |number| holes.binary_search(&number).is_ok();
        self.survey.insertions.retain(|insertion| !is_hole(insertion.number));
    }

    fn close_profiles(&mut self) {
        let profiles = std::mem::take(&mut self.profiles);
        if profiles.undated > 0 {
            let problem = format!("{} lines of profiles have no date", profiles.undated);
            self.note(problem, "taken as of the day of the profile above them");
        }
        for closed in profiles.close() {
            let id = closed.id.as_deref();
            match closed.insertion {
                Ok(insertion) => self.survey.insertions.push(insertion),
                Err(problem) => {
                    self.remark(closed.number, id, Remark::fault(problem, "left out"));
                }
            }
            for remark in closed.remarks {
                self.remark(closed.number, id, remark);
            }
        }
        self.survey.insertions.sort_by_key(|insertion| insertion.number);
    }

    fn convert(&mut self, path: &Path, crs: &CoordinateSystem) -> Result<(), FormatError> {
        let way = ToLonLat::new(crs)
            .map_err(|problem| FormatError::UnknownCrs { file: path.to_path_buf(), problem })?;
        let mut done = String::from("converted to WGS 84 longitude and latitude");
        if !way.is_on_wgs84() {
            done.push_str(
                ", which without a grid of shifts is right to some metres (NAD 83: 2 to 4 m); \
                 visits in the same system compare as they stand",
            );
        }
        self.note(format!("coordinates are {}", way.name()), done);
        let insertions = std::mem::take(&mut self.survey.insertions);
        for mut insertion in insertions {
            match way.convert(insertion.place.lon_deg, insertion.place.lat_deg) {
                Ok(place) => {
                    insertion.place = place;
                    self.survey.insertions.push(insertion);
                }
                Err(problem) => {
                    let id = insertion.id.as_deref();
                    self.remark(insertion.number, id, Remark::fault(problem, "left out"));
                }
            }
        }
        Ok(())
    }
}

impl RecordSink for Collector<'_> {
    fn record(&mut self, record: Record) {
        self.survey.features += 1;
        if self.survey.features > MOST_RECORDS {
            return;
        }
        self.opened += 1;
        self.unknown.see_names(record.properties.keys());
        if !self.has_depth {
            record.properties.keys().for_each(|key| self.see_name(key));
            if !self.has_depth {
                self.unknown.see(&record.properties, self.numbers);
            }
        }
        let fields = Fields::new(&record.properties, &mut self.meanings, self.numbers);
        self.pressures.see(&fields);
        let id = id(&record, &fields);
        match interpret(&record, &fields) {
            Ok(Interpreted { meant, remarks, without_pressure }) => {
                for remark in remarks {
                    self.remark(record.number, id.as_deref(), remark);
                }
                self.without_pressure.extend(without_pressure.map(|key| (record.number, key)));
                match meant {
                    Meant::Insertion(insertion) => self.survey.insertions.push(insertion),
                    Meant::Line { insertion, key, reading } => {
                        self.profiles.add(key, insertion, reading);
                    }
                }
            }
            Err(problem) => {
                self.remark(record.number, id.as_deref(), Remark::fault(problem, "left out"));
            }
        }
    }

    fn fault(&mut self, number: usize, problem: String) {
        self.survey.features += 1;
        self.remark(number, None, Remark::fault(problem, "left out"));
    }
}
