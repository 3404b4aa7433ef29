//! Corrections of a survey that are kept beside it: the raw file stays as it is.

use jiff::civil::Date;

use crate::finding::{Finding, Severity};
use crate::insertion::{DepthUnit, Insertion, Measured, Outcome, Survey};
use crate::units::tidy;

/// One correction.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edit {
    /// Its line in the list of corrections.
    pub line: usize,
    /// A day of the visit that it corrects; `None` where the list is of one survey.
    pub visit: Option<Date>,
    /// Which record: the point's name, or `#` and the record's number.
    pub point: String,
    /// What is corrected: `depth_in` (or another unit), `at_least`, `longitude`, `latitude`, `date`,
    /// `moisture_pct`, or `leave_out`.
    pub field: String,
    /// The value in the file, as a safeguard; empty for none.
    pub old: String,
    /// The value it should have.
    pub new: String,
    /// Who says so.
    pub who: String,
    /// Why.
    pub why: String,
}

/// Why a list of corrections does not fit a survey.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {problem}")]
pub struct EditError {
    /// The line in the list of corrections.
    pub line: usize,
    /// What is wrong, and what to do.
    pub problem: String,
}

/// Corrects a survey. Each correction becomes a finding that says old and new value, who and why.
///
/// # Errors
/// When a record does not exist, or a name stands for several; when the file does not have the old
/// value; when a new value makes no sense; when nobody or no reason is named. Nothing is corrected
/// then.
pub fn apply_edits(survey: &Survey, edits: &[Edit]) -> Result<Survey, EditError> {
    let mut edited = survey.clone();
    let mut left_out: Vec<usize> = Vec::new();
    for edit in edits {
        let wrong = |problem: String| EditError { line: edit.line, problem };
        if edit.who.trim().is_empty() || edit.why.trim().is_empty() {
            return Err(wrong("a correction needs `who` and `why`".into()));
        }
        let index = find(&edited, &edit.point).map_err(wrong)?;
        let insertion = &mut edited.insertions[index];
        match edit.field.as_str() {
            "leave_out" if edit.new.trim() == "true" => left_out.push(insertion.number),
            "leave_out" => return Err(wrong("leave_out can only become true".into())),
            _ => set(insertion, edit).map_err(wrong)?,
        }
        let change = match edit.field.as_str() {
            "leave_out" => "left out".into(),
            field => format!("{field} {:?} is corrected to {:?}", edit.old, edit.new),
        };
        let done = format!("by {}: {}", edit.who.trim(), edit.why.trim());
        let record = (survey.kind, insertion.number);
        let finding = Finding::fault(record, insertion.id.as_deref(), change, done);
        edited.findings.push(Finding { severity: Severity::Note, ..finding });
    }
    edited.insertions.retain(|insertion| !left_out.contains(&insertion.number));
    Ok(edited)
}

/// The record that a name or `#` and a number stands for.
fn find(survey: &Survey, point: &str) -> Result<usize, String> {
    let matches = |insertion: &Insertion| match point.strip_prefix('#') {
        Some(number) => number.parse() == Ok(insertion.number),
        None => insertion.id.as_deref() == Some(point),
    };
    let found: Vec<usize> =
        (0..survey.insertions.len()).filter(|&k| matches(&survey.insertions[k])).collect();
    match found.as_slice() {
        [only] => Ok(*only),
        [] => Err(format!("the survey has no point {point:?}")),
        several => Err(format!(
            "{} records are named {point:?}; name one by its number, for example #{}",
            several.len(),
            survey.insertions[several[0]].number
        )),
    }
}

/// Sets one value, after making sure of the old one.
fn set(insertion: &mut Insertion, edit: &Edit) -> Result<(), String> {
    match edit.field.as_str() {
        "at_least" => set_at_least(insertion, edit),
        "longitude" => set_number(edit, &mut insertion.place.lon_deg),
        "latitude" => set_number(edit, &mut insertion.place.lat_deg),
        "moisture_pct" => {
            let mut value = insertion.moisture_pct.unwrap_or(f64::NAN);
            set_number(edit, &mut value)?;
            insertion.moisture_pct = Some(value);
            Ok(())
        }
        "date" => {
            let old = insertion.date.map(|date| date.to_string()).unwrap_or_default();
            same_text(edit, &old)?;
            let new = edit.new.trim().parse();
            insertion.date = Some(new.map_err(|_| format!("{:?} is not a date", edit.new))?);
            Ok(())
        }
        depth => match depth.strip_prefix("depth_").and_then(DepthUnit::from_name) {
            Some(unit) => set_depth(insertion, edit, unit),
            None => Err(format!(
                "{depth:?} cannot be corrected; depth_in, depth_cm, at_least, longitude, latitude, \
                 date, moisture_pct and leave_out can"
            )),
        },
    }
}

fn set_depth(insertion: &mut Insertion, edit: &Edit, unit: DepthUnit) -> Result<(), String> {
    let Measured::Once(outcome) = insertion.measured else {
        return Err("a profile has no single depth to correct".into());
    };
    let old = match outcome {
        Outcome::Reached(depth) | Outcome::NotReached { probed_to: depth } => {
            Some(depth.m() / unit.depth(1.0).m())
        }
        Outcome::Refused | Outcome::Skipped => None,
    };
    let mut value = old.unwrap_or(f64::NAN);
    set_number(edit, &mut value)?;
    let depth = unit.depth(value);
    insertion.measured = Measured::Once(match outcome {
        Outcome::NotReached { .. } => Outcome::NotReached { probed_to: depth },
        _ => Outcome::Reached(depth),
    });
    insertion.depth_unit = Some(unit);
    Ok(())
}

fn set_at_least(insertion: &mut Insertion, edit: &Edit) -> Result<(), String> {
    let Measured::Once(outcome) = insertion.measured else {
        return Err("a profile says itself what it reached".into());
    };
    let (depth, old) = match outcome {
        Outcome::Reached(depth) => (depth, "false"),
        Outcome::NotReached { probed_to } => (probed_to, "true"),
        Outcome::Refused | Outcome::Skipped => return Err("the record has no depth".into()),
    };
    same_text(edit, old)?;
    insertion.measured = Measured::Once(match edit.new.trim() {
        "true" => Outcome::NotReached { probed_to: depth },
        "false" => Outcome::Reached(depth),
        other => return Err(format!("at_least is true or false, not {other:?}")),
    });
    Ok(())
}

/// Sets a number whose old value must agree to a millionth; NaN is none.
fn set_number(edit: &Edit, value: &mut f64) -> Result<(), String> {
    let old = edit.old.trim();
    let agrees = match (old.is_empty(), old.parse::<f64>()) {
        (true, _) => value.is_nan(),
        (false, Ok(number)) => (number - *value).abs() <= 1e-6 * value.abs().max(1e-3),
        (false, Err(_)) => false,
    };
    if !agrees {
        let found = if value.is_nan() { "none".into() } else { tidy(*value, 6) };
        return Err(format!("{} is {found}, not {old:?} as the correction says", edit.field));
    }
    match edit.new.trim().parse::<f64>() {
        Ok(number) if number.is_finite() => {
            *value = number;
            Ok(())
        }
        _ => Err(format!("{:?} is not a number", edit.new)),
    }
}

fn same_text(edit: &Edit, old: &str) -> Result<(), String> {
    match edit.old.trim() == old {
        true => Ok(()),
        false => {
            Err(format!("{} is {old:?}, not {:?} as the correction says", edit.field, edit.old))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::position::LonLat;
    use crate::units::Depth;

    fn survey() -> Survey {
        let place = LonLat { lon_deg: -95.62, lat_deg: 41.93 };
        let insertion = |number: usize, inches: f64| Insertion {
            id: Some(format!("P{number}")),
            depth_unit: Some(DepthUnit::Inches),
            ..Insertion::at(number, place, Measured::Once(Outcome::Reached(Depth::from_in(inches))))
        };
        Survey {
            features: 3,
            insertions: vec![insertion(1, 6.0), insertion(2, 99.0), insertion(3, 18.0)],
            ..Survey::default()
        }
    }

    fn edit(point: &str, field: &str, old: &str, new: &str) -> Edit {
        Edit {
            visit: None,
            line: 2,
            point: point.into(),
            field: field.into(),
            old: old.into(),
            new: new.into(),
            who: "J. Doe".into(),
            why: "typing error".into(),
        }
    }

    #[test]
    fn a_correction_changes_the_value_and_is_said() {
        let edits = [
            edit("P2", "depth_in", "99", "9"),
            edit("#3", "at_least", "false", "true"),
            edit("P1", "moisture_pct", "", "31.5"),
        ];
        let edited = apply_edits(&survey(), &edits).unwrap();
        let outcome = |k: usize| edited.insertions[k].measured.clone();
        assert_eq!(outcome(1), Measured::Once(Outcome::Reached(Depth::from_in(9.0))));
        let beyond = Outcome::NotReached { probed_to: Depth::from_in(18.0) };
        assert_eq!(outcome(2), Measured::Once(beyond));
        assert_eq!(edited.insertions[0].moisture_pct, Some(31.5));
        assert_eq!(
            edited.findings[0].to_string(),
            "point P2, feature 2: depth_in \"99\" is corrected to \"9\"; by J. Doe: typing error"
        );
    }

    #[test]
    fn a_record_can_be_left_out() {
        let edited = apply_edits(&survey(), &[edit("P2", "leave_out", "", "true")]).unwrap();
        assert_eq!(edited.insertions.len(), 2);
    }

    #[test]
    fn a_correction_that_does_not_fit_stops_all() {
        for (edit, part) in [
            (edit("P9", "depth_in", "6", "9"), "no point \"P9\""),
            (edit("P1", "depth_in", "7", "9"), "is 6, not \"7\""),
            (edit("P1", "depth_in", "6", "nine"), "not a number"),
            (edit("P1", "colour", "6", "9"), "cannot be corrected"),
            (edit("P1", "date", "2025-04-14", "2025-04-15"), "date is \"\""),
            (Edit { who: " ".into(), ..edit("P1", "depth_in", "6", "9") }, "needs `who`"),
        ] {
            let error = apply_edits(&survey(), &[edit]).unwrap_err().to_string();
            assert!(error.contains(part) && error.starts_with("line 2"), "{error}");
        }
        let mut twins = survey();
        twins.insertions[0].id = Some("P2".into());
        let error = apply_edits(&twins, &[edit("P2", "depth_in", "6", "9")]).unwrap_err();
        assert!(error.to_string().contains("2 records"), "{error}");
    }
}
