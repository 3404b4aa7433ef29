//! One file per command.

pub mod check;
pub mod map;

use std::error::Error;

use formats::{InputFile, read_boundary, read_survey};
use survey::{CheckSettings, CheckedSurvey, SurveyError, check};

use crate::args::SurveyArgs;
use crate::exit::Exit;
use crate::settings;

/// What a command starts from: a checked survey and where it came from.
struct Input {
    survey_file: InputFile,
    boundary_file: Option<InputFile>,
    field_name: String,
    check: CheckSettings,
    survey: CheckedSurvey,
}

fn read(args: &SurveyArgs) -> Result<Input, Box<dyn Error>> {
    let check_settings = settings::check_settings(args)?;
    let field = settings::depth_field(args);
    let (survey_file, readings) = read_survey(&args.survey, field.as_ref())?;
    let boundary = args.boundary.as_deref().map(read_boundary).transpose()?;
    let (boundary_file, boundary) = boundary.unzip();
    let checked = check(&readings, boundary.as_ref(), &check_settings)
        .map_err(|error| format!("{}: {error}", file_at_fault(args, &error)))?;
    let stem = args.survey.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let field_name = boundary.and_then(|b| b.name).or(readings.name).unwrap_or(stem);
    Ok(Input { survey_file, boundary_file, field_name, check: check_settings, survey: checked })
}

/// The file that an error is about.
fn file_at_fault(args: &SurveyArgs, error: &SurveyError) -> String {
    let file = match &args.boundary {
        Some(boundary) if error.is_of_boundary() => boundary,
        _ => &args.survey,
    };
    file.display().to_string()
}

/// How a command ends that could do its work on a survey.
fn exit(survey: &CheckedSurvey) -> Exit {
    match survey.has_faults() {
        true => Exit::Findings,
        false => Exit::Done,
    }
}
