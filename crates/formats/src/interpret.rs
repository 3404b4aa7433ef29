//! From a record to what was measured.

use jiff::civil::{Date, Time};
use survey::{ConeIndex, Depth, Insertion, LonLat, Measured, Outcome, Pressure, Severity};

use crate::fields::Fields;
use crate::names::Role;
use crate::outcome::{depth, is_list, outcome};
use crate::own_profile::{first_pressure, own_profile};
use crate::profile_lines::ProfileKey;
use crate::record::Record;
use crate::values::{self, kind, shown};

/// Something odd about one record that does not make it useless.
pub(crate) struct Remark {
    pub severity: Severity,
    pub problem: String,
    pub done: &'static str,
}

impl Remark {
    pub(crate) fn fault(problem: impl Into<String>, done: &'static str) -> Self {
        Remark { severity: Severity::Fault, problem: problem.into(), done }
    }

    pub(crate) fn note(problem: impl Into<String>, done: &'static str) -> Self {
        Remark { severity: Severity::Note, problem: problem.into(), done }
    }
}

/// What a record is.
pub(crate) enum Meant {
    /// A whole insertion.
    Insertion(Insertion),
    /// One reading of a profile that takes several records. The insertion says all but the profile.
    Line { insertion: Insertion, key: ProfileKey, reading: ConeIndex },
}

/// What a record says.
pub(crate) struct Interpreted {
    pub meant: Meant,
    pub remarks: Vec<Remark>,
    /// Of a depth without the cone index that other records have: the profile it may belong to.
    pub without_pressure: Option<ProfileKey>,
}

/// What a record says. Its place is as the file states it, whatever the coordinate system.
///
/// # Errors
/// What makes the record useless.
pub(crate) fn interpret(record: &Record, fields: &Fields) -> Result<Interpreted, String> {
    let (east, north) = record.coordinates.clone()?;
    if east == 0.0 && north == 0.0 {
        return Err("its place is 0, 0, as receivers write without a fix".into());
    }
    let place = LonLat { lon_deg: east, lat_deg: north };
    let mut remarks = Vec::new();
    let insertion = described(record, fields, place, &mut remarks)?;
    if let Some(own) = own_profile(fields)? {
        remarks.extend(own.remarks);
        let insertion = Insertion {
            measured: Measured::Profile(own.profile),
            depth_unit: Some(own.unit),
            threshold: None,
            ..insertion
        };
        let meant = Meant::Insertion(insertion);
        return Ok(Interpreted { meant, remarks, without_pressure: None });
    }
    if let Some((pressure, remark)) = first_pressure(fields)? {
        remarks.extend(remark);
        let Some(stated) = depth(fields)? else {
            return Err("has a cone index, but no depth says where it was read".into());
        };
        if stated.or_deeper {
            return Err("has a cone index at a depth given as \"at least\"".into());
        }
        let reading = ConeIndex { depth: stated.depth(), pressure };
        let insertion = Insertion { depth_unit: Some(stated.unit), threshold: None, ..insertion };
        let key = key(fields, &insertion);
        let meant = Meant::Line { insertion, key, reading };
        return Ok(Interpreted { meant, remarks, without_pressure: None });
    }
    let told = outcome(fields)?;
    remarks.extend(told.assumed.map(|(severity, problem, done)| Remark {
        severity,
        problem: problem.into(),
        done,
    }));
    let has_depth = matches!(told.outcome, Outcome::Reached(_) | Outcome::NotReached { .. });
    let pressureless = has_depth
        && fields.iter().any(|f| matches!(f.meaning.role, Role::ConeIndex(_)) && !is_list(f));
    let without_pressure = pressureless.then(|| key(fields, &insertion));
    let insertion =
        Insertion { measured: Measured::Once(told.outcome), depth_unit: told.unit, ..insertion };
    Ok(Interpreted { meant: Meant::Insertion(insertion), remarks, without_pressure })
}

/// All that a record says beside the measurement, which stands as skipped here.
fn described(
    record: &Record,
    fields: &Fields,
    place: LonLat,
    remarks: &mut Vec<Remark>,
) -> Result<Insertion, String> {
    let (date, time) = moment(fields, remarks)?;
    Ok(Insertion {
        id: id(record, fields),
        threshold: threshold(fields)?,
        date,
        time,
        moisture_pct: moisture_pct(fields, remarks),
        accuracy_m: accuracy_m(fields, remarks),
        cone: cone(fields, remarks),
        instrument: fields.text(Role::Instrument),
        operator: fields.text(Role::Operator),
        group: fields.text(Role::Group),
        note: fields.text(Role::Note),
        ..Insertion::at(record.number, place, Measured::Once(Outcome::Skipped))
    })
}

/// A record's name.
pub(crate) fn id(record: &Record, fields: &Fields) -> Option<String> {
    fields.text(Role::Id).or_else(|| record.id.clone())
}

fn key(fields: &Fields, insertion: &Insertion) -> ProfileKey {
    let LonLat { lon_deg, lat_deg } = insertion.place;
    ProfileKey {
        place: insertion.id.is_none().then(|| [lon_deg.to_bits(), lat_deg.to_bits()]),
        id: insertion.id.clone(),
        date: insertion.date,
        visit: fields.text(Role::Visit),
        push: fields.text(Role::Push),
    }
}

/// More than any gauge of a hand penetrometer shows, by far: 100 MPa.
const MOST_PA: f64 = 1e8;

/// The threshold a depth was read at.
fn threshold(fields: &Fields) -> Result<Option<Pressure>, String> {
    for field in fields.iter() {
        let Role::Threshold(unit) = field.meaning.role else {
            continue;
        };
        match fields.number(field)? {
            Some(number) if number > 0.0 && unit.pressure(number).pa() <= MOST_PA => {
                return Ok(Some(unit.pressure(number)));
            }
            Some(number) => {
                let key = &field.key;
                return Err(format!(
                    "{key} is {number:?}; a threshold is above 0 and at most 100 MPa"
                ));
            }
            None => {}
        }
    }
    Ok(None)
}

/// The day of the visit, and the time of day.
fn moment(
    fields: &Fields,
    remarks: &mut Vec<Remark>,
) -> Result<(Option<Date>, Option<Time>), String> {
    let mut date = None;
    let mut time_text = None;
    if let Some(field) = fields.first(Role::Date) {
        let wrong =
            || format!("{} is {}, not a date like 2025-04-14", field.key, kind(field.value));
        let text = field.value.as_str().ok_or_else(wrong)?;
        let also_time = || fields.first(Role::Time).is_some_and(|time| time.key == field.key);
        match values::day(text) {
            Some((day, rest)) => {
                date = Some(day);
                time_text = Some(rest).filter(|rest| !rest.trim().is_empty());
            }
            // A column `time` without a day is a time of day.
            None if also_time() && values::time(text).is_some() => {}
            None => return Err(wrong()),
        }
    }
    if let Some(text) = fields.first(Role::Time).and_then(|field| field.value.as_str()) {
        time_text = match values::day(text) {
            Some((day, rest)) => {
                date = date.or(Some(day));
                Some(rest).filter(|rest| !rest.trim().is_empty()).or(time_text)
            }
            None => Some(text),
        };
    }
    let time = time_text.and_then(values::time);
    if let Some(text) = time_text.filter(|_| time.is_none()) {
        let problem = format!("its time is {}, not one like 09:30", shown(text.trim()));
        remarks.push(Remark::fault(problem, "the time is ignored, the reading used"));
    }
    Ok((date, time))
}

fn moisture_pct(fields: &Fields, remarks: &mut Vec<Remark>) -> Option<f64> {
    let problem = match fields.number_of(Role::Moisture) {
        Ok(Some((key, pct))) if !(0.0..=100.0).contains(&pct) => {
            format!("{key} is {pct}; moisture is 0 to 100 percent")
        }
        Ok(found) => return found.map(|(_, pct)| pct),
        Err(problem) => problem,
    };
    remarks.push(Remark::fault(problem, "the moisture is ignored, the depth used"));
    None
}

fn accuracy_m(fields: &Fields, remarks: &mut Vec<Remark>) -> Option<f64> {
    let problem = match fields.number_of(Role::Accuracy) {
        Ok(Some((key, m))) if m < 0.0 => format!("{key} is {m}; an accuracy is not negative"),
        Ok(found) => return found.map(|(_, m)| m),
        Err(problem) => problem,
    };
    remarks.push(Remark::fault(problem, "the accuracy is ignored, the reading used"));
    None
}

fn cone(fields: &Fields, remarks: &mut Vec<Remark>) -> Option<Depth> {
    for field in fields.iter() {
        let Role::Cone(unit) = field.meaning.role else {
            continue;
        };
        let problem = match fields.number(field) {
            Ok(Some(number)) if number > 0.0 => return Some(unit.depth(number)),
            Ok(Some(number)) => format!("{} is {number}; a cone is wider than nothing", field.key),
            Ok(None) => continue,
            Err(problem) => problem,
        };
        remarks.push(Remark::fault(problem, "the cone is ignored, the reading used"));
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::columns::Columns;
    use crate::fields::Meanings;
    use crate::record::Numbers;

    fn insertion(text: &str) -> Result<Insertion, String> {
        let properties = serde_json::from_str(text).unwrap();
        let record = Record { number: 1, id: None, coordinates: Ok((1.0, 2.0)), properties };
        let columns = Columns { group: Some("treatment".into()), ..Columns::default() };
        let mut meanings = Meanings::new(&columns);
        let fields = Fields::new(&record.properties, &mut meanings, Numbers::Json);
        match interpret(&record, &fields)?.meant {
            Meant::Insertion(insertion) | Meant::Line { insertion, .. } => Ok(insertion),
        }
    }

    #[test]
    fn date_time_and_threshold() {
        let text = r#"{"time": "2025-04-14T09:30:00Z", "threshold_kpa": 1379}"#;
        let this = insertion(text).unwrap();
        assert_eq!(this.date.unwrap().to_string(), "2025-04-14");
        assert_eq!(this.time.unwrap().to_string(), "09:30:00");
        assert!(this.threshold.unwrap().is_same_threshold(Pressure::from_psi(200.0)));
        assert!(insertion(r#"{"date": "14/04/2025"}"#).is_err());
        let apart = insertion(r#"{"date": "2025-04-14", "time": "7:05"}"#).unwrap();
        assert_eq!((apart.date, apart.time.unwrap().to_string()), (this.date, "07:05:00".into()));
    }

    #[test]
    fn the_rest_is_kept() {
        let text = r#"{"depth_in": 9, "h_acc_m": 0.02, "cone_in": 0.5, "penetrometer": "A",
            "operator": "J", "treatment": "none", "note": "wet", "hdop": 1.2, "id": 7}"#;
        let this = insertion(text).unwrap();
        assert_eq!(this.accuracy_m, Some(0.02));
        assert_eq!(this.cone, Some(Depth::from_in(0.5)));
        assert_eq!(this.instrument.as_deref(), Some("A"));
        assert_eq!(this.operator.as_deref(), Some("J"));
        assert_eq!(this.group.as_deref(), Some("none"));
        assert_eq!(this.note.as_deref(), Some("wet"));
        assert_eq!(this.id.as_deref(), Some("7"));
        let odd = insertion(r#"{"depth_in": 9, "moisture": 340, "cone_in": 0}"#).unwrap();
        assert_eq!((odd.moisture_pct, odd.cone), (None, None));
    }
}
