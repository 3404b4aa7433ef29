//! The readings of all visits, and those of their profiles.

use std::collections::BTreeMap;

use rusqlite::{Connection, Result, params};
use survey::{Depth, DepthUnit, Insertion, LonLat, Measured, Outcome, Profile};

use super::layout::{PROFILE_READINGS, READINGS};
use super::{ArchivedVisit, shown_text};
use crate::exact_number;
use crate::geopackage::{Contents, bounds_of, cm, count, kpa, mm, point};

/// Writes the tables of readings; that of profiles where there is one.
pub(super) fn write(contents: &Contents, visits: &[ArchivedVisit]) -> Result<()> {
    READINGS.create(contents.db)?;
    let mut insertions = visits.iter().flat_map(|visit| &visit.survey.insertions);
    let has_profiles = insertions.any(|it| matches!(it.measured, Measured::Profile(_)));
    if has_profiles {
        PROFILE_READINGS.create(contents.db)?;
    }
    let mut places: Vec<LonLat> = Vec::new();
    for (index, visit) in visits.iter().enumerate() {
        let kept = visit.checked.kept().iter().map(|insertion| (insertion.number, insertion));
        let kept: BTreeMap<usize, &Insertion> = kept.collect();
        for insertion in of_visit(visits, index) {
            write_reading(contents.db, visit, kept.get(&insertion.number).copied(), insertion)?;
            places.extend(Some(insertion.place).filter(|place| place.is_on_earth()));
        }
    }
    contents.features(READINGS.name, "POINT", READINGS.what, bounds_of(&places))?;
    match has_profiles {
        true => contents.attributes(PROFILE_READINGS.name, PROFILE_READINGS.what),
        false => Ok(()),
    }
}

/// The insertions that are listed with a visit: all of its file, but of a file that visits share those
/// whose day is its own, and with the first visit those that are of no visit's day.
pub(super) fn of_visit<'a>(
    visits: &'a [ArchivedVisit],
    index: usize,
) -> impl Iterator<Item = &'a Insertion> {
    let file = visits[index].file;
    let sharing: Vec<usize> = (0..visits.len()).filter(|&k| visits[k].file == file).collect();
    let has_day = |visit: &ArchivedVisit, insertion: &Insertion| {
        let days = visit.checked.dates().zip(insertion.date);
        days.is_some_and(|((first, last), day)| (first..=last).contains(&day))
    };
    let owner = move |insertion: &Insertion| {
        let with_day = sharing.iter().find(|&&k| has_day(&visits[k], insertion));
        *with_day.unwrap_or(&sharing[0])
    };
    visits[index].survey.insertions.iter().filter(move |insertion| owner(insertion) == index)
}

/// One row, and one for each reading of a profile. `kept` is the insertion that the check used.
fn write_reading(
    db: &Connection,
    visit: &ArchivedVisit,
    kept: Option<&Insertion>,
    insertion: &Insertion,
) -> Result<()> {
    let threshold = visit.checked.threshold().pressure();
    let ended = Ended::of(insertion, insertion.outcome(threshold, visit.checked.sustained()));
    let text = |text: &Option<String>| text.as_deref().map(shown_text);
    db.prepare_cached(&READINGS.insertion())?.execute(params![
        point(insertion.place),
        visit.name,
        visit.file,
        count(insertion.number),
        text(&insertion.id),
        insertion.date.map(|date| date.to_string()),
        insertion.time.map(|time| time.to_string()),
        ended.measured,
        ended.outcome,
        ended.depth.map(cm),
        ended.probed_to.map(cm),
        ended.depth_as_read,
        ended.probed_to_as_read,
        ended.unit.map(DepthUnit::name),
        kpa(insertion.threshold.unwrap_or(threshold)),
        if insertion.threshold.is_some() { "file" } else { "check" },
        insertion.moisture_pct,
        insertion.accuracy_m,
        insertion.cone.map(mm),
        text(&insertion.instrument),
        text(&insertion.operator),
        text(&insertion.group),
        text(&insertion.note),
        kept.is_some(),
        kept.is_some_and(|kept| kept != insertion),
    ])?;
    match &insertion.measured {
        Measured::Profile(profile) => write_profile(db, db.last_insert_rowid(), profile),
        Measured::Once(_) => Ok(()),
    }
}

fn write_profile(db: &Connection, reading: i64, profile: &Profile) -> Result<()> {
    let mut insert = db.prepare_cached(&PROFILE_READINGS.insertion())?;
    for at in profile.readings() {
        insert.execute(params![reading, cm(at.depth), kpa(at.pressure)])?;
    }
    Ok(())
}

/// How an insertion ended, in words and numbers. A depth that was not reached stands nowhere as one that
/// was.
struct Ended {
    measured: &'static str,
    outcome: &'static str,
    depth: Option<Depth>,
    probed_to: Option<Depth>,
    /// In the unit of the file; none of a profile, whose depth is reckoned.
    depth_as_read: Option<f64>,
    probed_to_as_read: Option<f64>,
    unit: Option<DepthUnit>,
}

impl Ended {
    fn of(insertion: &Insertion, outcome: Outcome) -> Self {
        let profile = match &insertion.measured {
            Measured::Profile(profile) => Some(profile),
            Measured::Once(_) => None,
        };
        let (word, depth, probed_to) = match outcome {
            Outcome::Reached(depth) => ("reached", Some(depth), None),
            Outcome::NotReached { probed_to } => ("not reached", None, Some(probed_to)),
            Outcome::Refused => ("refused", None, None),
            Outcome::Skipped => ("skipped", None, None),
        };
        let probed_to = profile.map(Profile::probed_to).or(probed_to);
        let given = profile.map_or(depth, |_| None).or(probed_to);
        let as_read = given.map(|depth| {
            exact_number::depth(depth, insertion.depth_unit.unwrap_or(DepthUnit::Centimetres))
        });
        let number = as_read.map(|(number, _)| number);
        let is_depth = depth.is_some() && profile.is_none();
        Ended {
            measured: if profile.is_some() { "profile" } else { "single depth" },
            outcome: word,
            depth,
            probed_to,
            depth_as_read: number.filter(|_| is_depth),
            probed_to_as_read: number.filter(|_| !is_depth),
            unit: as_read.map(|(_, unit)| unit),
        }
    }
}
