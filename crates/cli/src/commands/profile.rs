//! `loosedepth profile`: cone index by depth, tight layers, and the table of the probes.

use std::error::Error;

use formats::{Output, refuse_existing};
use report::{ProfilePage, ReportError, profile_png};
use survey::{DEFAULT_THRESHOLD_PSI, Pressure, Severity, Survey, Threshold};

use crate::args::ProfileArgs;
use crate::exit::Exit;
use crate::writing::write_files;
use crate::{field_folder, settings, terminal};

use crate::profile_csv::per_probe;
use crate::profile_table::{self, STOPS_ROOTS_PSI, shares_text};
use crate::profiles::{ProfileRequest, Profiles};

const PICTURE: &str = "profile.png";
const TABLE: &str = "profiles.csv";
const FILES: [&str; 2] = [PICTURE, TABLE];

/// Prints the profiles of a survey, and writes picture and table where a folder is given.
pub fn run(mut args: ProfileArgs) -> Result<Exit, Box<dyn Error>> {
    // A field has one threshold for its maps; profiles are summed up at the two that matter to roots.
    let thresholds = args.read.options.threshold.clone();
    let config = field_folder::complete_read(&mut args.read)?.config;
    let out = args.result.out.as_deref();
    if let Some(folder) = out {
        refuse_existing(folder, &FILES, args.result.replace)?;
    }
    let readings = super::readings(&args.read, &config)?;
    terminal::print_findings(&readings.survey.findings);
    let thresholds = match thresholds.as_slice() {
        [] => [DEFAULT_THRESHOLD_PSI, STOPS_ROOTS_PSI]
            .map(|psi| Threshold::plain(Pressure::from_psi(psi)))
            .into(),
        given => given.to_vec(),
    };
    let request = ProfileRequest {
        thresholds,
        sustained: settings::sustained(&args.read.options),
        units: settings::units(&args.read.options),
        by_group: args.read.options.group.is_some(),
        dates: args.read.options.date,
    };
    let name = readings.survey.name.clone().unwrap_or_else(|| super::stem(&args.read));
    let result = sum_up(&name, &readings.survey, &request)
        .map_err(|error| format!("{}: {error}", args.read.survey.display()))?;
    if let Some(folder) = out {
        let files = [
            Output { name: PICTURE.into(), bytes: result.png },
            Output { name: TABLE.into(), bytes: result.csv.into() },
        ];
        write_files(folder, &files, args.result.replace)?;
    }
    terminal::print(&result.text)?;
    if let Some(folder) = out {
        terminal::print(&format!("wrote {} into {}", FILES.join(", "), folder.display()))?;
    }
    let faults = readings.survey.findings.iter().any(|f| f.severity == Severity::Fault);
    Ok(if faults { Exit::Findings } else { Exit::Done })
}

/// What the command prints and writes.
#[derive(Debug)]
pub struct ProfileResult {
    /// The tables for the terminal.
    pub text: String,
    /// One line a probe.
    pub csv: String,
    /// The drawing as a picture.
    pub png: Vec<u8>,
}

/// Sums up the profiles of a survey.
///
/// # Errors
/// When the survey has no profile of the days asked for, or there is no memory for the picture.
pub fn sum_up(
    field_name: &str,
    survey: &Survey,
    request: &ProfileRequest,
) -> Result<ProfileResult, Box<dyn Error>> {
    let profiles = Profiles::of(survey, request)?;
    let png = draw(field_name, &profiles, request)?;
    Ok(ProfileResult {
        text: profile_table::profiles(field_name, &profiles, request),
        csv: per_probe(&profiles, request),
        png,
    })
}

fn draw(
    field_name: &str,
    profiles: &Profiles,
    request: &ProfileRequest,
) -> Result<Vec<u8>, ReportError> {
    with_page(field_name, profiles, request, profile_png)
}

/// Draws profiles.
pub fn with_page<R>(
    field_name: &str,
    profiles: &Profiles,
    request: &ProfileRequest,
    draw: impl FnOnce(&ProfilePage) -> R,
) -> R {
    let all = profiles.all();
    let shares = |threshold: &Threshold| shares_text(&all, threshold);
    let mut notes: Vec<String> = request.thresholds.iter().map(shares).collect();
    notes.extend(profiles.notes(request));
    let groups = profiles.drawn_groups(request);
    draw(&ProfilePage {
        title: field_name,
        subtitle: &["Cone index by depth".into(), profiles.visit_text(request.units)],
        units: request.units,
        thresholds: &request.thresholds,
        groups: &groups,
        notes: &notes,
    })
}
