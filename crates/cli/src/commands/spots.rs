//! `loosedepth spots`: where to probe next, in what order, with a sheet to fill in.

use std::error::Error;
use std::path::{Path, PathBuf};

use formats::{
    InputFile, Output, SpotsFile, SpotsSummary, SpotsValues, read_boundary, read_strata,
    read_zones, refuse_existing, spots_geojson, spots_gpx, spots_json, spots_table_csv,
};
use mapping::StratumPart;
use plan::{ZoneMap, capitalised};
use report::{SpotsSheet, spots_pdf, spots_png};
use season::calendar_words::{CAUTIONS, WHAT_TO_DO};
use survey::units::M_PER_FT;
use survey::{Boundary, CheckedSurvey, Depth, Field, Threshold, UnitSystem};

use crate::args::{CheckOptions, ReadArgs, SpotsArgs, SurveyArgs, USUAL_EDGE_TOLERANCE_M};
use crate::config::Config;
use crate::exit::{Exit, WrongArguments};
use crate::spots_plan::{self, Basis, SpotsPlan};
use crate::spots_record::recording_page;
use crate::spots_table::{self, SampleSize, SpotsTable};
use crate::writing::write_files;
use crate::{field_folder, settings, terminal};

const GPX: &str = "spots.gpx";
const GEOJSON: &str = "spots.geojson";
const CSV: &str = "spots.csv";
const SUMMARY: &str = "spots.json";
const SHEET: &str = "spots.pdf";
const PICTURE: &str = "spots.png";
const RECORD: &str = "record.html";
const FILES: [&str; 7] = [SUMMARY, GPX, GEOJSON, CSV, SHEET, PICTURE, RECORD];

/// Folder of the spots, in the results of a field.
const SPOTS: &str = "spots";

/// Plans spots, prints them, and writes them where there is a folder for that.
pub fn run(args: &SpotsArgs) -> Result<Exit, Box<dyn Error>> {
    refuse_what_cannot_be(args)?;
    let mut given = Given::of(args)?;
    if let Some(out) = &given.out {
        refuse_existing(out, &FILES, args.replace)?;
    }
    let field = Field::inside(&given.boundary)
        .map_err(|error| format!("{}: {error}", given.boundary_path.display()))?;
    let (earlier, exit) = match wants_earlier(args) {
        true => earlier_visit(args, &mut given).map(|(survey, exit)| (Some(survey), exit))?,
        false => (None, Exit::Done),
    };
    let size = sample_size(args, earlier.as_ref())?;
    if !places_any(args) {
        let table = SpotsTable::without_spots(&given.field_name, given.units, size.as_ref());
        terminal::print(&table)?;
        return Ok(exit);
    }
    let plan = spots_plan::plan(&Basis {
        args,
        units: given.units,
        field: &field,
        from_edge_m: from_edge_m(args, given.units),
        strata: &given.strata,
        zones: given.zones.as_ref(),
        earlier: earlier.as_ref(),
    })?;
    let threshold = given.threshold.as_ref().or(earlier.as_ref().map(CheckedSurvey::threshold));
    let of =
        Made { args, given: &given, field: &field, plan: &plan, threshold, size: size.as_ref() };
    if let Some(out) = &given.out {
        write_files(out, &of.files()?, args.replace)?;
    }
    terminal::print_notes(&plan.notes);
    terminal::print(&spots_table::spots(&SpotsTable {
        field_name: &given.field_name,
        units: given.units,
        field: &field,
        from_edge_m: from_edge_m(args, given.units),
        plan: &plan,
        insertions: usize::from(args.insertions),
        size: size.as_ref(),
        with_spots: given.out.is_none(),
    }))?;
    if let Some(out) = &given.out {
        terminal::print(&format!("wrote {} into {}", FILES.join(", "), out.display()))?;
    }
    Ok(exit)
}

/// Whether any spot is to be placed.
fn places_any(args: &SpotsArgs) -> bool {
    let design = &args.design;
    let counts = [design.random, design.stratified, args.earlier.least_sure];
    let lengths = [design.grid, design.transects];
    args.earlier.again || counts.iter().any(Option::is_some) || lengths.iter().any(Option::is_some)
}

/// Whether the readings of an earlier visit are needed.
fn wants_earlier(args: &SpotsArgs) -> bool {
    let sized = args.size.precision.is_some() && args.size.mean.is_none();
    let sure = args.earlier.least_sure.is_some() && (is_given(args) || !places_others(args));
    args.earlier.again || sized || sure
}

/// Whether an earlier visit is named.
fn is_given(args: &SpotsArgs) -> bool {
    args.earlier.earlier.is_some() || args.earlier.visit.is_some()
}

/// Whether spots are placed beside those where least is known.
fn places_others(args: &SpotsArgs) -> bool {
    let design = &args.design;
    design.grid.is_some()
        || design.transects.is_some()
        || design.random.is_some()
        || design.stratified.is_some()
}

fn refuse_what_cannot_be(args: &SpotsArgs) -> Result<(), WrongArguments> {
    let wrong = |problem: &str| Err(WrongArguments(problem.into()));
    if !places_any(args) && args.size.precision.is_none() {
        return wrong(
            "say how spots are placed: --grid, --random, --stratified, --transects, --again or --least-sure; \
             or ask with --precision how many are needed",
        );
    }
    let counts =
        [args.design.random, args.design.stratified, args.earlier.least_sure].into_iter().flatten();
    if counts.into_iter().any(|count| count == 0) {
        return wrong("a number of spots must be above zero");
    }
    if args.design.heading.is_some_and(|deg| !(0.0..=360.0).contains(&deg)) {
        return wrong("--heading must be from 0 to 360 degrees");
    }
    if args.design.heading.is_some()
        && args.design.grid.is_none()
        && args.design.transects.is_none()
    {
        return wrong("--heading is for --grid or --transects; leave it out");
    }
    if args.size.precision.is_some_and(|pct| !(pct > 0.0 && pct <= 100.0)) {
        return wrong("--precision must be above 0 and at most 100 percent");
    }
    if !(50.0..=99.9).contains(&args.size.confidence) {
        return wrong("--confidence must be from 50 to 99.9 percent");
    }
    if args.size.mean.is_some_and(|mean| mean.m() <= 0.0) {
        return wrong("--mean must be above zero");
    }
    if args.size.mean.is_some() && args.size.precision.is_none() {
        return wrong("--mean and --spread are for --precision; give it, or leave them out");
    }
    if is_given(args) && !wants_earlier(args) {
        return wrong(
            "an earlier visit is for --again, --least-sure or --precision; give one of them, or leave it out",
        );
    }
    if args.read.threshold.len() > 1 {
        return wrong("spots are probed at one --threshold");
    }
    Ok(())
}

/// What the arguments and the field's settings give.
struct Given {
    config: Config,
    units: UnitSystem,
    boundary_path: PathBuf,
    boundary: Boundary,
    field_name: String,
    strata: Vec<StratumPart>,
    zones: Option<ZoneMap>,
    threshold: Option<Threshold>,
    rod: Option<Depth>,
    out: Option<PathBuf>,
    inputs: Vec<(&'static str, InputFile)>,
}

impl Given {
    fn of(args: &SpotsArgs) -> Result<Self, Box<dyn Error>> {
        let folder = args.field.is_dir();
        let config = field_folder::config_of(&args.field, args.read.config.as_deref())?;
        let boundary_path = match folder {
            false => args.field.clone(),
            true => config.boundary.clone().ok_or_else(|| {
                let file = config.file.as_ref().map_or(&args.field, |file| &file.path);
                format!("{}: it does not say boundary = \"FIELD.geojson\"", file.display())
            })?,
        };
        let (file, boundary) = read_boundary(&boundary_path)?;
        let mut inputs = vec![("boundary", file)];
        inputs.extend(config.file.clone().map(|file| ("settings", file)));
        let mut strata = Vec::new();
        if let Some(path) = args.strata.as_ref().or(config.strata.as_ref()) {
            let (file, parts) = read_strata(path)?;
            inputs.push(("strata", file));
            strata = parts;
        }
        let mut zones = None;
        if let Some(path) = &args.design.zones {
            let (file, map) = read_zones(path)?;
            inputs.push(("zones", file));
            zones = Some(map);
        }
        let units = args.read.units.or(config.units).map_or(UnitSystem::Us, settings::unit_system);
        Ok(Given {
            field_name: field_name(args, &config, &boundary, &boundary_path),
            units,
            boundary_path,
            boundary,
            strata,
            zones,
            threshold: args.read.threshold.first().or(config.threshold.as_ref()).cloned(),
            rod: args.rod.or(config.rod),
            out: folder_for(args, &config)?,
            inputs,
            config,
        })
    }
}

fn field_name(args: &SpotsArgs, config: &Config, boundary: &Boundary, path: &Path) -> String {
    let title = args.title.clone().filter(|title| !title.trim().is_empty());
    let named = || {
        if args.field.is_dir() {
            return field_folder::field_name(&args.field, config, Some(boundary));
        }
        let stem = || path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        config.name.clone().or_else(|| boundary.name.clone()).unwrap_or_else(stem)
    };
    terminal::one_line(&title.unwrap_or_else(named))
}

/// Where the files go: the folder given, or of a field folder that of its spots.
fn folder_for(args: &SpotsArgs, config: &Config) -> Result<Option<PathBuf>, Box<dyn Error>> {
    if !args.field.is_dir() {
        return Ok(args.out.clone());
    }
    let of_field = || field_folder::results_folder(&args.field, config).join(SPOTS);
    let out = args.out.clone().unwrap_or_else(of_field);
    field_folder::refuse_among_visits(&args.field, config, &out)?;
    Ok(Some(out))
}

/// How far spots stay from the edge: by default a receiver's error, in round numbers.
fn from_edge_m(args: &SpotsArgs, units: UnitSystem) -> f64 {
    let usual = match units {
        UnitSystem::Us => 15.0 * M_PER_FT,
        UnitSystem::Si => 5.0,
    };
    args.from_edge.map_or(usual, survey::Length::m)
}

/// Reads and checks the earlier visit.
fn earlier_visit(
    args: &SpotsArgs,
    given: &mut Given,
) -> Result<(CheckedSurvey, Exit), Box<dyn Error>> {
    let is_folder = args.field.is_dir();
    let survey = match (&args.earlier.earlier, is_folder) {
        (Some(_), true) => {
            let problem =
                "--earlier is for a boundary's file; of a field folder give the day with --visit";
            return Err(WrongArguments(problem.into()).into());
        }
        (None, false) if args.earlier.visit.is_some() => {
            let problem =
                "--visit is for the folder of a field; give the readings with --earlier SURVEY";
            return Err(WrongArguments(problem.into()).into());
        }
        (None, false) => {
            let problem = "--again, --least-sure and --precision go by an earlier visit: give its readings \
                with --earlier SURVEY";
            return Err(WrongArguments(problem.into()).into());
        }
        (Some(survey), false) => survey.clone(),
        (None, true) => args.field.clone(),
    };
    let mut survey = SurveyArgs {
        read: ReadArgs { survey, visit: args.earlier.visit, options: args.read.clone() },
        check: CheckOptions {
            boundary: Some(given.boundary_path.clone()),
            edge_tolerance: USUAL_EDGE_TOLERANCE_M,
            rod: given.rod,
            strict: false,
        },
    };
    let completed = field_folder::complete(&mut survey)?;
    let source = super::source(&survey, &completed.config)?;
    let threshold = survey.read.options.threshold.first().cloned();
    let (_, checked) = super::checked(&survey, &source, threshold.as_ref())?;
    for (part, file) in source.readings.files {
        if !given.inputs.iter().any(|(_, known)| *known == file) {
            given.inputs.push((part, file));
        }
    }
    if given.config.file.is_none() && args.read.units.is_none() {
        given.units = settings::units(&survey.read.options);
    }
    let exit = super::exit(&checked);
    Ok((checked, exit))
}

/// How many spots a precision takes, where that is asked.
fn sample_size(
    args: &SpotsArgs,
    earlier: Option<&CheckedSurvey>,
) -> Result<Option<SampleSize>, Box<dyn Error>> {
    let Some(percent) = args.size.precision else { return Ok(None) };
    let (off_by, confidence) = (percent / 100.0, args.size.confidence / 100.0);
    let size = match (args.size.mean, args.size.spread, earlier) {
        (Some(mean), Some(spread), _) => SampleSize::given(mean, spread, off_by, confidence),
        (_, _, Some(survey)) => SampleSize::of_visit(survey, off_by, confidence)?,
        _ => unreachable!("clap asks for both, and without them a visit is read"),
    };
    Ok(Some(size))
}

/// Spots, and all that their files say.
struct Made<'a> {
    args: &'a SpotsArgs,
    given: &'a Given,
    field: &'a Field,
    plan: &'a SpotsPlan,
    threshold: Option<&'a Threshold>,
    size: Option<&'a SampleSize>,
}

impl Made<'_> {
    /// The files of the spots, the record first.
    fn files(&self) -> Result<Vec<Output>, Box<dyn Error>> {
        let file = self.file();
        let (pdf, png) = self.sheet()?;
        let record = recording_page(&file, &self.given.boundary, self.given.rod)?;
        let mut made = vec![
            Output { name: GPX.into(), bytes: spots_gpx(&file).into() },
            Output { name: GEOJSON.into(), bytes: spots_geojson(&file).into() },
            Output { name: CSV.into(), bytes: spots_table_csv(&file).into() },
            Output { name: SHEET.into(), bytes: pdf },
            Output { name: PICTURE.into(), bytes: png },
            Output { name: RECORD.into(), bytes: record.into() },
        ];
        let names: Vec<String> = made.iter().map(|file| file.name.clone()).collect();
        let size: SpotsValues = self.size.map_or_else(Vec::new, SampleSize::figures);
        let summary = spots_json(&SpotsSummary {
            version: env!("CARGO_PKG_VERSION"),
            file,
            inputs: &self.given.inputs,
            from_edge_m: from_edge_m(self.args, self.given.units),
            designs: &self.plan.designs,
            walk: &self.plan.walk,
            strata: &self.plan.strata,
            sample_size: &size,
            files: &names,
        });
        made.insert(0, Output { name: SUMMARY.into(), bytes: summary.into() });
        Ok(made)
    }

    fn file(&self) -> SpotsFile<'_> {
        SpotsFile {
            field_name: &self.given.field_name,
            units: self.given.units,
            utm: self.field.utm(),
            threshold: self.threshold,
            insertions: usize::from(self.args.insertions),
            spots: &self.plan.spots,
        }
    }

    /// The sheet, as PDF and as a picture.
    fn sheet(&self) -> Result<(Vec<u8>, Vec<u8>), Box<dyn Error>> {
        let sentence = |text: &String| format!("{}.", capitalised(text));
        let placed: Vec<String> = self.plan.placed.iter().map(sentence).collect();
        let cautions: Vec<String> = [WHAT_TO_DO[0]]
            .into_iter()
            .chain(CAUTIONS)
            .chain([POSITION_CAUTION])
            .map(str::to_owned)
            .collect();
        let units = self.given.units;
        let threshold = self.threshold.map(ToString::to_string);
        let rod = self.given.rod.map(|rod| units.depth_text(rod));
        let sheet = SpotsSheet {
            title: &self.given.field_name,
            field: self.field,
            units,
            spots: &self.plan.spots,
            walk: &self.plan.walk,
            has_start: self.args.start.is_some(),
            insertions: usize::from(self.args.insertions),
            threshold: threshold.as_deref(),
            rod: rod.as_deref(),
            placed: &placed,
            cautions: &cautions,
        };
        Ok((spots_pdf(&sheet)?, spots_png(&sheet)?))
    }
}

/// Overhead lines and the receiver, which a rod and a walk can meet.
const POSITION_CAUTION: &str = "Keep the rod away from overhead lines and electric fences. A spot is no surer \
    than the receiver: a phone can be 7 to 13 m (23 to 43 ft) off. The walk is drawn straight: go around \
    water, fences and machines.";
