//! `loosedepth plan`: from zones and rates to what a machine does where.

use std::error::Error;
use std::path::Path;

use formats::{
    InputFile, Output, PlanFileSettings, PlanSummary, Taskdata, TaskdataSettings,
    earlier_plan_files, plan_files, plan_json, read_rates, read_zones, refuse_existing, taskdata,
    taskdata_zip,
};
use plan::{Plan, PlanSettings, make_plan};
use report::{operator_pdf, operator_png};

use crate::args::PlanArgs;
use crate::exit::{Exit, WrongArguments};
use crate::writing::write_files;
use crate::{field_folder, plan_table, settings, terminal};

const SUMMARY: &str = "plan.json";
const SHEET: &str = "operator.pdf";
const SHEET_PICTURE: &str = "operator.png";
const TASKDATA_ZIP: &str = "TASKDATA.zip";

/// Plans, writes the files and prints the plan.
pub fn run(mut args: PlanArgs) -> Result<Exit, Box<dyn Error>> {
    field_folder::complete_plan(&mut args)?;
    let folder =
        &args.result.out.ok_or_else(|| missing("a folder for the plan with --out FOLDER"))?;
    let rates = args.rates.ok_or_else(|| missing("what to do with --rates RATES.toml"))?;
    refuse_existing(folder, &[SUMMARY], args.result.replace)?;
    let settings = settings::plan_settings(&args.strips)?;
    let for_terminal = settings::taskdata_settings(&args.terminal)?;
    let Made { plan, inputs } = Made::of(&args.zones, &rates, settings)?;
    let Files { files, notes } = files(&plan, &inputs, &for_terminal)?;
    let earlier = earlier_plan_files(folder);
    write_files(folder, &files, args.result.replace)?;
    terminal::print(&plan_table::plan(&plan))?;
    let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
    terminal::print(&format!("wrote {} into {}", names.join(", "), folder.display()))?;
    terminal::print_notes(&notes);
    let left_over: Vec<String> =
        earlier.into_iter().filter(|name| !names.contains(&name.as_str())).collect();
    terminal::print_left_over(folder, "plan", &left_over);
    Ok(Exit::Done)
}

/// A plan, and the files it was made from.
pub struct Made {
    /// The plan.
    pub plan: Plan,
    inputs: [(&'static str, InputFile); 2],
}

impl Made {
    /// Plans, and writes nothing.
    ///
    /// # Errors
    /// When the zones are missing, or zones and rates make no plan.
    pub fn unwritten(mut args: PlanArgs) -> Result<Self, Box<dyn Error>> {
        field_folder::complete_plan(&mut args)?;
        let rates = args.rates.ok_or_else(|| missing("what to do with --rates RATES.toml"))?;
        let settings = settings::plan_settings(&args.strips)?;
        settings::taskdata_settings(&args.terminal)?;
        Made::of(&args.zones, &rates, settings)
    }

    fn of(zones: &Path, rates: &Path, settings: PlanSettings) -> Result<Self, Box<dyn Error>> {
        let (zones_file, map) = read_zones(zones)?;
        let (rates_file, rates) = read_rates(rates)?;
        let plan = make_plan(&map, &rates, settings)?;
        Ok(Made { plan, inputs: [("zones", zones_file), ("rates", rates_file)] })
    }
}

/// An argument that clap cannot ask for.
fn missing(what: &str) -> WrongArguments {
    WrongArguments(format!("give {what}"))
}

/// The files of a plan, and what the machine's terminal will not do as the plan says.
struct Files {
    files: Vec<Output>,
    notes: Vec<String>,
}

/// All files of a plan, its summary first.
fn files(
    plan: &Plan,
    inputs: &[(&'static str, InputFile)],
    for_terminal: &TaskdataSettings,
) -> Result<Files, Box<dyn Error>> {
    let version = env!("CARGO_PKG_VERSION");
    let Taskdata { files: taskdata, warnings: notes } = taskdata(plan, for_terminal, version)?;
    let zip = taskdata_zip(&taskdata);
    let mut made = vec![
        Output { name: SHEET.into(), bytes: operator_pdf(plan)? },
        Output { name: SHEET_PICTURE.into(), bytes: operator_png(plan)? },
    ];
    made.extend(taskdata);
    made.push(Output { name: TASKDATA_ZIP.into(), bytes: zip });
    made.extend(plan_files(plan, &PlanFileSettings::default())?);
    let names: Vec<&str> = made.iter().map(|file| file.name.as_str()).collect();
    let summary = PlanSummary { version, inputs, plan, files: &names };
    let summary = Output { name: SUMMARY.into(), bytes: plan_json(&summary).into() };
    Ok(Files { files: [summary].into_iter().chain(made).collect(), notes })
}
