//! One file per command.

pub mod asked_map;
pub mod calendar;
pub mod check;
pub mod clean;
pub mod compare;
pub mod inspect;
pub mod map;
pub mod open;
pub mod plan;
pub mod profile;
pub mod raster;
pub mod report;
pub mod season;
mod season_archive;
pub mod season_pages;
pub mod season_stage;
pub mod spots;
pub mod trial;

use std::error::Error;

use formats::{InputFile, read_boundary, read_edits, read_survey};
use survey::{
    Boundary, CheckSettings, CheckedSurvey, DateRange, Edit, Insertion, Measured, Outcome,
    Severity, Survey, SurveyError, Threshold, apply_edits, check,
};

use crate::args::{ReadArgs, ReadOptions, SurveyArgs};
use crate::config::Config;
use crate::exit::Exit;
use crate::{field_folder, settings, terminal};

/// A survey as read, with its corrections.
#[derive(Debug)]
pub struct Readings {
    /// What was read.
    pub survey: Survey,
    /// The files it came from, each with the part it plays.
    pub files: Vec<(&'static str, InputFile)>,
}

fn readings(args: &ReadArgs, config: &Config) -> Result<Readings, Box<dyn Error>> {
    let read_settings = settings::read_settings(&args.options, config)?;
    let (inputs, mut survey) = read_survey(&args.survey, &read_settings)?;
    let mut files: Vec<(&str, InputFile)> =
        inputs.into_iter().map(|input| ("survey", input)).collect();
    files.extend(config.file.clone().map(|file| ("settings", file)));
    if let Some(path) = &args.options.edits {
        let in_file = |problem: String| format!("{}: {problem}", path.display());
        let (input, edits) = read_edits(path)?;
        let edits = edits_of_visit(edits, &args.options, &survey).map_err(in_file)?;
        survey = apply_edits(&survey, &edits).map_err(|error| in_file(error.to_string()))?;
        files.push(("edits", input));
    }
    Ok(Readings { survey, files })
}

/// The corrections of one visit of a field; of a survey's file alone, those that name no other visit.
fn edits_of_visit(
    mut edits: Vec<Edit>,
    options: &ReadOptions,
    survey: &Survey,
) -> Result<Vec<Edit>, String> {
    let Some(days) = options.days else {
        let visits = field_folder::days_of_visits(survey);
        let is_other = |day| !visits.is_empty() && !visits.iter().any(|days| days.contains(day));
        edits.retain(|edit| !edit.visit.is_some_and(is_other));
        return Ok(edits);
    };
    for edit in &edits {
        refuse_edit_of_no_visit(edit, &options.days_of_all)?;
    }
    edits.retain(|edit| edit.visit.is_some_and(|day| days.contains(day)));
    Ok(edits)
}

/// In the folder of a field a correction must say which of its visits it is for: none may be lost.
fn refuse_edit_of_no_visit(edit: &Edit, visits: &[DateRange]) -> Result<(), String> {
    let line = edit.line;
    let Some(day) = edit.visit else {
        return Err(format!(
            "line {line} does not say which visit it corrects; give its day in a column `visit`"
        ));
    };
    if visits.iter().any(|days| days.contains(day)) {
        return Ok(());
    }
    let there: Vec<String> = visits.iter().map(|days| days.first().to_string()).collect();
    Err(format!(
        "line {line} corrects the visit of {day}, and there is none; there are {}",
        there.join(", ")
    ))
}

/// Readings and the boundary they lie in.
#[derive(Debug)]
pub struct Source {
    /// The readings.
    pub readings: Readings,
    /// The outline, where one was given.
    pub boundary: Option<Boundary>,
    /// The field's name.
    pub field_name: String,
}

/// Reads a survey and its boundary.
pub fn source(args: &SurveyArgs, config: &Config) -> Result<Source, Box<dyn Error>> {
    let mut readings = readings(&args.read, config)?;
    let (file, boundary) = args.check.boundary.as_deref().map(read_boundary).transpose()?.unzip();
    readings.files.extend(file.map(|file| ("boundary", file)));
    let field_name = match &args.read.options.field {
        Some(folder) => field_folder::field_name(folder, config, boundary.as_ref()),
        None => {
            let of_boundary = boundary.as_ref().and_then(|boundary| boundary.name.clone());
            let given = config.name.clone().or(of_boundary).or(readings.survey.name.clone());
            terminal::one_line(&given.unwrap_or_else(|| stem(&args.read)))
        }
    };
    Ok(Source { readings, boundary, field_name })
}

/// The survey's file name without its ending.
pub fn stem(args: &ReadArgs) -> String {
    args.survey.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}

/// Checks a survey for one threshold and prints the findings.
pub fn checked(
    args: &SurveyArgs,
    source: &Source,
    threshold: Option<&Threshold>,
) -> Result<(CheckSettings, CheckedSurvey), Box<dyn Error>> {
    let (settings, checked) = check_source(args, source, threshold)?;
    terminal::print_findings(checked.findings());
    refuse_doubts(args, &checked)?;
    Ok((settings, checked))
}

/// The same for one of several visits, whose findings say which file they are of.
pub fn checked_visit(
    args: &SurveyArgs,
    source: &Source,
    threshold: Option<&Threshold>,
) -> Result<CheckedSurvey, Box<dyn Error>> {
    let (_, checked) = check_source(args, source, threshold)?;
    let file = args.read.survey.file_name().unwrap_or_default().to_string_lossy();
    terminal::print_findings_of(&file, checked.findings());
    refuse_doubts(args, &checked)?;
    Ok(checked)
}

fn check_source(
    args: &SurveyArgs,
    source: &Source,
    threshold: Option<&Threshold>,
) -> Result<(CheckSettings, CheckedSurvey), Box<dyn Error>> {
    let settings = settings::check_settings(args, threshold.cloned())?;
    let checked = check(&source.readings.survey, source.boundary.as_ref(), &settings)
        .map_err(|error| format!("{}: {error}", file_at_fault(args, &error)))?;
    Ok((settings, checked))
}

/// With `--strict` a doubt is an error.
fn refuse_doubts(args: &SurveyArgs, checked: &CheckedSurvey) -> Result<(), String> {
    match checked.count_findings(Severity::Doubt) {
        count @ 1.. if args.check.strict => Err(format!(
            "{}: {count} of the findings are faults or doubts, and --strict was given",
            args.read.survey.display()
        )),
        _ => Ok(()),
    }
}

/// The thresholds asked for; `None` for the survey's own.
pub fn thresholds(args: &ReadArgs) -> Vec<Option<&Threshold>> {
    match args.options.threshold.as_slice() {
        [] => vec![None],
        several => several.iter().map(Some).collect(),
    }
}

/// Single depths that do not say their threshold can be mapped at one, by the user's word, but not
/// at several.
fn refuse_silent_depths(source: &Source) -> Result<(), Box<dyn Error>> {
    let is_silent = |insertion: &&Insertion| {
        insertion.threshold.is_none()
            && matches!(
                insertion.measured,
                Measured::Once(Outcome::Reached(_) | Outcome::NotReached { .. })
            )
    };
    match source.readings.survey.insertions.iter().filter(is_silent).count() {
        0 => Ok(()),
        count => Err(format!(
            "{count} single depths do not say their threshold, so they cannot be mapped at several"
        )
        .into()),
    }
}

/// The file that an error is about.
fn file_at_fault(args: &SurveyArgs, error: &SurveyError) -> String {
    let file = match &args.check.boundary {
        Some(boundary) if error.is_of_boundary() => boundary,
        _ => &args.read.survey,
    };
    file.display().to_string()
}

/// How a command ends that could do its work on a survey.
pub fn exit(survey: &CheckedSurvey) -> Exit {
    match survey.has_faults() {
        true => Exit::Findings,
        false => Exit::Done,
    }
}
