//! `loosedepth plan`: from zones and rates to what a machine does where.

use std::error::Error;

use formats::{
    InputFile, Output, PlanFileSettings, PlanSummary, earlier_plan_files, plan_files, plan_json,
    read_rates, read_zones, refuse_existing, write_files,
};
use plan::{Plan, make_plan};

use crate::args::PlanArgs;
use crate::exit::Exit;
use crate::{plan_table, settings, terminal};

const SUMMARY: &str = "plan.json";

/// Plans, writes the files and prints the plan.
pub fn run(args: &PlanArgs) -> Result<Exit, Box<dyn Error>> {
    let folder = &args.result.out;
    refuse_existing(folder, &[SUMMARY], args.result.replace)?;
    let settings = settings::plan_settings(&args.strips)?;
    let (zones_file, map) = read_zones(&args.zones)?;
    let (rates_file, rates) = read_rates(&args.rates)?;
    let plan = make_plan(&map, &rates, settings)?;
    let files = files(&plan, &[("zones", zones_file), ("rates", rates_file)])?;
    let earlier = earlier_plan_files(folder);
    write_files(folder, &files, args.result.replace)?;
    terminal::print(&plan_table::plan(&plan))?;
    let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
    terminal::print(&format!("wrote {} into {}", names.join(", "), folder.display()))?;
    let left_over: Vec<String> =
        earlier.into_iter().filter(|name| !names.contains(&name.as_str())).collect();
    terminal::print_left_over(folder, "plan", &left_over);
    Ok(Exit::Done)
}

/// Makes some of a plan's files.
type Maker = fn(&Plan) -> Result<Vec<Output>, Box<dyn Error>>;

/// What makes the files beside the summary, in the order they are written.
const MAKERS: [Maker; 1] = [|plan| Ok(plan_files(plan, &PlanFileSettings::default())?)];

/// The files of a plan, its summary first.
fn files(plan: &Plan, inputs: &[(&'static str, InputFile)]) -> Result<Vec<Output>, Box<dyn Error>> {
    let mut made = Vec::new();
    for make in MAKERS {
        made.extend(make(plan)?);
    }
    let names: Vec<&str> = made.iter().map(|file| file.name.as_str()).collect();
    let summary = PlanSummary { version: env!("CARGO_PKG_VERSION"), inputs, plan, files: &names };
    let summary = Output { name: SUMMARY.into(), bytes: plan_json(&summary).into() };
    Ok([summary].into_iter().chain(made).collect())
}
