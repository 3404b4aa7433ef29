//! `loosedepth report`: what was found, in one file for a browser, and the map as a sheet to print.

use std::error::Error;
use std::path::{Path, PathBuf};

use formats::{InputFile, Output, read_earlier_zones, refuse_existing};
use mapping::MapSettings;
use report::{map_pdf, report_html};
use season::{CompareSettings, Comparison, SeasonError, Trend, TrendSettings, compare, trend};
use survey::Date;

use super::compare::Compared;
use super::season::usual_marks;
use super::season_stage::{ReproductiveStage, reproductive_stage};
use crate::args::{ReadArgs, ReportArgs, SurveyArgs};
use crate::config::Config;
use crate::exit::{Exit, WrongArguments};
use crate::report_page::{ReportOf, map_page, report_page};
use crate::visits::{self, Loaded};
use crate::writing::write_files;
use crate::{field_folder, own_command, settings, terminal};

const PAGE: &str = "report.html";
const SHEET: &str = "map-sheet.pdf";

/// Reads and maps the visits asked for and writes the report. Nothing is written before all is made.
pub fn run(args: &ReportArgs) -> Result<Exit, Box<dyn Error>> {
    let asked = Asked::of(args)?;
    let place = Place::of(args, &asked)?;
    refuse_existing(&place.folder, &place.files(), args.result.replace)?;
    let loaded = load(args, asked)?;
    loaded.progress.next("report");
    let made = made(&loaded, &own_command::text())?;
    let files = [
        Output { name: place.page.clone(), bytes: made.page.into() },
        Output { name: SHEET.into(), bytes: made.sheet },
    ];
    write_files(&place.folder, &files, args.result.replace)?;
    let findings = made.stage.as_ref().map_or(&[][..], |stage| &stage.findings);
    terminal::print_findings(findings);
    terminal::print(&made.told)?;
    terminal::print(&format!(
        "wrote {} into {}",
        place.files().join(", "),
        place.folder.display()
    ))?;
    Ok(loaded.exit.or(if findings.is_empty() { Exit::Done } else { Exit::Findings }))
}

/// The visits that a report is of, with what the settings file says of them.
struct Asked {
    config: Config,
    visits: Vec<SurveyArgs>,
    /// The field's folder, where there is one.
    field: Option<PathBuf>,
    /// The folder of these visits within the results of the field: none where they are all of its visits.
    within: Option<String>,
}

impl Asked {
    fn of(args: &ReportArgs) -> Result<Self, Box<dyn Error>> {
        match args.visits.as_slice() {
            [folder] if folder.is_dir() && args.visit.is_none() => Asked::season(args, folder),
            [survey] => Asked::one(args, survey),
            [folder, earlier, later] if folder.is_dir() => {
                if args.visit.is_some() {
                    let problem = "give the days of two visits, or one with --visit, not both";
                    return Err(WrongArguments(problem.into()).into());
                }
                Asked::two(args, folder, [earlier, later])
            }
            [first, ..] => Err(WrongArguments(format!(
                "{}: a report is of a field's folder, of it and the days of two visits, or of one survey",
                first.display()
            ))
            .into()),
            [] => unreachable!("clap asks for one"),
        }
    }

    /// All visits of a field.
    fn season(args: &ReportArgs, folder: &Path) -> Result<Self, Box<dyn Error>> {
        let (config, visits) = field_folder::every_visit(folder, &args.read, &args.check)?;
        Ok(Asked { config, visits, field: Some(folder.into()), within: None })
    }

    /// Two of them.
    fn two(args: &ReportArgs, folder: &Path, days: [&PathBuf; 2]) -> Result<Self, Box<dyn Error>> {
        let (config, all) = field_folder::every_visit(folder, &args.read, &args.check)?;
        let days_of_all = &all[0].read.options.days_of_all;
        let chosen = days.map(|text| -> Result<usize, Box<dyn Error>> {
            Ok(field_folder::visit_of(folder, days_of_all, visits::day(text)?)?)
        });
        let [earlier, later] = chosen;
        let [earlier, later] = [earlier?, later?];
        let name = |visit: usize| days_of_all[visit].first();
        let [first, second]: [Date; 2] = [name(earlier), name(later)];
        if second <= first {
            return Err(WrongArguments(format!(
                "the first visit is of {first}, the second of {second}; give the earlier first"
            ))
            .into());
        }
        let within = Some(format!("{first}_to_{second}"));
        let visits = vec![all[earlier].clone(), all[later].clone()];
        Ok(Asked { config, visits, field: Some(folder.into()), within })
    }

    /// One visit of a field, or a survey's file.
    fn one(args: &ReportArgs, survey: &Path) -> Result<Self, Box<dyn Error>> {
        let field = survey.is_dir().then(|| survey.to_path_buf());
        let read =
            ReadArgs { survey: survey.into(), visit: args.visit, options: args.read.clone() };
        let mut survey = SurveyArgs { read, check: args.check.clone() };
        let config = field_folder::complete(&mut survey)?.config;
        let days = survey.read.options.days;
        let within = field.as_ref().and(days).map(|days| days.first().to_string());
        Ok(Asked { config, visits: vec![survey], field, within })
    }
}

/// Where a report goes.
struct Place {
    folder: PathBuf,
    page: String,
}

impl Place {
    fn of(args: &ReportArgs, asked: &Asked) -> Result<Self, WrongArguments> {
        let place = match &args.result.out {
            Some(out) => Place::given(out)?,
            None => {
                let field = asked.field.as_ref().ok_or_else(field_folder::no_folder)?;
                let results = field_folder::results_folder(field, &asked.config);
                let folder =
                    asked.within.as_ref().map_or(results.clone(), |name| results.join(name));
                Place { folder, page: PAGE.into() }
            }
        };
        if let Some(field) = &asked.field {
            field_folder::refuse_among_visits(field, &asked.config, &place.folder)?;
        }
        Ok(place)
    }

    fn given(out: &Path) -> Result<Self, WrongArguments> {
        let is_page = out.extension().is_some_and(|end| end.eq_ignore_ascii_case("html"));
        if !is_page || out.is_dir() {
            return Ok(Place { folder: out.into(), page: PAGE.into() });
        }
        let name = out.file_name().and_then(|name| name.to_str()).ok_or_else(|| {
            WrongArguments(format!("{}: the name of a report must be plain text", out.display()))
        })?;
        let folder = out.parent().filter(|folder| !folder.as_os_str().is_empty());
        Ok(Place { folder: folder.unwrap_or(Path::new(".")).into(), page: name.into() })
    }

    fn files(&self) -> [&str; 2] {
        [&self.page, SHEET]
    }
}

/// Reads, checks and maps the visits as `map` and `season` do.
fn load(args: &ReportArgs, asked: Asked) -> Result<Loaded, Box<dyn Error>> {
    let Asked { mut config, visits, .. } = asked;
    config.strata = args.zones.strata.clone().or(config.strata);
    let is_one = visits.len() == 1;
    let earlier = args.zones.earlier_zones.as_deref().map(read_earlier_zones).transpose()?;
    if earlier.is_some() && !is_one {
        let problem = "--earlier-zones is for the report of one visit";
        return Err(WrongArguments(problem.into()).into());
    }
    let (file, zones): (Option<InputFile>, _) = earlier.unzip();
    let more = |settings: &mut MapSettings| -> Result<(), Box<dyn Error>> {
        settings.zones = settings::zone_settings(&args.zones)?;
        settings.zones.earlier = zones.clone().unwrap_or_default();
        settings::set_chance(settings, &args.chance);
        Ok(())
    };
    let classes = args.classes.as_deref();
    let mut loaded = visits::given(config, visits, &args.interpolation, classes, &more)?;
    loaded.files.extend(file.map(|file| ("earlier zones", file)));
    if let Some(title) = args.title.as_ref().filter(|title| !title.trim().is_empty()) {
        loaded.field_name = terminal::one_line(title.trim());
    }
    Ok(loaded)
}

/// What a report is, and what is said of it.
struct Made {
    page: String,
    sheet: Vec<u8>,
    /// The first sentences of the grower's page.
    told: String,
    stage: Option<ReproductiveStage>,
}

fn made(loaded: &Loaded, command: &str) -> Result<Made, Box<dyn Error>> {
    let trend = season_of(loaded);
    let stage = reproductive_stage(&loaded.config, &loaded.visits)?;
    let found = comparison(loaded)?;
    let compared = found.as_ref().and_then(|found| compared(loaded, found));
    let page = report_page(&ReportOf {
        loaded,
        trend: &trend,
        compared: compared.as_ref(),
        stage: stage.as_ref(),
        command,
    });
    Ok(Made {
        page: report_html(&page)?,
        sheet: map_pdf(&map_page(loaded))?,
        told: format!("{}: {}", page.title, page.summary.headline),
        stage,
    })
}

fn season_of(loaded: &Loaded) -> Trend {
    let usual = TrendSettings::default();
    let settings = TrendSettings {
        marks: usual_marks(loaded.visits[0].map.classes.units()),
        moisture_within_pct: loaded.config.moisture_within.unwrap_or(usual.moisture_within_pct),
        ..usual
    };
    trend(&loaded.visits, &settings)
}

/// The last visit beside the first.
fn comparison(loaded: &Loaded) -> Result<Option<Comparison>, SeasonError> {
    let [first, .., last] = loaded.visits.as_slice() else { return Ok(None) };
    let usual = CompareSettings::default();
    let moisture_within_pct = loaded.config.moisture_within.unwrap_or(usual.moisture_within_pct);
    compare(first, last, &CompareSettings { moisture_within_pct, ..usual }).map(Some)
}

fn compared<'a>(loaded: &'a Loaded, found: &'a Comparison) -> Option<Compared<'a>> {
    let [first, .., last] = loaded.visits.as_slice() else { return None };
    Some(Compared { field_name: &loaded.field_name, visits: [first, last], found, adjusted: None })
}
