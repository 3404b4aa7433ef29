//! Archives the visits of a field's folder as one GeoPackage, for other programs to read.
//!
//! ```text
//! cargo run --package formats --example write_season -- FOLDER SEASON.gpkg
//! ```
//!
//! The visits are the GeoJSON files in `FOLDER/visits`, or `FOLDER/profiles.geojson`; the outline is
//! `FOLDER/boundary.geojson`. One correction is made up.

use std::collections::BTreeSet;
use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

use formats::{
    ArchivedFile, ArchivedVisit, Output, ReadSettings, SeasonArchive, read_boundary, read_survey,
    season_geopackage, write_files,
};
use survey::{
    Boundary, CheckSettings, CheckedSurvey, Date, DateRange, Edit, Insertion, Measured, Outcome,
    Survey, apply_edits, check,
};

/// A visit, as read and as checked.
struct Visit {
    name: String,
    file: String,
    survey: Survey,
    checked: CheckedSurvey,
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args_os().skip(1).map(PathBuf::from);
    let (Some(field), Some(archive)) = (arguments.next(), arguments.next()) else {
        return Err("name a field's folder and the archive".into());
    };
    let outline = field.join("boundary.geojson");
    let (_, boundary) = read_boundary(&outline)?;
    let mut files = ArchivedFile::read(&field, &outline, "boundary")?;
    let (mut visits, mut edits) = (Vec::new(), Vec::new());
    for path in surveys(&field)? {
        let archived = ArchivedFile::read(&field, &path, "visit")?;
        let (_, survey) = read_survey(&path, &ReadSettings::default())?;
        edits.extend(survey.insertions.iter().find_map(correction).filter(|_| edits.is_empty()));
        visits.extend(visits_of(&archived[0].name, &survey, &boundary, &edits)?);
        files.extend(archived);
    }
    let archived: Vec<ArchivedVisit> = visits
        .iter()
        .map(|Visit { name, file, survey, checked }| ArchivedVisit { name, file, survey, checked })
        .collect();
    let bytes = season_geopackage(&SeasonArchive {
        version: env!("CARGO_PKG_VERSION"),
        field_name: boundary.name.as_deref().unwrap_or("A field"),
        created: None,
        files: &files,
        visits: &archived,
        boundary: Some(&boundary),
        settings: &[("threshold".into(), "200 psi".into())],
        edits: &edits,
        results: &[],
    })?;
    let name = archive.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let folder = archive.parent().unwrap_or(Path::new("."));
    write_files(folder, &[Output { name, bytes }], true)?;
    Ok(())
}

/// The files of the visits, by name.
fn surveys(field: &Path) -> std::io::Result<Vec<PathBuf>> {
    let visits = field.join("visits");
    if !visits.is_dir() {
        return Ok(vec![field.join("profiles.geojson")]);
    }
    let files = fs::read_dir(visits)?.map(|entry| Ok(entry?.path()));
    let mut files = files.collect::<std::io::Result<Vec<_>>>()?;
    files.retain(|path| path.extension().is_some_and(|it| it == "geojson"));
    files.sort();
    Ok(files)
}

/// One inch more, where a depth was read in a named place.
fn correction(insertion: &Insertion) -> Option<Edit> {
    let Measured::Once(Outcome::Reached(depth)) = insertion.measured else { return None };
    Some(Edit {
        line: 2,
        visit: insertion.date,
        point: insertion.id.clone()?,
        field: "depth_in".into(),
        old: depth.inches().round().to_string(),
        new: (depth.inches().round() + 1.0).to_string(),
        who: "A. Adviser".into(),
        why: "read one mark too low".into(),
    })
}

/// The visits of a file, one for each of its days.
fn visits_of(
    file: &str,
    survey: &Survey,
    boundary: &Boundary,
    edits: &[Edit],
) -> Result<Vec<Visit>, Box<dyn Error>> {
    let days: BTreeSet<Date> = survey.insertions.iter().filter_map(|it| it.date).collect();
    let visit = |day: &Date| {
        let of_day: Vec<Edit> =
            edits.iter().filter(|edit| edit.visit == Some(*day)).cloned().collect();
        let edited = apply_edits(survey, &of_day)?;
        let dates = Some(DateRange::new(*day, *day)?);
        let settings = CheckSettings { dates, ..CheckSettings::default() };
        let checked = check(&edited, Some(boundary), &settings)?;
        Ok(Visit { name: day.to_string(), file: file.to_owned(), survey: survey.clone(), checked })
    };
    days.iter().map(visit).collect()
}
